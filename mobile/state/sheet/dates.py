"""Dates and times as people write them in tables: ISO, day first, month first, with month names.

Which comes first in "3/4/2026" is told by the other dates of the column, or by the keeper; it is
never guessed.
"""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from enum import StrEnum
from typing import Final

LONGEST: Final = 60
NOON: Final = 12


class Order(StrEnum):
    """What comes first in a date of numbers."""

    DAY_FIRST = "day_first"
    MONTH_FIRST = "month_first"


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """A time on the clock of its place.

    Attributes
    ----------
    wall : datetime
        Without a zone.
    zone : timezone or None
        Where the table says it.
    has_time : bool
        Whether there was a time of day; noon stands in for it.
    """

    wall: datetime
    zone: timezone | None = None
    has_time: bool = True


_ISO: Final = re.compile(r"(?P<y>\d{4})[-/.](?P<m>\d{1,2})[-/.](?P<d>\d{1,2})")
_NUMBERS: Final = re.compile(r"(?P<a>\d{1,2})([-/.]) ?(?P<b>\d{1,2})\2 ?(?P<y>\d{4}|\d{2})(?!\d)")
_DAY_NAME: Final = re.compile(
    r"(?P<d>\d{1,2})[-. ]+(?P<n>[A-Za-z]{3,9})\.?[-, ]+(?P<y>\d{4}|\d{2})"
)
_NAME_DAY: Final = re.compile(r"(?P<n>[A-Za-z]{3,9})\.? +(?P<d>\d{1,2}),? +(?P<y>\d{4}|\d{2})")
_TIME: Final = re.compile(
    r"(?P<h>\d{1,2})[:.h](?P<min>\d{2})(?:[:.](?P<s>\d{2})(?:[.,]\d+)?)? *(?P<half>[ap]\.?m\.?)?",
    re.IGNORECASE,
)
_ZONE: Final = re.compile(r"(?:UTC|GMT|Z)? *(?P<sign>[+-])(?P<h>\d{2}):?(?P<min>\d{2})|UTC|GMT|Z")
_MONTHS: Final = (
    *("jan", "feb", "mar", "apr", "may", "jun"),
    *("jul", "aug", "sep", "oct", "nov", "dec"),
)


def order_of(cells: list[str]) -> tuple[bool, Order | None]:
    """Return whether a column needs an order, and the one that its dates show by themselves."""
    found = [match for cell in cells if (match := _numbers(cell))]
    firsts = any(int(match["a"]) > 12 for match in found)
    seconds = any(int(match["b"]) > 12 for match in found)
    if firsts == seconds:  # no date tells, or they contradict each other
        return bool(found), None
    return True, Order.DAY_FIRST if firsts else Order.MONTH_FIRST


def is_date(cell: str) -> bool:
    """Tell whether a cell begins with a date, in whatever order."""
    return any(read_moment(cell, "", "", order) for order in Order)


def is_time(cell: str) -> bool:
    """Tell whether a cell is a time of day."""
    return _TIME.fullmatch(cell.strip()[:LONGEST]) is not None


def read_moment(date: str, time: str, zone: str, order: Order | None) -> Moment | None:
    """Return the moment of a row, or None where it cannot be read.

    Parameters
    ----------
    date : str
        With or without a time and a zone behind it.
    time, zone : str
        Of columns of their own; empty where there are none.
    """
    text = " ".join(date.split())
    if len(text) > LONGEST or len(time) > LONGEST or len(zone) > LONGEST:
        return None
    found = _day(text, order)
    if found is None:
        return None
    day, rest = found
    behind = _clock(rest)
    apart = _clock(time.strip())
    if behind is None or apart is None:
        return None
    clock, zone_text = behind[0] or apart[0], behind[1] or apart[1] or zone.strip()
    known = _zone(zone_text)
    if zone_text and known is None:
        return None
    hour, minute, second = clock or (NOON, 0, 0)
    try:
        wall = day.replace(hour=hour, minute=minute, second=second)
    except ValueError:
        return None
    return Moment(wall=wall, zone=known, has_time=clock is not None)


def _numbers(cell: str) -> re.Match[str] | None:
    text = " ".join(cell.split())[:LONGEST]
    return None if _ISO.match(text) else _NUMBERS.match(text)


def _day(text: str, order: Order | None) -> tuple[datetime, str] | None:
    """Return the day that a text begins with, and what follows it."""
    if match := _ISO.match(text):
        year, month, day = match["y"], match["m"], match["d"]
    elif match := _NUMBERS.match(text):
        if order is None:
            return None
        first, second = match["a"], match["b"]
        day, month = (first, second) if order is Order.DAY_FIRST else (second, first)
        year = match["y"]
    elif match := _DAY_NAME.match(text) or _NAME_DAY.match(text):
        name = match["n"][:3].casefold()
        if name not in _MONTHS:
            return None
        year, month, day = match["y"], str(_MONTHS.index(name) + 1), match["d"]
    else:
        return None
    full_year = int(year) + (2000 if len(year) == 2 else 0)
    try:
        return datetime(full_year, int(month), int(day)), text[match.end() :]  # noqa: DTZ001
    except ValueError:
        return None


def _clock(text: str) -> tuple[tuple[int, int, int] | None, str] | None:
    """Return the time of day in a text and what follows it; None where it is none."""
    text = text.lstrip("T, ").strip()
    if not text:
        return None, ""
    match = _TIME.match(text)
    if match is None:
        return (None, text) if _zone(text) else None
    hour = int(match["h"])
    if half := (match["half"] or "").casefold():
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half.startswith("p") else 0)
    return (hour, int(match["min"]), int(match["s"] or 0)), text[match.end() :].strip()


def _zone(text: str) -> timezone | None:
    match = _ZONE.fullmatch(text)
    if match is None:
        return None
    if match["sign"] is None:
        return timezone(timedelta(0))
    span = timedelta(hours=int(match["h"]), minutes=int(match["min"]))
    if span > timedelta(hours=14):
        return None
    return timezone(-span if match["sign"] == "-" else span)
