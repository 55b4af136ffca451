"""What an odd reading may have been meant as: one rule for every parameter, no special cases.

The same digits in the parameter's other units, in its neighbours' usual unit, or with the point
elsewhere; whatever lands inside a plausible range is worth asking about.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite
from typing import Final

from engine.entry.numbers import EntryFault, has_thousands_shape, parse_number
from engine.errors import EngineError
from engine.records import Reading
from engine.units import convert_typed
from engine.vocabulary import PARAMETERS, Parameter

# Fields that stand side by side and get mistaken for each other; common practice, no source.
NEIGHBOURS: Final = (
    ("total_alkalinity", "calcium", "magnesium", "pH_nbs"),
    ("salinity", "temperature"),
    ("nitrate", "phosphate"),
)


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What may have been meant; taking it means reading `text` anew as `parameter` in `unit`."""

    parameter: str
    text: str
    unit: str
    reading: Reading
    guessed: bool = False  # the digits themselves were changed: the point stands elsewhere


def suggest(parameter: Parameter, typed: str, typed_unit: str) -> Iterator[Suggestion]:
    """Yield what may have been meant by a number typed in a unit, the likeliest kind first."""
    yield from _in_other_units(parameter, typed, typed_unit)
    yield from _as_neighbours(parameter, typed)
    yield from _with_point_elsewhere(parameter, typed, typed_unit)


def canonical(parameter: Parameter, number: float, unit: str) -> float | None:
    """Return the value in the canonical unit, or None where the conversion has no answer."""
    try:
        value = convert_typed(parameter.code, number, unit)
    except EngineError:
        return None
    return value if isfinite(value) else None


def is_plausible(parameter: Parameter, value: float) -> bool:
    """Tell whether a canonical value raises no question by itself."""
    low, high = parameter.plausible
    return low <= value <= high


def _in_other_units(parameter: Parameter, typed: str, typed_unit: str) -> Iterator[Suggestion]:
    for unit in parameter.typed_units:
        if unit != typed_unit:
            yield from _suggested(parameter, typed, unit)


def _as_neighbours(parameter: Parameter, typed: str) -> Iterator[Suggestion]:
    group = next((group for group in NEIGHBOURS if parameter.code in group), ())
    for code in group:
        if code != parameter.code:
            neighbour = PARAMETERS[code]
            yield from _suggested(neighbour, typed, neighbour.typed_units[0])


def _with_point_elsewhere(
    parameter: Parameter, typed: str, typed_unit: str
) -> Iterator[Suggestion]:
    number = parse_number(typed)
    if isinstance(number, EntryFault):
        return
    if has_thousands_shape(typed):
        yield from _suggested(parameter, f"{number * 1000.0:.0f}", typed_unit)
    digits = f"{number:.0f}"
    if number % 1.0 == 0.0 and "." not in typed and "," not in typed:
        for place in range(len(digits) - 1, 0, -1):
            yield from _suggested(
                parameter, f"{digits[:place]}.{digits[place:]}", typed_unit, guessed=True
            )


def _suggested(
    parameter: Parameter, text: str, unit: str, *, guessed: bool = False
) -> Iterator[Suggestion]:
    """Yield the suggestion when it is plausible."""
    number = parse_number(text)
    if isinstance(number, EntryFault):
        return
    value = canonical(parameter, number, unit)
    if value is not None and is_plausible(parameter, value):
        reading = Reading(parameter=parameter.code, value=value, typed=text, typed_unit=unit)
        yield Suggestion(parameter.code, text, unit, reading, guessed)
