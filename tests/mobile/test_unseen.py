"""While damage is unseen: told on Today, nothing raised, a last stop or lower stands."""

from datetime import timedelta
from typing import Any

import pytest

from engine.records import SecondSourceSetting
from mobile.host import DesktopHost
from mobile.state.verdict import is_stricter, verdict_of
from mobile.storage.errors import (
    AppError,
    DataNewerThanApp,
    StorageFailed,
    StorageFull,
    StorageLost,
    StoreBusy,
    StoreElsewhere,
)
from mobile.storage.problems import Problem
from mobile.storage.store import open_repository
from tests.mobile.storage.test_second_copy import Place
from tests.support.app import START, Phone, Running, first_records, scenario_records
from tests.support.unseen import telling

LOST = Problem(
    code="journal_damaged",
    held=(
        ("water_test", (START - timedelta(hours=2)).isoformat()),
        ("delivery_setting", (START - timedelta(hours=3)).isoformat()),
        ("moon_phase", "not a time"),
    ),
)
MISSING = "Entries may be missing. Measure pH and alkalinity before more lime."


def kept(action: str, system: str = "reef", lower_to: float | None = None) -> dict[str, Any]:
    at = (START - timedelta(hours=2)).isoformat()
    return {system: {"action": action, "at": at, "lower_to_L_per_day": lower_to, "build": "b"}}


async def test_hole_2_a_lost_stop_is_not_answered_by_nothing_to_do(phone: Phone):
    """pH 8.65 was recorded and lost: the log says that all is well, the kept verdict stop."""
    records = scenario_records("demo_system", START)
    wrap = telling(unseen=(LOST,), verdicts=kept("stop", "main"))
    app = await phone.open(records=records, wrap=wrap)
    assert app.text("decision").startswith("Stop")
    assert app.says("The last decision was to stop limewater. It stands until this is cleared up.")
    assert not app.says("is right")
    repository: Any = app.repository
    assert repository.kept == [], "what a log with gaps says is not kept"
    await app.tap("unseen-confirm")
    assert not app.has("unseen")
    assert app.text("decision") == "5 L a day is right. The set-up is not safe."
    assert repository.kept[-1][1]["action"] == "other"


async def test_a_stop_recorded_while_damage_is_unseen_is_kept_at_once(phone: Phone):
    app = await phone.open(records=first_records(), wrap=telling(unseen=(LOST,)))
    repository: Any = app.repository
    await app.record("pH_nbs", "8.75")
    assert [(system, each["action"]) for system, each in repository.kept] == [("reef", "stop")]
    await app.record("calcium", "420")
    assert len(repository.kept) == 1, "it says the same"


@pytest.mark.parametrize(
    ("stands", "own", "is_kept"),
    [
        (None, ("stop", None), True),
        (None, ("lower", 3.0), True),
        (None, ("other", None), False),
        (("other", None), ("lower", 3.0), True),
        (("other", None), ("other", None), False),
        (("lower", 3.0), ("lower", 2.0), True),
        (("lower", 3.0), ("lower", 3.0), False),
        (("lower", 3.0), ("lower", 4.0), False),
        (("lower", 0.0), ("stop", None), True),
        (("lower", None), ("lower", 3.0), False),
        (("lower", None), ("stop", None), True),
        (("lower", 3.0), ("other", None), False),
        (("stop", None), ("lower", 0.0), False),
        (("stop", None), ("stop", None), False),
        (("stop", None), ("other", None), False),
    ],
)
def test_stop_is_stricter_than_lower_and_less_is_stricter(
    stands: tuple[str, float | None] | None, own: tuple[str, float | None], is_kept: bool
):
    def read(pair: tuple[str, float | None]) -> Any:
        found = verdict_of(kept(pair[0], lower_to=pair[1])["reef"])
        assert found is not None
        return found

    assert is_stricter(read(own).standing, read(stands) if stands else None) is is_kept


async def test_what_was_lost_is_said_with_kind_and_time(phone: Phone):
    app = await phone.open(records=first_records(), wrap=telling(unseen=(LOST,)))
    assert app.text("decision") == MISSING
    words = " ".join(app.all_words("unseen"))
    assert "Water test of Tue 24 Nov, 07:00" in words
    assert "Limewater setting of Tue 24 Nov, 06:00" in words
    assert "An entry" in words
    assert "Until you confirm this nothing is raised." in words


async def test_lost_bytes_of_which_nothing_is_known_say_that(phone: Phone):
    app = await phone.open(
        records=first_records(), wrap=telling(unseen=(Problem(code="journal_cut"),))
    )
    assert app.says("What was lost is not known.")


@pytest.mark.parametrize(
    "name", ["demo_system", "fernside", "long_room", "low_tide_new_tank", "kettle_winter"]
)
async def test_no_page_gives_a_dose_a_cap_or_a_calm_word(phone: Phone, name: str):
    app = await phone.open(records=scenario_records(name, START), wrap=telling(unseen=(LOST,)))
    for path in ("/", "/plan", "/plan/day", "/plan/year", "/plan/water", "/plan/powder"):
        await app.go(path)
        said = " ".join(app.screen.texts())
        for never in (
            "othing to do",
            "is right",
            "What limits the dose",
            "Raise the",
            "of each part",
        ):
            assert never not in said, (path, never)
        assert not app.has("plan-dose"), path
        assert not app.has("as-told") or "no more than" in said
        assert not app.failed
    assert not app.screen.crashes()
    await app.go("/plan/additions")
    await app.tap("raise-calcium", "work-out")
    assert app.says("Nothing is worked out here while entries may be missing")


async def test_a_lower_verdict_stands_and_can_be_set(phone: Phone):
    wrap = telling(unseen=(LOST,), verdicts=kept("lower", "main", lower_to=2.0))
    app = await phone.open(records=scenario_records("demo_system", START), wrap=wrap)
    assert app.text("decision") == "Lower the pump: no more than 2 L a day for now (was 5 L a day)."
    assert app.says(MISSING)
    await app.tap("as-told")
    assert app.stored("delivery_setting")[-1]["limewater_L_per_day"] == 2.0
    assert app.text("decision") == MISSING
    assert app.says("Leave the pump as it is.")


async def test_a_new_stop_leads_while_entries_are_missing(phone: Phone):
    app = await phone.open(records=first_records(), wrap=telling(unseen=(LOST,)))
    await app.record("pH_nbs", "8.65")
    await app.go("/")
    assert app.text("decision").startswith("Stop")
    assert app.has("unseen")


async def test_confirming_that_fails_is_said_and_changes_nothing(phone: Phone):
    def fails() -> None:
        raise StorageFailed(operation="write")

    app = await phone.open(records=first_records(), wrap=telling(unseen=(LOST,), confirm=fails))
    await app.tap("unseen-confirm")
    assert app.notice.startswith("Not confirmed")
    assert app.has("unseen")
    assert app.text("decision") == MISSING


async def test_a_copy_read_alone_asks_for_nothing_that_cannot_be_done(
    phone: Phone, monkeypatch: pytest.MonkeyPatch
):
    """The journal's own place does not open: nothing can be confirmed, all can be exported."""
    own, copy = Place("opfs"), Place("idb")

    async def two_places(_backend: Any, **options: Any) -> Any:
        return await open_repository(own, copy, **options)

    monkeypatch.setattr("tests.support.app.open_repository", two_places)
    app = await phone.open(records=scenario_records("demo_system", START))
    assert await app.repository.settle()
    await app.close()
    own.works = False

    async def read_only(_backend: Any, **options: Any) -> Any:
        return OnlyRead(await open_repository(own, copy, **options))

    monkeypatch.setattr("tests.support.app.open_repository", read_only)
    app = await phone.open()
    assert isinstance(app.repository.blocked, StoreElsewhere)
    assert app.text("decision").startswith("Entries may be missing.")
    said = " ".join(app.all_words("unseen"))
    assert "the newest entries may not be in it" in said
    assert (
        "Nothing is raised until the place of the records opens again: close all Sumpside tabs, "
        "then the browser, and open it again."
    ) in said
    assert not app.has("unseen-confirm")
    assert "confirm" not in said.lower()
    assert "Record again" not in said
    await app.tap("unseen-export")
    (file,) = app.files.saved.values()
    assert file.count(b'"kind":') >= len(app.store.snapshot.records) > 0
    assert app.has("unseen")


class OnlyRead:
    """A store that blocks, into which `Phone.open` puts nothing."""

    def __init__(self, inner: Any) -> None:
        self._inner = inner

    def __getattr__(self, name: str) -> Any:
        return getattr(self._inner, name)

    async def append(self, records: Any, **options: Any) -> Any:
        return await self._inner.append(records, **options) if records or options else ()


@pytest.mark.parametrize(
    ("blocked", "ends"),
    [
        (StoreBusy(), "Confirm this where the records are saved"),
        (StorageFull(operation="write"), "The line at the top says what to do."),
        (DataNewerThanApp(found=9, known=2), "The line at the top says what to do."),
        (StorageLost(operation="write"), "The line at the top says what to do."),
    ],
)
async def test_no_window_that_cannot_save_offers_to_confirm(
    phone: Phone, blocked: AppError, ends: str
):
    wrap = telling(unseen=(LOST,), blocked=blocked)
    app = await phone.open(records=first_records(), wrap=wrap)
    assert ends in " ".join(app.all_words("unseen"))
    assert "Until you confirm" not in " ".join(app.all_words("unseen"))
    assert not app.has("unseen-confirm")
    assert app.has("unseen-export")
    assert app.has("banner-read-only")


async def test_where_it_can_be_saved_it_is_confirmed(phone: Phone):
    app = await phone.open(records=first_records(), wrap=telling(unseen=(LOST,)))
    assert app.has("unseen-confirm")
    assert not app.has("unseen-export")


async def test_the_demo_is_not_concerned(phone: Phone):
    app = await phone.open(records=first_records(), wrap=telling(unseen=(LOST,)))
    await app.store.enter_demo()
    await app.screen.settle()
    assert not app.has("unseen")
    assert app.text("decision").startswith("5 L a day is right.")


async def test_the_second_source_is_left_as_it_is(phone: Phone):
    app = await phone.open(
        records=scenario_records("demo_system", START), wrap=telling(unseen=(LOST,))
    )
    assert any(isinstance(r, SecondSourceSetting) for r in app.store.snapshot.records)
    decision = app.store.snapshot.decision
    assert decision is not None
    assert decision.change.second_source is None


# --- the browser may clear the records


class Evicting(DesktopHost):
    async def persisted(self) -> bool | None:
        return False


async def evicting(phone: Phone) -> Running:
    return await phone.open(records=first_records(), host=Evicting())


async def test_a_store_that_may_be_cleared_is_said_once_a_month_and_is_no_alarm(phone: Phone):
    app = await evicting(phone)
    assert app.has("not-persisted")
    assert app.text("not-persisted").startswith("This browser may clear the records")
    await app.tap("not-persisted-later")
    assert not app.has("not-persisted")
    await app.close()
    for days, is_said in ((29, False), (2, True)):
        phone.clock.move(days=days)
        app = await phone.open(host=Evicting())
        assert app.has("not-persisted") is is_said
        await app.close()


async def test_a_clock_set_back_does_not_hide_it_for_ever(phone: Phone):
    app = await evicting(phone)
    await app.tap("not-persisted-later")
    phone.clock.move(days=-400)
    app.store.refresh()
    await app.screen.settle()
    assert app.has("not-persisted")


@pytest.mark.parametrize("answer", [True, None])
async def test_what_is_safe_or_unknown_is_not_spoken_of(phone: Phone, answer: bool | None):
    class Says(DesktopHost):
        async def persisted(self) -> bool | None:
            return answer

    app = await phone.open(records=first_records(), host=Says())
    assert not app.has("not-persisted")


async def test_no_stage_of_a_run_is_set_while_entries_are_missing(phone: Phone):
    """A run begun before holds its own figures: they wait, too."""
    from engine.procedures.runs import progress
    from engine.records import ProcedureEvent, ProcedureRun
    from mobile.procedures import load_procedure
    from mobile.state.mix_facts import mix_facts

    procedure = load_procedure("new_vessel")
    begun = ProcedureRun(
        id="main:900",
        at=START,
        recorded_at=START,
        system="main",
        run="run-1",
        procedure="new_vessel",
        event=ProcedureEvent.STARTED,
        delivery="pump_vessel",
        facts="half_plan_L_per_day=2.6 plan_L_per_day=5.2 three_quarter_plan_L_per_day=3.9",
    )
    known = {}
    for name, wrap in (("sound", telling()), ("missing", telling(unseen=(LOST,)))):
        app = await phone.open(records=(*scenario_records("demo_system", START), begun), wrap=wrap)
        snapshot = app.store.snapshot
        runs = tuple(r for r in snapshot.standing if isinstance(r, ProcedureRun))
        known[name] = mix_facts(snapshot, procedure, progress(procedure, runs, snapshot.now))
        await app.close()
        phone = Phone(phone.journal.parent.with_name("other"), phone.clock)
    planned = {key for key in known["sound"] if "plan_L" in key}
    assert planned == {"half_plan_L_per_day", "plan_L_per_day", "three_quarter_plan_L_per_day"}
    assert not planned & set(known["missing"])
    assert "vessel_L" in known["missing"]
