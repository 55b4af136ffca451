"""The calendar's file (RFC 5545): written by the `icalendar` library, loaded when first needed."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any, Final

from mobile.state.calendar_events import LASTS, Event

_PRODUCT: Final = "-//Sumpside//What comes when//EN"
# A later export must carry a higher sequence: the minutes since then do.
_SEQUENCE_FROM: Final = datetime(2026, 1, 1, tzinfo=UTC)


def calendar_file(events: Iterable[Event], gone: Iterable[str], now: datetime) -> bytes:
    """Return the file.

    Parameters
    ----------
    events
        What comes.
    gone
        UIDs of an earlier export that no longer come: they are cancelled.
    now
        The phone's clock, aware.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", _PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    sequence = max(0, int((now - _SEQUENCE_FROM).total_seconds() // 60))
    for event in events:
        calendar.add_component(_entry(event, now, sequence))
    for uid in gone:
        calendar.add_component(_cancelled(uid, now, sequence))
    return calendar.to_ical()


def _entry(event: Event, now: datetime, sequence: int) -> Any:
    from icalendar import Alarm

    entry = _start(event.uid, event.starts, now, sequence)
    entry.add("dtend", event.starts + LASTS)
    entry.add("summary", event.title)
    entry.add("description", event.about)
    entry.add("status", "CONFIRMED")
    entry.add("transp", "TRANSPARENT")
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", event.title)
    alarm.add("trigger", timedelta(0))
    entry.add_component(alarm)
    return entry


def _cancelled(uid: str, now: datetime, sequence: int) -> Any:
    entry = _start(uid, now.replace(tzinfo=None, microsecond=0), now, sequence)
    entry.add("status", "CANCELLED")
    return entry


def _start(uid: str, starts: datetime, now: datetime, sequence: int) -> Any:
    from icalendar import Event as Entry

    entry = Entry()
    entry.add("uid", uid)
    entry.add("dtstamp", now.astimezone(UTC))
    entry.add("last-modified", now.astimezone(UTC))
    entry.add("sequence", sequence)
    entry.add("dtstart", starts)
    return entry
