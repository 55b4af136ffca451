"""Evaporation from refills to the mark, or as the keeper entered it; always a low and a high end.

What a refill tells depends on what feeds what: one container for everything, and its fall is the
whole evaporation; a plain top-off of its own, and limewater and two-part come on top.
"""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Final

from engine.demand.facts import THROUGH_TOP_OFF, Facts
from engine.demand.inputs import Inputs, recorded_inputs
from engine.demand.strength import strength_now
from engine.log.timeline import days_between, percentile
from engine.plan.happenings import EVAPORATION_JUMPS
from engine.reasons import Code, Reason, reason
from engine.records import Container, Delivery, Happening, Refill, Setup
from engine.units import Quantity, Span, quantity, to_float

MEASURED_FROM_DAYS: Final = 7.0
# From so many days on refills may lower what is entered, never raise it (common practice).
CONTRADICTS_FROM_DAYS: Final = 2.0
WINDOW_DAYS: Final = 28.0
# A refill longer ago says nothing about this week.
REFILL_OLD_DAYS: Final = 14.0
# With fewer 7-day means than this their plain low and high stand.
FEW_MEANS: Final = 5
# How well one refill tells what was used; several a week make up for each other (common
# practice, no source).
REFILL_ERROR_SHARE: Final = 0.05
_LEAST_L_PER_DAY: Final = 0.001
_LOW_SHARE: Final = 0.1
_HIGH_SHARE: Final = 0.9
# A refill further above the usual one than this is asked about at entry; beyond the second it is
# taken as mistyped (common practice, no source).
LOW_CLIP: Final = 1.4
HIGH_CLIP: Final = 3.0
# A week that evaporates so much less than the time before it is worth a sentence (our choice).
FELL_SHARE: Final = 0.8
# Shorter spells between two refills are dominated by how well the mark was met.
_SHORTEST_SPELL_DAYS: Final = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaporation:
    """What the system evaporates."""

    low: Quantity  # L/day
    high: Quantity  # L/day
    source: str  # "entered" or "measured"
    span: Quantity | None  # days of refills behind a measured one
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Spell:
    """The time between two refills to the mark and what was used in it."""

    start: datetime
    end: datetime
    rate_L_per_day: float


def evaporation_span(result: "Evaporation | Reason") -> Span | None:
    """Return the evaporation as floats in L/day, None when it is not known."""
    if isinstance(result, Reason):
        return None
    low, high = to_float(result.low, "L/day"), to_float(result.high, "L/day")
    return Span(low, (low + high) / 2.0, high)


def evaporation_now(facts: Facts, setup: Setup, inputs: Inputs) -> Evaporation | Reason:
    """Return the evaporation in force, or the reason that there is none.

    Parameters
    ----------
    facts, setup, inputs
        The system; inputs tell the limewater and two-part that a refill does not show.

    Notes
    -----
    Refills count from 7 days on; then the 10th to 90th percentile of 7-day means, or with few of
    them the lowest and highest spell, and the error of the mark. For the low end no spell counts
    for more than 1.4 times the median one. A change of cover, fans, heating or windows starts
    anew. Common practice, no source.

    Two days of refills already count where they show less than the entered low end by more than
    the error of the mark: then the cap starts from what they show. Until then, after a change or
    once refills are old, the low end stays no higher than the last one measured.
    """
    since = facts.now - timedelta(days=WINDOW_DAYS)
    changed = last_evaporation_change(facts)
    spells = spells_since(facts, setup, inputs, since if changed is None else max(since, changed))
    covered = sum(days_between(s.start, s.end) for s in spells)
    fresh = bool(spells) and facts.age_days(spells[-1].end) <= REFILL_OLD_DAYS
    if covered >= MEASURED_FROM_DAYS and fresh:
        return _measured(spells, covered)
    old = (
        (reason(Code.REFILLS_OLD, age_days=facts.age_days(spells[-1].end)),)
        if spells and not fresh
        else ()
    )
    entered = _entered(setup, old)
    if fresh and covered >= CONTRADICTS_FROM_DAYS:
        return _no_more_than(
            entered, _used_L(spells, spells[0].start, spells[-1].end) / covered, covered
        )
    return _as_last_measured(entered, spells_since(facts, setup, inputs, _long_ago(facts)), changed)


def most_evaporated_L_per_day(facts: Facts, setup: Setup) -> float | None:
    """Return the high end of the evaporation in force, L/day; None where it is not known."""
    inputs = recorded_inputs(facts, setup, strength_now(facts, setup), None)
    span = evaporation_span(evaporation_now(facts, setup, inputs))
    return None if span is None else span.high


def _long_ago(facts: Facts) -> datetime:
    return facts.records[0].at if facts.records else facts.now


def _as_last_measured(
    entered: Evaporation | Reason, spells: Sequence[Spell], changed: datetime | None
) -> Evaporation | Reason:
    """Return the entered range, its low end no higher than what was last measured.

    A cover, or a month without refills, is no reason to believe in more than ever evaporated: two
    days of new refills tell.
    """
    before = [spell for spell in spells if changed is None or spell.end <= changed]
    if before:
        since = before[-1].end - timedelta(days=WINDOW_DAYS)
        before = [spell for spell in before if spell.start >= since]
    covered = sum(days_between(s.start, s.end) for s in before)
    if covered < MEASURED_FROM_DAYS:
        return entered
    return _no_more_than(entered, _range_L_per_day(before)[0], covered)


def _no_more_than(
    entered: Evaporation | Reason, shown: float, covered: float
) -> Evaporation | Reason:
    """Return the entered range with its low end no higher than refills show, L/day and days."""
    if isinstance(entered, Reason):
        return entered
    low = to_float(entered.low, "L/day")
    if shown >= low * (1.0 - REFILL_ERROR_SHARE):
        return entered
    contradiction = reason(
        Code.REFILLS_BELOW_ENTERED,
        shown_L_per_day=shown,
        span_days=covered,
        evaporation_low_L_per_day=low,
    )
    return replace(
        entered,
        low=quantity(max(_LEAST_L_PER_DAY, shown), "L/day"),
        reasons=(contradiction, *entered.reasons),
    )


def _measured(spells: Sequence[Spell], covered: float) -> Evaporation:
    low, high = _range_L_per_day(spells)
    numbers = {
        "evaporation_low_L_per_day": low,
        "evaporation_high_L_per_day": high,
        "span_days": covered,
    }
    return Evaporation(
        low=quantity(low, "L/day"),
        high=quantity(high, "L/day"),
        source="measured",
        span=quantity(covered, "day"),
        reasons=(*_fell(spells), reason(Code.EVAPORATION_MEASURED, **numbers)),
    )


def _fell(spells: Sequence[Spell]) -> tuple[Reason, ...]:
    """Return that the last week evaporated clearly less than the time before it."""
    end, start = spells[-1].end, spells[0].start
    turn = end - timedelta(days=MEASURED_FROM_DAYS)
    before_days = days_between(start, turn)
    if before_days < MEASURED_FROM_DAYS:
        return ()
    week = _used_L(spells, turn, end) / MEASURED_FROM_DAYS
    before = _used_L(spells, start, turn) / before_days
    if week > FELL_SHARE * before:
        return ()
    return (reason(Code.EVAPORATION_FELL, week_L_per_day=week, before_L_per_day=before),)


def _entered(setup: Setup, before: tuple[Reason, ...]) -> Evaporation | Reason:
    low, high = setup.evaporation_low_L_per_day, setup.evaporation_high_L_per_day
    if low is None:
        return reason(Code.EVAPORATION_UNSET)
    high = max(low, high if high is not None else low)
    numbers = {"evaporation_low_L_per_day": low, "evaporation_high_L_per_day": high}
    return Evaporation(
        low=quantity(low, "L/day"),
        high=quantity(high, "L/day"),
        source="entered",
        span=None,
        reasons=(*before, reason(Code.EVAPORATION_ENTERED, **numbers)),
    )


def _range_L_per_day(spells: Sequence[Spell]) -> tuple[float, float]:
    rates = [
        spell.rate_L_per_day
        for spell in spells
        if days_between(spell.start, spell.end) >= _SHORTEST_SPELL_DAYS
    ]
    usual = percentile(rates or [spell.rate_L_per_day for spell in spells], 0.5)
    low_means = _week_means(_clipped(spells, LOW_CLIP * usual))
    high_means = _week_means(_clipped(spells, HIGH_CLIP * usual))
    error = REFILL_ERROR_SHARE
    if len(low_means) >= FEW_MEANS:
        low, high = percentile(low_means, _LOW_SHARE), percentile(high_means, _HIGH_SHARE)
        error /= max(1.0, _refills_a_week(spells)) ** 0.5
    else:
        low, high = min(rates or low_means), min(max(rates or high_means), HIGH_CLIP * usual)
    return low * (1.0 - error), high * (1.0 + error)


def _refills_a_week(spells: Sequence[Spell]) -> float:
    covered_days = sum(days_between(spell.start, spell.end) for spell in spells)
    return len(spells) / covered_days * MEASURED_FROM_DAYS


def _clipped(spells: Sequence[Spell], most_L_per_day: float) -> list[Spell]:
    """Return the spells with no rate above the most: a slip of the point must not lift a cap."""
    return [
        replace(spell, rate_L_per_day=min(spell.rate_L_per_day, most_L_per_day)) for spell in spells
    ]


def _week_means(spells: Sequence[Spell]) -> list[float]:
    week = timedelta(days=MEASURED_FROM_DAYS)
    means: list[float] = []
    end = spells[-1].end
    while end - week >= spells[0].start:
        means.append(_used_L(spells, end - week, end) / MEASURED_FROM_DAYS)
        end -= timedelta(days=1)
    return means


def _used_L(spells: Sequence[Spell], start: datetime, end: datetime) -> float:
    return sum(
        max(0.0, days_between(max(start, spell.start), min(end, spell.end))) * spell.rate_L_per_day
        for spell in spells
    )


def _counted_container(setup: Setup) -> Container:
    if setup.delivery is Delivery.TOP_OFF_CONTAINER:
        return Container.LIME
    return Container.FRESH_WATER


def last_evaporation_change(facts: Facts) -> datetime | None:
    """Return when a cover, fans, heating or windows last changed the evaporation."""
    changes = [h.at for h in facts.of(Happening) if h.what in EVAPORATION_JUMPS]
    return changes[-1] if changes else None


def spells_since(facts: Facts, setup: Setup, inputs: Inputs, since: datetime) -> list[Spell]:
    """Return the spells between refills to the mark from a moment on, oldest first."""
    container = _counted_container(setup)
    refills = [r for r in facts.since(Refill, since) if r.container is container]
    marks = sorted({refill.at for refill in refills if refill.to_mark})
    used_L = dict.fromkeys(marks, 0.0)
    for refill in refills:  # each belongs to the mark that it leads up to
        place = bisect_left(marks, refill.at)
        if place < len(marks):
            used_L[marks[place]] += refill.volume_L
    spells: list[Spell] = []
    for start, end in pairwise(marks):
        used = used_L[end]
        if setup.shared_container or setup.delivery in THROUGH_TOP_OFF:
            unseen = 0.0
        elif inputs.settings.at(start) is None:
            continue  # limewater came on top and its amount is not on record
        else:
            unseen = inputs.lime_L(start, end)
        unseen += inputs.two_part_water_L(inputs.second_meq(start, end))
        spells.append(Spell(start, end, (used + unseen) / days_between(start, end)))
    return spells
