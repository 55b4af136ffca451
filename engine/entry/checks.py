"""A reading as typed: accepted, doubted with suggestions, or refused. Never silently either.

What "plausible" and "a jump" mean stands in `engine.vocabulary`; what else the digits may have
meant comes from `engine.entry.suggestions`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import sqrt
from typing import Final

from engine.entry.numbers import EntryFault, parse_number
from engine.entry.suggestions import Suggestion, canonical, is_plausible, suggest
from engine.errors import InvalidQuantity
from engine.records import Reading, Record, WaterTest
from engine.vocabulary import PARAMETERS, Parameter

MOST_SUGGESTIONS: Final = 3
# pH swings with the lamps: only readings at about the same hour are compared; common practice.
DAILY_SWING: Final = frozenset({"pH_nbs"})
_SAME_HOUR_h: Final = 3.0
_OTHER_HOUR_FACTOR: Final = 2.0
_UNIT_SUFFIXES: Final = {
    "meq/L": "meq_per_L",
    "mg/L": "mg_per_L",
    "": "pH",
    "PSU": "PSU",
    "degC": "degC",
    "ppm": "ppm",
}
READING_CODES: Final = (
    *(
        f"{code}_{suffix}"
        for code in ("entry_outside_usual", "entry_jump", "entry_impossible")
        for suffix in _UNIT_SUFFIXES.values()
    ),
    "entry_not_convertible",
)


@dataclass(frozen=True, slots=True)
class Earlier:
    """A reading already in the log; `value` in the parameter's canonical unit."""

    at: datetime
    value: float


@dataclass(frozen=True, slots=True)
class Accepted:
    """A reading that raises no question."""

    reading: Reading


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A reading to ask about; `kept` is the same one once the keeper stands by it."""

    reading: Reading
    doubts: tuple[EntryFault, ...]
    suggestions: tuple[Suggestion, ...]

    @property
    def kept(self) -> Reading:
        """The reading marked as kept although the app asked."""
        return replace(self.reading, confirmed=True)


@dataclass(frozen=True, slots=True)
class Refused:
    """An entry that cannot be kept as it stands."""

    fault: EntryFault
    suggestions: tuple[Suggestion, ...] = ()


def earlier_readings(records: Iterable[Record], parameter: str) -> tuple[Earlier, ...]:
    """Return a parameter's readings out of the standing records, oldest first."""
    found = [
        Earlier(test.at, reading.value)
        for test in records
        if isinstance(test, WaterTest)
        for reading in test.readings
        if reading.parameter == parameter
    ]
    return tuple(sorted(found, key=lambda earlier: earlier.at))


def read_reading(
    parameter: str,
    text: str,
    typed_unit: str,
    *,
    at: datetime,
    previous: Sequence[Earlier] = (),
) -> Accepted | Doubtful | Refused:
    """Read one value of a water test.

    Parameters
    ----------
    parameter : str
        A code of `engine.vocabulary.PARAMETERS`.
    text : str
        The number as typed.
    typed_unit : str
        One of the parameter's `typed_units`.
    at : datetime
        When the sample was taken, aware.
    previous : sequence of Earlier
        Readings of this parameter in the log, any order.

    Returns
    -------
    Accepted, Doubtful or Refused
        Refused outside the incident range; Doubtful outside the plausible range or after a jump.

    Raises
    ------
    InvalidQuantity
        The parameter or its unit is not of the vocabulary: a mistake of the program.
    """
    described = PARAMETERS.get(parameter)
    if described is None or typed_unit not in described.typed_units:
        raise InvalidQuantity("parameter", parameter, unit=typed_unit, code="unknown_unit")
    number = parse_number(text)
    if isinstance(number, EntryFault):
        return Refused(number)
    typed = text.strip()
    value = canonical(described, number, typed_unit)
    low, high = described.incident
    if value is None or not low <= value <= high:
        fault = _impossible(described, value, typed, typed_unit)
        meant = _suggestions(described, typed, typed_unit, at, previous)
        return Refused(fault, meant)
    reading = Reading(parameter=parameter, value=value, typed=typed, typed_unit=typed_unit)
    doubts = _doubts(described, value, at, previous)
    if not doubts:
        return Accepted(reading)
    suggestions = _suggestions(described, typed, typed_unit, at, previous)
    if is_plausible(described, value):  # only the jump is in doubt: offer what explains it
        suggestions = tuple(s for s in suggestions if not _jumps(s, described, at, previous))
    return Doubtful(reading, doubts, suggestions)


def unit_suffix(parameter: Parameter) -> str:
    """Return the suffix that keys and codes carry for the parameter's canonical unit."""
    return _UNIT_SUFFIXES[parameter.unit]


def allowed_change(parameter: Parameter, elapsed_days: float) -> float:
    """Return the change between two readings above which the app asks, in the canonical unit.

    The vocabulary's jump holds within a day. Over longer spans an unnoticed imbalance adds up
    like a random walk, so it grows with the square root of the days (our choice, no source).
    """
    return parameter.jump * sqrt(max(elapsed_days, 1.0))


def _impossible(
    parameter: Parameter, value: float | None, typed: str, typed_unit: str
) -> EntryFault:
    if value is None:
        return EntryFault("entry_not_convertible", {"typed_text": typed, "typed_unit": typed_unit})
    finding = _range_finding("entry_impossible", parameter, value, parameter.incident)
    return EntryFault(finding.code, {**finding.numbers, "typed_text": typed})


def _range_finding(
    code: str, parameter: Parameter, value: float, bounds: tuple[float, float]
) -> EntryFault:
    suffix = unit_suffix(parameter)
    numbers = {
        f"value_{suffix}": value,
        f"low_{suffix}": bounds[0],
        f"high_{suffix}": bounds[1],
    }
    return EntryFault(f"{code}_{suffix}", numbers)


def _doubts(
    parameter: Parameter, value: float, at: datetime, previous: Sequence[Earlier]
) -> tuple[EntryFault, ...]:
    found: list[EntryFault] = []
    if not is_plausible(parameter, value):
        found.append(_range_finding("entry_outside_usual", parameter, value, parameter.plausible))
    jump = _jump(parameter, value, at, previous)
    if jump is not None:
        found.append(jump)
    return tuple(found)


def _jump(
    parameter: Parameter, value: float, at: datetime, previous: Sequence[Earlier]
) -> EntryFault | None:
    """Return the doubt about a change since the reading that compares best, or None."""
    compared = _compared(parameter, at, previous)
    if compared is None:
        return None
    earlier, factor = compared
    elapsed_days = _apart_days(earlier, at)
    change = abs(value - earlier.value)
    if change <= factor * allowed_change(parameter, elapsed_days) * (1.0 + 1e-9):
        return None
    suffix = unit_suffix(parameter)
    numbers = {
        f"value_{suffix}": value,
        f"last_{suffix}": earlier.value,
        f"change_{suffix}": change,
        "elapsed_days": elapsed_days,
    }
    return EntryFault(f"entry_jump_{suffix}", numbers)


def _compared(
    parameter: Parameter, at: datetime, previous: Sequence[Earlier]
) -> tuple[Earlier, float] | None:
    """Return the reading to compare with and a factor on the allowed change."""
    candidates = [e for e in previous if e.at <= at] or list(previous)
    if not candidates:
        return None
    nearest = min(candidates, key=lambda earlier: _apart_days(earlier, at))
    if parameter.code not in DAILY_SWING:
        return nearest, 1.0
    same_hour = [earlier for earlier in candidates if _is_same_hour(earlier, at)]
    if not same_hour:
        return nearest, _OTHER_HOUR_FACTOR
    return min(same_hour, key=lambda earlier: _apart_days(earlier, at)), 1.0


def _apart_days(earlier: Earlier, at: datetime) -> float:
    return abs((at - earlier.at).total_seconds()) / 86_400.0


def _is_same_hour(earlier: Earlier, at: datetime) -> bool:
    hours = _apart_days(earlier, at) * 24.0 % 24.0
    return min(hours, 24.0 - hours) <= _SAME_HOUR_h


def _jumps(
    suggestion: Suggestion, parameter: Parameter, at: datetime, previous: Sequence[Earlier]
) -> bool:
    return suggestion.parameter == parameter.code and (
        _jump(parameter, suggestion.reading.value, at, previous) is not None
    )


def _suggestions(
    parameter: Parameter,
    typed: str,
    typed_unit: str,
    at: datetime,
    previous: Sequence[Earlier],
) -> tuple[Suggestion, ...]:
    """Return what may have been meant, what fits the log first."""
    meant = list(suggest(parameter, typed, typed_unit))
    fitting = [
        suggestion
        for suggestion in meant
        if not (suggestion.guessed and _jumps(suggestion, parameter, at, previous))
    ]
    meant = fitting or meant
    meant.sort(key=lambda suggestion: _jumps(suggestion, parameter, at, previous))
    return tuple(meant[:MOST_SUGGESTIONS])
