"""Seawater as a salt solution: density, salinity, and what salinity implies for its major ions.

Temperatures are ITS-90; the equations of 1978 and 1983 want IPTS-68 and are given it.
"""

from __future__ import annotations

from math import sqrt
from typing import Final

from engine.chemistry.constants import (
    CALCIUM_MG_PER_MEQ,
    MOLAR_MASS_CALCIUM,
    T68_PER_T90,
)
from engine.errors import check_between, check_finite, check_positive

DENSITY_SALINITY_RANGE: Final = (0.0, 42.0)
DENSITY_RANGE_DEGC: Final = (-2.0, 40.0)
TOTALS_SALINITY_RANGE: Final = (0.0, 45.0)
PSS78_SALINITY_RANGE: Final = (2.0, 42.0)
USUAL_SALINITY: Final = 35.0  # PSU, assumed when none is recorded
PSS78_RANGE_DEGC: Final = (-2.0, 35.0)
# Conductivity of standard seawater (S 35) at 15 degC IPTS-68 [PSS78].
STANDARD_CONDUCTIVITY_MS_PER_CM: Final = 42.914
# What an instrument with a sodium chloride scale shows for S 35 (common practice, no source).
NACL_SCALE_READING_AT_35: Final = 36.5
_SALINITY_PER_CHLORINITY: Final = 1.80655  # [WLD69]

_A_PSS78: Final = (0.0080, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081)
_B_PSS78: Final = (0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144)
_C_PSS78: Final = (0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9)
_K_PSS78: Final = 0.0162
_MAX_RATIO: Final = 4.0
_NEWTON_STEPS: Final = 20
_NEWTON_TOLERANCE: Final = 1e-12


def pure_water_density_kg_per_m3(temperature_degC: float) -> float:
    """Density of pure water at one atmosphere, kg/m3; -2 to 40 degC [UNESCO83]."""
    check_between("density_UNESCO83", "temperature_degC", temperature_degC, *DENSITY_RANGE_DEGC)
    return _pure_water_density_UNESCO83(temperature_degC * T68_PER_T90)


def density_kg_per_m3(salinity: float, temperature_degC: float) -> float:
    """Density of seawater at one atmosphere (EOS-80).

    Parameters
    ----------
    salinity : float
        Practical salinity. Valid 0 to 42.
    temperature_degC : float
        Temperature (ITS-90), degC. Valid -2 to 40.

    Returns
    -------
    float
        Density, kg/m3.

    Raises
    ------
    OutsideValidity
        Outside the fitted range.

    Notes
    -----
    Source: [UNESCO83] eqs. 13 and 14, after [MP81].
    """
    check_between("density_UNESCO83", "salinity", salinity, *DENSITY_SALINITY_RANGE)
    check_between("density_UNESCO83", "temperature_degC", temperature_degC, *DENSITY_RANGE_DEGC)
    t = temperature_degC * T68_PER_T90
    linear = 8.24493e-1 + t * (-4.0899e-3 + t * (7.6438e-5 + t * (-8.2467e-7 + t * 5.3875e-9)))
    power_1_5 = -5.72466e-3 + t * (1.0227e-4 + t * -1.6546e-6)
    salt = salinity * (linear + power_1_5 * sqrt(salinity) + 4.8314e-4 * salinity)
    return _pure_water_density_UNESCO83(t) + salt


def salinity_from_conductivity(mS_per_cm: float, temperature_degC: float) -> float:
    """Practical salinity from conductivity at one atmosphere (PSS-78).

    Parameters
    ----------
    mS_per_cm : float
        Conductivity at the temperature of the water, mS/cm, *without* compensation. A reading
        compensated to 25 degC belongs to `temperature_degC` 25.
    temperature_degC : float
        Temperature (ITS-90), degC. Valid -2 to 35.

    Returns
    -------
    float
        Practical salinity, 2 to 42.

    Raises
    ------
    OutsideValidity
        Outside the scale's definition.

    Notes
    -----
    Source: [PSS78], equations of [UNESCO83].
    """
    check_positive("mS_per_cm", mS_per_cm, "mS/cm")
    check_between("salinity_PSS78", "temperature_degC", temperature_degC, *PSS78_RANGE_DEGC)
    t = temperature_degC * T68_PER_T90
    ratio = mS_per_cm / STANDARD_CONDUCTIVITY_MS_PER_CM / _standard_ratio_PSS78(t)
    # Beyond every salinity of the scale; keeps the polynomial out of overflow.
    check_between("salinity_PSS78", "conductivity_ratio", ratio, 0.0, _MAX_RATIO)
    salinity = _salinity_PSS78(sqrt(ratio), t)
    check_between("salinity_PSS78", "salinity", salinity, *PSS78_SALINITY_RANGE)
    return salinity


def conductivity_from_salinity(salinity: float, temperature_degC: float) -> float:
    """Conductivity of seawater at its own temperature, mS/cm; inverse of the above [PSS78]."""
    check_between("salinity_PSS78", "salinity", salinity, *PSS78_SALINITY_RANGE)
    check_between("salinity_PSS78", "temperature_degC", temperature_degC, *PSS78_RANGE_DEGC)
    t = temperature_degC * T68_PER_T90
    root = sqrt(salinity / 35.0)
    for _ in range(_NEWTON_STEPS):
        step = (_salinity_PSS78(root, t) - salinity) / _salinity_slope_PSS78(root, t)
        root -= step
        if abs(step) < _NEWTON_TOLERANCE:
            break
    return STANDARD_CONDUCTIVITY_MS_PER_CM * _standard_ratio_PSS78(t) * root * root


def specific_gravity_from_salinity(
    salinity: float, temperature_degC: float, reference_degC: float
) -> float:
    """Specific gravity: density of the sample over that of pure water at a reference.

    Parameters
    ----------
    salinity : float
        Practical salinity, 0 to 42.
    temperature_degC : float
        Temperature of the sample, degC.
    reference_degC : float
        Temperature of the pure water, degC: 25 for "25/25", 20 for "20/20", 15.56 for the
        60 degF scale, 4 for density relative to the maximum, the sample's own for "t/t".
    """
    return density_kg_per_m3(salinity, temperature_degC) / pure_water_density_kg_per_m3(
        reference_degC
    )


def salinity_from_specific_gravity(
    specific_gravity: float, temperature_degC: float, reference_degC: float
) -> float:
    """Practical salinity from specific gravity; inverse of `specific_gravity_from_salinity`.

    Raises
    ------
    OutsideValidity
        When no salinity from 0 to 42 has this specific gravity at these temperatures.
    """
    check_finite("specific_gravity", specific_gravity)
    low, high = DENSITY_SALINITY_RANGE
    check_between(
        "density_UNESCO83",
        "specific_gravity",
        specific_gravity,
        specific_gravity_from_salinity(low, temperature_degC, reference_degC),
        specific_gravity_from_salinity(high, temperature_degC, reference_degC),
    )
    target = specific_gravity * pure_water_density_kg_per_m3(reference_degC)
    # The density is nearly linear in salinity: the secant through the ends converges at once.
    salinity, other = 35.0, 30.0
    excess = density_kg_per_m3(salinity, temperature_degC) - target
    other_excess = density_kg_per_m3(other, temperature_degC) - target
    for _ in range(_NEWTON_STEPS):
        if excess == other_excess:
            break
        step = excess * (salinity - other) / (excess - other_excess)
        other, other_excess = salinity, excess
        salinity = min(max(salinity - step, low), high)
        excess = density_kg_per_m3(salinity, temperature_degC) - target
        if abs(step) < _NEWTON_TOLERANCE:
            break
    return salinity


def nacl_scale_reading_from_salinity(salinity: float) -> float:
    """Give the reading of a sodium chloride scale refractometer in seawater, parts per thousand.

    Sea salt bends light more than as much sodium chloride does, so the scale reads high. Zeroing
    in fresh water leaves the slope wrong. Proportional model, common practice, no source.
    """
    check_between("refractometer", "salinity", salinity, *DENSITY_SALINITY_RANGE)
    return salinity * NACL_SCALE_READING_AT_35 / 35.0


def salinity_from_nacl_scale_reading(reading: float) -> float:
    """Practical salinity from a reading on a sodium chloride scale; inverse of the above."""
    salinity = reading * 35.0 / NACL_SCALE_READING_AT_35
    check_between("refractometer", "salinity", salinity, *DENSITY_SALINITY_RANGE)
    return salinity


def total_borate_umol_per_kg_LKB10(salinity: float) -> float:
    """Total borate of natural seawater, umol/kg [LKB10]; a salt mix can hold 2 to 10 times it."""
    check_between("total_borate_umol_per_kg_LKB10", "salinity", salinity, *TOTALS_SALINITY_RANGE)
    return 432.6 * salinity / 35.0


def total_sulfate_umol_per_kg_MR66(salinity: float) -> float:
    """Total sulfate, umol/kg [MR66]."""
    check_between("total_sulfate_umol_per_kg_MR66", "salinity", salinity, *TOTALS_SALINITY_RANGE)
    return (0.14e6 / 96.062) * salinity / _SALINITY_PER_CHLORINITY


def total_fluoride_umol_per_kg_R65(salinity: float) -> float:
    """Total fluoride, umol/kg [R65]."""
    check_between("total_fluoride_umol_per_kg_R65", "salinity", salinity, *TOTALS_SALINITY_RANGE)
    return (67.0 / 18.998) * salinity / _SALINITY_PER_CHLORINITY


def calcium_umol_per_kg_RT67(salinity: float) -> float:
    """Calcium of natural seawater, umol/kg [RT67]; a measured value overrides it."""
    check_between("calcium_umol_per_kg_RT67", "salinity", salinity, *TOTALS_SALINITY_RANGE)
    return (0.02128e6 / 40.087) * salinity / _SALINITY_PER_CHLORINITY


def umol_per_kg_from_meq_per_L(
    meq_per_L: float, *, salinity: float, temperature_degC: float
) -> float:
    """Alkalinity in umol/kg from meq/L, by the density of the water."""
    check_finite("meq_per_L", meq_per_L, "meq/L")
    return meq_per_L * 1e6 / density_kg_per_m3(salinity, temperature_degC)


def meq_per_L_from_umol_per_kg(
    umol_per_kg: float, *, salinity: float, temperature_degC: float
) -> float:
    """Alkalinity in meq/L from umol/kg, by the density of the water."""
    check_finite("umol_per_kg", umol_per_kg, "umol/kg")
    return umol_per_kg * density_kg_per_m3(salinity, temperature_degC) / 1e6


def calcium_umol_per_kg_from_mg_per_L(
    mg_per_L: float, *, salinity: float, temperature_degC: float
) -> float:
    """Calcium in umol/kg from mg/L, by the density of the water."""
    check_finite("mg_per_L", mg_per_L, "mg/L")
    return mg_per_L / MOLAR_MASS_CALCIUM * 1e6 / density_kg_per_m3(salinity, temperature_degC)


def calcium_mg_per_L_from_umol_per_kg(
    umol_per_kg: float, *, salinity: float, temperature_degC: float
) -> float:
    """Calcium in mg/L from umol/kg, by the density of the water."""
    check_finite("umol_per_kg", umol_per_kg, "umol/kg")
    return (
        umol_per_kg * 2.0 * CALCIUM_MG_PER_MEQ * density_kg_per_m3(salinity, temperature_degC) / 1e6
    )


def _pure_water_density_UNESCO83(t: float) -> float:
    return 999.842594 + t * (
        6.793952e-2 + t * (-9.095290e-3 + t * (1.001685e-4 + t * (-1.120083e-6 + t * 6.536332e-9)))
    )


def _standard_ratio_PSS78(t: float) -> float:
    c = _C_PSS78
    return c[0] + t * (c[1] + t * (c[2] + t * (c[3] + t * c[4])))


def _salinity_PSS78(root: float, t: float) -> float:
    a, b = _A_PSS78, _B_PSS78
    at_15 = a[0] + root * (a[1] + root * (a[2] + root * (a[3] + root * (a[4] + root * a[5]))))
    shift = b[0] + root * (b[1] + root * (b[2] + root * (b[3] + root * (b[4] + root * b[5]))))
    return at_15 + (t - 15.0) / (1.0 + _K_PSS78 * (t - 15.0)) * shift


def _salinity_slope_PSS78(root: float, t: float) -> float:
    a, b = _A_PSS78, _B_PSS78
    at_15 = a[1] + root * (2 * a[2] + root * (3 * a[3] + root * (4 * a[4] + root * 5 * a[5])))
    shift = b[1] + root * (2 * b[2] + root * (3 * b[3] + root * (4 * b[4] + root * 5 * b[5])))
    return at_15 + (t - 15.0) / (1.0 + _K_PSS78 * (t - 15.0)) * shift
