"""What limewater leaves over: for the second source in its units, or where alkalinity heads."""

from dataclasses import dataclass, replace
from typing import Final

from engine.caps import LimitContext, Limits
from engine.dosing import DoseNeed
from engine.horizon import days_until
from engine.limits import DosePlan
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
    by_net, by_stopped = _ceilings_meq_per_day(plan.L_per_day, limits, context)
    ceiling = max(0.0, min(by_net, by_stopped))
    wanted = Span(*(max(0.0, value - lime_meq) for value in need.per_day.floats("meq/day")))
    left = Span(*(min(value, ceiling) for value in wanted))
    if left.best < NEGLIGIBLE_SHARE * to_float(need.per_day.best, "meq/day"):
        left = Span(0.0, 0.0, left.high)
    demand = to_float(need.demand, "meq/day")
    if setup.second_source is SecondSource.NONE:
        return _without(left, demand, lime_meq, setup=setup, level=level_meq_per_L)
    found = _with(left, setup, level_meq_per_L)
    need_meq = to_float(need.per_day.best, "meq/day")
    if wanted.best - left.best <= NEGLIGIBLE_SHARE * need_meq:
        return found
    code = Code.SECOND_HELD_NET_RISE if by_net < by_stopped else Code.SECOND_HELD_STOPPED_RISE
    held = reason(code, ceiling_meq_per_day=ceiling, wanted_meq_per_day=wanted.best)
    short = demand - lime_meq - left.best
    if short <= NEGLIGIBLE_SHARE * demand:
        return replace(found, reasons=(*found.reasons, held))
    return _held(found, held, short, setup=setup, level=level_meq_per_L)


def _ceilings_meq_per_day(
    lime_L_per_day: float, limits: Limits, context: LimitContext
) -> tuple[float, float]:
    """Return what a second source may give beside so much limewater, meq/day, by either limit.

    The two daily alkalinity limits hold for both sources together: the planned rise, and the rise
    if the animals stopped feeding.
    """
    balance = context.balance
    net, stopped = limits.net_rise_meq_per_L_per_day, limits.stopped_rise_meq_per_L_per_day
    if balance is None or net is None or stopped is None:
        return 0.0, 0.0
    room = net - balance.net_change_meq_per_L_per_day.high
    volume = context.net_volume_low_L if room > 0.0 else context.net_volume_high_L
    more_L = lime_L_per_day - balance.lime_L_per_day
    strength = context.unsafe_meq_per_L if more_L > 0.0 else context.low_meq_per_L
    by_net = balance.second_meq_per_day + room * volume - more_L * strength
    most_lime_meq = lime_L_per_day * context.unsafe_meq_per_L
    return by_net, stopped * context.net_volume_low_L - most_lime_meq


def _held(
    found: Remainder,
    held: Reason,
    short_meq_per_day: float,
    *,
    setup: Setup,
    level: Span,
) -> Remainder:
    """Return the remainder with the limit that holds it down, and where alkalinity then heads."""
    to_low, to_floor = _days_short(short_meq_per_day, setup, level)
    told = _short_reason(setup, short_meq_per_day, to_low, to_floor)
    return replace(
        found,
        days_to_band_low=estimate(to_low, "day"),
        days_to_floor=estimate(to_floor, "day"),
        reasons=(*found.reasons, held, told),
    )


def _with(left: Span, setup: Setup, level: Span) -> Remainder:
    two_part = effluent = None
    reasons: tuple[Reason, ...] = ()
    if left.best > 0.0:
        two_part, effluent, found = _in_units(left, setup, level)
        reasons = (found,)
    return Remainder(
        source=setup.second_source,
        alkalinity=estimate(left, "meq/day"),
        two_part=two_part,
        effluent=effluent,
        days_to_band_low=None,
        days_to_floor=None,
        reasons=reasons,
    )


def _in_units(
    left: Span, setup: Setup, level: Span
) -> tuple[Estimate | None, Estimate | None, Reason]:
    two_part, reactor = setup.two_part_meq_per_mL, setup.reactor_effluent_meq_per_L
    if setup.second_source is SecondSource.TWO_PART and two_part is not None:
        each = left.scaled(1.0 / two_part)
        numbers = {
            "remainder_meq_per_day": left.best,
            "each_part_mL_per_day": each.best,
            "two_part_meq_per_mL": two_part,
        }
        return estimate(each, "mL/day"), None, reason(Code.SECOND_SOURCE_TWO_PART, **numbers)
    # A reactor's credit is what it adds to the tank's own alkalinity.
    if setup.second_source is SecondSource.REACTOR and reactor is not None:
        gain = reactor - level.best
        if gain > 0.0:
            flow = left.scaled(1.0 / gain)
            numbers = {
                "remainder_meq_per_day": left.best,
                "effluent_L_per_day": flow.best,
                "effluent_mL_per_min": flow.best * 1000.0 / _MIN_PER_DAY,
                "effluent_gain_meq_per_L": gain,
            }
            return None, estimate(flow, "L/day"), reason(Code.SECOND_SOURCE_REACTOR, **numbers)
    unknown = reason(Code.SECOND_SOURCE_UNKNOWN_STRENGTH, remainder_meq_per_day=left.best)
    return None, None, unknown


def _without(
    left: Span, demand_meq_per_day: float, lime_meq_per_day: float, *, setup: Setup, level: Span
) -> Remainder:
    """Return where alkalinity heads when nothing supplies the rest.

    The shortfall is taken as constant. Consumption falls with alkalinity, so the real course is
    slower: the days are on the early side.
    """
    short_meq_per_day = demand_meq_per_day - lime_meq_per_day
    to_low = to_floor = None
    reasons: tuple[Reason, ...] = ()
    if left.best > 0.0 and short_meq_per_day > NEGLIGIBLE_SHARE * demand_meq_per_day:
        to_low, to_floor = _days_short(short_meq_per_day, setup, level)
        reasons = (_short_reason(setup, short_meq_per_day, to_low, to_floor),)
    return Remainder(
        source=SecondSource.NONE,
        alkalinity=estimate(left, "meq/day"),
        two_part=None,
        effluent=None,
        days_to_band_low=None if to_low is None else estimate(to_low, "day"),
        days_to_floor=None if to_floor is None else estimate(to_floor, "day"),
        reasons=reasons,
    )


def _days_short(short_meq_per_day: float, setup: Setup, level: Span) -> tuple[Span, Span]:
    """Return the days to the low end of the band and to the floor."""
    error = setup.net_volume_error_share
    fall = short_meq_per_day / setup.net_volume_L
    falls = Span(fall * (1.0 - error), fall, fall * (1.0 + error))
    return (
        days_until(level, setup.band_low_total_alkalinity_meq_per_L, falls),
        days_until(level, setup.floor_total_alkalinity_meq_per_L, falls),
    )


def _short_reason(setup: Setup, short_meq_per_day: float, to_low: Span, to_floor: Span) -> Reason:
    band_low = setup.band_low_total_alkalinity_meq_per_L
    short = {"short_meq_per_day": short_meq_per_day, "band_low_meq_per_L": band_low}
    beside = setup.second_source is not SecondSource.NONE
    if to_low.best <= 0.0:
        return reason(Code.HELD_SHORT_BELOW_BAND if beside else Code.SHORT_BELOW_BAND, **short)
    return reason(
        Code.HELD_SHORT if beside else Code.SHORT_OF_ALKALINITY,
        **short,
        fall_meq_per_L_per_day=short_meq_per_day / setup.net_volume_L,
        band_low_low_days=to_low.low,
        band_low_high_days=to_low.high,
        floor_meq_per_L=setup.floor_total_alkalinity_meq_per_L,
        floor_low_days=to_floor.low,
        floor_high_days=to_floor.high,
    )
