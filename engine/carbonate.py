"""The carbonate system of seawater: from total alkalinity and one more quantity to all the rest.

One convention set (see `engine.chemistry.equilibrium`), one atmosphere, no nutrients. What the
model does not hold: precipitation of calcium carbonate and of brucite, MgOH+ and other ion pairs
beyond those inside the constants. Above pH_nbs 9.5 that matters and the state says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log10
from typing import TYPE_CHECKING, Final

from engine.chemistry.alkalinity import PH_TOTAL_RANGE, water_at
from engine.chemistry.equilibrium import constants_at
from engine.errors import InvalidQuantity, check_between, check_finite
from engine.seawater import calcium_umol_per_kg_RT67

if TYPE_CHECKING:
    from engine.chemistry.alkalinity import Water

TOTAL_ALKALINITY_RANGE_UMOL_PER_KG: Final = (-10_000.0, 200_000.0)
DIC_RANGE_UMOL_PER_KG: Final = (1e-3, 200_000.0)
PCO2_RANGE_UATM: Final = (1e-6, 200_000.0)
CALCIUM_RANGE_UMOL_PER_KG: Final = (0.0, 200_000.0)
PRESSURE_RANGE_ATM: Final = (0.5, 1.2)
# Beyond this brucite and precipitation shape the water and are not modelled [COMP26], [RIN24].
PRECIPITATION_PH_NBS: Final = 9.5


@dataclass(frozen=True, slots=True, kw_only=True)
class CarbonateState:
    """Everything that follows from two knowns. Concentrations in umol per kg of seawater."""

    salinity: float
    temperature_degC: float
    total_alkalinity_umol_per_kg: float
    dic_umol_per_kg: float
    pH_total: float
    pH_nbs: float
    pH_free: float
    pH_seawater_scale: float
    pCO2_uatm: float
    """Partial pressure in wet air at the water surface."""
    fCO2_uatm: float
    co2_umol_per_kg: float
    hco3_umol_per_kg: float
    co3_umol_per_kg: float
    borate_umol_per_kg: float
    """B(OH)4-; the rest of total borate is boric acid."""
    oh_umol_per_kg: float
    h_free_umol_per_kg: float
    hso4_umol_per_kg: float
    hf_umol_per_kg: float
    calcium_umol_per_kg: float
    omega_aragonite: float
    omega_calcite: float
    revelle_factor: float
    """Relative change of pCO2 over that of DIC at constant alkalinity."""
    precipitation_not_modelled: bool
    """True above pH_nbs 9.5: trust the band, not the digits."""

    @property
    def gas_buffering(self) -> float:
        """Change of [CO2] per change of DIC at constant alkalinity (beta), dimensionless."""
        return self.revelle_factor * self.co2_umol_per_kg / self.dic_umol_per_kg


def solve(
    *,
    total_alkalinity_umol_per_kg: float,
    salinity: float,
    temperature_degC: float,
    calcium_umol_per_kg: float | None = None,
    dic_umol_per_kg: float | None = None,
    pH_total: float | None = None,
    pH_nbs: float | None = None,
    pCO2_uatm: float | None = None,
    total_borate_umol_per_kg: float | None = None,
) -> CarbonateState:
    """State of the carbonate system from total alkalinity and exactly one other quantity.

    Parameters
    ----------
    total_alkalinity_umol_per_kg : float
        Total alkalinity, umol per kg of seawater. Valid -10 000 to 200 000.
    salinity : float
        Practical salinity. Valid 19 to 40.
    temperature_degC : float
        Temperature, degC. Valid 9 to 33.
    calcium_umol_per_kg : float, optional
        Measured calcium; by default that of natural seawater at this salinity.
    dic_umol_per_kg : float, optional
        Dissolved inorganic carbon, umol/kg.
    pH_total, pH_nbs : float, optional
        pH on the total scale, or on the NBS scale as a buffered electrode shows it.
    pCO2_uatm : float, optional
        Partial pressure of carbon dioxide in wet air at the surface, uatm; from the dry figure
        of a room monitor by `pCO2_uatm_from_dry_air_ppm`.
    total_borate_umol_per_kg : float, optional
        Total borate; by default that of natural seawater at this salinity.

    Returns
    -------
    CarbonateState
        All species, saturation states, buffer factor.

    Raises
    ------
    InvalidQuantity
        Not exactly one of the four, or a value that is not finite.
    OutsideValidity
        Outside a fit, or no pH from 3 to 12 (total) fits the two knowns.

    Notes
    -----
    Definition of alkalinity and equations: [DSC07] ch. 2 and 5. pH is found by Newton's method
    inside a bracket from 3 to 12, so it cannot diverge.
    """
    _check_one_of(
        dic_umol_per_kg=dic_umol_per_kg, pH_total=pH_total, pH_nbs=pH_nbs, pCO2_uatm=pCO2_uatm
    )
    _check("total_alkalinity_umol_per_kg", total_alkalinity_umol_per_kg)
    water = water_at(salinity, temperature_degC, total_borate_umol_per_kg)
    alkalinity = total_alkalinity_umol_per_kg * 1e-6
    if dic_umol_per_kg is not None:
        _check("dic_umol_per_kg", dic_umol_per_kg)
        dic = dic_umol_per_kg * 1e-6
        pH = water.pH_total_from_dic(alkalinity, dic)
    elif pCO2_uatm is not None:
        _check("pCO2_uatm", pCO2_uatm)
        co2 = pCO2_uatm * 1e-6 * water.constants.fugacity_factor * water.constants.k0
        pH = water.pH_total_from_co2(alkalinity, co2)
        dic = water.dic_from_co2(co2, pH)
    else:
        pH = _total_scale(water, pH_total, pH_nbs)
        dic = water.dic_from_pH_total(alkalinity, pH)
        _check("dic_umol_per_kg", dic * 1e6)
    if calcium_umol_per_kg is None:
        calcium_umol_per_kg = calcium_umol_per_kg_RT67(salinity)
    else:
        _check("calcium_umol_per_kg", calcium_umol_per_kg)
    return _state(water, alkalinity, dic, pH, calcium_umol_per_kg)


def pH_nbs_from_pH_total(pH_total: float, *, salinity: float, temperature_degC: float) -> float:
    """NBS-scale pH from total-scale pH [TWB82]; about 0.137 higher at S 35, 25 degC."""
    check_finite("pH_total", pH_total)
    return pH_total + constants_at(salinity, temperature_degC).pH_nbs_minus_total


def pH_total_from_pH_nbs(pH_nbs: float, *, salinity: float, temperature_degC: float) -> float:
    """Total-scale pH from NBS-scale pH; inverse of `pH_nbs_from_pH_total`."""
    check_finite("pH_nbs", pH_nbs)
    return pH_nbs - constants_at(salinity, temperature_degC).pH_nbs_minus_total


def pH_free_from_pH_total(pH_total: float, *, salinity: float, temperature_degC: float) -> float:
    """Free-scale pH from total-scale pH (the share bound to sulfate taken out)."""
    check_finite("pH_total", pH_total)
    return pH_total + log10(constants_at(salinity, temperature_degC).total_per_free)


def pH_total_from_pH_free(pH_free: float, *, salinity: float, temperature_degC: float) -> float:
    """Total-scale pH from free-scale pH; inverse of `pH_free_from_pH_total`."""
    check_finite("pH_free", pH_free)
    return pH_free - log10(constants_at(salinity, temperature_degC).total_per_free)


def pH_seawater_scale_from_pH_total(
    pH_total: float, *, salinity: float, temperature_degC: float
) -> float:
    """Seawater-scale pH from total-scale pH (the share bound to fluoride put in)."""
    check_finite("pH_total", pH_total)
    constants = constants_at(salinity, temperature_degC)
    return pH_total - log10(constants.seawater_per_free / constants.total_per_free)


def pH_total_from_pH_seawater_scale(
    pH_seawater_scale: float, *, salinity: float, temperature_degC: float
) -> float:
    """Total-scale pH from seawater-scale pH; inverse of `pH_seawater_scale_from_pH_total`."""
    check_finite("pH_seawater_scale", pH_seawater_scale)
    constants = constants_at(salinity, temperature_degC)
    return pH_seawater_scale + log10(constants.seawater_per_free / constants.total_per_free)


def pCO2_uatm_from_dry_air_ppm(
    dry_air_ppm: float, *, salinity: float, temperature_degC: float, pressure_atm: float = 1.0
) -> float:
    """Partial pressure of carbon dioxide at the water surface from a room monitor's figure.

    Parameters
    ----------
    dry_air_ppm : float
        Mole fraction in dry air, parts per million, as room monitors show it.
    salinity, temperature_degC : float
        Of the water: air at its surface is saturated with its vapour.
    pressure_atm : float
        Air pressure, atm; 1 hPa is 1/1013.25 atm. Valid 0.5 to 1.2.

    Returns
    -------
    float
        pCO2, uatm; at 25 degC and one atmosphere 0.969 of the dry figure.

    Notes
    -----
    Source: vapour pressure [WP80].
    """
    check_between("dry_air", "dry_air_ppm", dry_air_ppm, *PCO2_RANGE_UATM)
    check_between("dry_air", "pressure_atm", pressure_atm, *PRESSURE_RANGE_ATM)
    vapour_atm = constants_at(salinity, temperature_degC).vapour_pressure_atm
    return dry_air_ppm * (pressure_atm - vapour_atm)


_RANGES: Final = {
    "total_alkalinity_umol_per_kg": TOTAL_ALKALINITY_RANGE_UMOL_PER_KG,
    "dic_umol_per_kg": DIC_RANGE_UMOL_PER_KG,
    "pCO2_uatm": PCO2_RANGE_UATM,
    "calcium_umol_per_kg": CALCIUM_RANGE_UMOL_PER_KG,
}


def _check(variable: str, value: float) -> None:
    check_between("carbonate.solve", variable, value, *_RANGES[variable])


def _check_one_of(**candidates: float | None) -> None:
    given = tuple(name for name, value in candidates.items() if value is not None)
    if len(given) != 1:
        raise InvalidQuantity("second_quantity", given, code="exactly_one_expected")


def _total_scale(water: Water, pH_total: float | None, pH_nbs: float | None) -> float:
    if pH_nbs is not None:
        check_finite("pH_nbs", pH_nbs)
        pH = pH_nbs - water.constants.pH_nbs_minus_total
    else:
        pH = pH_total if pH_total is not None else float("nan")
    check_between("carbonate.solve", "pH_total", pH, *PH_TOTAL_RANGE)
    return pH


def _state(
    water: Water, alkalinity: float, dic: float, pH: float, calcium_umol_per_kg: float
) -> CarbonateState:
    """All results from what is solved; mol/kg in, umol/kg out."""
    c = water.constants
    hydrogen = 10.0**-pH
    other = water.other_alkalinity(hydrogen)
    shares = water.charge_shares(hydrogen)
    co2 = dic * shares.co2
    hco3 = co2 * c.k1 / hydrogen
    co3 = hco3 * c.k2 / hydrogen
    per_dic = shares.co2 + co2 * shares.mean * shares.mean / (dic * shares.variance - other.slope)
    fCO2_uatm = co2 / c.k0 * 1e6
    pH_nbs = pH + c.pH_nbs_minus_total
    calcium_times_carbonate = calcium_umol_per_kg * 1e-6 * co3
    return CarbonateState(
        salinity=c.salinity,
        temperature_degC=c.temperature_degC,
        total_alkalinity_umol_per_kg=alkalinity * 1e6,
        dic_umol_per_kg=dic * 1e6,
        pH_total=pH,
        pH_nbs=pH_nbs,
        pH_free=pH + log10(c.total_per_free),
        pH_seawater_scale=pH - log10(c.seawater_per_free / c.total_per_free),
        pCO2_uatm=fCO2_uatm / c.fugacity_factor,
        fCO2_uatm=fCO2_uatm,
        co2_umol_per_kg=co2 * 1e6,
        hco3_umol_per_kg=hco3 * 1e6,
        co3_umol_per_kg=co3 * 1e6,
        borate_umol_per_kg=other.borate * 1e6,
        oh_umol_per_kg=other.hydroxide * 1e6,
        h_free_umol_per_kg=other.hydrogen_free * 1e6,
        hso4_umol_per_kg=other.hso4 * 1e6,
        hf_umol_per_kg=other.hf * 1e6,
        calcium_umol_per_kg=calcium_umol_per_kg,
        omega_aragonite=calcium_times_carbonate / c.k_aragonite,
        omega_calcite=calcium_times_carbonate / c.k_calcite,
        revelle_factor=per_dic / shares.co2,
        precipitation_not_modelled=pH_nbs > PRECIPITATION_PH_NBS,
    )
