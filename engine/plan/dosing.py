"""What chemistry asks for: consumption and a limited approach to the target. No caps here."""

from dataclasses import dataclass
from math import copysign
from typing import Final

from engine.errors import check_finite
from engine.reasons import Code, Reason, reason
from engine.records import Setup
from engine.units import Estimate, Quantity, Span, estimate, quantity, to_float
from engine.vocabulary import MEQ_PER_DKH

# A gap is closed over so many days, and a smaller one than a test can see is left alone
# (common practice, no source).
APPROACH_DAYS: Final = 4.0
APPROACH_DEAD_BAND_MEQ_PER_L: Final = 0.3 * MEQ_PER_DKH
# Alkalinity is let down by no more than this a day (common practice, no source).
FALL_MEQ_PER_L_PER_DAY: Final = 0.5 * MEQ_PER_DKH


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseNeed:
    """Alkalinity that the system needs a day, and as limewater: not yet what may be given."""

    per_day: Estimate  # meq/day; the interval is that of the demand
    demand: Quantity  # meq/day, without the approach to the target
    limewater: Quantity  # L/day that would cover all of it
    reasons: tuple[Reason, ...]

    def __post_init__(self) -> None:
        for value in self.per_day.floats("meq/day"):
            check_finite("per_day", value, "meq/day")
        check_finite("demand", to_float(self.demand, "meq/day"), "meq/day")
        check_finite("limewater", to_float(self.limewater, "L/day"), "L/day")


def approach_meq_per_L_per_day(
    target_meq_per_L: float, level_meq_per_L: float, net_rise_meq_per_L_per_day: float
) -> float:
    """Return the daily change wanted beside consumption, meq/L/day.

    Parameters
    ----------
    target_meq_per_L, level_meq_per_L : float
        Where alkalinity should be, and is.
    net_rise_meq_per_L_per_day : float
        The keeper's limit on the rise; the fall is limited to 0.5 dKH a day.

    Notes
    -----
    A quarter a day of what the gap exceeds 0.3 dKH by: common practice, no source.
    """
    gap = target_meq_per_L - level_meq_per_L
    if abs(gap) <= APPROACH_DEAD_BAND_MEQ_PER_L:
        return 0.0
    # What lies beyond the dead band: no jump at its edge, where a test's error would be a dose.
    beyond = gap - copysign(APPROACH_DEAD_BAND_MEQ_PER_L, gap)
    return max(-FALL_MEQ_PER_L_PER_DAY, min(net_rise_meq_per_L_per_day, beyond / APPROACH_DAYS))


def dose_need(
    setup: Setup, *, demand_meq_per_day: Span, level_meq_per_L: float, planning_meq_per_L: float
) -> DoseNeed:
    """Return what the system needs.

    Parameters
    ----------
    setup : Setup
        Target, volume and the limit on the rise.
    demand_meq_per_day : Span
        Consumption of the whole system.
    level_meq_per_L : float
        Alkalinity expected now.
    planning_meq_per_L : float
        What a litre of limewater brings, above 0.
    """
    approach = approach_meq_per_L_per_day(
        setup.target_total_alkalinity_meq_per_L,
        level_meq_per_L,
        setup.net_rise_meq_per_L_per_day or 0.0,
    )
    extra = approach * setup.net_volume_L
    span = Span(*(max(0.0, value + extra) for value in demand_meq_per_day))
    return DoseNeed(
        per_day=estimate(span, "meq/day"),
        demand=quantity(demand_meq_per_day.best, "meq/day"),
        limewater=quantity(span.best / planning_meq_per_L, "L/day"),
        reasons=_reasons(setup, approach, span, level_meq_per_L, planning_meq_per_L),
    )


def _reasons(
    setup: Setup, approach: float, need: Span, level_meq_per_L: float, planning_meq_per_L: float
) -> tuple[Reason, ...]:
    found = [
        reason(
            Code.NEED,
            need_meq_per_day=need.best,
            need_L_per_day=need.best / planning_meq_per_L,
            strength_meq_per_L=planning_meq_per_L,
        )
    ]
    if approach:
        numbers = {
            "approach_meq_per_L_per_day": abs(approach),
            "level_meq_per_L": level_meq_per_L,
            "target_meq_per_L": setup.target_total_alkalinity_meq_per_L,
        }
        found.append(reason(Code.APPROACH_UP if approach > 0.0 else Code.APPROACH_DOWN, **numbers))
    return tuple(found)
