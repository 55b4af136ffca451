"""What an accident does to alkalinity, from volumes alone: a mass balance that needs no test.

pH needs the tank's alkalinity; until that is tested, this is all that can be said.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from engine.chemistry.constants import MEQ_PER_GRAM_CALCIUM_HYDROXIDE
from engine.hazards.bands import BAND_LIMITS, Band
from engine.hazards.codes import HazardCode, Kind, hazard_reason
from engine.hazards.sources import Accident, accidents

if TYPE_CHECKING:
    from engine.hazards.equipment import Equipment
    from engine.reasons import Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Rise:
    """One accident by its alkalinity alone."""

    kind: Kind
    low_meq_per_L: float  # per litre of the tank before
    high_meq_per_L: float
    at_least: Band  # by the rise at its bad end; pH may make it worse
    reasons: tuple[Reason, ...]  # the rise first, then what it rests on


def rises(equipment: Equipment) -> tuple[Rise, ...]:
    """Return the rise of alkalinity of every accident that brings lime, the largest first.

    Parameters
    ----------
    equipment : Equipment
        As `engine.hazards.equipment.equipment_of` gives it.
    """
    found = (_rise(each, equipment) for each in accidents(equipment) if isinstance(each, Accident))
    worst_first = sorted(found, key=lambda rise: -rise.high_meq_per_L)
    return tuple(rise for rise in worst_first if rise.high_meq_per_L > 0.0)


def _rise(accident: Accident, equipment: Equipment) -> Rise:
    setup, strength = equipment.setup, equipment.strength_meq_per_L
    error = setup.net_volume_error_share
    low = _meq(accident.litres.low, strength.low, accident.suspended_g.low)
    high = _meq(accident.litres.high, strength.high, accident.suspended_g.high)
    low_meq_per_L = low / (setup.net_volume_L * (1.0 + error))
    high_meq_per_L = high / (setup.net_volume_L * (1.0 - error))
    numbers = {"rise_low_meq_per_L": low_meq_per_L, "rise_high_meq_per_L": high_meq_per_L}
    return Rise(
        kind=accident.kind,
        low_meq_per_L=low_meq_per_L,
        high_meq_per_L=high_meq_per_L,
        at_least=_band(high_meq_per_L),
        reasons=(hazard_reason(HazardCode.RISE, **numbers), *accident.reasons),
    )


def _meq(litres: float, meq_per_L: float, grams: float) -> float:
    return litres * meq_per_L + grams * MEQ_PER_GRAM_CALCIUM_HYDROXIDE


def _band(rise_meq_per_L: float) -> Band:
    reached = Band.BELOW
    for limit in BAND_LIMITS:
        if limit.rise_meq_per_L is not None and rise_meq_per_L >= limit.rise_meq_per_L:
            reached = limit.band
    return reached
