"""Where alkalinity heads when too little is given: it falls ever slower and comes to rest.

Animals take less as alkalinity falls. With demand straight in alkalinity the course is an
exponential (chemistry section 7, case F); how steep that line is, is common practice, no source.
"""

from dataclasses import dataclass
from math import log
from typing import Final

from engine.plan.horizon import HORIZON_DAYS
from engine.records import Setup
from engine.units import Span
from engine.vocabulary import MEQ_PER_DKH

# Share of the demand that goes with each dKH of alkalinity (common practice, no source).
LESS_PER_DKH_SHARE: Final = Span(0.10, 0.15, 0.20)
_LEAST_MEQ_PER_L: Final = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Settling:
    """The course of a tank that gets too little; 30 days mean 30 or more, or never."""

    rest_meq_per_L: Span
    to_band_low: Span  # days
    to_floor: Span  # days


def settling(
    setup: Setup, *, level_meq_per_L: Span, demand_meq_per_day: float, short_meq_per_day: float
) -> Settling:
    """Return where alkalinity comes to rest and when it passes band and floor on its way.

    Parameters
    ----------
    setup : Setup
        Band, floor, volume.
    level_meq_per_L : Span
        Alkalinity expected now.
    demand_meq_per_day, short_meq_per_day : float
        Demand at that alkalinity, and the part of it that nothing supplies; above 0.
    """
    share = min(1.0, short_meq_per_day / demand_meq_per_day)
    drops = [share / per_dKH * MEQ_PER_DKH for per_dKH in LESS_PER_DKH_SHARE]
    low, best, high = level_meq_per_L
    rest = Span(
        *(max(_LEAST_MEQ_PER_L, a - b) for a, b in zip((low, best, high), drops, strict=True))
    )
    error = setup.net_volume_error_share
    fall = short_meq_per_day / setup.net_volume_L
    courses = (
        (low, drops[0], fall * (1.0 + error)),
        (best, drops[1], fall),
        (high, drops[2], fall * (1.0 - error)),
    )
    return Settling(
        rest_meq_per_L=rest,
        to_band_low=_days(courses, setup.band_low_total_alkalinity_meq_per_L),
        to_floor=_days(courses, setup.floor_total_alkalinity_meq_per_L),
    )


def _days(courses: tuple[tuple[float, float, float], ...], threshold: float) -> Span:
    return Span(*(_until(level - threshold, drop, fall) for level, drop, fall in courses))


def _until(gap: float, drop: float, fall_per_day: float) -> float:
    """Return the days in which an exponential fall towards `drop` covers a gap."""
    if gap <= 0.0:
        return 0.0
    if gap >= drop:
        return HORIZON_DAYS
    return min(HORIZON_DAYS, -drop / fall_per_day * log(1.0 - gap / drop))
