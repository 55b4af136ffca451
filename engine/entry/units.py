"""In which units a number may be typed, by the suffix of the name that it is kept under."""

from collections.abc import Callable, Mapping
from typing import Final

from engine.units import convert_typed, quantity, to_float

DAYS_PER_MONTH: Final = 365.25 / 12.0


def _by_registry(canonical: str, units: Mapping[str, str]) -> dict[str, Callable[[float], float]]:
    """Return typed unit -> conversion to the canonical unit, both written by us."""
    return {
        shown: lambda value, unit=unit: to_float(quantity(value, unit), canonical)
        for shown, unit in units.items()
    }


def _alkalinity(unit: str) -> Callable[[float], float]:
    return lambda value: convert_typed("total_alkalinity", value, unit)


def _same(value: float) -> float:
    return value


# Longest suffix first: the first match wins. The usual unit comes first in each list.
UNITS: Final[dict[str, dict[str, Callable[[float], float]]]] = {
    "meq_per_L_per_day": {
        "dKH a day": _alkalinity("dKH"),
        "meq/L a day": _same,
        "mg/L CaCO3 a day": _alkalinity("mg/L CaCO3"),
    },
    "meq_per_L": {unit: _alkalinity(unit) for unit in ("dKH", "meq/L", "mg/L CaCO3")},
    # How a two-part's strength is stated: by itself, by what a millilitre does, as a titration.
    "meq_per_mL": {
        "meq/mL": _same,
        "dKH per mL in 100 L": lambda value: _alkalinity("dKH")(value) * 100.0,
        "mg/L CaCO3": lambda value: _alkalinity("mg/L CaCO3")(value) / 1000.0,
    },
    "mS_per_cm": {"mS/cm": _same},
    "meq_per_day": {"meq a day": _same},
    "mL_per_day": _by_registry("mL/day", {"mL a day": "mL/day", "L a day": "L/day"}),
    "flow": _by_registry("L/day", {"mL/min": "mL/min", "L/h": "L/h", "L a day": "L/day"}),
    "L_per_day": _by_registry(
        "L/day", {"L a day": "L/day", "mL a day": "mL/day", "US gal a day": "gal/day"}
    ),
    "L_per_h": _by_registry("L/h", {"L/h": "L/h", "mL/min": "mL/min"}),
    "degC": {unit: lambda value, unit=unit: convert_typed("temperature", value, unit)
             for unit in ("degC", "degF")},
    "share": {"%": lambda value: value / 100.0},
    "clock": {"": _same},
    "hours": _by_registry("h", {"h": "h", "min": "min"}),
    "mg_per_L": {"mg/L": _same},
    "pH": {"": _same},
    "per_day": {"a day": _same},
    "count": {"": _same},
    "meq": {"meq": _same},
    "PSU": {"PSU": _same},
    "ppm": {"ppm": _same},
    "days": {"days": _same, "months": lambda value: value * DAYS_PER_MONTH},
    "price": {"": _same},
    "mg": {"mg": _same},
    "mL": _by_registry("mL", {"mL": "mL", "L": "L"}),
    "L": _by_registry("L", {"L": "L", "mL": "mL", "US gal": "gal"}),
    "g": _by_registry("g", {"g": "g", "kg": "kg", "oz": "oz"}),
}  # fmt: skip
