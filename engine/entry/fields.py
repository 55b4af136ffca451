"""Amounts, times and texts of every other record, checked against the records' own declarations.

A field is named "kind.field", as in "refill.volume_L". Its range is the one declared in
`engine.records`, its unit the one that its name carries, its typed units an allow-list.
"""

import dataclasses
import typing
import unicodedata
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from math import inf
from typing import Any, Final

from engine.entry.checks import Refused
from engine.entry.clock import parse_clock
from engine.entry.numbers import EntryFault, parse_number
from engine.entry.units import UNITS
from engine.errors import InvalidQuantity
from engine.records import EARLIEST_YEAR, KINDS

FUTURE_TOLERANCE: Final = timedelta(minutes=5)
LONG_AGO: Final = timedelta(days=60)


_OWN_SUFFIX: Final = {
    "setup.powder_assay": "share",
    "limewater_strength.fraction_of_saturation": "share",
    "setup.stirrer_every_h": "hours",
    "setup.doses_per_day": "count",
    "setup.evaporation_high_month": "count",
    "setup.evaporation_low_month": "count",
    "powder_stock.price": "price",
    "setup.lights_on_hours": "clock",
    "setup.lights_off_hours": "clock",
    "setup.reactor_flow_L_per_day": "flow",
    "second_source_setting.flow_L_per_day": "flow",
}
# Numbers that forms ask for and records keep under another name: (record field, largest value).
_FORM_FIELDS: Final = {
    "pump_check.run_1_mL": ("pump_check.measured_mL", 100_000.0),
    "pump_check.run_2_mL": ("pump_check.measured_mL", 100_000.0),
    "pump_check.run_3_mL": ("pump_check.measured_mL", 100_000.0),
    "addition.salt_g": ("recharge.powder_g", 50_000.0),
}
_NOTHING_AT_ZERO: Final = frozenset(
    {
        "refill.volume_L",
        "recharge.powder_g",
        "water_change.volume_L",
        "addition.alkalinity_meq",
        "addition.salt_g",
    }
)
# What is offered where not every unit of the suffix makes sense: by field, else by kind and suffix.
# All of them can be read, so that what was typed in another one stays as it was.
_OFFERED_UNITS: Final[dict[tuple[str, str], tuple[str, ...]]] = {
    ("setup", "L"): ("L", "US gal"),
    ("setup", "L_per_day"): ("L a day", "US gal a day"),
    ("setup", "skimmate_L_per_day"): ("L a day", "mL a day", "US gal a day"),
    ("setup", "mL"): ("mL",),
    ("setup", "g"): ("g",),
    ("setup", "unattended_hours"): ("h",),
    ("refill", "L"): ("L", "US gal"),
    ("water_change", "L"): ("L", "US gal"),
    ("pump_check", "mL"): ("mL",),
    ("limewater_strength", "mL"): ("mL",),
    ("addition", "g"): ("g", "oz"),
}
FIELD_SUFFIXES: Final = tuple(UNITS)
FIELD_CODES: Final = (
    *(f"entry_outside_range_{suffix}" for suffix in UNITS),
    *(f"entry_outside_expected_{suffix}" for suffix in UNITS),
    "entry_clock",
    "entry_not_whole",
    "entry_zero",
    "entry_text_too_long",
    "entry_text_unreadable",
    "entry_time_in_future",
    "entry_time_too_old",
)
REMARK_CODES: Final = ("entry_clock_back", "entry_older_than_last", "entry_long_ago")


@dataclass(frozen=True, slots=True)
class Amount:
    """A number for a record's field; `value` in the unit that the field's name carries."""

    field_key: str
    value: float
    typed: str
    typed_unit: str


@dataclass(frozen=True, slots=True)
class DoubtfulAmount:
    """An amount that is possible but not what was expected: ask, then keep it or not."""

    amount: Amount
    doubt: EntryFault


@dataclass(frozen=True, slots=True)
class AcceptedTime:
    """A time for a record, and what to say about it."""

    at: datetime
    remarks: tuple[EntryFault, ...] = ()


def amount_units(field_key: str) -> tuple[str, ...]:
    """Return the units that a field is offered in, the usual one first."""
    kind, _, name = field_key.partition(".")
    suffix = _suffix(field_key)
    offered = _OFFERED_UNITS.get((kind, name)) or _OFFERED_UNITS.get((kind, suffix))
    return offered or tuple(UNITS[suffix])


def is_clock(field_key: str) -> bool:
    """Return whether a field is a time of day, typed as on a clock."""
    return _suffix(field_key) == "clock"


def read_amount(
    field_key: str, text: str, unit: str, *, expected: tuple[float, float] | None = None
) -> Amount | DoubtfulAmount | Refused:
    """Read a number for a record's field.

    Parameters
    ----------
    field_key : str
        "kind.field" of a number in `engine.records`.
    text : str
        The number as typed.
    unit : str
        One of the units of its suffix in `engine.entry.units`.
    expected : (float, float), optional
        Bounds in the field's own unit outside which the app asks.

    Returns
    -------
    Amount, DoubtfulAmount or Refused
        Refused where the text is no number or outside the field's declared range.

    Raises
    ------
    InvalidQuantity
        No such field or unit: a mistake of the program.
    """
    zero = field_key not in _NOTHING_AT_ZERO
    rule = _Rule(field_key, _suffix(field_key), _bounds(field_key), zero)
    return _read(rule, text, unit, expected)


def read_number(
    name: str,
    text: str,
    unit: str,
    bounds: tuple[float, float],
    *,
    expected: tuple[float, float] | None = None,
    zero: bool = True,
) -> Amount | DoubtfulAmount | Refused:
    """Read a number that no record keeps under this name; its suffix tells the unit.

    As `read_amount`, with the range given. Without `zero`, 0 is refused as nothing measured.
    """
    return _read(_Rule(name, name_suffix(name), bounds, zero), text, unit, expected)


def name_suffix(name: str) -> str:
    """Return the unit suffix of a number's name."""
    found = next((s for s in UNITS if name == s or name.endswith(f"_{s}")), None)
    if found is None:
        raise InvalidQuantity("name", name, code="not_a_number_field")
    return found


@dataclass(frozen=True, slots=True)
class _Rule:
    """What a number must be: its key, unit suffix, possible range, and whether 0 counts."""

    key: str
    suffix: str
    bounds: tuple[float, float]
    zero: bool


def _read(
    rule: _Rule, text: str, unit: str, expected: tuple[float, float] | None
) -> Amount | DoubtfulAmount | Refused:
    convert = UNITS[rule.suffix].get(unit)
    if convert is None:
        raise InvalidQuantity(rule.key, unit, unit=unit, code="unknown_unit")
    number = parse_clock(text) if rule.suffix == "clock" else parse_number(text)
    if isinstance(number, EntryFault):
        return Refused(number)
    value = convert(number)
    if rule.suffix == "count" and value % 1.0 != 0.0:
        return Refused(EntryFault("entry_not_whole"))
    if value == 0.0 and not rule.zero:
        return Refused(EntryFault("entry_zero"))
    if not rule.bounds[0] <= value <= rule.bounds[1]:
        return Refused(_range_fault("entry_outside_range", rule.suffix, value, rule.bounds))
    amount = Amount(rule.key, value, text.strip(), unit)
    if expected is not None and not expected[0] <= value <= expected[1]:
        doubt = _range_fault("entry_outside_expected", rule.suffix, value, expected)
        return DoubtfulAmount(amount, doubt)
    return amount


def read_text(field_key: str, text: str) -> str | EntryFault:
    """Return a text for a record's field as typed, or the fault.

    Emoji and every script are kept. Only what cannot be stored or shown (control characters,
    halves of characters that a broken paste leaves behind) is refused.
    """
    longest = int(_field(field_key).metadata.get("longest", 80))
    kept = text.strip()
    if len(kept) > longest:
        numbers = {"longest_count": float(longest), "over_count": float(len(kept) - longest)}
        return EntryFault("entry_text_too_long", numbers)
    if any(_is_unreadable(character) for character in kept):
        return EntryFault("entry_text_unreadable")
    return kept


def read_time(
    at: datetime,
    *,
    now: datetime,
    newest_recorded_at: datetime | None = None,
    last_at: datetime | None = None,
) -> AcceptedTime | Refused:
    """Check when something is said to have happened.

    Parameters
    ----------
    at, now : datetime
        The time given and the phone's clock, both aware.
    newest_recorded_at : datetime, optional
        The latest `recorded_at` in the log: a clock behind it was moved back.
    last_at : datetime, optional
        When the last record of the same kind happened.

    Returns
    -------
    AcceptedTime or Refused
        Refused when more than five minutes ahead of the clock or before 1990. A time ahead by
        less is taken as now.
    """
    if at.utcoffset() is None or now.utcoffset() is None:
        raise InvalidQuantity("at", str(at), code="time_without_zone")
    if at - now > FUTURE_TOLERANCE:
        return Refused(EntryFault("entry_time_in_future", {"ahead_days": _days(at - now)}))
    if at.year < EARLIEST_YEAR:
        return Refused(EntryFault("entry_time_too_old"))
    remarks: list[EntryFault] = []
    if newest_recorded_at is not None and newest_recorded_at - now > FUTURE_TOLERANCE:
        behind = {"behind_days": _days(newest_recorded_at - now)}
        remarks.append(EntryFault("entry_clock_back", behind))
    if last_at is not None and at < last_at:
        remarks.append(EntryFault("entry_older_than_last", {"older_days": _days(last_at - at)}))
    if now - at > LONG_AGO:
        remarks.append(EntryFault("entry_long_ago", {"age_days": _days(now - at)}))
    return AcceptedTime(min(at, now), tuple(remarks))


def _range_fault(code: str, suffix: str, value: float, bounds: tuple[float, float]) -> EntryFault:
    numbers = {f"value_{suffix}": value, f"low_{suffix}": bounds[0], f"high_{suffix}": bounds[1]}
    return EntryFault(f"{code}_{suffix}", numbers)


@cache
def _field(field_key: str) -> dataclasses.Field[Any]:
    kind, _, name = field_key.partition(".")
    record_class = KINDS.get(kind)
    fields = {field.name: field for field in dataclasses.fields(record_class or Refused)}
    if record_class is None or name not in fields:
        raise InvalidQuantity("field_key", field_key, code="unknown_field")
    return fields[name]


def _bounds(field_key: str) -> tuple[float, float]:
    """Return the declared range; the bounds left out are those of `engine.log.record_codec`."""
    record_field, largest = _FORM_FIELDS.get(field_key, (field_key, inf))
    metadata = _field(record_field).metadata
    return float(metadata.get("low", 0.0)), min(float(metadata.get("high", 100_000.0)), largest)


@cache
def _suffix(field_key: str) -> str:
    """Return the unit suffix of a number's field."""
    field_key, _ = _FORM_FIELDS.get(field_key, (field_key, 0.0))
    name = _field(field_key).name
    own = _OWN_SUFFIX.get(field_key)
    suffix = own or next((suffix for suffix in UNITS if name.endswith(f"_{suffix}")), None)
    hints = typing.get_type_hints(KINDS[field_key.partition(".")[0]])
    if suffix is None or "str" in str(hints[name]):
        raise InvalidQuantity("field_key", field_key, code="not_a_number_field")
    return suffix


def _is_unreadable(character: str) -> bool:
    return unicodedata.category(character) in ("Cc", "Cs") and character not in "\n\t"


def _days(span: timedelta) -> float:
    return span.total_seconds() / 86_400.0
