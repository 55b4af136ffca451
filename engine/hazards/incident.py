"""An overdose as it runs: what was done, what to read next, and when lime may start again.

Common practice throughout, no source: the times of reading, the order of the acts, the rule for
starting again. An incident runs until the keeper says what ended it; no time ends it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final

from engine.demand.alkalinity_tests import ALKALINITY
from engine.log.incident_record import Incident, IncidentEvent
from engine.plan.alarms import PH_RESUME
from engine.reasons import Code, Reason, reason
from engine.records import WaterChange

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from engine.demand.facts import Facts, Sample
    from engine.records import Setup

# In this order; the card's list is the same.
ACTS: Final = (
    "gloves",
    "lift_line",
    "bucket",
    "raise_line",
    "fuse",
    "unplug_pump",
    "unplug_stirrer",
    "unplug_top_off",
    "leave_running",
    "lights_off",
    "air",
    "measure_pH",
    "measure_alkalinity",
    "measure_salinity",
)
READ_AFTER: Final = (timedelta(minutes=15), timedelta(minutes=30), timedelta(hours=1))
READ_EVERY: Final = timedelta(hours=1)
READ_EARLY: Final = timedelta(minutes=5)  # so much before its time a reading counts for it
CALM_PH: Final = 8.5  # hourly reading ends below it
ALKALINITY_AFTER_CHANGE: Final = timedelta(hours=1)
ALKALINITY_EVERY: Final = timedelta(days=1)
PH_FRESH: Final = timedelta(days=1)
# After the end: the share of what was given before, and for how many days.
RESTART_SHARES: Final = ((3.0, 0.5), (7.0, 0.75))
_ENDS: Final = (IncidentEvent.ENDED, IncidentEvent.NO_OVERDOSE)


@dataclass(frozen=True, slots=True, kw_only=True)
class IncidentState:
    """One incident as the log tells it."""

    run: str
    started_at: datetime
    ended_at: datetime | None
    was_overdose: bool  # False once the keeper said that it was none
    acts: tuple[tuple[str, datetime], ...]  # key and when it was done, oldest first
    notes: tuple[Incident, ...]

    @property
    def runs(self) -> bool:
        """Whether nobody has ended it."""
        return self.ended_at is None


@dataclass(frozen=True, slots=True, kw_only=True)
class NextReading:
    """When pH and alkalinity are due; None where no more is asked."""

    pH_at: datetime | None
    alkalinity_at: datetime | None


def incidents(records: Iterable[Incident]) -> tuple[IncidentState, ...]:
    """Return every incident of one system, the one begun last at the end.

    Parameters
    ----------
    records : iterable of Incident
        Amendments applied, in any order. A run whose start was withdrawn is no incident.
    """
    runs: dict[str, list[Incident]] = {}
    for record in sorted(records, key=lambda r: (r.at, r.recorded_at, r.id)):
        runs.setdefault(record.run, []).append(record)
    found = [_state(run, own) for run, own in runs.items()]
    return tuple(sorted((s for s in found if s is not None), key=lambda s: s.started_at))


def running(records: Iterable[Incident]) -> IncidentState | None:
    """Return the incident that runs, the one begun last of several, or None."""
    return next((s for s in reversed(incidents(records)) if s.runs), None)


def _state(run: str, own: Sequence[Incident]) -> IncidentState | None:
    started = next((r for r in own if r.event is IncidentEvent.STARTED), None)
    if started is None:
        return None
    ended = next((r for r in own if r.event in _ENDS), None)
    acts: dict[str, datetime] = {}
    for record in own:
        if record.event is IncidentEvent.ACT_DONE:
            acts.setdefault(record.act, record.at)
    return IncidentState(
        run=run,
        started_at=started.at,
        ended_at=ended.at if ended else None,
        was_overdose=ended is None or ended.event is IncidentEvent.ENDED,
        acts=tuple(acts.items()),
        notes=tuple(r for r in own if r.note),
    )


def samples_since(facts: Facts, state: IncidentState, parameter: str) -> tuple[Sample, ...]:
    """Return the values of a parameter read since an incident began, oldest first."""
    return tuple(s for s in facts.samples(parameter) if s.at >= state.started_at)


def changes_since(facts: Facts, state: IncidentState) -> tuple[WaterChange, ...]:
    """Return the water changes since an incident began, oldest first."""
    return tuple(c for c in facts.of(WaterChange) if c.at >= state.started_at)


def next_reading(facts: Facts, state: IncidentState) -> NextReading:
    """Return what is to be read next, and when; a moment in the past is overdue.

    After the start, and again after each water change: pH at 15, 30 and 60 min, then hourly until
    it is below 8.5; alkalinity at once, an hour after a change, then daily.
    """
    changes = [change.at for change in changes_since(facts, state)]
    anchor = changes[-1] if changes else state.started_at
    pH = samples_since(facts, state, "pH_nbs")
    alkalinity = samples_since(facts, state, ALKALINITY)
    return NextReading(
        pH_at=_pH_at(anchor, pH, state),
        alkalinity_at=_alkalinity_at(changes, alkalinity, state),
    )


def _pH_at(anchor: datetime, pH: Sequence[Sample], state: IncidentState) -> datetime | None:
    if not pH:
        return state.started_at
    last = pH[-1]
    calm = last.value < CALM_PH and last.at >= anchor + READ_AFTER[-1] - READ_EARLY
    return None if calm else next(mark for mark in _marks(anchor) if mark > last.at + READ_EARLY)


def _marks(anchor: datetime) -> Iterable[datetime]:
    yield from (anchor + after for after in READ_AFTER)
    mark = anchor + READ_AFTER[-1]
    while True:
        mark += READ_EVERY
        yield mark


def _alkalinity_at(
    changes: Sequence[datetime], alkalinity: Sequence[Sample], state: IncidentState
) -> datetime:
    if not alkalinity:
        return state.started_at
    last = alkalinity[-1].at
    mixed = changes[-1] + ALKALINITY_AFTER_CHANGE if changes else None
    if mixed is not None and last < mixed - READ_EARLY:
        return mixed
    return last + ALKALINITY_EVERY


def incident_reason(facts: Facts) -> Reason | None:
    """Return that an incident runs: no lime meanwhile, whatever else is known."""
    state = running(facts.of(Incident))
    if state is None:
        return None
    return reason(Code.INCIDENT_RUNNING, since_days=facts.age_days(state.started_at))


def restart_missing(facts: Facts, setup: Setup, state: IncidentState) -> tuple[Reason, ...]:
    """Return what still stands against ending an overdose, beside the fault; none when nothing.

    Alkalinity and pH must have been read since it began: alkalinity no longer above its band, pH
    below 8.4 within the last day.
    """
    found: list[Reason] = []
    alkalinity = samples_since(facts, state, ALKALINITY)
    high = setup.band_high_total_alkalinity_meq_per_L
    if not alkalinity:
        found.append(reason(Code.RESTART_ALKALINITY_UNREAD, band_high_meq_per_L=high))
    elif alkalinity[-1].value > high:
        last = alkalinity[-1].value
        found.append(
            reason(Code.RESTART_ALKALINITY_HIGH, last_meq_per_L=last, band_high_meq_per_L=high)
        )
    pH = [s for s in samples_since(facts, state, "pH_nbs") if s.at >= facts.now - PH_FRESH]
    if not pH:
        found.append(reason(Code.RESTART_PH_UNREAD, resume_pH=PH_RESUME))
    elif pH[-1].value >= PH_RESUME:
        last = pH[-1].value
        found.append(reason(Code.RESTART_PH_HIGH, last_pH=last, resume_pH=PH_RESUME))
    return tuple(found)


def restart_share(facts: Facts) -> tuple[IncidentState, float] | None:
    """Return the overdose that ended lately and the share of its dose that may be given now."""
    ended = [s for s in incidents(facts.of(Incident)) if s.ended_at and s.was_overdose]
    if not ended:
        return None
    last = max(ended, key=lambda s: s.ended_at or s.started_at)
    age_days = facts.age_days(last.ended_at or last.started_at)
    share = next((share for days, share in RESTART_SHARES if age_days < days), None)
    return None if share is None else (last, share)
