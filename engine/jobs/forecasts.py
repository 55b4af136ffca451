"""When the next test, refill, recharge, purchase and retune come due: derived, never typed."""

from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise
from typing import Final

from engine.decision import Decision
from engine.demand.facts import THROUGH_TOP_OFF, THROUGH_VESSEL, Facts
from engine.demand.inputs import Inputs
from engine.jobs.codes import Job, JobCode, job_reason
from engine.log.timeline import days_between
from engine.plan.evaporation import evaporation_span
from engine.plan.season import Retune
from engine.plan.season_codes import SeasonCode
from engine.reasons import Reason
from engine.records import (
    Container,
    DeliverySetting,
    LimewaterStrength,
    Recharge,
    Refill,
    SecondSourceSetting,
    Setup,
)
from engine.stock.powder import Powder
from engine.stock.shelf import Shelf, lead_days, margin_days
from engine.stock.supplies import PARTS, Supply
from engine.units import Span
from engine.vocabulary import PARAMETERS

# Alkalinity is tested daily for so long after a setting was changed, else two or three times a
# week (common practice, no source).
AFTER_CHANGE_DAYS: Final = 14.0
_CHANGED_SHARE: Final = 0.05
_ALKALINITY_DAYS: Final = (2.0, 3.5)
# Other tests are due at their usual interval and overdue after half as long again.
_LATE_FACTOR: Final = 1.5
STRENGTH_DAYS: Final = (7.0, 14.0)
AFTER_RECHARGE_DAYS: Final = (1.0, 2.0)
REFILL_AHEAD_DAYS: Final = 1.0  # before it is empty
# A recharge is told so long ahead: by day, unhurried, powder at hand (common practice).
RECHARGE_NOTICE_DAYS: Final = 3.0
_LONGEST_REFILL_DAYS: Final = 90.0
_ALWAYS: Final = ("total_alkalinity", "calcium", "magnesium", "salinity")
_PROBES: Final = ("pH_nbs", "temperature")  # looked at daily, no job


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """One job: when, in days from now, and why."""

    job: Job
    days: Span  # low: the first sensible day; high: overdue after it
    last: datetime | None = None
    reasons: tuple[Reason, ...] = ()
    by_interval: bool = False  # the keeper may set another interval
    item: str = ""  # of a purchase


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """What the forecasts read."""

    decision: Decision
    facts: Facts
    setup: Setup
    inputs: Inputs
    retune: Retune | None = None
    shelf: Shelf | None = None
    supplies: tuple[Supply, ...] = field(default=())


def forecasts(ahead: Ahead) -> list[Due]:
    """Return every job that a forecast or a test interval makes due."""
    found = [
        *_tests(ahead),
        _refill_fresh_water(ahead),
        _refill_lime(ahead),
        _recharge(ahead),
        _strength(ahead),
        _buy_powder(ahead),
        *_buy_supplies(ahead),
        _retune(ahead),
    ]
    return [due for due in found if due is not None]


def _tests(ahead: Ahead) -> list[Due]:
    known = [code for code in PARAMETERS if code not in _PROBES]
    wanted = [c for c in known if c in _ALWAYS or ahead.facts.last_sample(c) is not None]
    return [_test(ahead, code) for code in wanted]


def _test(ahead: Ahead, code: str) -> Due:
    job, last = Job(f"test_{code}"), ahead.facts.last_sample(code)
    if last is None:
        reasons = (job_reason(JobCode.TEST_NEVER),)
        return Due(job=job, days=Span(0.0, 0.0, 0.0), reasons=reasons, by_interval=True)
    age = ahead.facts.age_days(last.at)
    usual = float(PARAMETERS[code].interval_days)
    low, high = usual, usual * _LATE_FACTOR
    reason_code = JobCode.TEST_SINCE
    if code == "total_alkalinity":
        low, high = _ALKALINITY_DAYS
        if _recently_changed(ahead.facts):
            low, high, reason_code = 1.0, 1.5, JobCode.TEST_AFTER_CHANGE
    numbers = {"age_days": age, "every_low_days": low, "every_high_days": high}
    return Due(
        job=job,
        days=Span(low - age, (low + high) / 2.0 - age, high - age),
        last=last.at,
        reasons=(job_reason(reason_code, **numbers),),
        by_interval=True,
    )


def _recently_changed(facts: Facts) -> bool:
    lime = [(r.at, r.limewater_L_per_day) for r in facts.of(DeliverySetting)]
    second = [(r.at, r.alkalinity_meq_per_day) for r in facts.of(SecondSourceSetting)]
    return any(
        facts.age_days(at) <= AFTER_CHANGE_DAYS and abs(now - was) > _CHANGED_SHARE * max(now, was)
        for points in (lime, second)
        for (_, was), (at, now) in pairwise(points)
    )


def _refill_fresh_water(ahead: Ahead) -> Due | None:
    size, setup = ahead.setup.fresh_water_container_L, ahead.setup
    evaporation = _evaporation(ahead)
    if size is None or evaporation is None:
        return None
    other = 0.0
    if not setup.shared_container and setup.delivery not in THROUGH_TOP_OFF:
        other = ahead.inputs.lime_L_per_day(ahead.facts.now)
    rate = Span(*(max(0.0, value - other) for value in evaporation))
    return _refill(ahead, Job.REFILL_FRESH_WATER, Container.FRESH_WATER, size, rate)


def _refill_lime(ahead: Ahead) -> Due | None:
    size = ahead.setup.lime_container_L
    if size is None or ahead.setup.delivery in THROUGH_VESSEL:
        return None
    litres = ahead.inputs.lime_L_per_day(ahead.facts.now)
    rate = Span(litres, litres, litres)
    if ahead.setup.delivery in THROUGH_TOP_OFF:
        rate = _evaporation(ahead) or rate
    return _refill(ahead, Job.REFILL_LIME, Container.LIME, size, rate)


def _refill(ahead: Ahead, job: Job, container: Container, size_L: float, rate: Span) -> Due | None:
    """Return when a container is to be filled: a day before it may be empty."""
    refills = [r for r in ahead.facts.of(Refill) if r.container is container]
    full = [r for r in refills if r.to_mark]
    if not full or rate.high <= 0.0:
        return None
    since = ahead.facts.age_days(full[-1].at)
    held = size_L + sum(r.volume_L for r in refills if r.at > full[-1].at)
    days = Span(*(_empty(held, since, value) for value in (rate.high, rate.best, rate.low)))
    numbers = {"empty_low_days": max(0.0, days.low), "empty_high_days": max(0.0, days.high)}
    return Due(
        job=job,
        days=Span(*(value - REFILL_AHEAD_DAYS for value in days)),
        last=refills[-1].at,
        reasons=(job_reason(JobCode.REFILL, size_L=size_L, **numbers),),
    )


def _empty(held_L: float, since_days: float, rate: float) -> float:
    left = held_L - rate * since_days
    return min(_LONGEST_REFILL_DAYS, left / rate) if rate > 0.0 else _LONGEST_REFILL_DAYS


def _evaporation(ahead: Ahead) -> Span | None:
    found = ahead.decision.evaporation
    return None if found is None else evaporation_span(found)


def _recharge(ahead: Ahead) -> Due | None:
    powder = ahead.decision.powder
    if not isinstance(powder, Powder) or powder.container is not Container.VESSEL:
        return None
    due, weak = powder.days_to_recharge.floats("day"), powder.days_left.floats("day")
    numbers = {"weak_low_days": weak.low, "weak_high_days": weak.high}
    code = JobCode.RECHARGE if due.best > 0.0 else JobCode.RECHARGE_NOW
    code = JobCode.WEAK_NOW if weak.high <= 0.0 else code
    if powder.found_weak:
        due, code = Span(0.0, 0.0, 0.0), JobCode.FOUND_WEAK
    return Due(
        job=Job.RECHARGE, days=due, last=powder.since, reasons=(job_reason(code, **numbers),)
    )


def _strength(ahead: Ahead) -> Due | None:
    charge, check = ahead.facts.last(Recharge), ahead.facts.last(LimewaterStrength)
    if charge is None and check is None:
        return None
    unchecked = charge is not None and (check is None or check.at < charge.at)
    start = charge if unchecked else check
    low, high = AFTER_RECHARGE_DAYS if unchecked else STRENGTH_DAYS
    if start is None:
        return None
    age = ahead.facts.age_days(start.at)
    code = JobCode.AFTER_RECHARGE if unchecked else JobCode.SINCE
    numbers = {"age_days": age, "every_low_days": low, "every_high_days": high}
    return Due(
        job=Job.STRENGTH_CHECK,
        days=Span(low - age, (low + high) / 2.0 - age, high - age),
        last=None if check is None else check.at,
        reasons=(job_reason(code, **numbers),),
        by_interval=not unchecked,
    )


def _buy_powder(ahead: Ahead) -> Due | None:
    shelf, setup = ahead.shelf, ahead.setup
    if shelf is None or shelf.reorder_days is None or shelf.empty_days is None:
        return None
    low, best, high = shelf.empty_days
    before = lead_days(setup) + margin_days(setup)
    code = JobCode.BUY if shelf.reorder_days > 0.0 else JobCode.BUY_NOW
    numbers = {
        "empty_low_days": low,
        "empty_high_days": high,
        "lead_days": lead_days(setup),
        "margin_days": margin_days(setup),
    }
    return Due(
        job=Job.BUY_POWDER,
        days=Span(low - before, best - before, high - before),
        reasons=(job_reason(code, **numbers),),
    )


def _buy_supplies(ahead: Ahead) -> list[Due]:
    found: list[Due] = []
    for supply in ahead.supplies:
        ends = supply.runs_out_days
        if ends is None:
            continue
        due = ends - lead_days(ahead.setup)
        job = Job.BUY_SOLUTION if supply.item in PARTS else Job.BUY_KIT
        code = JobCode.SUPPLY if ends > 0.0 else JobCode.SUPPLY_EXPIRED
        reasons = (job_reason(code, item=supply.item.value, ends_in_days=max(0.0, ends)),)
        found.append(
            Due(job=job, days=Span(due, due, ends), reasons=reasons, item=supply.item.value)
        )
    return found


def _retune(ahead: Ahead) -> Due | None:
    retune = ahead.retune
    if retune is None or retune.on is None:
        return None
    by_water = retune.code is SeasonCode.RETUNE_EVAPORATION
    code = JobCode.RETUNE_EVAPORATION if by_water else JobCode.RETUNE_ALKALINITY
    days = days_between(ahead.facts.now, retune.on)
    return Due(job=Job.RETUNE, days=Span(days, days, days), reasons=(job_reason(code),))
