"""A word that this build does not know: a reading, a happening, a job of a newer build.

Each text of each kind of record takes unknown words through the real door; then every page of the
app is drawn. A choice (an enumeration) that is not known is refused there and kept aside.
"""

import json
from dataclasses import fields, replace
from datetime import timedelta
from enum import StrEnum
from typing import get_type_hints

import pytest

from engine.log.record_codec import from_dict, to_dict
from engine.records import KINDS, Amendment, Reading, Record, WaterTest
from mobile.state import history, history_plot
from mobile.storage.restore import Door, Refusal, canonical
from mobile.validation import VALIDATION
from tests.support.all_views import assert_sound, snapshot_of, views
from tests.support.app import START, Phone, scenario_records
from tests.support.keeper_log import NOW, SYSTEM, kettle

DOOR = Door(**VALIDATION)
WORDS = ("", "zorblax", "a {brace} %s \\ <b>", "x" * 20)
# Not words but names of other things in the log, or times.
NAMES = {"id", "system"}
UNKNOWN = "strontium"


def sample(kind: str) -> Record:
    """Return a record of each kind, all fields that have no default filled."""
    frame = {"id": "other00001:7", "at": NOW, "recorded_at": NOW, "system": SYSTEM}
    required: dict[str, dict] = {
        "setup": {**to_dict(kettle().records[0])},
        "limewater_strength": {"fraction_of_saturation": 0.9, "method": "conductivity"},
        "refill": {"volume_L": 5.0},
        "recharge": {"powder_g": 100.0},
        "pump_check": {"expected_mL": 100.0, "measured_mL": [100.0]},
        "delivery_setting": {"limewater_L_per_day": 5.3},
        "second_source_setting": {"alkalinity_meq_per_day": 0.0},
        "water_change": {"volume_L": 10.0},
        "addition": {"alkalinity_meq": 1.0, "salt": "calcium_chloride", "salt_g": 5.0},
        "powder_stock": {"powder_g": 1000.0},
        "pack_opened": {"powder_g": 1000.0},
        "vessel_emptied": {},
        "supply_stock": {"item": "calcium_kit", "tests_count": 10.0},
        "meter_check": {"meter": "ph_probe", "off_pH": 0.3},
        "job_choice": {"job": "recharge", "interval_days": 9.0},
        "job_done": {"job": "recharge"},
        "procedure_run": {"run": "r", "procedure": "recharge_vessel", "event": "started"},
        "event": {"what": "power_cut"},
        "incident": {"run": "i", "event": "started"},
        "note": {"note": "n"},
        "amendment": {"supersedes": "kettle:3"},
        "water_test": {
            "readings": [
                {"parameter": "calcium", "value": 420.0, "typed": "420", "typed_unit": "mg/L"}
            ]
        },
    }
    body = {k: v for k, v in required[kind].items() if k not in frame and k not in ("v", "kind")}
    times = {"at": NOW.isoformat(), "recorded_at": NOW.isoformat()}
    return from_dict({"v": 2, "kind": kind, **body, **frame, **times})


def words_of(record_class: type) -> list[str]:
    hints = get_type_hints(record_class)
    return [f.name for f in fields(record_class) if hints[f.name] is str and f.name not in NAMES]


def choices_of(record_class: type) -> list[str]:
    hints = get_type_hints(record_class)
    return [
        f.name
        for f in fields(record_class)
        if isinstance(hints[f.name], type) and issubclass(hints[f.name], StrEnum)
    ]


TAKING_WORDS = [kind for kind, cls in KINDS.items() if kind and words_of(cls)]
CHOICES = [(kind, name) for kind, cls in KINDS.items() if kind for name in choices_of(cls)]


def with_word(record: Record, name: str, word: str) -> Record:
    if name.startswith("readings."):
        assert isinstance(record, WaterTest)
        reading = replace(record.readings[0], **{name.partition(".")[2]: word})
        return replace(record, readings=(reading,))
    return replace(record, **{name: word})


def longest(record: Record, name: str) -> int:
    owner = Reading if name.startswith("readings.") else type(record)
    field = next(f for f in fields(owner) if f.name == name.rpartition(".")[2])
    return field.metadata["longest"]


def through_the_door(record: Record) -> Record:
    raw = json.loads(json.dumps(to_dict(record)))
    admitted = DOOR.admit(raw)
    assert canonical(admitted) == canonical(raw), "what comes in goes out unchanged"
    return from_dict(admitted)


def assert_every_page(records: list[Record]) -> None:
    snapshot = snapshot_of(records, SYSTEM, NOW)
    assert snapshot.decision is not None or snapshot.setup is None
    for name, view in views(snapshot):
        assert_sound(view, name)


def test_every_kind_of_record_has_a_sample():
    assert {sample(kind).kind for kind in KINDS if kind} == set(KINDS) - {""}


def places_of(kind: str) -> list[str]:
    own = words_of(KINDS[kind])
    if kind == WaterTest.kind:
        own += [f"readings.{name}" for name in words_of(Reading)]
    return own


@pytest.mark.parametrize("kind", TAKING_WORDS)
def test_a_word_that_is_not_known_breaks_no_page(kind):
    """Each text in turn, then all of them at once: the newest record is the one that holds."""
    plain = sample(kind)
    log = list(kettle().records)
    for word in WORDS:
        everywhere = plain
        for name in places_of(kind):
            said = word[: longest(plain, name)]
            everywhere = with_word(everywhere, name, said)
            log += taken(with_word(plain, name, said), len(log))
        log += taken(everywhere, len(log))
        assert_every_page(log)


def taken(record: Record, number: int) -> list[Record]:
    """Return a record, and one that an amendment carries, as the door lets them in."""
    first = replace(record, id=f"other00001:{number}")
    if isinstance(record, Amendment):
        return [through_the_door(first)]
    own = f"other00001:{number + 1}"
    carried = Amendment(
        id=own,
        at=NOW,
        recorded_at=NOW,
        system=SYSTEM,
        supersedes="kettle:4",
        replacement=replace(record, id=own),
    )
    return [through_the_door(first), through_the_door(carried)]


@pytest.mark.parametrize(("kind", "name"), CHOICES)
def test_a_choice_that_is_not_known_is_refused_and_kept_aside(kind, name):
    raw = {**to_dict(sample(kind)), name: "zorblax"}
    with pytest.raises(Refusal) as refused:
        DOOR.admit(raw)
    assert refused.value.problem.code == "record_invalid"


def unknown_reading(unit: str = "mg/L") -> WaterTest:
    reading = Reading(parameter=UNKNOWN, value=8.25, typed="8.25", typed_unit=unit)
    return replace(sample("water_test"), readings=(reading,))


def test_an_unknown_reading_is_shown_by_its_own_name_and_number():
    for unit in ("mg/L", "dKH", "", "furlong"):
        snapshot = snapshot_of([*kettle().records, unknown_reading(unit)], SYSTEM, NOW)
        line = history.lines(snapshot, 10)[0]
        assert line.title == UNKNOWN
        assert line.summary == f"8.25 {unit}".strip()
        entry = history.detail(snapshot, line.id)
        assert entry is not None
        assert entry.stands
        assert entry.withdraws == (line.id,)


def test_an_unknown_reading_decides_nothing():
    plain = kettle().records
    without = snapshot_of(plain, SYSTEM, NOW)
    having = snapshot_of([*plain, unknown_reading()], SYSTEM, NOW)
    assert having.decision == without.decision
    assert having.dangers is not None
    assert without.dangers is not None
    assert having.dangers.hazards == without.dangers.hazards


def test_an_unknown_reading_is_plotted_as_numbers_without_a_band():
    snapshot = snapshot_of([*kettle().records, unknown_reading()], SYSTEM, NOW)
    shown = history_plot.history_plot(snapshot, UNKNOWN, 30)
    assert shown is not None
    assert shown.title == UNKNOWN
    assert (UNKNOWN, UNKNOWN) in shown.parameters
    assert shown.readings is not None
    assert shown.readings.areas == ()
    assert "8.25" in shown.readings.says
    assert history_plot.history_plot(snapshot, "never_read", 30) is None


def test_a_test_of_known_and_unknown_readings_keeps_both():
    known = sample("water_test").readings[0]
    both = replace(unknown_reading(), readings=(known, *unknown_reading().readings))
    snapshot = snapshot_of([*kettle().records, both], SYSTEM, NOW)
    line = history.lines(snapshot, 10)[0]
    assert line.title == f"Calcium, {UNKNOWN}"
    assert_every_page([*kettle().records, both])


@pytest.mark.parametrize("what", ["reading", "job", "happening"])
async def test_an_unknown_word_is_withdrawn_on_its_own_page(what):
    """Through the app: the page of the entry opens, and it is withdrawn there."""
    record = {
        "reading": unknown_reading(),
        "job": replace(sample("job_done"), job="zorblax"),
        "happening": replace(sample("event"), what="zorblax"),
    }[what]
    phone = Phone(None)
    records = [r for r in scenario_records("kettle_july", START) if r.kind != "amendment"]
    system = records[0].system
    at = START - timedelta(minutes=5)
    new = replace(record, system=system, at=at, recorded_at=at)
    app = await phone.open(records=(*records, new))
    stored = app.stored(new.kind)[-1]
    for page in ("/", "/record", "/history", f"/history/plot/{UNKNOWN}", "/jobs", "/minder"):
        await app.go(page)
        assert not app.failed, page
    await app.go(f"/history/{stored['id']}")
    assert not app.failed
    await app.tap("withdraw", "withdraw-sure")
    assert app.stored("amendment")[-1]["supersedes"] == stored["id"]
    await app.go("/history")
    assert not app.failed
    assert app.stored(new.kind)[-1] == stored, "what was written stays as it came"
    await phone.close()


async def test_a_table_says_what_it_leaves_out():
    phone = Phone(None)
    records = scenario_records("kettle_july", START)
    new = replace(unknown_reading(), system=records[0].system, at=START, recorded_at=START)
    app = await phone.open(records=(*records, new))
    await app.store.tables.export(".")
    assert "1 reading of a kind unknown" in app.store.snapshot.notice.text
    await phone.close()
