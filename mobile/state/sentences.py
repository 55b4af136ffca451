"""Numbers and sentences as people read them: every number gets its unit here and nowhere else.

A key's suffix tells the unit, so a template only names the number: `{demand_meq_per_day}`.
Doses are rounded toward less, so that what is shown never exceeds what was admitted.
"""

import math
import re
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Final

from engine.chemistry.constants import CALCIUM_CARBONATE_MG_PER_MEQ
from engine.vocabulary import MEQ_PER_DKH

# Times of an accident: nobody knows them to the minute.
_STEP_FROM_MIN: Final = 30.0
_STEP_MIN: Final = 5
_MIN_PER_DAY: Final = 24 * 60
_MONTHS: Final = 12
_COARSE_LITRES: Final = 3.0
_WHOLE_FROM_ML: Final = 20.0
_ML_OF_THREE_DIGITS: Final = 100.0
_LONG_DAYS: Final = 100.0  # from here on nobody knows a single day
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


def litres(value: float, to_whole: Callable[[float], int] = math.floor) -> str:
    """Return litres of a day in steps of 0.1 from 3 L on: nobody knows them closer."""
    if value < _COARSE_LITRES:
        scale = 10.0 ** max(2, 2 - math.floor(math.log10(value))) if value > 0.0 else 100.0
    else:
        scale = 10.0
    slip = 1e-9 if to_whole is math.floor else -1e-9
    return trimmed(max(0, to_whole(value * scale + slip)) / scale, 6)


def millilitres(value: float) -> str:
    """Return millilitres of a day, rounded toward less, in whole ones from 20 mL on."""
    coarse = _WHOLE_FROM_ML <= value < _ML_OF_THREE_DIGITS
    return floored(value, 2 if coarse else 3)


def counted(count: int, noun: str) -> str:
    """Return a count with its noun, in the plural unless it is one."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def days(value: float, to_whole: Callable[[float], int] = round) -> str:
    """Return a span of days in words that do not pretend to more than is known."""
    if value < 1.0:
        whole_hours = max(to_whole(value * 24.0), 0)
        return "less than an hour" if whole_hours == 0 else f"{whole_hours} h"
    if value >= _LONG_DAYS:
        return f"{5 * to_whole(value / 5.0 + 1e-9)} days"
    tenths = to_whole(value * 10.0 + 1e-9) / 10.0
    shown = trimmed(tenths if value < 3.0 else to_whole(value + 1e-9), 1)
    return f"{shown} day" if shown == "1" else f"{shown} days"


def days_at_least(value: float) -> str:
    """Return the near end of a span of days: never later than it may happen."""
    return days(value, math.floor)


def hours(value: float) -> str:
    """Return a span of hours, in minutes below two of them."""
    return f"{round(value * 60.0)} min" if value < 2.0 else f"{significant(value, 2)} h"


def hours_early(value: float) -> str:
    """Return the soonest hour of something: from half an hour on in steps, never later."""
    minutes = value * 60.0
    if not _STEP_FROM_MIN <= minutes < 2.0 * 60.0:
        return hours(value)
    return f"{_STEP_MIN * math.floor(minutes / _STEP_MIN + 1e-9)} min"


def hours_about(value: float) -> str:
    """Return an hour that nobody knows to the minute."""
    minutes = value * 60.0
    if not _STEP_FROM_MIN <= minutes < 2.0 * 60.0:
        return hours(value)
    rounded = _STEP_MIN * round(minutes / _STEP_MIN)
    return f"{rounded} min" if rounded < 2 * 60 else "2 h"


def clock(hour: float) -> str:
    """Return an hour of the day as a clock shows it; past midnight it begins anew."""
    minutes = round(hour * 60.0)
    minutes = minutes if minutes <= _MIN_PER_DAY else minutes % _MIN_PER_DAY
    return f"{minutes // 60}:{minutes % 60:02}"


def run_time(seconds: float) -> str:
    """Return how long a pump runs, in whole seconds, as a timer is set."""
    whole = math.floor(seconds + 1e-9)
    minutes, rest = divmod(whole, 60)
    return f"{whole} s ({minutes} min {rest} s)" if minutes else f"{whole} s"


def months_of_the_year(value: float) -> str:
    """Return how many of the next twelve months, in words."""
    count = round(value)
    if count >= _MONTHS:
        return "every month of the next twelve"
    return f"{'one' if count == 1 else count} of the next twelve months"


def _with(unit: str, digits: int = 3) -> Callable[[float], str]:
    return lambda value: f"{significant(value, digits)}{unit}"


def _dose(unit: str) -> Callable[[float], str]:
    return lambda value: f"{floored(value)}{unit}"


_PLAIN: Final[dict[str, Callable[[float], str]]] = {
    # longest suffixes first: the first match wins
    "_g_per_day": _with(" g a day", 2),
    "delivered_L_per_day": lambda value: f"{litres(value, math.ceil)} L a day",  # never smaller
    "set_L_per_day": _dose(" L a day"),  # as the pump shows it
    "setting_L_per_day": _dose(" L a day"),
    "was_L_per_day": _dose(" L a day"),
    "_L_per_day": lambda value: f"{litres(value)} L a day",
    "_L_per_h": _with(" L/h"),
    "set_mL_per_day": _with(" mL a day"),
    "_mL_per_day": lambda value: f"{millilitres(value)} mL a day",
    "_mL_per_min": _with(" mL a minute", 2),
    "_flow": lambda value: f"{significant(value * 1000.0 / 1440.0, 3)} mL a minute",
    "set_meq_per_day": _with(" meq a day"),  # as it was set, or is to be
    "second_meq_per_day": _with(" meq a day"),
    "was_meq_per_day": _with(" meq a day"),
    "ceiling_meq_per_day": _dose(" meq a day"),
    "_meq_per_day": _with(" meq a day", 2),
    "_meq_per_mL": _with(" meq/mL"),
    "_mS_per_cm": _with(" mS/cm"),
    "_meq": _with(" meq"),
    "_mg_per_L": _with(" mg/L"),
    "_ppm": _with(" ppm"),
    "_PSU_per_day": _with(" PSU a day", 1),
    "_PSU": lambda value: f"{trimmed(value, 1)} PSU",
    "_mL": _dose(" mL"),
    "_kg": _with(" kg", 2),
    "_mg": _with(" mg"),
    "_L": _with(" L"),
    "_g": _with(" g"),
    "run_s": run_time,
    "_low_days": days_at_least,
    "_days": days,
    "early_hours": hours_early,
    "middle_hours": hours_about,
    "late_hours": hours_about,
    "_hours": hours,
    "_clock": clock,
    "_share": lambda value: f"{trimmed(value * 100.0, 0)} %",
    "_degC": lambda value: f"{trimmed(value, 1)} °C",
    "_pH": lambda value: f"{value:.2f}",
    "_times": lambda value: significant(value, 2),
    "_of_months": months_of_the_year,
    "_count": lambda value: trimmed(value, 0),
}


def alkalinity(
    value_meq_per_L: float, unit: str = "dKH", *, rate: bool = False, fine: bool = False
) -> str:
    """Return an alkalinity (with `rate`, a change per day) in the keeper's unit.

    `fine` gives a small one, such as an error, a digit more.
    """
    factor, name, decimals = ALKALINITY_UNITS[unit]
    value = value_meq_per_L * factor
    if rate and abs(value) >= 1.0:
        shown = significant(value, 2)
    else:
        shown = trimmed(value, decimals + (1 if rate or fine else 0))
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


# A template's range from low to high: its unit is written once, "5.6 to 6.1 L a day".
_RANGE: Final = re.compile(r"\{(\w*)low_(\w+)\} to \{\1high_\2\}")


def sentence(
    texts: Mapping[str, str],
    code: str,
    numbers: Mapping[str, float | str],
    alkalinity_unit: str = "dKH",
) -> str:
    """Return the sentence of a code with its numbers filled in."""
    shown = {key: number(key, value, alkalinity_unit) for key, value in numbers.items()}
    return texts[code].format_map(shown)


def told(
    texts: Mapping[str, str],
    code: str,
    numbers: Mapping[str, float | str],
    alkalinity_unit: str = "dKH",
) -> str:
    """Return the sentence of a code as `sentence`, the unit of a range written once.

    A range whose ends read alike is one figure.
    """
    shown = {key: number(key, value, alkalinity_unit) for key, value in numbers.items()}
    text = texts[code]
    for prefix, suffix in _RANGE.findall(text):
        low, high = f"{prefix}low_{suffix}", f"{prefix}high_{suffix}"
        figure, _, unit = shown[low].partition(" ")
        if shown[low] == shown[high]:
            text = text.replace(f"{{{low}}} to {{{high}}}", f"{{{high}}}")
        elif unit and shown[high].endswith(f" {unit}"):
            shown[low] = figure
    return text.format_map(shown)


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
    """Return a moment as day and time on the clock that hung there then.

    A moment carries the offset of its place and season. That of `now` is another one after a
    change of the clocks, and would show it an hour off.
    """
    year = "" if moment.year == now.year else f" {moment.year}"
    return f"{moment.strftime('%a')} {moment.day} {moment.strftime('%b')}{year}, {moment:%H:%M}"


def date(moment: datetime, now: datetime) -> str:
    """Return the day of a moment in the zone of `now`, with its year where that is another."""
    local = moment.astimezone(now.tzinfo)
    year = "" if local.year == now.year else f" {local.year}"
    return f"{local.day} {local.strftime('%B')}{year}"
