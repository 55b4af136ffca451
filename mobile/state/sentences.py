"""Numbers and sentences as people read them: every number gets its unit here and nowhere else.

A key's suffix tells the unit, so a template only names the number: `{demand_meq_per_day}`.
Doses are rounded toward less, so that what is shown never exceeds what was admitted.
"""

import math
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Final

from engine.constants import CALCIUM_CARBONATE_MG_PER_MEQ
from engine.vocabulary import MEQ_PER_DKH

ALKALINITY_UNITS: Final = {
    # canonical meq/L -> shown value, unit, decimals
    "dKH": (1.0 / MEQ_PER_DKH, "dKH", 1),
    "meq/L": (1.0, "meq/L", 2),
    "mg/L CaCO3": (CALCIUM_CARBONATE_MG_PER_MEQ, "mg/L CaCO₃", 0),
}


def trimmed(value: float, decimals: int) -> str:
    """Return a number with at most so many decimals, without idle zeros."""
    shown = f"{value:.{decimals}f}"
    if "." in shown:
        shown = shown.rstrip("0").rstrip(".")
    return "0" if shown in ("-0", "") else shown.replace("-", "−")


def significant(value: float, digits: int = 3) -> str:
    """Return a number with at most so many significant digits, without exponent."""
    if value == 0.0:
        return "0"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    return trimmed(round(value, decimals), max(decimals, 0))


def floored(value: float, digits: int = 3) -> str:
    """Return a dose with at most so many significant digits, rounded toward less."""
    if value <= 0.0:
        return "0"
    decimals = max(digits - 1 - math.floor(math.log10(value)), 0)
    scale = 10.0**decimals
    return trimmed(math.floor(value * scale + 1e-9) / scale, decimals)


def counted(count: int, noun: str) -> str:
    """Return a count with its noun, in the plural unless it is one."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def days(value: float, to_whole: Callable[[float], int] = round) -> str:
    """Return a span of days in words that do not pretend to more than is known."""
    if value < 1.0:
        whole_hours = max(to_whole(value * 24.0), 0)
        return "less than an hour" if whole_hours == 0 else f"{whole_hours} h"
    tenths = to_whole(value * 10.0 + 1e-9) / 10.0
    shown = trimmed(tenths if value < 3.0 else to_whole(value + 1e-9), 1)
    return f"{shown} day" if shown == "1" else f"{shown} days"


def days_at_least(value: float) -> str:
    """Return the near end of a span of days: never later than it may happen."""
    return days(value, math.floor)


def hours(value: float) -> str:
    """Return a span of hours, in minutes below two of them."""
    return f"{round(value * 60.0)} min" if value < 2.0 else f"{significant(value, 2)} h"


def _with(unit: str, digits: int = 3) -> Callable[[float], str]:
    return lambda value: f"{significant(value, digits)}{unit}"


def _dose(unit: str) -> Callable[[float], str]:
    return lambda value: f"{floored(value)}{unit}"


_PLAIN: Final[dict[str, Callable[[float], str]]] = {
    # longest suffixes first: the first match wins
    "_g_per_day": _with(" g a day", 2),
    "delivered_L_per_day": _with(" L a day"),  # a hazard figure: never shown smaller
    "_L_per_day": _dose(" L a day"),
    "_L_per_h": _with(" L/h"),
    "_mL_per_day": _dose(" mL a day"),
    "_mL_per_min": _with(" mL a minute", 2),
    "_meq_per_day": _with(" meq a day"),
    "_meq_per_mL": _with(" meq/mL"),
    "_mS_per_cm": _with(" mS/cm"),
    "_meq": _with(" meq"),
    "_mg_per_L": _with(" mg/L"),
    "_ppm": _with(" ppm"),
    "_PSU_per_day": _with(" PSU a day", 2),
    "_PSU": lambda value: f"{trimmed(value, 1)} PSU",
    "_mL": _dose(" mL"),
    "_kg": _with(" kg", 2),
    "_L": _with(" L"),
    "_g": _with(" g"),
    "_low_days": days_at_least,
    "_days": days,
    "_hours": hours,
    "_share": lambda value: f"{trimmed(value * 100.0, 0)} %",
    "_degC": lambda value: f"{trimmed(value, 1)} °C",
    "_pH": lambda value: f"{value:.2f}",
    "_count": lambda value: trimmed(value, 0),
}


def alkalinity(value_meq_per_L: float, unit: str = "dKH", *, rate: bool = False) -> str:
    """Return an alkalinity (or, with `rate`, a change per day) in the keeper's unit."""
    factor, name, decimals = ALKALINITY_UNITS[unit]
    shown = trimmed(value_meq_per_L * factor, decimals + (1 if rate else 0))
    return f"{shown} {name}" + (" a day" if rate else "")


def number(key: str, value: float | str, alkalinity_unit: str = "dKH") -> str:
    """Return one number as people read it, its unit taken from the key's suffix."""
    if isinstance(value, str):
        return value
    if not math.isfinite(value):
        return "an unknown amount"
    if key.endswith("_meq_per_L_per_day"):
        return alkalinity(value, alkalinity_unit, rate=True)
    if key.endswith("_meq_per_L"):
        return alkalinity(value, alkalinity_unit)
    for suffix, formatter in _PLAIN.items():
        if key.endswith(suffix):
            return formatter(value)
    return significant(value)


def sentence(
    texts: Mapping[str, str],
    code: str,
    numbers: Mapping[str, float | str],
    alkalinity_unit: str = "dKH",
) -> str:
    """Return the sentence of a code with its numbers filled in."""
    shown = {key: number(key, value, alkalinity_unit) for key, value in numbers.items()}
    return texts[code].format_map(shown)


def unit_label(unit: str) -> str:
    """Return a unit as it is written for people."""
    return {"degC": "°C", "degF": "°F", "mg/L CaCO3": "mg/L CaCO₃"}.get(unit, unit)


def when(moment: datetime, now: datetime) -> str:
    """Return how long ago something was, in words."""
    seconds = (now - moment).total_seconds()
    if seconds < 0.0:
        return moment.astimezone(now.tzinfo).strftime("%-d %b %H:%M")
    if seconds < 90.0:
        return "just now"
    if seconds < 5400.0:
        return f"{round(seconds / 60.0)} min ago"
    if seconds < 36 * 3600.0:
        return f"{round(seconds / 3600.0)} h ago"
    return f"{round(seconds / 86400.0)} days ago"


def day_and_time(moment: datetime, now: datetime) -> str:
    """Return a moment as day and time in the zone of `now`."""
    local = moment.astimezone(now.tzinfo)
    year = "" if local.year == now.year else f" {local.year}"
    return f"{local.strftime('%a')} {local.day} {local.strftime('%b')}{year}, {local:%H:%M}"
