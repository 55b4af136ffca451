"""The waters of a rescue: the tank as it was read, and the salt water that stands ready."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from engine.carbonate import solve
from engine.chemistry.constants import MOLAR_MASS_CALCIUM
from engine.errors import check_positive
from engine.records import WaterChange
from engine.seawater import calcium_umol_per_kg_RT67, density_kg_per_m3
from engine.units import Span
from engine.vocabulary import MEQ_PER_DKH

if TYPE_CHECKING:
    from engine.carbonate import CarbonateState
    from engine.demand.facts import Facts
    from engine.hazards.point import HazardPoint
    from engine.records import Setup

# Salt mixes on the market, and how far one bag is from the next: common practice, no source.
UNKNOWN_MIX_MEQ_PER_L: Final = Span(7.0 * MEQ_PER_DKH, 9.0 * MEQ_PER_DKH, 12.0 * MEQ_PER_DKH)
MIX_ERROR_MEQ_PER_L: Final = 0.3 * MEQ_PER_DKH


@dataclass(frozen=True, slots=True, kw_only=True)
class NewWater:
    """Salt water that is ready: matched in salinity and temperature, aerated."""

    total_alkalinity_meq_per_L: Span
    ready_L: float
    known: bool  # whether a recorded change tells its alkalinity


def new_water(facts: Facts, setup: Setup) -> NewWater:
    """Return the salt water that stands ready; its alkalinity from the last recorded change."""
    known = [
        change.new_total_alkalinity_meq_per_L
        for change in facts.of(WaterChange)
        if change.new_total_alkalinity_meq_per_L is not None
    ]
    span = UNKNOWN_MIX_MEQ_PER_L
    if known:
        span = Span(known[-1] - MIX_ERROR_MEQ_PER_L, known[-1], known[-1] + MIX_ERROR_MEQ_PER_L)
    return NewWater(
        total_alkalinity_meq_per_L=span, ready_L=setup.salt_water_ready_L, known=bool(known)
    )


def state_from_reading(
    *,
    pH_nbs: float,
    total_alkalinity_meq_per_L: float,
    salinity: float,
    temperature_degC: float,
    calcium_mg_per_L: float | None = None,
) -> CarbonateState:
    """Return the water of a reading in an incident.

    Parameters
    ----------
    pH_nbs : float
        As the probe shows it.
    total_alkalinity_meq_per_L, salinity, temperature_degC : float
        Of the tank; salinity 19 to 40, temperature 9 to 33 degC.
    calcium_mg_per_L : float, optional
        By default that of natural seawater.

    Raises
    ------
    OutsideValidity
        Outside the model, or a pH and an alkalinity that contradict each other.
    """
    check_positive("total_alkalinity_meq_per_L", total_alkalinity_meq_per_L, "meq/L")
    kg_per_L = density_kg_per_m3(salinity, temperature_degC) / 1000.0
    calcium = calcium_umol_per_kg_RT67(salinity)
    if calcium_mg_per_L is not None:
        calcium = calcium_mg_per_L / MOLAR_MASS_CALCIUM * 1000.0 / kg_per_L
    return solve(
        total_alkalinity_umol_per_kg=total_alkalinity_meq_per_L * 1000.0 / kg_per_L,
        pH_nbs=pH_nbs,
        salinity=salinity,
        temperature_degC=temperature_degC,
        calcium_umol_per_kg=calcium,
    )


def state_from_point(point: HazardPoint, temperature_degC: float) -> CarbonateState | None:
    """Return the water of a point of a course; None past pH_nbs 9.5."""
    if point.pH_nbs is None or point.total_alkalinity_meq_per_L is None:
        return None
    return state_from_reading(
        pH_nbs=point.pH_nbs,
        total_alkalinity_meq_per_L=point.total_alkalinity_meq_per_L,
        salinity=point.salinity,
        temperature_degC=temperature_degC,
        calcium_mg_per_L=point.calcium_mg_per_L,
    )


def mixed_salt(
    tank: CarbonateState, alkalinity_meq_per_L: float, air_pCO2_uatm: float
) -> CarbonateState:
    """Return aerated new water of the tank's salinity and temperature, natural calcium."""
    kg_per_L = density_kg_per_m3(tank.salinity, tank.temperature_degC) / 1000.0
    return solve(
        total_alkalinity_umol_per_kg=alkalinity_meq_per_L * 1000.0 / kg_per_L,
        pCO2_uatm=air_pCO2_uatm,
        salinity=tank.salinity,
        temperature_degC=tank.temperature_degC,
    )
