"""Whatever fails, the app is there: each boundary with an error put behind it."""

import json
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from engine import scenario
from engine.records import Note, WaterTest
from mobile.host import DesktopHost
from mobile.screens import (
    hazard,
    history,
    jobs,
    minder,
    plan,
    plan_pages,
    powder,
    records_care,
    storage,
    today,
)
from mobile.state import boundary
from tests.support.app import Phone, Running, first_records, scenario_records
from tests.support.keeper_log import dkh
from tests.support.unseen import telling

pytestmark = pytest.mark.faults

MEASURE = "Measure pH and alkalinity before the next dose; at 8.5 or more, lime off."
TITLE = "This could not be worked out"


class OddError(Exception):
    """An error that no code foresees."""


def fails(*_arguments: Any, **_options: Any) -> Any:
    raise OddError("put in by a test")


def kept(action: str, lower_to: float | None = None, hours: float = 3.0) -> dict[str, Any]:
    from tests.support.app import START

    at = (START - timedelta(hours=hours)).isoformat()
    return {"reef": {"action": action, "at": at, "lower_to_L_per_day": lower_to, "build": "b"}}


def shows_no_dose(app: Running) -> None:
    """No litres a day, no limit and no calm word, except a ceiling of the last verdict."""
    said = " ".join(text for text in app.screen.texts() if text)
    assert "L a day" not in said, said
    assert "othing to do" not in said, said
    assert "is right" not in said, said
    assert not app.has("plan-dose")
    assert not app.has("as-told")


async def works_without(app: Running) -> None:
    """What needs no decision: History lists, Record saves, the export, the card."""
    before = len(app.stored("water_test"))
    await app.record("calcium", "420")
    assert len(app.stored("water_test")) == before + 1
    await app.go("/history")
    assert app.says("Calcium: 420 mg/L"), app.screen.texts()
    await app.go("/setup")
    await app.tap("export")
    (file,) = app.files.saved.values()
    assert b'"calcium"' in file
    shown = app.host.emergency_opened
    await app.go("/help")
    await app.tap("open-emergency")
    assert app.host.emergency_opened == shown + 1
    assert not app.screen.crashes()


# --- the engine's calls, one by one

ENGINE = (
    "mobile.state.updates.decide",
    "mobile.state.updates.ledger_of",
    "mobile.state.updates.grouped",
    "mobile.state.ahead.gather",
    "mobile.state.ahead.diagnose",
    "mobile.state.ahead.water_balance_as_set",
    "mobile.state.ahead.retune_within",
    "mobile.state.dangers.assess",
    "mobile.state.dangers.gather",
    "mobile.commands.danger.key_of",
    "mobile.state.figures.gather",
    "mobile.state.figures.by_system",
    "mobile.state.figures.rescue",
    "mobile.state.entry.expected_amount",
    "mobile.state.entry.most_evaporated_L_per_day",
)
# Without these there is no decision at all; without the others one that raises nothing.
NONE_WITHOUT = ENGINE[:3]


@pytest.mark.parametrize("call", ENGINE)
async def test_an_engine_that_fails_ends_neither_start_nor_anything_else(
    phone: Phone, monkeypatch: pytest.MonkeyPatch, call: str
):
    monkeypatch.setattr(call, fails)
    app = await phone.open(records=scenario_records("kettle_july", phone.clock.now))
    assert app.store.snapshot.ready
    if call in NONE_WITHOUT:
        assert app.says(TITLE)
        assert app.text("failed-lead") == MEASURE
        shows_no_dose(app)
        for path in ("/plan", "/plan/day", "/plan/year", "/plan/water", "/jobs", "/minder"):
            await app.go(path)
            assert app.says(TITLE), path
            shows_no_dose(app)
        await app.go("/plan/additions")
        shows_no_dose(app)
    else:
        assert not app.failed
    await works_without(app)


@pytest.mark.parametrize(
    "call", [c for c in ENGINE if "ahead" in c or "dangers" in c or "key" in c]
)
@pytest.mark.parametrize("name", ["kettle_july", "demo_system"])
async def test_a_decision_in_part_raises_nothing(
    phone: Phone, monkeypatch: pytest.MonkeyPatch, call: str, name: str
):
    monkeypatch.setattr(call, fails)
    app = await phone.open(records=scenario_records(name, phone.clock.now))
    said = "A part of this could not be worked out. Measure pH and alkalinity before more lime."
    leads = "Lower the pump: no more than" if name == "kettle_july" else said
    assert app.text("decision").startswith(leads)
    assert app.says(said)
    assert "othing to do" not in " ".join(app.screen.texts())
    await app.go("/plan")
    assert app.text("plan-lead").startswith(leads)
    assert not app.has("plan-dose")
    assert not app.says("What limits the dose")
    await app.go("/plan/hazard")
    assert not app.has("working") or "dangers" not in call


async def test_a_part_that_opens_late_and_fails_gives_no_number(
    app: Running, monkeypatch: pytest.MonkeyPatch
):
    for name in ("day_schedule", "year", "water_balance_by_plan"):
        monkeypatch.setattr(f"mobile.state.ahead.{name}", fails)
    for path in ("/plan/day", "/plan/year", "/plan/water"):
        await app.go(path)
        assert not app.failed
    monkeypatch.setattr("mobile.state.ahead.ahead_of", fails)
    await app.go("/jobs")
    assert app.says(TITLE)
    assert not app.says("Nothing is due")
    await app.store.papers.calendar()
    assert app.files.saved == {}, "an empty calendar would cancel every date"


# --- the last verdict


@pytest.mark.parametrize(
    ("verdicts", "lead"),
    [
        (kept("stop"), "Limewater stays off."),
        (kept("lower", 3.25), "Keep limewater at 3.25 L a day or less."),
        (kept("lower"), "Keep limewater as low as the last decision said."),
        (kept("other"), MEASURE),
        ({}, MEASURE),
        ({"reef": {"action": ["stop"], "at": 3}}, MEASURE),
        ({"reef": {"action": "stop", "at": "yesterday"}}, MEASURE),
    ],
)
async def test_the_last_verdict_stands_with_its_age(
    phone: Phone, monkeypatch: pytest.MonkeyPatch, verdicts: dict[str, Any], lead: str
):
    monkeypatch.setattr("mobile.state.updates.decide", fails)
    app = await phone.open(records=first_records(), wrap=telling(verdicts=verdicts))
    for path in ("/", "/plan"):
        await app.go(path)
        assert app.text("failed-lead") == lead
        aged = app.says("That was the last decision that could be worked out, 3 h ago.")
        assert aged == (lead != MEASURE)


async def test_readings_export_report_and_card_are_reached_from_the_panel(
    phone: Phone, monkeypatch: pytest.MonkeyPatch
):
    app = await phone.open(records=first_records())
    await app.record("pH_nbs", "8.35")
    await app.record("total_alkalinity", "8.1")
    phone.clock.move(hours=5)
    monkeypatch.setattr("mobile.state.updates.decide", fails)
    await app.go("/")
    assert app.says("pH 8.35, 5 h ago")
    assert app.says("Alkalinity 8.1 dKH, 5 h ago")
    await app.tap("failed-export")
    assert len(app.files.saved) == 1
    await app.tap("failed-card")
    assert app.host.emergency_opened == 1
    copied = app.screen.find("copy-report").action.data
    assert "OddError: put in by a test" in json.loads(copied)["about"]
    await app.tap("copy-report", "failed-history")
    assert app.path == "/history"


async def test_a_log_that_cannot_be_read_in_order_shows_no_withdrawn_reading(
    phone: Phone, monkeypatch: pytest.MonkeyPatch
):
    app = await phone.open(records=first_records())
    await app.record("pH_nbs", "8.21")
    await app.record("pH_nbs", "8.27")
    await app.tap("undo")
    monkeypatch.setattr("mobile.state.updates.ledger_of", fails)
    await app.go("/")
    assert app.says("pH 8.21")
    assert not app.says("pH 8.27")


async def test_the_report_runs_as_a_scenario_and_names_build_and_place(
    phone: Phone, monkeypatch: pytest.MonkeyPatch
):
    app = await phone.open(records=scenario_records("kettle_july", phone.clock.now))
    with monkeypatch.context() as patch:
        patch.setattr("mobile.state.updates.decide", fails)
        await app.go("/")
        text = app.screen.find("copy-report").action.data
    about = json.loads(text)["about"]
    assert "build desktop" in about
    assert "mobile/state/updates.py:" in about
    assert "/work/" not in about
    assert "home" not in about
    ran = scenario.run_parsed(scenario.load(text))
    own = app.store.snapshot.records
    assert (
        ran["change"]
        == scenario.run_parsed(
            scenario.Scenario(
                name="", about="", now=phone.clock.now, records=tuple(own), expected={}
            )
        )["change"]
    )


@pytest.mark.parametrize(
    ("verdicts", "lead"),
    [
        (kept("stop"), "Limewater stays off."),
        (kept("lower", 3.25), "Keep limewater at 3.25 L a day or less."),
        ({**kept("other"), "tank-2": kept("stop")["reef"]}, "Limewater stays off."),
        ({**kept("stop"), "tank-2": kept("other")["reef"]}, "Limewater stays off."),
        (kept("other"), MEASURE),
        ({}, MEASURE),
    ],
)
async def test_a_start_that_fails_after_opening_shows_the_verdict(
    phone: Phone, monkeypatch: pytest.MonkeyPatch, verdicts: dict[str, Any], lead: str
):
    """No system is known: the worst of all that is kept leads."""
    monkeypatch.setattr("mobile.state.updates.with_records", fails)
    app = await phone.open(records=first_records(), wrap=telling(verdicts=verdicts))
    assert app.text("failed-lead") == lead


async def test_a_start_that_fails_shows_the_verdict_of_the_system_chosen_last(
    phone: Phone, monkeypatch: pytest.MonkeyPatch
):
    app = await phone.open(records=first_records())
    await app.repository.put_meta("system", "reef")
    await phone.kill(app)
    monkeypatch.setattr("mobile.state.updates.with_records", fails)
    verdicts = {**kept("lower", 3.25), "tank-2": kept("stop")["reef"]}
    app = await phone.open(wrap=telling(verdicts=verdicts))
    assert app.text("failed-lead") == "Keep limewater at 3.25 L a day or less."


async def test_a_refresh_that_fails_shows_what_was_kept_since(
    phone: Phone, monkeypatch: pytest.MonkeyPatch
):
    app = await phone.open(records=first_records(), wrap=telling())
    await app.record("pH_nbs", "8.65")
    monkeypatch.setattr("mobile.state.updates.with_records", fails)
    await app.go("/")
    assert app.text("failed-lead") == "Limewater stays off."


# --- verdicts are kept


async def test_a_verdict_is_kept_when_it_changes_and_after_the_save_was_told(phone: Phone):
    app = await phone.open(records=first_records(), wrap=telling())
    repository: Any = app.repository
    assert [verdict["action"] for _, verdict in repository.kept] == ["other"]
    await app.record("calcium", "420")
    assert len(repository.kept) == 1, "it says the same"
    await app.record("pH_nbs", "8.65")
    assert repository.kept[-1][0] == "reef"
    assert repository.kept[-1][1]["action"] == "stop"
    assert repository.kept[-1][1]["build"] == "desktop"
    await app.store.enter_demo()
    await app.screen.settle()
    assert len(repository.kept) == 2, "nothing is kept of the demo"


async def test_hazards_that_fail_leave_the_stop_that_stands(
    phone: Phone, monkeypatch: pytest.MonkeyPatch
):
    """The decision from before the weighing is sound and says other: it must not be kept."""
    monkeypatch.setattr("mobile.state.dangers.dangers_of", fails)
    records = scenario_records("demo_system", phone.clock.now)
    stands = {"main": kept("stop")["reef"]}
    app = await phone.open(records=records, wrap=telling(verdicts=stands))
    repository: Any = app.repository
    for _ in range(2):
        assert app.text("decision").startswith("Stop")
        phone.clock.move(minutes=1)
        app.store.refresh()
        await app.screen.settle()
    assert repository.kept == []
    assert repository.verdicts["main"]["action"] == "stop"


async def test_a_stop_is_kept_though_the_hazards_fail(
    phone: Phone, monkeypatch: pytest.MonkeyPatch
):
    app = await phone.open(records=first_records(), wrap=telling())
    repository: Any = app.repository
    monkeypatch.setattr("mobile.state.dangers.dangers_of", fails)
    await app.record("pH_nbs", "8.75")
    assert repository.verdicts["reef"]["action"] == "stop"


async def test_a_verdict_that_cannot_be_kept_ends_no_save(phone: Phone):
    app = await phone.open(records=first_records(), wrap=telling())
    repository: Any = app.repository
    repository.keep_verdict = fails
    await app.record("pH_nbs", "8.65")
    assert app.notice.startswith("Saved")
    assert app.text("decision").startswith("Stop")


# --- storage and host


class DeadHost(DesktopHost):
    """A page that fails at everything it is asked, in a way that no code foresees."""

    persisted = storage_estimate = request_persistence = publish_figures = fails
    tell_windows = fails


async def test_a_host_that_fails_at_everything_ends_nothing(phone: Phone):
    app = await phone.open(records=first_records(), host=DeadHost())
    assert app.has("decision")
    await works_without(app)


async def test_records_that_are_open_but_not_to_be_had_are_never_a_first_visit(phone: Phone):
    def wrap(repository: Any) -> Any:
        repository.records = fails
        return repository

    app = await phone.open(records=first_records(), wrap=wrap)
    assert app.store.snapshot.ready
    for path in ("/", "/plan", "/history"):
        await app.go(path)
        assert app.says(TITLE), path
        assert not app.has("start-setup")
    await app.go("/help")
    assert app.says("Before anything else")


@pytest.mark.parametrize("part", ["report", "conflicts", "unseen", "verdicts", "wants_tidying"])
async def test_a_store_of_which_a_part_fails_is_shown(phone: Phone, part: str):
    def wrap(repository: Any) -> Any:
        broken = type("Broken", (), {part: property(fails), "__getattr__": _through(repository)})
        return broken()

    app = await phone.open(records=first_records(), wrap=wrap)
    assert app.store.snapshot.ready
    await app.go("/history")
    assert app.says("Limewater setting")
    if part == "unseen":
        await app.go("/")
        assert app.text("decision").startswith("Entries may be missing.")


def _through(repository: Any) -> Callable[[Any, str], Any]:
    return lambda _self, name: getattr(repository, name)


async def test_records_that_do_not_open_for_an_unknown_reason_say_so_with_the_verdict(
    bare_phone: Phone,
):
    async def verdicts() -> Any:
        return kept("stop")

    bare_phone.read_verdicts = verdicts
    app = await bare_phone.open(wrap=fails)
    assert app.text("not-opened").startswith("Something went wrong.")
    assert app.text("failed-lead") == "Limewater stays off."
    assert not app.has("begin-anew")
    await app.tap("failed-card")
    assert app.host.emergency_opened == 1


async def test_verdicts_that_cannot_be_read_leave_the_measure_first(bare_phone: Phone):
    bare_phone.read_verdicts = fails
    app = await bare_phone.open(wrap=fails)
    assert app.text("failed-lead") == MEASURE


# --- records that cannot be decoded


async def test_a_record_that_cannot_be_decoded_is_set_aside_and_told(
    phone: Phone, monkeypatch: pytest.MonkeyPatch
):
    from mobile.commands import books

    decode = books.from_dict

    def some(data: Any) -> Any:
        return fails() if data["kind"] == "note" else decode(data)

    monkeypatch.setattr(books, "from_dict", some)
    now = phone.clock.now
    note = Note(id="reef:9", at=now, recorded_at=now, system="reef", note="a word")
    app = await phone.open(records=(*first_records(), note))
    assert app.text("decision").startswith("Entries may be missing.")
    assert app.says("This version of the app cannot read 1 record.")
    await app.go("/history")
    assert app.says("Limewater setting")
    await app.record("calcium", "420")
    await app.record("calcium", "425")
    assert [r.kind for r in app.store.snapshot.records].count("water_test") == 2
    await app.go("/setup")
    await app.tap("export")
    (file,) = app.files.saved.values()
    assert b"a word" in file
    await app.go("/")
    await app.tap("unseen-confirm")
    assert not app.has("unseen")
    assert not app.text("decision").startswith("Entries")
    app = await phone.reopen(app)
    assert not app.has("unseen"), "it was confirmed"


async def test_history_lists_an_entry_that_it_cannot_show(phone: Phone):
    now = phone.clock.now
    odd: Any = object()  # no reading at all: whatever a later fault makes of one
    test = WaterTest(id="reef:9", at=now, recorded_at=now, system="reef", readings=(odd,))
    from mobile.commands.books import Book

    app = await phone.open(records=first_records())
    records = Book.records
    Book.records = lambda self: records(self).put(2, [test])  # type: ignore[method-assign]
    try:
        await app.go("/history")
        app.store.refresh()
        await app.screen.settle()
        assert app.says("An entry that this version cannot show")
        assert app.says("Limewater setting")
        await app.tap("line-reef:9")
        assert app.has("withdraw")
    finally:
        Book.records = records  # type: ignore[method-assign]


# --- views

VIEWS: tuple[tuple[Any, str, str], ...] = (
    (today, "today", "/"),
    (plan, "plan", "/plan"),
    (plan_pages, "day", "/plan/day"),
    (plan_pages, "year", "/plan/year"),
    (plan_pages, "water", "/plan/water"),
    (plan_pages, "drift", "/plan/drift"),
    (powder, "powder", "/plan/powder"),
    (hazard, "hazard", "/plan/hazard"),
    (jobs.jobs, "jobs_page", "/jobs"),
    (minder, "minder", "/minder"),
    (history, "lines", "/history"),
    (records_care, "records_lines", "/setup"),
    (storage, "storage_sections", "/setup/storage"),
)


@pytest.mark.parametrize(("module", "name", "path"), VIEWS)
async def test_a_view_that_fails_leaves_the_frame_and_the_others(
    app: Running, monkeypatch: pytest.MonkeyPatch, module: Any, name: str, path: str
):
    with monkeypatch.context() as patch:
        patch.setattr(module, name, fails)
        await app.go(path)
        assert app.failed
        assert app.says(TITLE)
        assert app.text("failed-lead") == MEASURE
        if path != "/setup":
            shows_no_dose(app)
        if path not in ("/setup", "/history"):
            await works_without(app)
        await app.go(path)
        await app.tap("failed-export")
    await app.go("/help")
    await app.go(path)
    assert not app.failed


@pytest.mark.parametrize("part", ["banners", "notice", "_top_bar", "_bottom_bar", "_content"])
async def test_a_frame_of_which_a_part_fails_stands(
    app: Running, monkeypatch: pytest.MonkeyPatch, part: str
):
    with monkeypatch.context() as patch:
        patch.setattr(f"mobile.shell.{part}", fails)
        await app.go("/history")
        said = TITLE if part == "_content" else "A line that belongs here could not be shown."
        assert app.says(said)
        assert part == "_content" or app.says("Limewater setting")
    await app.go("/")
    assert app.has("decision")


async def test_a_frame_that_fails_whole_gives_the_panel(
    app: Running, monkeypatch: pytest.MonkeyPatch
):
    with monkeypatch.context() as patch:
        patch.setattr("mobile.shell._measured", fails)
        await app.go("/history")
        assert app.failed
        await app.tap("failed-export")
        assert len(app.files.saved) == 1
    await app.go("/")
    assert app.has("decision")


async def test_a_panel_that_fails_says_the_least(app: Running, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("mobile.state.updates.decide", fails)
    monkeypatch.setattr("mobile.components.failed_panel.failed", fails)
    await app.go("/plan")
    assert app.says(TITLE)
    assert app.says(MEASURE)


async def test_a_tap_that_fails_is_told_and_the_next_one_works(
    app: Running, monkeypatch: pytest.MonkeyPatch
):
    await app.go("/setup")
    with monkeypatch.context() as patch:
        patch.setattr(app.files, "save", fails)
        await app.tap("export")
        assert app.notice == "That did not work. Look whether it is saved, then try again."
        assert not app.screen.crashes()
    await app.tap("export")
    assert len(app.files.saved) == 1


async def test_the_hourly_look_and_other_windows_survive(
    app: Running, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(app.repository, "records", fails)
    app.store.refresh_if_ready()
    await app.screen.settle()
    assert app.says(TITLE)
    shows_no_dose(app)
    monkeypatch.setattr(app.repository, "hand_over", fails)
    await app.store.windows.heard("want")
    await app.store.windows.wake()
    assert not app.screen.crashes()


# --- the switch


@pytest.mark.parametrize("call", ["decide", "ledger_of"])
def test_where_tests_are_strict_each_boundary_raises_again(
    monkeypatch: pytest.MonkeyPatch, call: str
):
    from tests.support.app import START
    from tests.support.today import Told

    monkeypatch.setattr(f"mobile.state.updates.{call}", fails)
    before = boundary.set_strict(strict=True)
    try:
        with pytest.raises(OddError):
            Told(first_records(), "reef", START)
        assert boundary.raised
    finally:
        boundary.set_strict(strict=before)
        boundary.raised.clear()


async def test_a_bad_typo_is_only_asked_about_less(app: Running, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("mobile.state.entry.expected_amount", fails)
    await app.record("total_alkalinity", "8.1")
    assert app.stored("water_test")[0]["readings"][0]["value"] == pytest.approx(dkh(8.1))
