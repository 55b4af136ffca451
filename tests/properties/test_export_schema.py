"""The schema file of the export is the format: it says yes and no exactly where the app does.

Validator: the `jsonschema` library, draft 2020-12.
"""

import copy
import dataclasses
import hashlib
import json
import types
import typing
from datetime import UTC, datetime, timedelta, timezone
from enum import StrEnum

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from engine.log.record_codec import to_dict
from engine.records import KINDS, SCHEMA_VERSION, Amendment, Record
from mobile.demo import open_demo
from mobile.packaging.make_export_schema import SCHEMA_FILE, schema_text
from mobile.storage.restore import Door, Refusal
from mobile.storage.transfer import export_bytes
from mobile.validation import VALIDATION

SCHEMA = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))
LINE = Draft202012Validator(SCHEMA)
NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
RECORDS = [cls for kind, cls in sorted(KINDS.items()) if kind]

TEXT = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12)
TIMES = st.builds(
    lambda moment, minutes: moment.replace(tzinfo=timezone(timedelta(minutes=minutes))),
    st.datetimes(datetime(1991, 1, 1), datetime(2199, 12, 30)),  # noqa: DTZ001 - the zone follows
    st.integers(-14 * 60, 14 * 60),
)


def _values(field: dataclasses.Field, hint) -> st.SearchStrategy:
    """Return what a field of a record class may hold, read from the class alone."""
    if isinstance(hint, types.UnionType):
        (inner,) = (option for option in typing.get_args(hint) if option is not type(None))
        return st.none() | _values(field, inner)
    if typing.get_origin(hint) is tuple:
        return st.lists(_values(field, typing.get_args(hint)[0]), min_size=1, max_size=3).map(tuple)
    if hint is Record:
        return st.one_of([_records(cls) for cls in RECORDS if cls is not Amendment])
    if hint in (bool, int, float, str, datetime):
        return _scalars(field, hint)
    return st.sampled_from(list(hint)) if issubclass(hint, StrEnum) else _objects(hint)


def _scalars(field: dataclasses.Field, hint: type) -> st.SearchStrategy:
    low, high = field.metadata.get("low", 0.0), field.metadata.get("high", 100_000.0)
    return {
        bool: st.booleans(),
        int: st.integers(int(low), int(high)),
        float: st.floats(low, high, allow_nan=False),
        str: TEXT.map(lambda text: text[: field.metadata.get("longest", 80)]),
        datetime: TIMES,
    }[hint]


def _objects(cls: type, **known: st.SearchStrategy) -> st.SearchStrategy:
    hints = typing.get_type_hints(cls)
    fields = [f for f in dataclasses.fields(cls) if f.name not in known]
    return st.builds(cls, **known, **{f.name: _values(f, hints[f.name]) for f in fields})


def _records(cls: type[Record]) -> st.SearchStrategy:
    ids = st.builds(lambda n: f"phone00000000001:{n}", st.integers(1, 10**6))
    return _objects(cls, id=ids, system=st.sampled_from(["main", "reef-1 é"]))


def _door_takes(record: object) -> bool:
    try:
        Door(**VALIDATION).admit(copy.deepcopy(record))
    except Refusal:
        return False
    return True


def test_the_file_is_made_from_the_classes_as_they_are_now():
    assert SCHEMA_FILE.read_text(encoding="utf-8") == schema_text(), (
        "stale: run .venv/bin/python -m mobile.packaging.make_export_schema"
    )
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("cls", RECORDS, ids=lambda cls: cls.kind)
@settings(max_examples=4, deadline=None)
@given(data=st.data())
def test_a_record_of_every_kind_fits(cls, data):
    record = json.loads(json.dumps(to_dict(data.draw(_records(cls)))))
    assert _door_takes(record)
    assert LINE.is_valid(record), next(LINE.iter_errors(record)).message


ODD = [
    *(None, True, False, 0, 1, -1, 3.5, 1e12, 1e300, -1e9, "", "x", "y" * 5_000),
    *([], {}, [None], [1, 2], {"v": 1}, "2026-01-01T00:00:00", "1026-01-01T00:00:00+00:00"),
    *("2026-01-01T00:00:00+00:00", "2026-13-01T00:00:00+00:00", "a\x00b", "device:0", 2**60),
]


def _places(value: object, path: tuple = ()) -> list[tuple]:
    """Return the path of every value in a record."""
    items: list[tuple] = []
    if isinstance(value, dict):
        items = list(value.items())
    elif isinstance(value, list):
        items = list(enumerate(value))
    return [p for key, item in items for p in [(*path, key), *_places(item, (*path, key))]]


def _mutated(record: dict, path: tuple, odd: object, what: str) -> dict:
    changed = copy.deepcopy(record)
    holder = changed
    for key in path[:-1]:
        holder = holder[key]
    if what == "replace":
        holder[path[-1]] = odd
    elif what == "remove" and isinstance(holder, dict):
        del holder[path[-1]]
    elif isinstance(holder, dict):
        holder["unheard_of"] = odd
    return changed


@pytest.mark.parametrize("cls", RECORDS, ids=lambda cls: cls.kind)
@settings(max_examples=15, deadline=None)
@given(data=st.data())
def test_a_mutated_record_fits_exactly_when_the_app_takes_it(cls, data):
    record = json.loads(json.dumps(to_dict(data.draw(_records(cls)))))
    path = data.draw(st.sampled_from(_places(record)))
    what = data.draw(st.sampled_from(["replace", "replace", "remove", "add"]))
    changed = _mutated(record, path, data.draw(st.sampled_from(ODD)), what)
    # The schema is of this version; the app also takes an older one, by migrating it.
    is_other_version = what == "replace" and path[-1] == "v"
    assert LINE.is_valid(changed) == (_door_takes(changed) and not is_other_version), changed


@pytest.mark.parametrize("cls", RECORDS, ids=lambda cls: cls.kind)
@settings(max_examples=1, deadline=None)
@given(data=st.data())
def test_each_required_field_is_missed_and_an_unknown_one_refused(cls, data):
    record = json.loads(json.dumps(to_dict(data.draw(_records(cls)))))
    required = [f.name for f in dataclasses.fields(cls) if f.default is dataclasses.MISSING]
    for name in ("v", "kind", *required):
        assert not LINE.is_valid({key: value for key, value in record.items() if key != name})
    assert not LINE.is_valid({**record, "unheard_of": 1})
    assert not LINE.is_valid({**record, "v": SCHEMA_VERSION + 1})
    assert not LINE.is_valid({**record, "at": "yesterday"})


async def test_every_line_of_a_real_export_fits_and_the_header_is_true():
    repository = await open_demo(NOW, lambda: "demo000000000001")
    head, *lines = repository.export(NOW).splitlines(keepends=True)
    header = json.loads(head)
    assert LINE.is_valid(header)
    assert header["records"] == len(lines) > 40
    assert header["sha256"] == hashlib.sha256(b"".join(lines)).hexdigest()
    for line in lines:
        assert LINE.is_valid(json.loads(line)), line
    empty = json.loads(export_bytes([], NOW))
    assert LINE.is_valid(empty)
    for name in empty:
        assert not LINE.is_valid({key: value for key, value in empty.items() if key != name})
    for name, wrong in {"records": -1, "sha256": "0" * 63, "version": 2, "format": "x"}.items():
        assert not LINE.is_valid({**empty, name: wrong})
