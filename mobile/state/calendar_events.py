"""What goes into the phone's calendar: one entry a job, its day and hour, and what it says."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Final

from engine.jobs.codes import Job
from engine.jobs.forecasts import Due
from mobile.state.jobs import found_jobs, is_unknown, named, why_due
from mobile.state.record import reading_of
from mobile.state.sentences import date
from mobile.state.snapshot import Snapshot
from mobile.texts.jobs import TEXTS

_EVENING: Final = time(18, 0)
_BY_DAY: Final = time(10, 0)  # never late and alone: by day, hours before anyone leaves
_HANDLES_LIME: Final = (Job.RECHARGE, Job.REFILL_LIME, Job.VESSEL_CLEAN, Job.RESERVOIR_CLEAN)
LASTS: Final = timedelta(minutes=15)


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One entry. Its time is a wall clock's: it stays at its hour wherever the phone is."""

    uid: str
    title: str
    about: str
    starts: datetime  # without a zone


def events(snapshot: Snapshot) -> tuple[Event, ...]:
    """Return the entries of everything that comes, overdue things at the next fitting hour."""
    found = found_jobs(snapshot, by_season=True).due
    return tuple(_event(snapshot, due) for due in found if not is_unknown(due))


def _event(snapshot: Snapshot, due: Due) -> Event:
    parts = (due.job, due.item, snapshot.system)
    return Event(
        uid="-".join(part for part in parts if part) + "@sumpside",
        title=named(due),
        about=TEXTS["event_about"].format(
            why=" ".join(why_due(due)), date=date(snapshot.now, snapshot.now)
        ),
        starts=_starts(snapshot, due),
    )


def _starts(snapshot: Snapshot, due: Due) -> datetime:
    """Return the hour on the first day that it is due, never one that has passed."""
    now = snapshot.now.replace(tzinfo=None)
    day = (now + timedelta(days=max(0.0, due.days.low))).date()
    starts = datetime.combine(day, _hour(snapshot, due))
    return starts if starts > now else starts + timedelta(days=1)


def _hour(snapshot: Snapshot, due: Due) -> time:
    """Return by day for what handles lime, the usual hour for alkalinity, else the evening."""
    if due.job in _HANDLES_LIME:
        return _BY_DAY
    if due.job is not Job.TEST_ALKALINITY:
        return _EVENING
    for record in reversed(snapshot.standing):
        if reading_of(record, "total_alkalinity") is not None:
            local = record.at.astimezone(snapshot.now.tzinfo)
            return time(local.hour, 0)
    return _EVENING
