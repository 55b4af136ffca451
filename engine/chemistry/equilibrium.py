"""Equilibrium constants of seawater, one published fit a function, the paper's key in its name.

All in mol per kg of seawater, on the total pH scale unless the name says otherwise, at one
atmosphere. The set and its two conventions are PyCO2SYS's, so that results can be held against
it digit by digit (decision in DEVELOPERS.md): the ionic product of water is the fit of [M95] on
the seawater scale, converted; the fluoride constant of [PF87] is read as on the free scale,
where [DSC07] reads it as on the total scale. Together they move pH (total) by less than 0.0005
below 9 and the NBS number by 0.003.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp, log, log10, sqrt
from typing import Final

from engine.chemistry.constants import BAR_PER_ATM, GAS_CONSTANT_CM3_BAR_PER_MOL_K, ZERO_CELSIUS_K
from engine.errors import check_between
from engine.seawater import total_fluoride_umol_per_kg_R65, total_sulfate_umol_per_kg_MR66


@dataclass(frozen=True, slots=True)
class Validity:
    """Range of salinity and temperature in which the authors state that their fit holds."""

    salinity: tuple[float, float]
    temperature_degC: tuple[float, float]


VALIDITY: Final = {
    "k0_W74": Validity((0.0, 40.0), (-1.0, 40.0)),
    "k1_LDK00": Validity((19.0, 43.0), (2.0, 35.0)),
    "k2_LDK00": Validity((19.0, 43.0), (2.0, 35.0)),
    "kb_D90b": Validity((5.0, 45.0), (0.0, 45.0)),
    "kw_seawater_scale_M95": Validity((0.0, 45.0), (0.0, 45.0)),
    "ks_free_D90a": Validity((5.0, 45.0), (0.0, 45.0)),
    "kf_free_PF87": Validity((10.0, 40.0), (9.0, 33.0)),
    "k_aragonite_M83": Validity((5.0, 44.0), (5.0, 40.0)),
    "k_calcite_M83": Validity((5.0, 44.0), (5.0, 40.0)),
    "vapour_pressure_atm_WP80": Validity((0.0, 40.0), (0.0, 40.0)),
    # The authors' range was not seen: held to that of the carbonic acid constants.
    "activity_coefficient_TWB82": Validity((19.0, 43.0), (2.0, 35.0)),
}
# Where every fit of the set holds: the narrowest of the above in each direction.
SALINITY_RANGE: Final = (
    max(fit.salinity[0] for fit in VALIDITY.values()),
    min(fit.salinity[1] for fit in VALIDITY.values()),
)
TEMPERATURE_RANGE_DEGC: Final = (
    max(fit.temperature_degC[0] for fit in VALIDITY.values()),
    min(fit.temperature_degC[1] for fit in VALIDITY.values()),
)


_CELSIUS_RANGE_W74: Final = VALIDITY["k0_W74"].temperature_degC
_ROUNDING_K: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class EquilibriumConstants:
    """All constants at one salinity and temperature, one atmosphere."""

    salinity: float
    temperature_degC: float
    k0: float  # mol/kg/atm
    k1: float  # mol/kg, total scale
    k2: float  # mol/kg, total scale
    kb: float  # mol/kg, total scale
    kw: float  # (mol/kg)^2, total scale
    ks: float  # mol/kg, free scale
    kf: float  # mol/kg, free scale
    k_aragonite: float  # (mol/kg)^2
    k_calcite: float  # (mol/kg)^2
    fugacity_factor: float  # fCO2 / pCO2
    vapour_pressure_atm: float
    total_sulfate: float  # mol/kg
    total_fluoride: float  # mol/kg
    total_per_free: float  # [H] total / [H] free
    seawater_per_free: float  # [H] seawater scale / [H] free
    activity_coefficient_nbs: float  # fH: 10^-pH_nbs / [H] seawater scale
    pH_nbs_minus_total: float


@lru_cache(maxsize=256)
def constants_at(salinity: float, temperature_degC: float) -> EquilibriumConstants:
    """All constants at a salinity and temperature (remembered, for they rarely change).

    Parameters
    ----------
    salinity : float
        Practical salinity. Valid 19 to 40.
    temperature_degC : float
        Temperature, degC. Valid 9 to 33.

    Raises
    ------
    OutsideValidity
        Names the first fit of the set that does not hold there.
    """
    kelvin = temperature_degC + ZERO_CELSIUS_K
    k0, k1 = k0_W74(salinity, kelvin), k1_LDK00(salinity, kelvin)
    total_sulfate = total_sulfate_umol_per_kg_MR66(salinity) * 1e-6
    total_fluoride = total_fluoride_umol_per_kg_R65(salinity) * 1e-6
    ks = ks_free_D90a(salinity, kelvin)
    kf = kf_free_PF87(salinity, kelvin)
    total_per_free = 1.0 + total_sulfate / ks
    seawater_per_free = total_per_free + total_fluoride / kf
    f_h = activity_coefficient_TWB82(salinity, kelvin)
    return EquilibriumConstants(
        salinity=salinity,
        temperature_degC=temperature_degC,
        k0=k0,
        k1=k1,
        k2=k2_LDK00(salinity, kelvin),
        kb=kb_D90b(salinity, kelvin),
        kw=kw_seawater_scale_M95(salinity, kelvin) * total_per_free / seawater_per_free,
        ks=ks,
        kf=kf,
        k_aragonite=k_aragonite_M83(salinity, kelvin),
        k_calcite=k_calcite_M83(salinity, kelvin),
        fugacity_factor=fugacity_factor_W74(kelvin),
        vapour_pressure_atm=vapour_pressure_atm_WP80(salinity, kelvin),
        total_sulfate=total_sulfate,
        total_fluoride=total_fluoride,
        total_per_free=total_per_free,
        seawater_per_free=seawater_per_free,
        activity_coefficient_nbs=f_h,
        pH_nbs_minus_total=-log10(f_h * seawater_per_free / total_per_free),
    )


def k0_W74(salinity: float, kelvin: float) -> float:
    """Solubility of carbon dioxide, mol/kg/atm of fugacity [W74]."""
    _check("k0_W74", salinity, kelvin)
    hundreds = kelvin / 100.0
    return exp(
        -60.2409
        + 93.4517 / hundreds
        + 23.3585 * log(hundreds)
        + salinity * (0.023517 + hundreds * (-0.023656 + hundreds * 0.0047036))
    )


def k1_LDK00(salinity: float, kelvin: float) -> float:
    """First dissociation of carbonic acid, total scale [LDK00]."""
    _check("k1_LDK00", salinity, kelvin)
    return 10.0 ** -(
        3633.86 / kelvin
        - 61.2172
        + 9.67770 * log(kelvin)
        + salinity * (-0.011555 + salinity * 0.0001152)
    )


def k2_LDK00(salinity: float, kelvin: float) -> float:
    """Second dissociation of carbonic acid, total scale [LDK00]."""
    _check("k2_LDK00", salinity, kelvin)
    return 10.0 ** -(
        471.78 / kelvin
        + 25.9290
        - 3.16967 * log(kelvin)
        + salinity * (-0.01781 + salinity * 0.0001122)
    )


def kb_D90b(salinity: float, kelvin: float) -> float:
    """Dissociation of boric acid, total scale [D90b]."""
    _check("kb_D90b", salinity, kelvin)
    root = sqrt(salinity)
    over_t = (
        -8966.90
        - 2890.53 * root
        - 77.942 * salinity
        + 1.728 * root * salinity
        - 0.0996 * salinity * salinity
    )
    return exp(
        over_t / kelvin
        + 148.0248
        + 137.1942 * root
        + 1.62142 * salinity
        - (24.4344 + 25.085 * root + 0.2474 * salinity) * log(kelvin)
        + 0.053105 * root * kelvin
    )


def kw_seawater_scale_M95(salinity: float, kelvin: float) -> float:
    """Ionic product of water, seawater scale [M95]."""
    _check("kw_seawater_scale_M95", salinity, kelvin)
    ln_t = log(kelvin)
    return exp(
        148.9802
        - 13847.26 / kelvin
        - 23.6521 * ln_t
        + (-5.977 + 118.67 / kelvin + 1.0495 * ln_t) * sqrt(salinity)
        - 0.01615 * salinity
    )


def ks_free_D90a(salinity: float, kelvin: float) -> float:
    """Dissociation of bisulfate, free scale [D90a]."""
    _check("ks_free_D90a", salinity, kelvin)
    ionic = _ionic_strength_DOE94(salinity)
    root = sqrt(ionic)
    ln_t = log(kelvin)
    ln_k = (
        -4276.1 / kelvin
        + 141.328
        - 23.093 * ln_t
        + (-13856.0 / kelvin + 324.57 - 47.986 * ln_t) * root
        + (35474.0 / kelvin - 771.54 + 114.723 * ln_t) * ionic
        - 2698.0 / kelvin * root * ionic
        + 1776.0 / kelvin * ionic * ionic
    )
    return exp(ln_k) * _kg_water_per_kg_seawater_DOE94(salinity)


def kf_free_PF87(salinity: float, kelvin: float) -> float:
    """Dissociation of hydrogen fluoride [PF87], read as on the free scale (see the module)."""
    _check("kf_free_PF87", salinity, kelvin)
    return exp(874.0 / kelvin - 9.68 + 0.111 * sqrt(salinity))


def k_aragonite_M83(salinity: float, kelvin: float) -> float:
    """Solubility product of aragonite, (mol/kg)^2 [M83]."""
    _check("k_aragonite_M83", salinity, kelvin)
    root = sqrt(salinity)
    return 10.0 ** (
        -171.945
        - 0.077993 * kelvin
        + 2903.293 / kelvin
        + 71.595 * log10(kelvin)
        + (-0.068393 + 0.0017276 * kelvin + 88.135 / kelvin) * root
        - 0.10018 * salinity
        + 0.0059415 * root * salinity
    )


def k_calcite_M83(salinity: float, kelvin: float) -> float:
    """Solubility product of calcite, (mol/kg)^2 [M83]."""
    _check("k_calcite_M83", salinity, kelvin)
    root = sqrt(salinity)
    return 10.0 ** (
        -171.9065
        - 0.077993 * kelvin
        + 2839.319 / kelvin
        + 71.595 * log10(kelvin)
        + (-0.77712 + 0.0028426 * kelvin + 178.34 / kelvin) * root
        - 0.07711 * salinity
        + 0.0041249 * root * salinity
    )


def fugacity_factor_W74(kelvin: float) -> float:
    """Fugacity over partial pressure of carbon dioxide in air at one atmosphere [W74]."""
    celsius = kelvin - ZERO_CELSIUS_K
    check_between("fugacity_factor_W74", "temperature_degC", celsius, *_CELSIUS_RANGE_W74)
    b_cm3 = -1636.75 + kelvin * (12.0408 + kelvin * (-0.0327957 + kelvin * 3.16528e-5))
    delta_cm3 = 57.7 - 0.118 * kelvin
    return exp((b_cm3 + 2.0 * delta_cm3) * BAR_PER_ATM / (GAS_CONSTANT_CM3_BAR_PER_MOL_K * kelvin))


def vapour_pressure_atm_WP80(salinity: float, kelvin: float) -> float:
    """Vapour pressure of seawater, atm [WP80]."""
    _check("vapour_pressure_atm_WP80", salinity, kelvin)
    return exp(24.4543 - 6745.09 / kelvin - 4.8489 * log(kelvin / 100.0) - 0.000544 * salinity)


def activity_coefficient_TWB82(salinity: float, kelvin: float) -> float:
    """Ratio 10^-pH_nbs over hydrogen ion on the seawater scale, fH [TWB82].

    It stands for the junction of one sort of electrode; a real one differs by 0.02 to 0.05 pH
    (from memory).
    """
    _check("activity_coefficient_TWB82", salinity, kelvin)
    return 1.2948 - 0.002036 * kelvin + (0.0004607 - 0.000001475 * kelvin) * salinity * salinity


def _ionic_strength_DOE94(salinity: float) -> float:
    """Ionic strength, mol per kg of water [DOE94]."""
    return 19.924 * salinity / (1000.0 - 1.005 * salinity)


def _kg_water_per_kg_seawater_DOE94(salinity: float) -> float:
    return 1.0 - 0.001005 * salinity


def _check(name: str, salinity: float, kelvin: float) -> None:
    fit = VALIDITY[name]
    check_between(name, "salinity", salinity, *fit.salinity)
    low, high = fit.temperature_degC
    celsius = kelvin - ZERO_CELSIUS_K
    # 35 degC + 273.15 K - 273.15 K is not quite 35 degC
    check_between(name, "temperature_degC", celsius, low - _ROUNDING_K, high + _ROUNDING_K)
