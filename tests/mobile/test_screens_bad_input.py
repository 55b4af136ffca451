"""Bad input: each ends in a clear sentence, nothing lost, nothing half-applied."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from engine.vocabulary import MEQ_PER_DKH
from mobile.screens import plan as plan_screen
from mobile.screens import today as today_screen
from mobile.state import entry, entry_draft
from mobile.state.forms import FORMS
from mobile.storage.errors import JournalStopped, StorageFailed, StorageFull
from tests.support.app import START, Phone, Running, first_records, first_run

# --- numbers


async def test_180_as_dkh_is_asked_about_and_taken_once(app: Running):
    await app.go("/record/total_alkalinity")
    await app.type("180")
    await app.tap("save")
    assert app.path == "/record/total_alkalinity"
    assert app.text("finding").startswith("180 cannot be right: possible is 0.5 dKH to 40 dKH.")
    assert not app.has("keep")
    assert app.text("meant-0") == "180 mg/L CaCO₃ = 10.1 dKH"
    assert app.stored("water_test") == []
    take = app.screen.find("meant-0")
    for _ in range(2):
        await app.screen.session.dispatch_event(take._i, "click", None)
    await app.screen.settle()
    assert app.path == "/"
    assert app.notice == "Saved: Alkalinity 180 mg/L CaCO₃."
    (test,) = app.stored("water_test")
    (reading,) = test["readings"]
    assert reading["value"] == pytest.approx(180 * 2 / 100.087, rel=1e-6)
    assert (reading["typed"], reading["typed_unit"]) == ("180", "mg/L CaCO3")


async def test_suggestions_speak_in_the_keepers_unit(app: Running):
    await app.store.choices.choose_unit("meq/L")
    await app.go("/record/total_alkalinity")
    await app.type("180")
    await app.tap("save")
    assert app.text("finding").startswith("180 cannot be right: possible is 0.18 meq/L to 14.27")
    assert app.text("meant-0") == "180 mg/L CaCO₃ = 3.6 meq/L"


async def test_forgotten_point_is_suggested_and_kept_as_meant(app: Running):
    await app.go("/record/pH_nbs")
    await app.type("82")
    await app.tap("save")
    labels = [app.text(f"meant-{n}") for n in range(3) if app.has(f"meant-{n}")]
    await app.tap(f"meant-{labels.index('8.2')}")
    (test,) = app.stored("water_test")
    (reading,) = test["readings"]
    assert (reading["value"], reading["typed"], reading["confirmed"]) == (8.2, "8.2", False)


async def test_specific_gravity_typed_as_psu_is_asked_about(app: Running):
    await app.go("/record/salinity")
    await app.type("1.026")
    await app.tap("save")
    assert app.text("finding").startswith("1.026 cannot be right: possible is 5 PSU to 42 PSU.")
    assert app.text("meant-0").startswith("1.026 SG 25/25 = 34.")
    await app.tap("meant-0")
    (test,) = app.stored("water_test")
    (reading,) = test["readings"]
    assert 33.5 < reading["value"] < 35.5
    assert (reading["typed"], reading["typed_unit"]) == ("1.026", "SG 25/25")


async def test_value_of_the_neighbouring_test_is_saved_as_that(app: Running):
    await app.go("/record/total_alkalinity")
    await app.type("1350")
    await app.tap("save")
    labels = [app.text(f"meant-{n}") for n in range(3) if app.has(f"meant-{n}")]
    assert "Magnesium 1350 mg/L" in labels
    await app.tap(f"meant-{labels.index('Magnesium 1350 mg/L')}")
    (test,) = app.stored("water_test")
    assert [(r["parameter"], r["value"]) for r in test["readings"]] == [("magnesium", 1350.0)]


async def test_unusual_value_is_kept_only_when_asked_to(app: Running):
    await app.record("calcium", "700")
    assert app.path == "/record/calcium"
    assert app.text("finding").startswith("700 mg/L is outside the usual 250 mg/L to 600 mg/L.")
    assert app.stored("water_test") == []
    assert app.text("keep") == "Keep 700 mg/L"
    await app.tap("keep")
    assert app.path == "/"
    (test,) = app.stored("water_test")
    assert test["readings"][0]["confirmed"] is True
    assert test["readings"][0]["value"] == 700.0
    await app.go(f"/history/{test['id']}")
    assert app.says("Kept although the app asked.")


async def test_jump_since_the_last_test_is_asked_about(app: Running):
    await app.record("total_alkalinity", "8.2")
    app.clock.move(hours=6)
    await app.record("total_alkalinity", "9.6")
    assert app.text("finding") == (
        "9.6 dKH is 1.4 dKH away from 8.2 dKH, 6 h apart. Test again before you believe either."
    )
    await app.tap("field-total_alkalinity")
    await app.erase(3)
    assert not app.has("finding"), "what is typed anew is judged anew"
    await app.type("8.3")
    await app.tap("save")
    assert [t["readings"][0]["typed"] for t in app.stored("water_test")] == ["8.2", "8.3"]


async def test_empty_entry_is_not_saved(app: Running):
    await app.go("/record/calcium")
    await app.tap("save")
    assert app.text("finding") == "Type the value first."
    await app.go("/record/pump_check")
    await app.type("100", "expected_mL")
    await app.tap("save")
    assert app.text("finding") == "Type the value first."
    assert app.text("figure-expected_mL") == "100"
    assert app.stored("water_test") == app.stored("pump_check") == []


@pytest.mark.parametrize(
    ("form", "digits", "said"),
    [
        ("refill", "0", "Zero is nothing to record."),
        ("refill", "900000000", "900000000 L cannot be entered here"),
        ("calcium", "999999999", "999999999 cannot be right"),
        ("delivery_setting", "99999", "99999 L a day cannot be entered here"),
        ("strength_titration", "300", "300 mL cannot be entered here"),
    ],
)
async def test_zero_and_huge_amounts_are_refused(app: Running, form: str, digits: str, said: str):
    await app.record(form, digits)
    assert app.text("finding").startswith(said)
    assert app.text(f"figure-{FORMS[form].fields[0].key}") == digits
    assert app.stored(FORMS[form].record.kind) == app.stored()[1:2] * (form == "delivery_setting")


def checked(form: str, text: str, **draft: Any) -> entry.Ready | entry.Finding:
    opened = entry_draft.opened(FORMS[form], {})
    key = FORMS[form].fields[0].key
    typed = replace(opened, texts={key: text}, **draft)
    return entry.check(FORMS[form], typed, standing=first_records(), now=START)


@pytest.mark.parametrize("text", ["8,2", " 8.2 ", "８．２", "+8,2"])
def test_pasted_comma_decimals_are_read_and_kept_as_typed(text: str):
    ready = checked("total_alkalinity", text)
    assert isinstance(ready, entry.Ready)
    (reading,) = ready.fields["readings"]
    assert reading.value == pytest.approx(8.2 * MEQ_PER_DKH)
    assert reading.typed == text.strip()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("-8.2", "This cannot be below zero. Type the value without the minus."),
        ("", "Type the value first."),
        ("8,2,1", "There is more than one comma or point."),
        ("8.2 dKH", "Type the number only. The unit is chosen beside it."),
        ("🐠", "There is a sign in it that no number has."),
        ("nan", "That is no value a test can give."),
        ("1e3", "Type the number in full, without an exponent."),
        ("9" * 40, "That is more than 20 characters."),
    ],
)
@pytest.mark.parametrize("form", ["total_alkalinity", "refill"])
def test_pasted_nonsense_is_refused_in_words(form: str, text: str, said: str):
    found = checked(form, text)
    assert isinstance(found, entry.Finding)
    assert found.sentences[0].startswith(said)


async def test_comma_in_a_stored_entry_is_prefilled_as_it_was(phone: Phone):
    setup, setting = first_records()
    setting = replace(setting, typed="limewater_L_per_day: 5,0 L a day")
    app = await phone.open(records=(setup, setting))
    (stored,) = app.stored("delivery_setting")
    await app.go(f"/history/{stored['id']}")
    assert app.says("Typed as 5,0 L a day")
    await app.tap("amend")
    assert app.text("figure-limewater_L_per_day") == "5,0"
    await app.tap("save")
    (amendment,) = app.stored("amendment")
    assert amendment["replacement"]["limewater_L_per_day"] == 5.0


async def test_note_of_too_many_or_broken_signs_is_refused_and_kept_on_screen(app: Running):
    await app.go("/record/note")
    await app.write("words", "x" * 2001)
    await app.tap("save")
    assert app.text("finding") == (
        "The text is too long by 1; 2000 characters fit. Shorten it; nothing was cut off."
    )
    await app.write("words", "half a sign: \ud83d")
    await app.tap("save")
    assert app.text("finding").startswith("The text holds signs that cannot be kept.")
    assert app.screen.find("words").value.startswith("half a sign")
    assert app.stored("note") == []


# --- times


async def test_clock_moved_back_is_told_and_nothing_is_lost(app: Running):
    app.clock.move(days=2)
    await app.record("total_alkalinity", "8.2")
    app.clock.move(days=-2)
    await app.go("/")
    assert app.says("this phone's clock is behind the log")
    await app.record("calcium", "420")
    assert app.path == "/"
    assert app.notice == (
        "Saved: Calcium 420 mg/L. This phone's clock is 2 days behind your newest record. "
        "Set the clock, then correct this entry's time in History."
    )
    assert not app.notice.endswith("..")
    assert [t["readings"][0]["typed"] for t in app.stored("water_test")] == ["420", "8.2"] or [
        t["readings"][0]["typed"] for t in app.stored("water_test")
    ] == ["8.2", "420"]


async def test_entry_dated_ahead_cannot_be_amended_until_the_clock_is_right(app: Running):
    app.clock.move(days=2)
    await app.record("calcium", "420")
    app.clock.move(days=-2)
    (test,) = app.stored("water_test")
    await app.go(f"/history/{test['id']}")
    await app.tap("amend")
    await app.erase(1)
    await app.type("5")
    await app.tap("save")
    assert app.text("finding").startswith("That is 2 days ahead of this phone's clock.")
    assert app.text("figure-calcium") == "425"
    app.clock.move(days=2)
    await app.tap("save")
    assert app.path == "/history"
    assert len(app.stored("amendment")) == 1


async def test_test_older_than_the_last_is_said_and_kept(app: Running):
    await app.record("total_alkalinity", "8.2")
    await app.record("total_alkalinity", "8.3", "when_day")
    assert app.notice == (
        "Saved: Alkalinity 8.3 dKH. This is 1 day older than your last one. "
        "It is filed under its own time."
    )
    newest, older = sorted(app.stored("water_test"), key=lambda t: t["at"], reverse=True)
    assert (newest["readings"][0]["typed"], older["readings"][0]["typed"]) == ("8.2", "8.3")
    assert datetime.fromisoformat(older["at"]) == START - timedelta(days=1)


async def test_earlier_test_of_another_quantity_raises_no_remark(app: Running):
    await app.record("calcium", "420")
    await app.record("total_alkalinity", "8.3", "when_hour")
    assert app.notice == "Saved: Alkalinity 8.3 dKH."


# --- what is missing


async def test_unset_evaporation_gives_no_dose_and_the_reason(phone: Phone):
    setup, setting = first_records(START - timedelta(days=20))
    unset = {"evaporation_low_L_per_day": None, "evaporation_high_L_per_day": None}
    app = await phone.open(records=(replace(setup, **unset), setting))
    for days_ago, digits in ((6, "8.4"), (3, "8.2"), (0, "8.0")):
        await app.go("/record/total_alkalinity")
        await app.type(digits)
        await app.tap(*["when_day"] * days_ago, "save")
    await app.go("/")
    assert app.text("decision") == "Leave the pump as it is. Raise nothing untested."
    assert app.says("No dose: evaporation is not known.")
    await app.go("/plan")
    assert not app.has("plan-dose")
    await app.tap("why")
    assert app.says("No dose: evaporation is not known.")
    await app.go("/setup")
    assert app.text("page-evaporation") == "Evaporation / not set"


# --- storage


class Failing:
    """A repository whose saves fail as it is told."""

    def __init__(self, inner: Any) -> None:
        self.inner = inner
        self.error: Exception | None = None

    def __getattr__(self, name: str) -> Any:
        return getattr(self.inner, name)

    async def append(
        self, records: Sequence[Mapping[str, Any]], *, meta: Mapping[str, Any] | None = None
    ) -> Any:
        if self.error:
            raise self.error
        return await self.inner.append(records, meta=meta)

    async def put_meta(self, key: str, value: Any) -> None:
        await self.append((), meta={key: value})


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (StorageFull(operation="write"), "NOT saved: the phone's storage is full."),
        (StorageFailed(operation="flush"), "NOT saved: the phone's storage did not take it."),
        (JournalStopped(cause="storage_failed"), "NOT saved: the storage failed and takes no more"),
    ],
)
async def test_failed_save_says_so_and_the_form_stays_filled(
    phone: Phone, error: Exception, said: str
):
    app = await phone.open(wrap=Failing, records=first_records())
    await app.go("/record/refill")
    await app.type("5")
    await app.tap("container-lime")
    app.repository.error = error
    await app.tap("save")
    assert app.notice.startswith(said)
    assert app.path == "/record/refill"
    assert app.text("figure-volume_L") == "5"
    assert app.text("container-lime").startswith("✓")
    assert app.host.busy, "no update may reload the page over it"
    assert app.stored("refill") == []
    app.repository.error = None
    await app.tap("save")
    assert app.notice == "Saved: Refill, 5 L."
    assert [r["volume_L"] for r in app.stored("refill")] == [5.0]


async def test_failed_amendment_undo_and_mix_step_say_so(phone: Phone):
    app = await phone.open(wrap=Failing, records=first_records())
    await app.record("calcium", "420")
    app.repository.error = StorageFull(operation="write")
    await app.tap("undo")
    assert app.notice.startswith("NOT saved")
    (test,) = app.stored("water_test")
    await app.go(f"/history/{test['id']}")
    await app.tap("withdraw", "withdraw-sure")
    assert app.notice.startswith("NOT saved")
    assert app.path == f"/history/{test['id']}"
    await app.go("/mix/recharge_vessel")
    await app.tap("answer-start")
    assert app.notice.startswith("NOT saved")
    assert app.has("answer-start")
    await app.go("/setup")
    await app.tap("unit-1")
    assert app.notice.startswith("NOT saved")
    assert app.store.snapshot.alkalinity_unit == "dKH"
    assert app.stored("amendment") == app.stored("procedure_run") == []
    app.repository.error = None
    await app.tap("unit-1")
    assert app.store.snapshot.alkalinity_unit == "meq/L"


async def test_first_run_stays_on_its_page_when_it_cannot_be_kept(phone: Phone):
    app = await phone.open(wrap=Failing)
    await app.tap("start-setup")
    await app.write("words-name", "My reef")
    await app.type("450", "net_volume_L")
    app.repository.error = StorageFull(operation="write")
    await app.tap("go-on")
    assert app.notice.startswith("NOT saved: the phone's storage is full.")
    assert app.path == "/new/system"
    assert app.screen.find("words-name").value == "My reef"
    assert app.text("figure-net_volume_L") == "450"
    app.repository.error = None
    await app.tap("go-on")
    await first_run(app, since="delivery", until="start")
    await app.type("5")
    app.repository.error = StorageFull(operation="write")
    await app.tap("go-on")
    assert app.notice.startswith("NOT saved")
    assert app.text("figure-limewater_L_per_day") == "5"
    app.repository.error = None
    await app.tap("go-on")
    assert app.path == "/"
    assert len(app.stored("setup")) == 1


async def test_second_window_reads_and_refuses_to_save_in_words(phone: Phone, app: Running):
    await app.record("calcium", "420")
    second = await phone.open()
    assert second.text("banner-read-only").startswith("Read only: Sumpside is open in another tab")
    told = "No decision here: Sumpside is open in another tab or window."
    assert second.text("decision").startswith(told)
    await second.go("/plan")
    assert second.text("plan-lead").startswith(told)
    assert not second.has("plan-dose")
    assert not app.has("banner-read-only")
    assert second.says("My reef")
    await second.record("calcium", "430")
    assert second.notice == (
        "NOT saved: this window can only read. Use the other tab, or load this page again."
    )
    assert second.text("figure-calcium") == "430"
    await second.go("/setup")
    await second.tap("unit-1")
    assert second.notice.startswith("NOT saved")
    await second.tap("page-safety")
    await second.type("90", "salt_water_ready_L")
    await second.tap("go-on")
    assert second.path == "/setup/safety"
    assert second.notice.startswith("NOT saved")
    await second.go("/setup")
    await second.tap("export")
    assert second.notice.startswith("Export ready: 3 records.")
    assert len(second.files.saved) == 1
    await app.record("calcium", "421")
    assert [t["readings"][0]["typed"] for t in app.stored("water_test")] == ["420", "421"]


async def test_records_of_a_newer_version_are_read_and_not_written(phone: Phone, app: Running):
    await app.record("calcium", "420")
    await app.repository._journal.replace_header(schema_version=99)
    app = await phone.reopen(app)
    assert app.text("banner-read-only").startswith("Read only: these records were written by a")
    await app.go("/history")
    assert app.says("Calcium: 420 mg/L")
    await app.record("calcium", "430")
    assert app.notice.startswith("NOT saved: this window can only read.")
    assert len(app.stored("water_test")) == 1


async def test_browser_without_storage_warns_all_the_time(bare_phone: Phone):
    app = await bare_phone.open(records=first_records())
    for path in ("/", "/record", "/setup", "/help", "/mix"):
        await app.go(path)
        assert app.text("banner-memory").startswith("NOTHING IS KEPT")


async def test_storage_that_does_not_open_is_told_without_numbers(phone: Phone):
    phone.journal.parent.mkdir()
    phone.journal.write_bytes(b"no journal of ours " * 500)
    app = await phone.open()
    for path in ("/", "/record", "/new/system", "/setup", "/plan"):
        await app.go(path)
        assert app.text("not-opened").startswith("The records on this phone cannot be read.")
        assert not app.failed
    assert not app.has("bottom-bar")
    assert not app.has("banner-read-only"), "no other window is the cause"
    assert phone.journal.read_bytes() == b"no journal of ours " * 500
    await app.go("/help")
    assert app.says("Before anything else")


async def test_damaged_records_are_left_behind_in_two_steps_and_a_copy_is_kept(phone: Phone):
    damaged = b"no journal of ours " * 500
    phone.journal.parent.mkdir()
    phone.journal.write_bytes(damaged)
    app = await phone.open()
    await app.tap("begin-anew")
    assert phone.journal.read_bytes() == damaged, "asking changes nothing"
    await app.tap("begin-anew-not", "begin-anew", "begin-anew-sure")
    assert app.notice.startswith("Begun anew.")
    assert app.has("start-setup")
    copies = phone.journal.parent.glob("quarantine-*")
    assert b"".join(path.read_bytes() for path in sorted(copies)) == damaged
    await app.tap("start-setup")
    await first_run(app)
    app = await phone.reopen(app)
    assert len(app.stored("setup")) == 1
    assert app.has("decision")


async def test_records_that_the_storage_does_not_give_are_not_given_up(bare_phone: Phone):
    def fails(_repository: Any) -> Any:
        raise StorageFailed(operation="read")

    app = await bare_phone.open(wrap=fails)
    assert app.has("not-opened")
    assert not app.has("begin-anew"), "they may be sound: the next start may read them"


# --- a screen that cannot be drawn


def broken(*_arguments: Any) -> Any:
    raise ValueError("deliberately broken 123")


@pytest.mark.faults
@pytest.mark.parametrize(
    ("module", "view", "path"), [(today_screen, "today", "/"), (plan_screen, "plan", "/plan")]
)
async def test_broken_screen_shows_no_numbers_and_the_others_work(
    app: Running, monkeypatch: pytest.MonkeyPatch, module: Any, view: str, path: str
):
    await app.go("/help")
    with monkeypatch.context() as patch:
        patch.setattr(module, view, broken)
        await app.go(path)
        assert app.failed
        below = app.all_words("screen-failed")
        assert below[0] == "This could not be worked out"
        assert "123" not in " ".join(below)
        assert "L a day" not in " ".join(below)
        assert not app.has("decision")
        assert not app.has("plan-dose")
        await app.record("calcium", "420")
        assert len(app.stored("water_test")) == 1
        await app.go("/history")
        assert not app.failed
        assert app.says("Calcium: 420 mg/L")
    await app.go(path)
    assert not app.failed


async def test_engine_that_fails_gives_no_number_and_says_hold(
    app: Running, monkeypatch: pytest.MonkeyPatch
):
    from engine.errors import InvalidQuantity

    def fails(*_arguments: Any, **_options: Any) -> Any:
        raise InvalidQuantity("dose", 1.0, unit="L")

    monkeypatch.setattr("mobile.state.updates.decide", fails)
    await app.record("calcium", "420")
    assert len(app.stored("water_test")) == 1
    measure = "Measure pH and alkalinity before the next dose; at 8.5 or more, lime off."
    for path in ("/", "/plan"):
        await app.go(path)
        assert app.says("This could not be worked out")
        assert app.text("failed-lead") == measure
    assert not app.has("plan-dose")
    await app.go("/mix/recharge_vessel")
    assert not app.failed
    assert not app.has("answer-start")
