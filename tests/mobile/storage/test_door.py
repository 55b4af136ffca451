"""The one door: what passes, what does not, and the code of why."""

import json
from pathlib import Path

import pytest

from engine.log.record_codec import from_dict, to_dict
from engine.records import SCHEMA_VERSION as ENGINE_SCHEMA_VERSION
from mobile.storage.memory import MemoryFolder
from mobile.storage.migrations import MIGRATIONS, SCHEMA_VERSION, migrate
from mobile.storage.restore import (
    MAX_DEPTH,
    MAX_TEXT,
    Door,
    Refusal,
    parse_line,
)
from mobile.validation import VALIDATION
from tests.mobile.storage.support import codes, notes, open_in, plain_validate, record

GOOD = record("device0001:1", note="8.1 dKH")


def _deep(levels: int) -> object:
    value: object = 1
    for _ in range(levels):
        value = [value]
    return value


REFUSED = {
    "a list": ([], "record_not_object"),
    "a text": ("id", "record_not_object"),
    "nothing": (None, "record_not_object"),
    "no id": ({key: GOOD[key] for key in GOOD if key != "id"}, "record_bad_id"),
    "id without device": ({**GOOD, "id": ":1"}, "record_bad_id"),
    "id without number": ({**GOOD, "id": "device0001"}, "record_bad_id"),
    "id with a leading zero": ({**GOOD, "id": "device0001:01"}, "record_bad_id"),
    "id with a line feed": ({**GOOD, "id": "device0001:1\n"}, "record_bad_id"),
    "id is a number": ({**GOOD, "id": 1}, "record_bad_id"),
    "time without zone": ({**GOOD, "at": "2026-03-01T08:00:00"}, "record_bad_time"),
    "time is no time": ({**GOOD, "at": "soon"}, "record_bad_time"),
    "time is a number": ({**GOOD, "recorded_at": 1}, "record_bad_time"),
    "year one": ({**GOOD, "at": "0001-01-01T00:00:00+14:00"}, "record_bad_time"),
    "empty system": ({**GOOD, "system": ""}, "record_bad_field"),
    "kind is a list": ({**GOOD, "kind": []}, "record_bad_field"),
    "no version": ({key: GOOD[key] for key in GOOD if key != "v"}, "record_bad_field"),
    "version true": ({**GOOD, "v": True}, "record_bad_field"),
    "version nought": ({**GOOD, "v": 0}, "record_bad_field"),
    "newer": ({**GOOD, "v": SCHEMA_VERSION + 1}, "record_newer"),
    "unknown kind": ({**GOOD, "kind": "no such"}, "record_invalid"),
    "not a number": ({**GOOD, "x": float("nan")}, "record_bad_number"),
    "infinite": ({**GOOD, "x": [float("-inf")]}, "record_bad_number"),
    "huge whole number": ({**GOOD, "x": 10**400}, "record_bad_number"),
    "huge number": ({**GOOD, "x": 1e300}, "record_bad_number"),
    "control character": ({**GOOD, "note": "a\x00b"}, "record_bad_text"),
    "escape sequence": ({**GOOD, "note": "\x1b[31m"}, "record_bad_text"),
    "half a surrogate pair": ({**GOOD, "note": "\ud800"}, "record_bad_text"),
    "control character in a name": ({**GOOD, "a\x07": 1}, "record_bad_text"),
    "long text": ({**GOOD, "note": "x" * (MAX_TEXT + 1)}, "record_too_large"),
    "many texts": ({**GOOD, "more": ["x" * 9_000] * 9}, "record_too_large"),
    "too deep": ({**GOOD, "x": _deep(MAX_DEPTH)}, "record_too_deep"),
    "name is a number": ({**GOOD, 1: 1}, "record_bad_key"),
    "bytes": ({**GOOD, "x": b"1"}, "record_bad_field"),
}


@pytest.mark.parametrize(("raw", "code"), REFUSED.values(), ids=REFUSED.keys())
def test_refused(raw, code):
    with pytest.raises(Refusal) as caught:
        Door(validate=plain_validate).admit(raw)
    assert caught.value.problem.code == code


@pytest.mark.parametrize(
    "raw",
    [
        GOOD,
        {**GOOD, "note": "Ca²⁺ ₄⁻ 🐠 שלום\nsecond line\twith a tab"},
        {**GOOD, "at": "2026-03-01T08:00:00+05:45"},
        {**GOOD, "x": _deep(MAX_DEPTH - 1)},
        {**GOOD, "x": [None, True, -1.5, 2**53, {"y": ""}]},
    ],
)
def test_admitted_unchanged(raw):
    assert Door(validate=plain_validate).admit(raw) == raw


LINES = {
    "empty": (b"", "line_not_json"),
    "half": (b'{"id": ', "line_not_json"),
    "not UTF-8": (b'{"id": "\xff"}', "line_not_text"),
    "NaN": (b'{"x": NaN}', "line_not_json"),
    "infinity": (b'{"x": -Infinity}', "line_not_json"),
    "a name twice": (b'{"x": 1, "x": 2}', "line_not_json"),
    "raw control character": (b'{"x": "\x01"}', "line_not_json"),
    "deep lists": (b"[" * 50_000, "line_too_deep"),
    "deep objects": (b'{"a":' * 20_000, "line_too_deep"),
    "huge digits": (b'{"x": ' + b"9" * 10_000 + b"}", "line_not_json"),
    "too long": (b'"' + b"x" * 200_000 + b'"', "record_too_large"),
    "two values": (b"{}{}", "line_not_json"),
}


@pytest.mark.parametrize(("line", "code"), LINES.values(), ids=LINES.keys())
def test_line_refused(line, code):
    with pytest.raises(Refusal) as caught:
        parse_line(line)
    assert caught.value.problem.code == code


def test_brackets_in_a_text_are_no_nesting():
    value = {"note": '[[[[[[[[[[[[[[[[[[{"' + "\\", "readings": [{"a": n} for n in range(30)]}
    assert parse_line(json.dumps(value).encode()) == value


def test_both_sides_know_the_same_schema_version():
    assert SCHEMA_VERSION == ENGINE_SCHEMA_VERSION
    assert sorted(MIGRATIONS) == list(range(1, SCHEMA_VERSION))


STEPS = {
    1: lambda old: {**{key: old[key] for key in old if key != "kh"}, "alkalinity": old["kh"]},
    2: lambda old: {**old, "unit": "dKH"},
}


def test_migrations_run_in_order_and_leave_the_old_record_alone():
    old = {"v": 1, "kh": 8}
    new = migrate(old, to_version=3, migrations=STEPS)
    assert new == {"v": 3, "alkalinity": 8, "unit": "dKH"}
    assert old == {"v": 1, "kh": 8}


def test_the_record_inside_an_amendment_is_migrated_too():
    old = {"v": 1, "kh": 8, "replacement": {"v": 1, "kh": 9}}
    new = migrate(old, to_version=2, migrations=STEPS)
    assert new["replacement"] == {"v": 2, "alkalinity": 9}


@pytest.mark.parametrize("raw", [{**GOOD, "replacement": {}}, {**GOOD, "replacement": {"v": "1"}}])
def test_a_record_that_cannot_be_migrated_is_refused(raw):
    with pytest.raises(Refusal) as caught:
        Door(validate=plain_validate).admit(raw)
    assert caught.value.problem.code == "record_no_migration"


def test_a_gap_in_the_migrations_is_refused():
    door = Door(validate=plain_validate, schema_version=4, migrations={3: dict})
    with pytest.raises(Refusal) as caught:
        door.admit(GOOD)
    assert caught.value.problem.code == "record_no_migration"


async def test_the_engines_own_records_pass_the_door_and_come_back():
    def validate(raw):
        return to_dict(from_dict(raw))

    folder = MemoryFolder()
    repository = await open_in(folder, validate=validate)
    test = {
        **record(repository.next_id()),
        "kind": "water_test",
        "readings": [
            {"parameter": "alkalinity", "value": 2.9, "typed": "8,1", "typed_unit": "dKH"}
        ],
    }
    (stored,) = await repository.append([test])
    assert stored["readings"][0]["value"] == 2.9
    amended = {**record(repository.next_id()), "kind": "amendment", "supersedes": test["id"]}
    await repository.append([{**amended, "replacement": {**stored, "note": "again"}}])
    before = repository.records()
    await repository.close()
    again = await open_in(folder, validate=validate)
    assert codes(again) == []
    assert again.records() == before
    assert [to_dict(from_dict(item)) for item in again.records()] == list(before)
    assert notes(again) == ["", ""]


OLD_FILES = sorted((Path(__file__).parent / "versions").glob("records_v*.jsonl"))


@pytest.mark.parametrize("path", OLD_FILES, ids=lambda path: path.stem)
def test_kept_records_of_every_old_version_still_load(path):
    assert len(OLD_FILES) == SCHEMA_VERSION - 1
    for line in path.read_bytes().splitlines():
        admitted = Door(**VALIDATION).admit(parse_line(line))
        assert admitted["v"] == SCHEMA_VERSION
        assert admitted["id"] == json.loads(line)["id"]
