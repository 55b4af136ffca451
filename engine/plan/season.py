"""The year ahead, month by month: evaporation, limewater, what is left over, and when to retune."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from engine.caps import CAPS, LimitContext, Limits, limits_of
from engine.decision import Decision
from engine.demand.answer import Demand
from engine.demand.facts import THROUGH_TOP_OFF, Facts
from engine.demand.inputs import Inputs, recorded_inputs
from engine.demand.strength import Strength, strength_now
from engine.log.timeline import days_between
from engine.plan.context import limit_context
from engine.plan.evaporation import Evaporation, evaporation_span
from engine.plan.evaporation_season import SeasonalEvaporation, seasonal_evaporation
from engine.plan.season_codes import SeasonCode, season_reason
from engine.plan.settling import LESS_PER_DKH_SHARE
from engine.reasons import Code, Reason
from engine.records import SecondSource, Setup
from engine.units import Span
from engine.vocabulary import MEQ_PER_DKH

MONTHS: Final = 12
YEAR_DAYS: Final = 365
# These say something about today only; next month's plan is not held by them.
_OF_TODAY: Final = (
    Code.CAP_EVAPORATION,
    Code.CAP_NET_RISE,
    Code.CAP_WEEKLY_RISE,
    Code.CAP_RESTART,
    Code.CAP_UNTESTED,
    Code.CAP_SUSPECT,
    Code.CAP_DAY_PH,
)
_LEAST_MEQ_PER_L: Final = 0.1
_NEGLIGIBLE_SHARE: Final = 0.03  # of the need; not worth a second source (common practice)


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """One month of the year ahead, as daily means."""

    year: int
    month: int  # 1 to 12
    evaporation_L_per_day: Span
    possible_L_per_day: float  # limewater under the caps that last
    need_meq_per_day: Span
    need_L_per_day: float  # limewater that would cover the need
    limewater_L_per_day: float  # the smaller of the two
    second_meq_per_day: Span  # left for a second source
    alkalinity_meq_per_L: float  # at the month's end if nothing is retuned
    setting_too_high: bool  # the setting of now is more than this month allows


@dataclass(frozen=True, slots=True, kw_only=True)
class Retune:
    """When the setting of now stops being right."""

    on: datetime | None  # None: not within a year
    code: SeasonCode


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """The year ahead, with the demand of now."""

    source: str  # of the evaporation, as in SeasonalEvaporation
    months: tuple[Month, ...]  # twelve, from the present one on
    retune: Retune
    reasons: tuple[Reason, ...]


def year(decision: Decision, facts: Facts) -> Season | Reason:
    """Return the year ahead, or why it cannot be told.

    Parameters
    ----------
    decision : Decision
        With a demand.
    facts : Facts
        The log that it was made from, of `engine.demand.facts.gather`.

    Notes
    -----
    Demand is taken as it is now, falling with alkalinity where too little is given: corals that
    grow are not foreseen.
    """
    ahead = _ahead(decision, facts)
    if isinstance(ahead, Reason):
        return ahead
    days, retune = ahead.days(YEAR_DAYS)
    months = ahead.months(days)
    return Season(
        source=ahead.evaporation.source,
        months=months,
        retune=retune,
        reasons=(
            *_reasons(ahead.evaporation, months, ahead.setup),
            _retune_reason(retune, facts.now),
        ),
    )


def retune_within(decision: Decision, facts: Facts, span: timedelta) -> Retune | None:
    """Return when the setting of now stops being right within a span of days, or None.

    Much cheaper than the whole year; None also where the year cannot be told.

    Parameters
    ----------
    decision : Decision
        With a demand.
    facts : Facts
        The log that it was made from, of `engine.demand.facts.gather`.
    span : timedelta
        How far to look ahead, up to a year.
    """
    ahead = _ahead(decision, facts)
    if isinstance(ahead, Reason):
        return None
    _, retune = ahead.days(min(span.days, YEAR_DAYS) + 1)
    return None if retune.on is None else retune


def _ahead(decision: Decision, facts: Facts) -> "_Ahead | Reason":
    """Return what the days ahead are reckoned with, or why they cannot be."""
    setup, demand = decision.setup, decision.demand
    if setup is None or not isinstance(demand, Demand) or decision.alkalinity is None:
        return season_reason(SeasonCode.SEASON_NO_PLAN)
    strength = strength_now(facts, setup)
    span = None if decision.evaporation is None else evaporation_span(decision.evaporation)
    inputs = recorded_inputs(facts, setup, strength, span)
    refills = decision.evaporation
    measured = isinstance(refills, Evaporation) and refills.source == "measured"
    evaporation = seasonal_evaporation(facts, setup, inputs, span if measured else None)
    if evaporation is None:
        return season_reason(SeasonCode.SEASON_UNKNOWN)
    context = limit_context(
        facts, setup, inputs, strength=strength, evaporation_L_per_day=span, demand=demand
    )
    return _Ahead(
        setup=setup,
        inputs=inputs,
        strength=strength,
        limits=limits_of(setup),
        context=context,
        evaporation=evaporation,
        demand=demand,
        start_meq_per_L=decision.alkalinity.span.best,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ahead:
    setup: Setup
    inputs: Inputs
    strength: Strength
    limits: Limits
    context: LimitContext
    evaporation: SeasonalEvaporation
    demand: Demand
    start_meq_per_L: float

    @property
    def now(self) -> datetime:
        return self.inputs.facts.now

    def possible_L_per_day(self, moment: datetime) -> float | None:
        """Return the limewater that the lasting caps and a day's evaporation allow."""
        meq = self.demand.per_day_meq.best
        low = self.evaporation.at(moment).low
        held = [
            value
            for code, cap, _ in CAPS
            if code not in _OF_TODAY
            for value in [cap(self.limits, self.context, meq)]
            if value is not None
        ]
        if self.limits.evaporation_share is None:
            return None
        return min([self.limits.evaporation_share * low, *held])

    def given_L_per_day(self, moment: datetime) -> float:
        """Return what is given if nothing is retuned: what is set, or what evaporates."""
        if self.setup.delivery in THROUGH_TOP_OFF:
            return self.evaporation.at(moment).best
        return self.inputs.lime_L_per_day(self.now)

    def days(self, count: int) -> tuple[list[tuple[datetime, float]], Retune]:
        """Return alkalinity of so many days if nothing is retuned, and when it should be."""
        volume = self.setup.net_volume_L
        second = self.inputs.second_meq_per_day(self.now) / volume
        strength = self.inputs.strength.at(self.now) * self.inputs.saturated_meq_per_L
        level = self.start_meq_per_L
        course: list[tuple[datetime, float]] = []
        retune: Retune | None = None
        for number in range(count):
            moment = self.now + timedelta(days=number)
            course.append((moment, level))
            retune = retune or self._due(moment, level)
            given = self.given_L_per_day(moment) * strength / volume + second
            level = max(_LEAST_MEQ_PER_L, level + given - self._demand_at(level))
        return course, retune or Retune(on=None, code=SeasonCode.RETUNE_NONE)

    def _demand_at(self, level_meq_per_L: float) -> float:
        """Return the demand at another alkalinity, meq/L/day, never below 0."""
        per_meq = LESS_PER_DKH_SHARE.best / MEQ_PER_DKH
        best = self.demand.per_litre_meq.best
        return max(0.0, best * (1.0 + per_meq * (level_meq_per_L - self.start_meq_per_L)))

    def _due(self, moment: datetime, level: float) -> Retune | None:
        possible = self.possible_L_per_day(moment)
        by_pump = self.setup.delivery not in THROUGH_TOP_OFF
        if by_pump and possible is not None and self.given_L_per_day(moment) > possible:
            return Retune(on=moment, code=SeasonCode.RETUNE_EVAPORATION)
        low = self.setup.band_low_total_alkalinity_meq_per_L
        high = self.setup.band_high_total_alkalinity_meq_per_L
        if not low <= level <= high:
            return Retune(on=moment, code=SeasonCode.RETUNE_ALKALINITY)
        return None

    def months(self, course: list[tuple[datetime, float]]) -> tuple[Month, ...]:
        found: list[Month] = []
        year, month = self.now.year, self.now.month
        for _ in range(MONTHS):
            inside = [pair for pair in course if (pair[0].year, pair[0].month) == (year, month)]
            if inside:
                found.append(self._month(inside))
            year, month = (year, month + 1) if month < MONTHS else (year + 1, 1)
        return tuple(found)

    def _month(self, inside: list[tuple[datetime, float]]) -> Month:
        moments = [moment for moment, _ in inside]
        spans = [self.evaporation.at(moment) for moment in moments]
        evaporation = Span(*(sum(values) / len(spans) for values in zip(*spans, strict=True)))
        possible = min(self.possible_L_per_day(moment) or 0.0 for moment in moments)
        need = self.demand.per_day_meq
        strength = self.strength.planning_meq_per_L
        lime_L = min(possible, need.best / strength)
        left = Span(*(max(0.0, value - lime_L * strength) for value in need))
        if left.best < _NEGLIGIBLE_SHARE * need.best:
            left = Span(0.0, 0.0, left.high)
        given = max(self.given_L_per_day(moment) for moment in moments)
        by_pump = self.setup.delivery not in THROUGH_TOP_OFF
        return Month(
            year=moments[0].year,
            month=moments[0].month,
            evaporation_L_per_day=evaporation,
            possible_L_per_day=possible,
            need_meq_per_day=need,
            need_L_per_day=need.best / strength,
            limewater_L_per_day=lime_L,
            second_meq_per_day=left,
            alkalinity_meq_per_L=inside[-1][1],
            setting_too_high=by_pump and given > possible,
        )


def _reasons(
    evaporation: SeasonalEvaporation, months: tuple[Month, ...], setup: Setup
) -> tuple[Reason, ...]:
    rests_on = season_reason(
        SeasonCode(f"season_{evaporation.source}"), span_days=evaporation.span_days
    )
    worst = max(months, key=lambda month: month.second_meq_per_day.best)
    short = sum(month.second_meq_per_day.best > 0.0 for month in months)
    if not short:
        return (rests_on, season_reason(SeasonCode.SEASON_COVERED))
    alone = setup.second_source is SecondSource.NONE
    code = SeasonCode.SEASON_SHORT_ALONE if alone else SeasonCode.SEASON_SHORT
    missing = worst.second_meq_per_day.best / setup.net_volume_L
    numbers = {"short_of_months": float(short), "worst_meq_per_L_per_day": missing}
    return (rests_on, season_reason(code, **numbers))


def _retune_reason(retune: Retune, now: datetime) -> Reason:
    if retune.on is None:
        return season_reason(retune.code)
    return season_reason(retune.code, retune_days=days_between(now, retune.on))
