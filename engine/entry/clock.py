"""A time of day as a thumb types it on number keys: "9", "9:30" or "930"."""

import re
from typing import Final

from engine.entry.numbers import EntryFault

_CLOCK: Final = re.compile(r"(\d{1,2})(?::(\d{2})|(\d{2}))?")
_MIN_PER_H: Final = 60.0


def parse_clock(text: str) -> float | EntryFault:
    """Read a time of day.

    Parameters
    ----------
    text : str
        Hours alone, hours and minutes with a colon, or three or four digits without one. A
        decimal is not read: 9.5 could mean half past nine or five past.

    Returns
    -------
    float or EntryFault
        Hours since midnight, 0 to 99.98 (the field's own range ends at 24); the fault
        `entry_empty` or `entry_clock`.
    """
    plain = "".join(text.split())
    if not plain:
        return EntryFault("entry_empty")
    found = _CLOCK.fullmatch(plain)
    minutes = float((found.group(2) or found.group(3) or 0) if found else _MIN_PER_H)
    if found is None or minutes >= _MIN_PER_H:
        return EntryFault("entry_clock")
    return float(found.group(1)) + minutes / _MIN_PER_H
