"""Records to plain JSON dictionaries and back, checked field by field.

`from_dict` is strict: an unknown kind, a missing or wrong-typed field, a number that is not finite
or out of its declared range raises `InvalidRecord` with the field's name. Unknown *extra* fields
are refused too: they come from a newer app, and dropping them would lose data.
"""

import dataclasses
import math
import types
import typing
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from enum import StrEnum
from functools import cache
from typing import Any, Final

from engine.errors import InvalidQuantity
from engine.records import EARLIEST_YEAR, KINDS, LATEST_YEAR, SCHEMA_VERSION, Amendment, Record

LONGEST_SEQUENCE: Final = 400
_LARGEST_WHOLE: Final = 10**12


class InvalidRecord(InvalidQuantity):
    """A record that cannot be read; `field` and `reason` say why."""

    def __init__(self, field: str, reason: str) -> None:
        super().__init__(code="invalid_record", field=field, value=reason)
        self.reason = reason

    def __str__(self) -> str:
        return f"{self.field}: {self.reason}"


def to_dict(record: Record) -> dict[str, Any]:
    """Return the record as a JSON-ready dictionary, with its kind and schema version."""
    return {"v": SCHEMA_VERSION, "kind": record.kind, **_plain_fields(record)}


def from_dict(data: Mapping[str, Any]) -> Record:
    """Return the record that a dictionary describes.

    Raises
    ------
    InvalidRecord
        Naming the field and what is wrong with it.
    """
    kind = data.get("kind")
    record_class = KINDS.get(kind) if isinstance(kind, str) else None
    if record_class is None:
        raise InvalidRecord("kind", f"unknown kind {kind!r:.40}")
    if data.get("v") != SCHEMA_VERSION:
        raise InvalidRecord("v", f"schema version {data.get('v')!r:.20} is not {SCHEMA_VERSION}")
    body = {key: value for key, value in data.items() if key not in ("v", "kind")}
    return _build(record_class, body)


def _plain_fields(value: Any) -> dict[str, Any]:
    return {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}


def _plain(value: Any) -> Any:
    if isinstance(value, Record):
        return to_dict(value)
    if dataclasses.is_dataclass(value):
        return _plain_fields(value)
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, StrEnum):
        return str(value)
    if isinstance(value, tuple):
        return [_plain(item) for item in typing.cast("tuple[Any, ...]", value)]
    return value


@cache
def _fields(cls: type) -> dict[str, tuple[dataclasses.Field[Any], Any]]:
    hints = typing.get_type_hints(cls)
    return {field.name: (field, hints[field.name]) for field in dataclasses.fields(cls)}


def _build(cls: type, body: Mapping[str, Any]) -> Any:
    fields = _fields(cls)
    unknown = next((key for key in body if key not in fields), None)
    if unknown is not None:
        raise InvalidRecord(f"{unknown:.60}", "unknown field")
    values = {name: _read(field, hint, body) for name, (field, hint) in fields.items()}
    return cls(**values)


def _read(field: dataclasses.Field[Any], hint: Any, body: Mapping[str, Any]) -> Any:
    if field.name in body:
        return _parse(field, hint, body[field.name])
    if field.default is dataclasses.MISSING:
        raise InvalidRecord(field.name, "missing")
    return field.default


def _parse(field: dataclasses.Field[Any], hint: Any, value: Any) -> Any:
    if isinstance(hint, types.UnionType):
        if value is None:
            return None
        (hint,) = (option for option in typing.get_args(hint) if option is not type(None))
    if typing.get_origin(hint) is tuple:
        return _parse_sequence(field, typing.get_args(hint)[0], value)
    scalar = _SCALARS.get(hint)
    return scalar(field, value) if scalar else _parse_object(field, hint, value)


def _parse_object(field: dataclasses.Field[Any], hint: Any, value: Any) -> Any:
    if issubclass(hint, StrEnum):
        if value not in tuple(hint):
            raise InvalidRecord(field.name, f"unknown choice {value!r:.40}")
        return hint(value)
    if not isinstance(value, Mapping):
        raise InvalidRecord(field.name, "not an object")
    mapping = typing.cast("Mapping[str, Any]", value)
    if hint is Record:
        return _parse_replacement(field, mapping)
    return _build(hint, mapping)


def _parse_replacement(field: dataclasses.Field[Any], value: Mapping[str, Any]) -> Record:
    record = from_dict(value) if value.get("kind") != Amendment.kind else None
    if record is None:
        raise InvalidRecord(field.name, "an amendment cannot replace by an amendment")
    return record


def _parse_sequence(field: dataclasses.Field[Any], hint: Any, value: Any) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise InvalidRecord(field.name, "not a list")
    items = typing.cast("list[Any]", value)
    if not 0 < len(items) <= LONGEST_SEQUENCE:
        raise InvalidRecord(field.name, f"{len(items)} entries")
    return tuple(_parse(field, hint, item) for item in items)


def _parse_truth(field: dataclasses.Field[Any], value: Any) -> bool:
    if not isinstance(value, bool):
        raise InvalidRecord(field.name, "not true or false")
    return value


def _parse_float(field: dataclasses.Field[Any], value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise InvalidRecord(field.name, "not a number")
    if not math.isfinite(value) if isinstance(value, float) else abs(value) > _LARGEST_WHOLE:
        raise InvalidRecord(field.name, "not a finite number")
    low, high = field.metadata.get("low", 0.0), field.metadata.get("high", 100_000.0)
    if not low <= value <= high:
        raise InvalidRecord(field.name, f"{value:g} is outside {low:g} to {high:g}")
    return float(value)


def _parse_whole(field: dataclasses.Field[Any], value: Any) -> int:
    number = _parse_float(field, value)
    if not number.is_integer():
        raise InvalidRecord(field.name, "not a whole number")
    return int(number)


def _parse_text(field: dataclasses.Field[Any], value: Any) -> str:
    if not isinstance(value, str):
        raise InvalidRecord(field.name, "not a text")
    if len(value) > field.metadata.get("longest", 80):
        raise InvalidRecord(field.name, f"{len(value)} characters are too many")
    return value


def _parse_moment(field: dataclasses.Field[Any], value: Any) -> datetime:
    return parse_time(field.name, value)


def parse_time(name: str, value: Any) -> datetime:
    """Return an aware time from ISO 8601 text; `name` is the field that an error speaks of."""
    try:
        time = datetime.fromisoformat(value)
    except (TypeError, ValueError) as error:
        raise InvalidRecord(name, "not an ISO 8601 time") from error
    offset = time.utcoffset()
    if offset is None or abs(offset) > timedelta(hours=18):
        raise InvalidRecord(name, "a time without its zone")
    if not EARLIEST_YEAR <= time.year <= LATEST_YEAR:
        raise InvalidRecord(name, f"the year {time.year}")
    return time


_SCALARS: Final[dict[Any, Callable[[dataclasses.Field[Any], Any], Any]]] = {
    bool: _parse_truth,
    int: _parse_whole,
    float: _parse_float,
    str: _parse_text,
    datetime: _parse_moment,
}
