"""What a dose of limewater does to a tank: alkalinity, calcium, carbon, salinity, pH, saturation.

The balance is by mass. Limewater brings water, alkalinity and half as many moles of calcium, and
no carbon. Water that evaporated takes nothing with it, so limewater that replaces it leaves the
salinity alone; limewater on top of it dilutes everything.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from engine.carbonate import CarbonateState, solve
from engine.chemistry.alkalinity import PH_TOTAL_RANGE, water_at
from engine.chemistry.constants import MEQ_PER_GRAM_CALCIUM_HYDROXIDE
from engine.errors import (
    InvalidQuantity,
    OutsideValidity,
    check_between,
    check_finite,
    check_not_negative,
    check_positive,
)
from engine.seawater import density_kg_per_m3

# Limewater saturated at 25 degC, PHREEQC 3.8.6 [COMP26]; plain water differs by 0.2 %.
LIMEWATER_KG_PER_L: Final = 0.99904
_BISECTIONS: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class TankWater:
    """A tank's water: how much, and what it holds. Concentrations in umol per kg."""

    volume_L: float
    salinity: float
    temperature_degC: float
    total_alkalinity_umol_per_kg: float
    dic_umol_per_kg: float
    calcium_umol_per_kg: float

    def __post_init__(self) -> None:
        check_positive("volume_L", self.volume_L, "L")
        check_finite("total_alkalinity_umol_per_kg", self.total_alkalinity_umol_per_kg)
        check_not_negative("dic_umol_per_kg", self.dic_umol_per_kg)
        check_not_negative("calcium_umol_per_kg", self.calcium_umol_per_kg)

    @classmethod
    def from_state(cls, volume_L: float, state: CarbonateState) -> TankWater:
        """Make the water of a volume in a known state."""
        return cls(
            volume_L=volume_L,
            salinity=state.salinity,
            temperature_degC=state.temperature_degC,
            total_alkalinity_umol_per_kg=state.total_alkalinity_umol_per_kg,
            dic_umol_per_kg=state.dic_umol_per_kg,
            calcium_umol_per_kg=state.calcium_umol_per_kg,
        )

    @property
    def density_kg_per_L(self) -> float:
        """Density of the water, kg/L."""
        return density_kg_per_m3(self.salinity, self.temperature_degC) / 1000.0

    @property
    def mass_kg(self) -> float:
        """Mass of the water, kg."""
        return self.volume_L * self.density_kg_per_L

    def state(self) -> CarbonateState:
        """Solve the carbonate system of this water, closed to the air."""
        return solve(
            total_alkalinity_umol_per_kg=self.total_alkalinity_umol_per_kg,
            dic_umol_per_kg=self.dic_umol_per_kg,
            salinity=self.salinity,
            temperature_degC=self.temperature_degC,
            calcium_umol_per_kg=self.calcium_umol_per_kg,
        )

    def state_in_air(self, air_pCO2_uatm: float) -> CarbonateState:
        """Solve the carbonate system once the water has come to rest with the air."""
        return solve(
            total_alkalinity_umol_per_kg=self.total_alkalinity_umol_per_kg,
            pCO2_uatm=air_pCO2_uatm,
            salinity=self.salinity,
            temperature_degC=self.temperature_degC,
            calcium_umol_per_kg=self.calcium_umol_per_kg,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseConsequences:
    """A tank before a dose, right after it (closed to the air), and at rest with the air."""

    water: TankWater
    before: CarbonateState
    closed: CarbonateState
    in_air: CarbonateState | None
    alkalinity_rise_meq_per_L: float
    calcium_rise_mmol_per_L: float

    @property
    def pH_rise(self) -> float:
        """Rise of pH right after the dose, closed to the air (NBS scale)."""
        return self.closed.pH_nbs - self.before.pH_nbs

    @property
    def salinity_change(self) -> float:
        """Change of salinity: 0 when the dose replaces evaporation."""
        return self.closed.salinity - self.before.salinity


def add_limewater(
    water: TankWater,
    *,
    dose_L: float,
    strength_meq_per_L: float,
    suspended_g: float = 0.0,
    evaporated_L: float | None = None,
) -> TankWater:
    """Mix a dose of limewater into a tank.

    Parameters
    ----------
    water : TankWater
        The tank before the dose and before the evaporation named here.
    dose_L : float
        Volume of limewater, L.
    strength_meq_per_L : float
        Its alkalinity, meq/L.
    suspended_g : float
        Undissolved calcium hydroxide in it, pure, g, all of which counts.
    evaporated_L : float, optional
        Water lost meanwhile, L. By default all of the dose replaces evaporation; 0 puts all of
        it on top.

    Returns
    -------
    TankWater
        After mixing; nothing has precipitated and no gas was exchanged.
    """
    check_not_negative("dose_L", dose_L, "L")
    check_not_negative("strength_meq_per_L", strength_meq_per_L, "meq/L")
    check_not_negative("suspended_g", suspended_g, "g")
    if evaporated_L is None:
        evaporated_L = dose_L
    check_not_negative("evaporated_L", evaporated_L, "L")
    mass_kg = water.mass_kg
    mass_after_kg = mass_kg + (dose_L - evaporated_L) * LIMEWATER_KG_PER_L
    if mass_after_kg <= 0.0:
        raise InvalidQuantity("evaporated_L", evaporated_L, unit="L", low=0.0, high=water.volume_L)
    meq = dose_L * strength_meq_per_L + suspended_g * MEQ_PER_GRAM_CALCIUM_HYDROXIDE
    share = mass_kg / mass_after_kg
    salinity = water.salinity * share
    return TankWater(
        volume_L=mass_after_kg * 1000.0 / density_kg_per_m3(salinity, water.temperature_degC),
        salinity=salinity,
        temperature_degC=water.temperature_degC,
        total_alkalinity_umol_per_kg=water.total_alkalinity_umol_per_kg * share
        + meq * 1000.0 / mass_after_kg,
        dic_umol_per_kg=water.dic_umol_per_kg * share,
        calcium_umol_per_kg=water.calcium_umol_per_kg * share + meq * 500.0 / mass_after_kg,
    )


def dose_consequences(
    water: TankWater,
    *,
    dose_L: float,
    strength_meq_per_L: float,
    suspended_g: float = 0.0,
    evaporated_L: float | None = None,
    air_pCO2_uatm: float | None = None,
) -> DoseConsequences:
    """Everything a dose changes; parameters as in `add_limewater`.

    `air_pCO2_uatm`, if given, adds the state once the water has come to rest with that air
    (partial pressure at the water surface, uatm).
    """
    after = add_limewater(
        water,
        dose_L=dose_L,
        strength_meq_per_L=strength_meq_per_L,
        suspended_g=suspended_g,
        evaporated_L=evaporated_L,
    )
    before_kg_per_m3, after_kg_per_m3 = (
        density_kg_per_m3(each.salinity, each.temperature_degC) for each in (water, after)
    )
    return DoseConsequences(
        water=after,
        before=water.state(),
        closed=after.state(),
        in_air=None if air_pCO2_uatm is None else after.state_in_air(air_pCO2_uatm),
        alkalinity_rise_meq_per_L=(
            after.total_alkalinity_umol_per_kg * after_kg_per_m3
            - water.total_alkalinity_umol_per_kg * before_kg_per_m3
        )
        / 1e6,
        calcium_rise_mmol_per_L=(
            after.calcium_umol_per_kg * after_kg_per_m3
            - water.calcium_umol_per_kg * before_kg_per_m3
        )
        / 1e6,
    )


def rise_to_reach_pH_nbs_meq_per_L(water: TankWater, pH_nbs: float) -> float:
    """Lime, meq per litre of tank, that brings a closed tank at constant salinity to a pH.

    0 when the tank is there already. Exact: at constant DIC alkalinity is a function of pH.
    """
    check_finite("pH_nbs", pH_nbs)
    solver = water_at(water.salinity, water.temperature_degC)
    pH_total = pH_nbs - solver.constants.pH_nbs_minus_total
    check_between("rise_to_reach", "pH_total", pH_total, *PH_TOTAL_RANGE)
    alkalinity = _alkalinity_at(water, pH_total)
    return (
        max(alkalinity - water.total_alkalinity_umol_per_kg, 0.0)
        / 1000.0
        * (water.density_kg_per_L)
    )


def rise_to_reach_omega_aragonite_meq_per_L(water: TankWater, omega_aragonite: float) -> float:
    """Lime, meq per litre of tank, that brings a closed tank to a saturation state.

    0 when the tank is there already. Counts the calcium that comes with the lime.

    Raises
    ------
    OutsideValidity
        Not reached below pH 12 (total).
    """
    check_positive("omega_aragonite", omega_aragonite)
    start = water.state()
    if start.omega_aragonite >= omega_aragonite:
        return 0.0
    low, high = start.pH_total, PH_TOTAL_RANGE[1]
    if _omega_at(water, high) < omega_aragonite:
        raise OutsideValidity(
            "rise_to_reach", "omega_aragonite", omega_aragonite, 0.0, _omega_at(water, high)
        )
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        if _omega_at(water, middle) < omega_aragonite:
            low = middle
        else:
            high = middle
    rise_umol_per_kg = _alkalinity_at(water, high) - water.total_alkalinity_umol_per_kg
    return rise_umol_per_kg / 1000.0 * water.density_kg_per_L


def _alkalinity_at(water: TankWater, pH_total: float) -> float:
    """Alkalinity of the water's DIC at a pH, umol/kg."""
    solver = water_at(water.salinity, water.temperature_degC)
    hydrogen = 10.0**-pH_total
    carbonate = water.dic_umol_per_kg * solver.charge_shares(hydrogen).mean
    return carbonate + solver.other_alkalinity(hydrogen).total * 1e6


def _omega_at(water: TankWater, pH_total: float) -> float:
    """Aragonite saturation once lime has brought the closed water to a pH."""
    solver = water_at(water.salinity, water.temperature_degC)
    hydrogen = 10.0**-pH_total
    co2 = water.dic_umol_per_kg * solver.charge_shares(hydrogen).co2
    co3 = co2 * solver.constants.k1 * solver.constants.k2 / (hydrogen * hydrogen)
    rise = _alkalinity_at(water, pH_total) - water.total_alkalinity_umol_per_kg
    return (water.calcium_umol_per_kg + 0.5 * rise) * co3 * 1e-12 / solver.constants.k_aragonite
