"""What comes when: the page, and the few lines of Today."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from engine.demand.facts import THROUGH_VESSEL
from engine.jobs.codes import Job, JobCode
from engine.jobs.forecasts import Due
from engine.jobs.jobs import Jobs, jobs
from engine.records import Delivery
from mobile.state.boundary import tried
from mobile.state.sentences import date, told
from mobile.state.snapshot import Snapshot, Tone
from mobile.texts.jobs import TEXTS
from mobile.texts.stock import TEXTS as STOCK

# What Today may speak of; the rest waits on its own page.
_FOR_TODAY: Final = (
    Job.REFILL_FRESH_WATER,
    Job.REFILL_LIME,
    Job.STRENGTH_CHECK,
    Job.PUMP_CHECK,
    Job.BUY_POWDER,
    Job.BUY_SOLUTION,
    Job.BUY_KIT,
    Job.EXPORT,
)
SOON_DAYS: Final = 30.0
TODAY_DAYS: Final = 7.0
TODAY_COUNT: Final = 3
# Looks that keep an accident small: due when no one has recorded them, not presumed done.
_SAFETY: Final = (Job.OUTLET_LOOK, Job.TOP_OFF_LOOK)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobLine:
    """One job in a list."""

    job: str  # the code; the list's key
    title: str
    when: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JobsView:
    """The page, in the order of reading."""

    tone: Tone
    lead: str
    due: tuple[JobLine, ...]
    coming: tuple[JobLine, ...]
    later: tuple[JobLine, ...]
    unknown: tuple[JobLine, ...]
    daily: tuple[str, ...]
    off: tuple[JobLine, ...]


def found_jobs(snapshot: Snapshot, *, by_season: bool = False) -> Jobs:
    """Return what comes due; nothing where that is not known: see `are_known`."""
    found = _found(snapshot, by_season=by_season)
    if found is None:
        return Jobs(due=(), off=())
    if not snapshot.demo:
        return found
    return replace(found, due=tuple(due for due in found.due if due.job is not Job.EXPORT))


def _found(snapshot: Snapshot, *, by_season: bool) -> Jobs | None:
    ahead = snapshot.ahead
    care = None if ahead is None else ahead.care_by_season if by_season else ahead.care
    if care is None:
        return None
    return tried("care", lambda: jobs(care, last_export=snapshot.storage.last_export), None)


def are_known(snapshot: Snapshot) -> bool:
    """Tell whether what comes due could be worked out: else an empty list says nothing."""
    return _found(snapshot, by_season=True) is not None


def jobs_page(snapshot: Snapshot) -> JobsView:
    """Return the page."""
    found = found_jobs(snapshot, by_season=True)
    known = [due for due in found.due if not is_unknown(due)]
    due = sorted((d for d in known if d.days.low <= 0.0), key=_pressing)
    coming = [d for d in known if d.days.low > 0.0]
    unknown = [d for d in found.due if is_unknown(d)]
    return JobsView(
        tone="warn" if any(d.days.high < 0.0 for d in due) else "note" if due else "good",
        lead=_lead(snapshot, due, coming),
        due=tuple(_line(snapshot, d) for d in due),
        coming=tuple(_line(snapshot, d) for d in coming if d.days.low <= SOON_DAYS),
        later=tuple(_line(snapshot, d) for d in coming if d.days.low > SOON_DAYS),
        unknown=tuple(_line(snapshot, d) for d in unknown),
        daily=_daily(snapshot),
        off=tuple(
            JobLine(job=job, title=TEXTS[f"name_{job}"], when="", why="") for job in found.off
        ),
    )


def _pressing(due: Due) -> tuple[bool, float]:
    """Return the order of what is due: the tank first, the copy of the records last."""
    return due.job is Job.EXPORT, due.days.high


def is_unknown(due: Due) -> bool:
    """Tell whether care was never recorded and would long be due: perhaps it was done.

    What keeps an accident small is never taken as done.
    """
    if due.job in _SAFETY:
        return False
    return due.reasons[0].code == JobCode.SINCE_START and due.days.low <= 0.0


def _lead(snapshot: Snapshot, due: list[Due], coming: list[Due]) -> str:
    if len(due) == 1:
        return TEXTS["one_due"].format(job=named(due[0]))
    if due:
        return TEXTS["some_due"].format(count=len(due), job=named(due[0]))
    if not coming:
        return TEXTS["none_due"]
    first = coming[0]
    return TEXTS["none_due_next"].format(job=named(first), when=when_due(first, snapshot.now))


def named(due: Due) -> str:
    """Return the job's name, with what is to be bought."""
    name = TEXTS[f"name_{due.job}"]
    return f"{name}: {STOCK[f'item_{due.item}'].lower()}" if due.item else name


def when_due(due: Due, now: datetime) -> str:
    """Return when a job is due, by date, as a span where that is what is known."""
    low, _, high = due.days
    first, last = (date(now + timedelta(days=value), now) for value in (low, high))
    if is_unknown(due):
        return TEXTS["when_never"]
    if high < 0.0:
        return TEXTS["when_late"].format(date=last)
    if low <= 0.0:
        return TEXTS["when_until"].format(date=last) if high >= 1.0 else TEXTS["when_now"]
    if first == last:
        return TEXTS["when_on"].format(date=first)
    return TEXTS["when_between"].format(low=first, high=last)


def why_due(due: Due) -> tuple[str, ...]:
    """Return why, in sentences."""
    return tuple(told(TEXTS, found.code, _named_item(dict(found.numbers))) for found in due.reasons)


def _named_item(numbers: dict[str, float | str]) -> dict[str, float | str]:
    item = numbers.get("item")
    return numbers if item is None else {**numbers, "item": STOCK[f"item_{item}"]}


def _line(snapshot: Snapshot, due: Due) -> JobLine:
    return JobLine(
        job=due.job,
        title=named(due),
        when=when_due(due, snapshot.now),
        why=" ".join(why_due(due)),
    )


def _daily(snapshot: Snapshot) -> tuple[str, ...]:
    setup = snapshot.setup
    if setup is None:
        return ()
    keys = ["daily_animals", "daily_pH"]
    if setup.delivery in THROUGH_VESSEL:
        keys.append("daily_bar")
    if setup.delivery is Delivery.DRIP:
        keys.append("daily_drip")
    return tuple(TEXTS[key] for key in keys)


def for_today(snapshot: Snapshot) -> tuple[str, ...]:
    """Return the few jobs that Today names beside the next test, soonest first."""
    near = [
        due
        for due in found_jobs(snapshot).due
        if due.job in _FOR_TODAY and not is_unknown(due) and due.days.low <= TODAY_DAYS
    ]
    return tuple(f"{named(due)}: {when_due(due, snapshot.now)}." for due in near[:TODAY_COUNT])
