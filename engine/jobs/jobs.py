"""What comes due and why, from the records and the forecasts; the keeper's choices applied last."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from engine.decision import Decision
from engine.demand.facts import Facts
from engine.demand.inputs import Inputs, recorded_inputs
from engine.demand.strength import strength_now
from engine.jobs.codes import Job, JobCode, job_reason
from engine.jobs.forecasts import Ahead, Due, forecasts
from engine.jobs.table import CARE, Care, checks
from engine.log.meters import drifted
from engine.log.timeline import days_between
from engine.plan.evaporation import evaporation_span
from engine.plan.season import Retune, Season
from engine.records import (
    JobChoice,
    JobDone,
    Meter,
    MeterCheck,
    ProcedureEvent,
    ProcedureRun,
    Record,
    Setup,
)
from engine.stock.shelf import Shelf, shelf_now
from engine.stock.supplies import supplies
from engine.units import Span

# A fresh copy of the records: monthly (common practice, no source).
EXPORT_DAYS: Final = (30.0, 45.0)
LATE_FACTOR: Final = 1.2  # how far past the keeper's own interval counts as overdue


@dataclass(frozen=True, slots=True, kw_only=True)
class Jobs:
    """Everything that comes due, soonest first, and what the keeper turned off."""

    due: tuple[Due, ...]
    off: tuple[Job, ...]


def ahead_of(
    decision: Decision, facts: Facts, *, season: Season | None = None, retune: Retune | None = None
) -> Ahead | None:
    """Return what the forecasts read; None without a set-up.

    Parameters
    ----------
    decision, facts
        The system and its log.
    season : Season or None
        The year ahead, where it was worked out: the shelf then follows it.
    retune : Retune or None
        When the setting of now stops being right; the season's own where that is given.
    """
    setup = decision.setup
    if setup is None:
        return None
    inputs = _inputs(decision, facts, setup)
    shelf = shelf_now(decision, facts, season)
    return Ahead(
        decision=decision,
        facts=facts,
        setup=setup,
        inputs=inputs,
        retune=season.retune if season else retune,
        shelf=shelf if isinstance(shelf, Shelf) else None,
        supplies=supplies(facts, inputs),
    )


def jobs(ahead: Ahead, *, last_export: datetime | None) -> Jobs:
    """Return what comes due.

    Parameters
    ----------
    ahead : Ahead
        Of `ahead_of`.
    last_export : datetime or None
        When the records were last exported; None when never.
    """
    facts = ahead.facts
    found = [*forecasts(ahead), *_care(ahead), _export(facts, last_export)]
    choices = {choice.job: choice for choice in facts.of(JobChoice)}
    off = {due.job for due in found if due.job in choices and choices[due.job].off}
    kept = [_chosen(due, choices.get(due.job), facts) for due in found if due.job not in off]
    return Jobs(due=tuple(sorted(kept, key=_order)), off=tuple(sorted(off)))


def _order(due: Due) -> tuple[float, str, str]:
    return due.days.low, due.job, due.item


def _inputs(decision: Decision, facts: Facts, setup: Setup) -> Inputs:
    span = None if decision.evaporation is None else evaporation_span(decision.evaporation)
    return recorded_inputs(facts, setup, strength_now(facts, setup), span)


def _care(ahead: Ahead) -> list[Due]:
    facts, setup = ahead.facts, ahead.setup
    off = drifted(facts.records)
    found: list[Due] = []
    for care in CARE:
        if setup.delivery in care.deliveries and care.when(facts, setup):
            check = off.get(care.meter) if care.meter else None
            found.append(_since(care, facts) if check is None else _off(care, check))
    return found


def _since(care: Care, facts: Facts) -> Due:
    """Return care by when it was last done, or by when the log began where that never was."""
    last = max((record.at for record in _shows(care, facts.records)), default=None)
    start = last or (facts.records[0].at if facts.records else facts.now)
    age, (low, high) = facts.age_days(start), care.days
    code = JobCode.SINCE_START if last is None else JobCode.SINCE
    numbers = {"age_days": age, "every_low_days": low, "every_high_days": high}
    return Due(
        job=care.job,
        days=Span(low - age, (low + high) / 2.0 - age, high - age),
        last=last,
        reasons=(job_reason(code, **numbers),),
        by_interval=True,
    )


_OFF_CODES: Final = {
    Meter.PH_PROBE: JobCode.PROBE_OFF,
    Meter.CONDUCTIVITY: JobCode.METER_OFF,
    Meter.ALKALINITY_KIT: JobCode.KIT_OFF,
}


def _off(care: Care, check: MeterCheck) -> Due:
    """Return care that its meter's last check calls for at once."""
    numbers = {"off_pH": abs(check.off_pH or 0.0), "off_share": abs(check.off_share or 0.0)}
    return Due(
        job=care.job,
        days=Span(0.0, 0.0, 0.0),
        last=check.at,
        reasons=(job_reason(_OFF_CODES[check.meter], **numbers),),
    )


def _shows(care: Care, records: Iterable[Record]) -> Iterable[Record]:
    for record in records:
        done = isinstance(record, JobDone) and record.job == care.job
        run = (
            isinstance(record, ProcedureRun)
            and record.event is ProcedureEvent.FINISHED
            and record.procedure in care.procedures
        )
        if done or run or checks(care, record) or care.shown_by(record):
            yield record


def _export(facts: Facts, last_export: datetime | None) -> Due:
    low, high = EXPORT_DAYS
    start = last_export or (facts.records[0].at if facts.records else facts.now)
    age = facts.age_days(start)
    reason = job_reason(JobCode.EXPORT_SINCE, age_days=age)
    if last_export is None:
        low, high, reason = 7.0, 14.0, job_reason(JobCode.EXPORT_NEVER)
    return Due(
        job=Job.EXPORT,
        days=Span(low - age, (low + high) / 2.0 - age, high - age),
        last=last_export,
        reasons=(reason,),
        by_interval=True,
    )


def _chosen(due: Due, choice: JobChoice | None, facts: Facts) -> Due:
    """Return a job as the keeper wants it: another interval, put off."""
    if choice is None:
        return due
    if choice.interval_days is not None and due.by_interval and due.last is not None:
        due = _own_interval(due, choice.interval_days, facts.age_days(due.last))
    if choice.snoozed_days is None:
        return due
    until = days_between(facts.now, choice.at + timedelta(days=choice.snoozed_days))
    if until <= max(0.0, due.days.low):
        return due
    why = choice.note or "–"
    snoozed = job_reason(JobCode.SNOOZED, snoozed_for_days=until, why=why)
    days = Span(*(max(value, until) for value in due.days))
    return replace(due, days=days, reasons=(*due.reasons, snoozed))


def _own_interval(due: Due, interval_days: float, age_days: float) -> Due:
    low, high = interval_days, interval_days * LATE_FACTOR
    own = job_reason(JobCode.OWN_INTERVAL, age_days=age_days, own_days=interval_days)
    days = Span(low - age_days, (low + high) / 2.0 - age_days, high - age_days)
    return replace(due, days=days, reasons=(own,))
