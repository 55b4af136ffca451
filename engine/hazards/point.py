"""The tank at one time of an accident, as plots and tables show it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from engine.chemistry.constants import MOLAR_MASS_CALCIUM
from engine.hazards.bands import LIMIT_OF, Band, Precipitation, band_of, precipitation_of

# Where the solver holds no water any more: certainly past every band.
NO_PH: Final = 14.0
_NO_OMEGA: Final = 1e6
# Ammonia in seawater, total scale, about 25 degC: from memory.
AMMONIA_PKA_TOTAL: Final = 9.25
_LOSSES_PH_NBS: Final = LIMIT_OF[Band.EXPECT_LOSSES].pH_nbs


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardPoint:
    """The tank at one time.

    Past pH_nbs 9.5 brucite and calcium carbonate fall out and the model does not hold them: all
    that chemistry decides is None, and the band stands alone.
    """

    hours: float
    brought_L: float
    brought_meq_per_L: float  # alkalinity that came, per litre of the tank before
    extra_water_L: float  # above the level of before: what sump and overflow must hold
    salinity: float
    total_alkalinity_meq_per_L: float | None
    dic_mmol_per_L: float | None
    calcium_mg_per_L: float | None
    pH_nbs: float | None
    omega_aragonite: float | None
    free_ammonia_factor: float | None  # share of free ammonia over that before
    band: Band
    precipitation: Precipitation


@dataclass(frozen=True, slots=True, kw_only=True)
class Amounts:
    """What came, by mass balance alone: holds whatever the chemistry does."""

    hours: float
    brought_L: float
    brought_meq_per_L: float
    extra_water_L: float
    salinity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Chemistry:
    """What the solver says of it."""

    total_alkalinity_umol_per_kg: float
    dic_umol_per_kg: float
    calcium_umol_per_kg: float
    pH_total: float
    pH_nbs: float
    omega_aragonite: float


def free_ammonia_share(pH_total: float) -> float:
    """Share of total ammonia that is free (toxic) NH3; pKa from memory, within about a tenth."""
    return 1.0 / (1.0 + 10.0 ** (AMMONIA_PKA_TOTAL - pH_total))


def describe(
    amounts: Amounts,
    chemistry: Chemistry | None,
    *,
    density_kg_per_L: float,
    start_pH_total: float,
) -> HazardPoint:
    """Return a point; without chemistry, or past pH_nbs 9.5, only amounts and bands.

    Parameters
    ----------
    amounts : Amounts
        The mass balance.
    chemistry : Chemistry or None
        None where the solver holds no such water: diluted or driven far past pH 9.5.
    density_kg_per_L : float
        Of the water, kg/L.
    start_pH_total : float
        pH (total) before, for the ammonia factor.
    """
    pH_nbs = NO_PH if chemistry is None else chemistry.pH_nbs
    omega = _NO_OMEGA if chemistry is None else chemistry.omega_aragonite
    held = chemistry if pH_nbs <= _LOSSES_PH_NBS else None
    return HazardPoint(
        hours=amounts.hours,
        brought_L=amounts.brought_L,
        brought_meq_per_L=amounts.brought_meq_per_L,
        extra_water_L=amounts.extra_water_L,
        salinity=amounts.salinity,
        total_alkalinity_meq_per_L=held
        and held.total_alkalinity_umol_per_kg * density_kg_per_L / 1000.0,
        dic_mmol_per_L=held and held.dic_umol_per_kg * density_kg_per_L / 1000.0,
        calcium_mg_per_L=held
        and held.calcium_umol_per_kg * density_kg_per_L / 1000.0 * MOLAR_MASS_CALCIUM,
        pH_nbs=held and held.pH_nbs,
        omega_aragonite=held and held.omega_aragonite,
        free_ammonia_factor=held
        and free_ammonia_share(held.pH_total) / free_ammonia_share(start_pH_total),
        band=band_of(pH_nbs, amounts.brought_meq_per_L),
        precipitation=precipitation_of(pH_nbs, omega),
    )
