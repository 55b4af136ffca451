"""Amending and withdrawing: of every kind, its time too, and nothing else of it is lost."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from engine.log.record_codec import from_dict
from engine.records import (
    Addition,
    Happening,
    Note,
    ProcedureEvent,
    ProcedureRun,
    Reading,
    Record,
    WaterTest,
)
from engine.vocabulary import MEQ_PER_DKH
from tests.support.app import START, Phone, Running, first_records, scenario_records

FRAME = {"at": START - timedelta(days=2), "recorded_at": START - timedelta(days=2)}
ALKALINITY = Reading(
    parameter="total_alkalinity", value=8.2 * MEQ_PER_DKH, typed="8.2", typed_unit="dKH"
)
CALCIUM = Reading(parameter="calcium", value=700.0, typed="700", typed_unit="mg/L", confirmed=True)


def own(record_class: type[Record], **fields: object) -> Record:
    return record_class(id="x:1", system="reef", **FRAME, **fields)  # pyright: ignore[reportArgumentType]


async def opened(phone: Phone, *records: Record) -> Running:
    app = await phone.open(records=(*first_records(START - timedelta(days=9)), *records))
    await app.go(f"/history/{app.stored()[2]['id']}")
    return app


def replacement(app: Running) -> Record:
    return from_dict(app.stored("amendment")[-1]["replacement"])


async def test_amended_test_keeps_its_note_tester_and_lot(phone: Phone):
    test = own(
        WaterTest, readings=(ALKALINITY,), tester="A. Lind", reagent_lot="L-7", note="lights off"
    )
    app = await opened(phone, test)
    await app.tap("amend")
    await app.erase(3)
    await app.type("8.4")
    await app.tap("save")
    assert app.path == "/history", app.screen.texts()
    new = replacement(app)
    assert isinstance(new, WaterTest)
    assert new.readings[0].typed == "8.4"
    assert (new.tester, new.reagent_lot, new.note) == ("A. Lind", "L-7", "lights off")
    assert new.at == test.at


async def test_amended_addition_of_another_salt_stays_that_salt(phone: Phone):
    salt = own(Addition, alkalinity_meq=500.0, salt="own mix", salt_g=60.0, note="by hand")
    app = await opened(phone, salt)
    await app.tap("amend")
    assert not app.text("salt-bicarbonate").startswith("✓")
    await app.write("when-words", "2026-11-21 08:30")
    await app.tap("save")
    new = replacement(app)
    assert isinstance(new, Addition)
    assert (new.salt, new.salt_g, new.alkalinity_meq, new.note) == (
        "own mix",
        60.0,
        500.0,
        "by hand",
    )
    assert new.at == datetime.fromisoformat("2026-11-21T08:30:00+00:00")


async def test_other_grams_of_an_unknown_salt_ask_for_the_salt(phone: Phone):
    app = await opened(phone, own(Addition, alkalinity_meq=500.0, salt="own mix", salt_g=60.0))
    await app.tap("amend")
    await app.erase(2)
    await app.type("70")
    await app.tap("save")
    assert app.text("finding") == "Choose first: Which salt."
    assert app.stored("amendment") == []
    await app.tap("salt-carbonate", "save")
    new = replacement(app)
    assert isinstance(new, Addition)
    assert (new.salt, new.salt_g) == ("carbonate", 70.0)
    assert new.alkalinity_meq == pytest.approx(70.0 / 0.0529943, rel=1e-4)


async def test_time_of_an_entry_is_corrected(phone: Phone, app: Running):
    await app.record("calcium", "420")
    (test,) = app.stored("water_test")
    await app.go(f"/history/{test['id']}")
    await app.tap("amend")
    assert app.screen.find("when-words").value == "2026-11-24 09:00"
    for wrong, said in (
        ("yesterday", "Write the time like this: 2026-11-24 09:00."),
        ("2026-11-31 09:00", "Write the time like this: 2026-11-24 09:00."),
        ("2027-11-24 09:00", "That is 365 days ahead of this phone's clock."),
        ("1926-11-24 09:00", "That date is before 1990."),
    ):
        await app.write("when-words", wrong)
        await app.tap("save")
        assert app.text("finding").startswith(said)
        assert app.screen.find("when-words").value == wrong
    await app.write("when-words", "2026-11-20 21:15")
    await app.tap("save")
    assert app.path == "/history"
    app = await phone.reopen(app)
    (standing,) = [r for r in app.store.snapshot.standing if isinstance(r, WaterTest)]
    assert standing.at == datetime.fromisoformat("2026-11-20T21:15:00+00:00")
    assert standing.readings[0].typed == "420"


async def test_time_that_is_left_alone_keeps_its_seconds(phone: Phone):
    moment = FRAME["at"].replace(second=42)
    app = await opened(phone, replace(own(Note, note="hums"), at=moment))
    await app.tap("amend")
    await app.write("words", "hums loudly")
    await app.tap("save")
    new = replacement(app)
    assert (new.note, new.at) == ("hums loudly", moment)


async def test_one_reading_of_several_is_amended_and_the_others_stay(phone: Phone):
    app = await opened(phone, own(WaterTest, readings=(ALKALINITY, CALCIUM), tester="A. Lind"))
    await app.tap("amend")
    assert app.text("figure-calcium") == "700"
    await app.tap("field-total_alkalinity")
    await app.erase(3)
    await app.type("8.4")
    await app.tap("save")
    assert app.path == "/history", app.screen.texts()
    new = replacement(app)
    assert isinstance(new, WaterTest)
    assert [reading.typed for reading in new.readings] == ["8.4", "700"]
    assert new.readings[1] == CALCIUM
    assert new.tester == "A. Lind"


async def test_reading_among_several_is_judged_when_it_is_changed(phone: Phone):
    app = await opened(phone, own(WaterTest, readings=(ALKALINITY, CALCIUM)))
    await app.tap("amend", "field-total_alkalinity")
    await app.erase(3)
    await app.type("180")
    await app.tap("save")
    assert app.text("finding").startswith("180 cannot be right")
    await app.tap("meant-0")
    new = replacement(app)
    assert isinstance(new, WaterTest)
    assert [reading.parameter for reading in new.readings] == ["total_alkalinity", "calcium"]
    assert new.readings[0].typed_unit == "mg/L CaCO3"


async def test_event_is_moved_in_time_and_withdrawn(phone: Phone):
    app = await opened(phone, own(Happening, what="power cut", note="two hours"))
    assert app.text("amend") == "Change its time"
    await app.tap("amend")
    await app.write("when-words", "2026-11-22 03:00")
    await app.tap("save")
    new = replacement(app)
    assert isinstance(new, Happening)
    assert (new.what, new.note) == ("power cut", "two hours")
    assert new.at == datetime.fromisoformat("2026-11-22T03:00:00+00:00")
    await app.go(f"/history/{app.stored('amendment')[0]['id']}")
    await app.tap("withdraw", "withdraw-sure")
    assert [r for r in app.store.snapshot.standing if isinstance(r, Happening)] == []


@pytest.mark.parametrize("readings", [(ALKALINITY, CALCIUM), (CALCIUM, CALCIUM)])
async def test_test_of_several_readings_is_withdrawn(phone: Phone, readings: tuple[Reading, ...]):
    app = await opened(phone, own(WaterTest, readings=readings))
    await app.tap("withdraw", "withdraw-sure")
    assert app.path == "/history"
    assert [r for r in app.store.snapshot.standing if isinstance(r, WaterTest)] == []


async def test_run_of_a_procedure_is_withdrawn_whole(phone: Phone):
    frame = {"run": "run-9", "procedure": "recharge_vessel"}
    steps = (
        own(ProcedureRun, event=ProcedureEvent.STARTED, **frame),
        own(ProcedureRun, event=ProcedureEvent.STEP_DONE, step="read", answer="done", **frame),
        own(ProcedureRun, event=ProcedureEvent.STARTED, **{**frame, "run": "run-10"}),
    )
    app = await opened(phone, *steps)
    assert not app.has("amend"), "the order of its steps is what it says"
    await app.tap("withdraw")
    assert app.says("All steps of this run are withdrawn.")
    await app.tap("withdraw-sure")
    left = [r for r in app.store.snapshot.standing if isinstance(r, ProcedureRun)]
    assert [record.run for record in left] == ["run-10"]
    assert len(app.stored("amendment")) == 2


async def test_set_up_is_withdrawn_and_the_one_before_is_in_force_again(app: Running):
    await app.go("/setup/system")
    await app.type("900", "net_volume_L")
    await app.tap("go-on")
    (_, second) = app.stored("setup")
    await app.go(f"/history/{second['id']}")
    assert app.says("Its figures are changed by making a new entry.")
    await app.tap("withdraw", "withdraw-sure")
    assert app.store.snapshot.setup is not None
    assert app.store.snapshot.setup.net_volume_L == 450.0


async def test_only_set_up_of_the_only_system_stays(app: Running):
    (setup,) = app.stored("setup")
    await app.go(f"/history/{setup['id']}")
    assert not app.has("withdraw")
    assert app.says("This is the only set-up: without it the app has nothing to show.")


async def test_only_set_up_of_one_system_of_two_goes_after_a_warning(phone: Phone):
    kettle = scenario_records("kettle_winter", START)
    app = await phone.open(records=(*first_records(), *kettle))
    await app.store.choices.choose_system("reef")
    (setup,) = [r for r in app.stored("setup") if r["system"] == "reef"]
    await app.go(f"/history/{setup['id']}")
    await app.tap("withdraw")
    assert app.says("Without it the system is no longer shown")
    await app.tap("withdraw-sure")
    assert [system for system, _ in app.store.snapshot.systems] == [kettle[0].system]
