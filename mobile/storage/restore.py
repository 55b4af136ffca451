"""The one door: whatever is loaded (journal, import, demo) or appended is checked here.

A record passes through: shape and bounds, version, migration, the engine's own validation. What
is refused is kept by the caller as it came, with the `Problem` that says why.
"""

import json
import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any, Final, cast

from engine.log.json_depth import is_deeper_than
from mobile.storage.migrations import MIGRATIONS, SCHEMA_VERSION, Migration, migrate
from mobile.storage.problems import Problem

MAX_RECORD_BYTES: Final = 1 << 16
MAX_DEPTH: Final = 12
MAX_TEXT: Final = 20_000
LARGEST_NUMBER: Final = 2**53
EARLIEST_YEAR: Final = 1990
LATEST_YEAR: Final = 2199

_ID = re.compile(r"([A-Za-z0-9_-]{1,40}):([1-9][0-9]{0,14})")
_FORBIDDEN_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_FAILURES: Final = (ValueError, TypeError, LookupError, ArithmeticError, AttributeError)

Validate = Callable[[dict[str, Any]], dict[str, Any]]
"""Returns the record in its canonical form, or raises ValueError (or a kind named beside it)."""


class Refusal(Exception):  # noqa: N818 - it carries a Problem and never leaves this package
    """A value does not pass; `problem` says why."""

    def __init__(self, code: str, detail: str = "", record_id: str | None = None) -> None:
        self.problem = Problem(code=code, detail=detail[:200], record_id=record_id)
        super().__init__(code)


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A stored record that did not pass the door, as it came."""

    raw: dict[str, Any]
    problem: Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """Checks records.

    Attributes
    ----------
    validate : callable
        The engine's codec.
    also_refuses : tuple of exception types
        What it raises beside ValueError for a record that it refuses.
    """

    validate: Validate
    also_refuses: tuple[type[Exception], ...] = ()
    schema_version: int = SCHEMA_VERSION
    migrations: Mapping[int, Migration] = field(default_factory=lambda: MIGRATIONS)

    def admit(self, raw: Any) -> dict[str, Any]:
        """Return the record migrated and validated.

        Raises
        ------
        Refusal
            With one of the codes record_not_object, record_too_deep, record_too_large,
            record_bad_number, record_bad_text, record_bad_key, record_bad_id, record_bad_time,
            record_bad_field, record_newer, record_no_migration, record_invalid.
        """
        if not isinstance(raw, dict):
            raise Refusal("record_not_object", type(raw).__name__)
        record = cast("dict[str, Any]", raw)
        check_value(record)
        record_id = _check_envelope(record)
        if record["v"] > self.schema_version:
            raise Refusal("record_newer", str(record["v"]), record_id)
        valid = self._validate(self._migrate(record, record_id), record_id)
        if valid.get("id") != record_id:
            raise Refusal("record_invalid", "the id changed", record_id)
        if len(canonical(valid).encode()) > MAX_RECORD_BYTES:
            raise Refusal("record_too_large", "", record_id)
        return valid

    def _migrate(self, record: dict[str, Any], record_id: str) -> dict[str, Any]:
        try:
            return migrate(record, to_version=self.schema_version, migrations=self.migrations)
        except _FAILURES as error:
            raise Refusal("record_no_migration", str(error), record_id) from error

    def _validate(self, record: dict[str, Any], record_id: str) -> dict[str, Any]:
        try:
            return self.validate(record)
        except (*_FAILURES, *self.also_refuses) as error:
            raise Refusal("record_invalid", str(error), record_id) from error


def canonical(value: Any) -> str:
    """Return the one JSON text of a value: two records are the same when this is."""
    return json.dumps(
        value, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
    )


def split_id(record_id: str) -> tuple[str, int]:
    """Return the device and the number of a record's id; raises ValueError."""
    match = _ID.fullmatch(record_id)
    if match is None:
        raise ValueError("not an id")
    return match[1], int(match[2])


def instant_us(text: str) -> int:
    """Return an ISO 8601 time with its zone as microseconds since 1970; raises ValueError."""
    time = datetime.fromisoformat(text)
    if time.tzinfo is None or not EARLIEST_YEAR <= time.year <= LATEST_YEAR:
        raise ValueError("a time without a zone, or out of range")
    return (time - _EPOCH) // timedelta(microseconds=1)


def check_value(value: Any, depth: int = 0) -> None:
    """Raise Refusal unless a value is JSON within the bounds of depth, size, number and text."""
    match value:
        case None | bool():
            pass
        case str():
            _check_text(value)
        case int() | float():
            # In this order: a whole number may be too large to be asked whether it is finite.
            if abs(value) > LARGEST_NUMBER or not math.isfinite(value):
                raise Refusal("record_bad_number", type(value).__name__)
        case dict() | list() | tuple():
            _check_items(cast("dict[Any, Any] | list[Any]", value), depth)
        case _:
            raise Refusal("record_bad_field", type(value).__name__)


def _check_items(value: dict[Any, Any] | list[Any], depth: int) -> None:
    if depth >= MAX_DEPTH:
        raise Refusal("record_too_deep")
    if isinstance(value, list | tuple):
        items: Iterable[Any] = value
    else:
        items = value.values()
        for key in value:
            if not isinstance(key, str):
                raise Refusal("record_bad_key", type(key).__name__)
            _check_text(key)
    for item in items:
        check_value(item, depth + 1)


def _check_text(text: str) -> None:
    if len(text) > MAX_TEXT:
        raise Refusal("record_too_large", f"{len(text)} characters")
    if _FORBIDDEN_TEXT.search(text):
        raise Refusal("record_bad_text", ascii(text[:40]))


def _check_envelope(record: dict[str, Any]) -> str:
    record_id = record.get("id")
    if not isinstance(record_id, str) or not _ID.fullmatch(record_id):
        raise Refusal("record_bad_id", f"{record_id!r:.60}")
    for name in ("at", "recorded_at"):
        try:
            instant_us(record[name])
        except (KeyError, TypeError, ValueError) as error:
            raise Refusal("record_bad_time", f"{name}: {error}", record_id) from error
    for name in ("system", "kind"):
        if not isinstance(record.get(name), str) or not record[name]:
            raise Refusal("record_bad_field", name, record_id)
    version = record.get("v")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise Refusal("record_bad_field", "v", record_id)
    return record_id


def parse_line(line: bytes) -> Any:
    """Return the value of one line of JSON from anywhere.

    Raises
    ------
    Refusal
        line_not_text, line_too_deep, line_not_json.
    """
    if len(line) > MAX_RECORD_BYTES * 2:
        raise Refusal("record_too_large", f"{len(line)} bytes")
    try:
        text = line.decode("utf-8")
    except UnicodeDecodeError as error:
        raise Refusal("line_not_text", str(error)) from error
    if is_deeper_than(text, MAX_DEPTH + 1):
        raise Refusal("line_too_deep")
    try:
        return json.loads(
            text, parse_constant=_refuse_constant, object_pairs_hook=_object_of_unique_keys
        )
    except ValueError as error:
        raise Refusal("line_not_json", str(error)) from error


def _refuse_constant(name: str) -> float:
    raise ValueError(f"{name} is not a number")


def _object_of_unique_keys(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result = dict(pairs)
    if len(result) != len(pairs):
        raise ValueError("a name occurs twice")
    return result
