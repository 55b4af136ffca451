"""The one unit registry: quantities at the seam, floats with unit suffixes inside.

Built from our own few definitions, so that nothing else of Pint's long list is parsed at start.
`equivalent` is a dimension of its own: an amount of calcium can never be added to an alkalinity
by mistake. What a keeper types is never parsed by Pint: `TYPED_UNITS` is the allow-list.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any, Final, NamedTuple, TypeAlias, cast

import pint
from pint.facets.plain import PlainQuantity

from engine.chemistry.constants import (
    CALCIUM_CARBONATE_MG_PER_MEQ,
    MOLAR_MASS_CALCIUM,
    MOLAR_MASS_MAGNESIUM,
)
from engine.errors import InvalidQuantity, check_finite
from engine.vocabulary import MEQ_PER_DKH, PARAMETERS

Quantity: TypeAlias = PlainQuantity[Any]

_DEFINITIONS: Final = (
    "micro- = 1e-6 = u-",
    "milli- = 1e-3 = m-",
    "kilo- = 1e3 = k-",
    "meter = [length] = m",
    "gram = [mass] = g",
    "second = [time] = s",
    "kelvin = [temperature] = K",
    "mole = [substance] = mol",
    "equivalent = [chemical_charge] = eq",
    "siemens = [conductance] = S",
    "PSU = []",
    "degC = kelvin; offset: 273.15",
    "degF = 5 / 9 * kelvin; offset: 233.15 + 200 / 9",
    "centimeter = 0.01 * meter = cm",
    "liter = 1e-3 * meter ** 3 = L",
    "gallon = 3.785411784 * liter = gal",
    "ounce = 28.349523125 * gram = oz",
    "minute = 60 * second = min",
    "hour = 60 * minute = h",
    "day = 24 * hour",
    # 1 dKH is 10 mg of CaO per litre, 20 / M(CaO) meq/L: derived, never a bare 2.8.
    f"dKH = {MEQ_PER_DKH!r} * milliequivalent / liter",
)

registry: Final[Any] = cast("Any", pint.UnitRegistry)(None)
for _line in _DEFINITIONS:
    registry.define(_line)


@cache
def _unit(name: str) -> Any:
    return registry.Unit(name)


def quantity(value: float, unit: str) -> Quantity:
    """Return a finite value with a unit written by us, never one typed by a keeper."""
    check_finite("value", value, unit)
    return registry.Quantity(value, _unit(unit))


def to_float(value: Quantity, unit: str) -> float:
    """Return a quantity's value in a unit.

    Raises
    ------
    InvalidQuantity
        The quantity has another dimension.
    """
    try:
        return float(cast("Any", value).m_as(_unit(unit)))
    except pint.DimensionalityError as error:
        raise InvalidQuantity("quantity", str(value), unit=unit, code="wrong_dimension") from error


class Span(NamedTuple):
    """A float with its 90 % interval; the name of the variable carries the unit."""

    low: float
    best: float
    high: float

    def scaled(self, factor: float) -> "Span":
        """Return the span times a factor of at least 0."""
        return Span(self.low * factor, self.best * factor, self.high * factor)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A physical result with its 90 % interval."""

    low: Quantity
    best: Quantity
    high: Quantity

    def floats(self, unit: str) -> Span:
        """Return low, best and high in a unit."""
        return Span(*(to_float(q, unit) for q in (self.low, self.best, self.high)))


def estimate(span: Span, unit: str) -> Estimate:
    """Return a span of floats as quantities."""
    return Estimate(*(quantity(value, unit) for value in span))


def _times(factor: float) -> Callable[[float], float]:
    return lambda value: value * factor


def _same(value: float) -> float:
    return value


def _salinity_from_specific_gravity(value: float) -> float:
    from engine.seawater import salinity_from_specific_gravity

    return salinity_from_specific_gravity(value, 25.0, 25.0)


def _salinity_from_conductivity(value: float) -> float:
    from engine.seawater import salinity_from_conductivity

    return salinity_from_conductivity(value, 25.0)


_TYPED: Final[dict[tuple[str, str], Callable[[float], float]]] = {
    ("total_alkalinity", "dKH"): _times(MEQ_PER_DKH),
    ("total_alkalinity", "meq/L"): _same,
    ("total_alkalinity", "mg/L CaCO3"): _times(1.0 / CALCIUM_CARBONATE_MG_PER_MEQ),
    ("calcium", "mg/L"): _same,
    ("calcium", "mmol/L"): _times(MOLAR_MASS_CALCIUM),
    ("magnesium", "mg/L"): _same,
    ("magnesium", "mmol/L"): _times(MOLAR_MASS_MAGNESIUM),
    ("pH_nbs", ""): _same,
    ("salinity", "PSU"): _same,
    ("salinity", "SG 25/25"): _salinity_from_specific_gravity,
    ("salinity", "mS/cm at 25 °C"): _salinity_from_conductivity,
    ("temperature", "degC"): _same,
    ("temperature", "degF"): lambda value: (value - 32.0) / 1.8,
    ("nitrate", "mg/L"): _same,
    ("phosphate", "mg/L"): _same,
    ("room_co2", "ppm"): _same,
    ("tds", "ppm"): _same,
}

TYPED_UNITS: Final = {code: parameter.typed_units for code, parameter in PARAMETERS.items()}


def convert_typed(parameter: str, value: float, typed_unit: str) -> float:
    """Convert a typed reading to the canonical unit of its parameter.

    Parameters
    ----------
    parameter : str
        A code of `engine.vocabulary.PARAMETERS`.
    value : float
        As typed, finite.
    typed_unit : str
        One of the parameter's `typed_units`.

    Returns
    -------
    float
        In the parameter's `unit`.

    Raises
    ------
    InvalidQuantity
        Not finite, or a unit that is not offered for the parameter.
    OutsideValidity
        A specific gravity or conductivity outside the published formula's range.
    """
    check_finite(parameter, value, typed_unit)
    convert = _TYPED.get((parameter, typed_unit))
    if convert is None:
        raise InvalidQuantity(parameter, typed_unit, unit=typed_unit, code="unknown_unit")
    return convert(value)
