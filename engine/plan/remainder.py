"""What limewater leaves over: for the second source in its units, or where alkalinity heads."""

from dataclasses import dataclass, replace
from typing import Final

from engine.caps import LimitContext, Limits, is_untested
from engine.limits import DosePlan
from engine.plan.dosing import DoseNeed
from engine.plan.horizon import HORIZON_DAYS
from engine.plan.settling import Settling, settling
from engine.reasons import Code, Reason, reason
from engine.records import SecondSource, Setup
from engine.units import Estimate, Span, estimate, to_float

# A shortfall below this share of the need is not worth a second source (common practice).
NEGLIGIBLE_SHARE: Final = 0.03
_MIN_PER_DAY: Final = 1440.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Remainder:
    """Alkalinity that the limewater of the plan does not cover."""

    source: SecondSource
    alkalinity: Estimate  # meq/day
    two_part: Estimate | None  # mL/day of each part
    effluent: Estimate | None  # L/day through a reactor, at its recorded effluent alkalinity
    days_to_band_low: Estimate | None  # where alkalinity stays short
    days_to_floor: Estimate | None
    reasons: tuple[Reason, ...]
    settles: Estimate | None = None  # meq/L, where alkalinity stays short
    effluent_alkalinity: Estimate | None = None  # meq/L, of a reactor whose flow is kept

    @property
    def meq_per_day(self) -> float:
        """The best estimate in meq/day."""
        return to_float(self.alkalinity.best, "meq/day")


def remainder(
    plan: DosePlan,
    need: DoseNeed,
    *,
    setup: Setup,
    limits: Limits,
    context: LimitContext,
    level_meq_per_L: Span,
) -> Remainder:
    """Return what is left for the second source beside an admitted plan.

    Parameters
    ----------
    plan, need, setup, limits, context
        The system and what was admitted.
    level_meq_per_L : Span
        Alkalinity expected now.
    """
    lime_meq = plan.L_per_day * context.planning_meq_per_L
    code, ceiling = _ceiling_meq_per_day(plan.L_per_day, limits, context)
    wanted = Span(*(max(0.0, value - lime_meq) for value in need.per_day.floats("meq/day")))
    left = Span(*(min(value, ceiling) for value in wanted))
    if left.best < NEGLIGIBLE_SHARE * to_float(need.per_day.best, "meq/day"):
        left = Span(0.0, 0.0, left.high)
    demand = to_float(need.demand, "meq/day")
    if setup.second_source is SecondSource.NONE:
        return _without(left, wanted, demand - lime_meq, demand, setup, level_meq_per_L)
    found = _with(left, setup, level_meq_per_L)
    need_meq = to_float(need.per_day.best, "meq/day")
    if wanted.best - left.best <= NEGLIGIBLE_SHARE * need_meq:
        return found
    held = reason(code, ceiling_meq_per_day=ceiling, wanted_meq_per_day=wanted.best)
    short = demand - lime_meq - left.best
    if short <= NEGLIGIBLE_SHARE * demand:
        return replace(found, reasons=(*found.reasons, held))
    return _heading(found, held, short=short, demand=demand, setup=setup, level=level_meq_per_L)


def _ceiling_meq_per_day(
    lime_L_per_day: float, limits: Limits, context: LimitContext
) -> tuple[Code, float]:
    """Return the most that a second source may give beside so much limewater, meq/day, and why.

    The two daily alkalinity limits hold for both sources together: the planned rise, and the rise
    if the animals stopped feeding. Like limewater it is never raised on a doubted or an old test.
    """
    balance = context.balance
    net, stopped = limits.net_rise_meq_per_L_per_day, limits.stopped_rise_meq_per_L_per_day
    if balance is None or net is None or stopped is None:
        return Code.SECOND_HELD_NET_RISE, 0.0
    given = balance.second_meq_per_day
    room = net - balance.net_change_meq_per_L_per_day.high
    volume = context.net_volume_low_L if room > 0.0 else context.net_volume_high_L
    more_L = lime_L_per_day - balance.lime_L_per_day
    strength = context.unsafe_meq_per_L if more_L > 0.0 else context.low_meq_per_L
    most_lime_meq = lime_L_per_day * context.unsafe_meq_per_L
    ceilings = {
        Code.SECOND_HELD_NET_RISE: given + room * volume - more_L * strength,
        Code.SECOND_HELD_STOPPED_RISE: stopped * context.net_volume_low_L - most_lime_meq,
    }
    if context.newest_is_suspect:
        ceilings[Code.SECOND_HELD_SUSPECT] = given
    if is_untested(context):
        ceilings[Code.SECOND_HELD_UNTESTED] = given
    code = min(ceilings, key=ceilings.__getitem__)
    return code, max(0.0, ceilings[code])


def _heading(
    found: Remainder, *before: Reason, short: float, demand: float, setup: Setup, level: Span
) -> Remainder:
    """Return the remainder with where alkalinity heads on so much too little, meq/day."""
    course = settling(
        setup, level_meq_per_L=level, demand_meq_per_day=demand, short_meq_per_day=short
    )
    return replace(
        found,
        days_to_band_low=estimate(course.to_band_low, "day"),
        days_to_floor=estimate(course.to_floor, "day"),
        settles=estimate(course.rest_meq_per_L, "meq/L"),
        reasons=(*found.reasons, *before, *_short_reasons(setup, short, course)),
    )


def _with(left: Span, setup: Setup, level: Span) -> Remainder:
    found = Remainder(
        source=setup.second_source,
        alkalinity=estimate(left, "meq/day"),
        two_part=None,
        effluent=None,
        days_to_band_low=None,
        days_to_floor=None,
        reasons=(),
    )
    if left.best <= 0.0:
        return found
    if setup.second_source is SecondSource.TWO_PART:
        return _by_two_part(found, left, setup)
    return _by_reactor(found, left, setup, level)


def _by_two_part(found: Remainder, left: Span, setup: Setup) -> Remainder:
    strength = setup.two_part_meq_per_mL
    if strength is None:
        return _of_unknown_strength(found, left)
    each = left.scaled(1.0 / strength)
    told = reason(
        Code.SECOND_SOURCE_TWO_PART,
        remainder_meq_per_day=left.best,
        each_part_mL_per_day=each.best,
        two_part_meq_per_mL=strength,
    )
    return replace(found, two_part=estimate(each, "mL/day"), reasons=(told,))


def _by_reactor(found: Remainder, left: Span, setup: Setup, level: Span) -> Remainder:
    """Return the flow at the recorded effluent, and the effluent at the recorded flow.

    A reactor's credit is what its water has beyond the tank's own alkalinity.
    """
    effluent, kept_flow = setup.reactor_effluent_meq_per_L, setup.reactor_flow_L_per_day
    flow = needed = None
    reasons: list[Reason] = []
    if effluent is not None and effluent > level.best:
        gain = effluent - level.best
        flow = left.scaled(1.0 / gain)
        reasons.append(
            reason(
                Code.SECOND_SOURCE_REACTOR,
                remainder_meq_per_day=left.best,
                effluent_L_per_day=flow.best,
                effluent_mL_per_min=flow.best * 1000.0 / _MIN_PER_DAY,
                effluent_gain_meq_per_L=gain,
            )
        )
    if kept_flow is not None:
        needed = Span(*(level.best + value / kept_flow for value in left))
        reasons.append(
            reason(
                Code.REACTOR_ALKALINITY,
                remainder_meq_per_day=left.best,
                flow_mL_per_min=kept_flow * 1000.0 / _MIN_PER_DAY,
                effluent_meq_per_L=needed.best,
            )
        )
    if not reasons:
        return _of_unknown_strength(found, left)
    return replace(
        found,
        effluent=None if flow is None else estimate(flow, "L/day"),
        effluent_alkalinity=None if needed is None else estimate(needed, "meq/L"),
        reasons=tuple(reasons),
    )


def _of_unknown_strength(found: Remainder, left: Span) -> Remainder:
    told = reason(Code.SECOND_SOURCE_UNKNOWN_STRENGTH, remainder_meq_per_day=left.best)
    return replace(found, reasons=(told,))


def _without(  # noqa: PLR0917
    left: Span, wanted: Span, short: float, demand: float, setup: Setup, level: Span
) -> Remainder:
    """Return where alkalinity heads when nothing supplies the rest."""
    found = Remainder(
        source=SecondSource.NONE,
        alkalinity=estimate(left, "meq/day"),
        two_part=None,
        effluent=None,
        days_to_band_low=None,
        days_to_floor=None,
        reasons=(),
    )
    if short <= NEGLIGIBLE_SHARE * demand:
        return replace(found, reasons=_no_way_back(wanted.best, demand, setup, level))
    if left.best <= 0.0:
        return found
    return _heading(found, short=short, demand=demand, setup=setup, level=level)


def _no_way_back(wanted: float, demand: float, setup: Setup, level: Span) -> tuple[Reason, ...]:
    """Return that a level below its band holds there: animals take less of less."""
    band_low = setup.band_low_total_alkalinity_meq_per_L
    if level.best >= band_low or wanted <= NEGLIGIBLE_SHARE * demand:
        return ()
    numbers = {"short_meq_per_day": wanted, "band_low_meq_per_L": band_low}
    return (reason(Code.STAYS_BELOW_BAND, **numbers),)


def _short_reasons(setup: Setup, short_meq_per_day: float, course: Settling) -> tuple[Reason, ...]:
    to_low, to_floor = course.to_band_low, course.to_floor
    band_low = setup.band_low_total_alkalinity_meq_per_L
    short = {"short_meq_per_day": short_meq_per_day, "band_low_meq_per_L": band_low}
    beside = setup.second_source is not SecondSource.NONE
    rest = reason(
        Code.SETTLES,
        rest_low_meq_per_L=course.rest_meq_per_L.low,
        rest_high_meq_per_L=course.rest_meq_per_L.high,
    )
    if to_low.best <= 0.0:
        code = Code.HELD_SHORT_BELOW_BAND if beside else Code.SHORT_BELOW_BAND
        return (reason(code, **short), rest)
    numbers = {**short, "fall_meq_per_L_per_day": short_meq_per_day / setup.net_volume_L}
    if to_low.low >= HORIZON_DAYS:
        return (reason(Code.SHORT_IN_BAND, **numbers), rest)
    numbers |= {"band_low_low_days": to_low.low, "band_low_high_days": to_low.high}
    if to_floor.low >= HORIZON_DAYS:
        return (reason(Code.SHORT_PASSES_BAND, **numbers), rest)
    numbers |= {
        "floor_meq_per_L": setup.floor_total_alkalinity_meq_per_L,
        "floor_low_days": to_floor.low,
        "floor_high_days": to_floor.high,
    }
    return (reason(Code.HELD_SHORT if beside else Code.SHORT_OF_ALKALINITY, **numbers), rest)
