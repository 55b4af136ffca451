"""How long alkalinity holds without limewater: the number beside every plan and refusal."""

from dataclasses import dataclass

from engine.plan.horizon import HORIZON_DAYS, days_until
from engine.reasons import Code, Reason, reason
from engine.records import Setup
from engine.units import Estimate, Span, estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class StopSafe:
    """Days without limewater, the second source still running; 30 means 30 or more."""

    to_band_low: Estimate
    to_floor: Estimate
    second_source_runs: bool
    reasons: tuple[Reason, ...]


def stop_safe(
    setup: Setup,
    *,
    level_meq_per_L: Span,
    fall_meq_per_L_per_day: Span,
    second_source_runs: bool,
) -> StopSafe:
    """Return how long the tank can wait.

    Parameters
    ----------
    setup : Setup
        Band and floor.
    level_meq_per_L, fall_meq_per_L_per_day : Span
        Alkalinity expected now, and how fast it falls without limewater.
    second_source_runs : bool
        Whether something else goes on giving alkalinity.
    """
    fall = fall_meq_per_L_per_day
    band_low = setup.band_low_total_alkalinity_meq_per_L
    floor = setup.floor_total_alkalinity_meq_per_L
    to_low = days_until(level_meq_per_L, band_low, fall)
    to_floor = days_until(level_meq_per_L, floor, fall)
    return StopSafe(
        to_band_low=estimate(to_low, "day"),
        to_floor=estimate(to_floor, "day"),
        second_source_runs=second_source_runs,
        reasons=(*_uses_up(setup, level_meq_per_L, fall), _reason(setup, to_low, to_floor)),
    )


def _uses_up(setup: Setup, level: Span, fall: Span) -> tuple[Reason, ...]:
    """Return when a level above its band is back at the target, the limewater off."""
    target = setup.target_total_alkalinity_meq_per_L
    high = setup.band_high_total_alkalinity_meq_per_L
    if level.best <= high:
        return ()
    days = days_until(level, target, fall)
    if days.best >= HORIZON_DAYS:
        return ()
    return (
        reason(
            Code.USES_UP,
            target_meq_per_L=target,
            back_low_days=days.low,
            back_high_days=days.high,
        ),
    )


def _reason(setup: Setup, to_low: Span, to_floor: Span) -> Reason:
    band_low = setup.band_low_total_alkalinity_meq_per_L
    floor = setup.floor_total_alkalinity_meq_per_L
    if to_floor.best <= 0.0:
        return reason(Code.STOP_SAFE_BELOW_FLOOR, floor_meq_per_L=floor)
    if to_floor.low >= HORIZON_DAYS:
        return reason(Code.STOP_SAFE_HOLDS, floor_meq_per_L=floor, floor_days=HORIZON_DAYS)
    numbers = {
        "band_low_meq_per_L": band_low,
        "floor_meq_per_L": floor,
        "floor_low_days": to_floor.low,
        "floor_high_days": to_floor.high,
    }
    if to_low.best <= 0.0:
        return reason(Code.STOP_SAFE_BELOW_BAND, **numbers)
    days = {"band_low_low_days": to_low.low, "band_low_high_days": to_low.high}
    return reason(Code.STOP_SAFE, **numbers, **days)
