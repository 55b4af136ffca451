"""How strong limewater really is: by conductivity, by acid, by alkalinity kit; and by its age."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Final

from engine.chemistry.constants import DKH_PER_MEQ_PER_L
from engine.errors import check_between, check_not_negative, check_positive
from engine.limewater import (
    SOLUBILITY_RANGE_DEGC,
    saturated_alkalinity_meq_per_L,
)

# Conductivity at fixed composition rises so much per degC, relative to 25 degC [COMP26].
TRUE_COMPENSATION_PERCENT_PER_DEGC: Final = 1.74
USUAL_METER_COMPENSATION_PERCENT_PER_DEGC: Final = 2.0
# What saturated limewater conducts at 25 degC by two sources that know ion pairing [COMP26].
# A figure of 10.3 is often repeated; it equals the sum at infinite dilution and cannot hold.
SATURATED_25C_MS_PER_CM: Final = 8.0
SATURATED_25C_ERROR_MS_PER_CM: Final = 0.4
MODEL_RANGE_MEQ_PER_L: Final = (0.5, 46.0)
METER_RANGE_DEGC: Final = (5.0, 35.0)
# How far one's own saturated sample may differ from the model before the meter is in doubt.
USUAL_CELL_SCALE: Final = (0.9, 1.1)

_LAMBDA_0: Final = 257.8
_LAMBDA_ROOT: Final = -344.7
_LAMBDA_LINEAR: Final = 137.8
_REFERENCE_DEGC: Final = 25.0
_NEWTON_STEPS: Final = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredStrength:
    """Strength found by comparing two conductivity readings."""

    strength_meq_per_L: float
    fraction_of_saturation: float
    """Of saturation at the sample's own temperature."""
    conductivity_ratio: float
    """Reading over own saturated sample, both taken truly to 25 degC."""
    cell_scale: float
    """Own saturated sample over the model: 1 for a true meter and a saturated sample."""
    cell_scale_is_unusual: bool
    """Meter, temperature setting or sample in doubt: the ratio may still hold."""


def conductivity_25C_mS_per_cm(strength_meq_per_L: float) -> float:
    """Conductivity of limewater at 25 degC, mS/cm.

    Parameters
    ----------
    strength_meq_per_L : float
        Alkalinity, meq/L. Valid 0.5 to 46.

    Notes
    -----
    Source: our fit to PHREEQC 3.8.6, phreeqc.dat [COMP26], within 0.4 %; within 1 % of the
    handbook's equivalent conductivities [CRC] (from memory).
    """
    check_between(
        "conductivity_COMP26", "strength_meq_per_L", strength_meq_per_L, *MODEL_RANGE_MEQ_PER_L
    )
    return _conductivity(strength_meq_per_L)


def strength_from_conductivity_25C_meq_per_L(mS_per_cm: float) -> float:
    """Strength of limewater from its true conductivity at 25 degC, meq/L; inverse of the above."""
    low, high = MODEL_RANGE_MEQ_PER_L
    check_between(
        "conductivity_COMP26", "mS_per_cm", mS_per_cm, _conductivity(low), _conductivity(high)
    )
    strength = mS_per_cm / _conductivity(high) * high
    for _ in range(_NEWTON_STEPS):
        root = sqrt(strength / 1000.0)
        slope = _LAMBDA_0 / 1000 + root * (1.5 * _LAMBDA_ROOT + 2.0 * _LAMBDA_LINEAR * root) / 1000
        step = (_conductivity(strength) - mS_per_cm) / slope
        strength = min(max(strength - step, low), high)
        if abs(step) < 1e-12 * high:
            break
    return strength


def true_conductivity_25C_mS_per_cm(
    reading_mS_per_cm: float, *, temperature_degC: float, meter_compensation_percent_per_degC: float
) -> float:
    """Conductivity at 25 degC from a reading that the meter compensated in its own way.

    Parameters
    ----------
    reading_mS_per_cm : float
        What the meter shows, mS/cm.
    temperature_degC : float
        Temperature of the sample, degC. Valid 5 to 35.
    meter_compensation_percent_per_degC : float
        The meter's linear setting, percent per degC relative to 25 degC; 0 for none.
    """
    check_not_negative("reading_mS_per_cm", reading_mS_per_cm, "mS/cm")
    check_between("compensation", "temperature_degC", temperature_degC, *METER_RANGE_DEGC)
    check_between(
        "compensation",
        "meter_compensation_percent_per_degC",
        meter_compensation_percent_per_degC,
        0.0,
        4.0,
    )
    difference = (temperature_degC - _REFERENCE_DEGC) / 100.0
    uncompensated = reading_mS_per_cm * (1.0 + meter_compensation_percent_per_degC * difference)
    return uncompensated / (1.0 + TRUE_COMPENSATION_PERCENT_PER_DEGC * difference)


def strength_from_conductivity(
    *,
    reading_mS_per_cm: float,
    temperature_degC: float,
    own_saturated_mS_per_cm: float,
    own_saturated_temperature_degC: float,
    own_saturated_made_at_degC: float | None = None,
    meter_compensation_percent_per_degC: float = USUAL_METER_COMPENSATION_PERCENT_PER_DEGC,
) -> MeasuredStrength:
    """Strength of limewater from two readings of one meter: the sample and a saturated one.

    The saturated sample calibrates the cell, so its absolute constant drops out; what remains is
    the shape of the conductance curve, the meter's compensation and that cold-made saturated
    limewater is stronger.

    Parameters
    ----------
    reading_mS_per_cm, temperature_degC : float
        Sample: reading, and its temperature in the vessel or reservoir (5 to 35 degC).
    own_saturated_mS_per_cm, own_saturated_temperature_degC : float
        The keeper's own settled, saturated sample: reading, and temperature when read.
    own_saturated_made_at_degC : float, optional
        Temperature at which that sample saturated; by default the one at which it was read.
    meter_compensation_percent_per_degC : float
        Linear setting of the meter; 2.0 on most, 0 without compensation.

    Returns
    -------
    MeasuredStrength

    Raises
    ------
    OutsideValidity
        A reading or temperature outside the model.

    Notes
    -----
    Conductance [COMP26], solubility as in `engine.limewater`. Model uncertainty +-0.03 of
    saturation. Dissolved salts (sodium, chloride) conduct and would read as strength; carbonate
    haze does not conduct.
    """
    check_positive("own_saturated_mS_per_cm", own_saturated_mS_per_cm, "mS/cm")
    if own_saturated_made_at_degC is None:
        own_saturated_made_at_degC = own_saturated_temperature_degC
    sample, saturated = (
        true_conductivity_25C_mS_per_cm(
            reading,
            temperature_degC=degC,
            meter_compensation_percent_per_degC=meter_compensation_percent_per_degC,
        )
        for reading, degC in (
            (reading_mS_per_cm, temperature_degC),
            (own_saturated_mS_per_cm, own_saturated_temperature_degC),
        )
    )
    model = conductivity_25C_mS_per_cm(saturated_alkalinity_meq_per_L(own_saturated_made_at_degC))
    cell_scale = saturated / model
    strength = strength_from_conductivity_25C_meq_per_L(sample / cell_scale)
    return MeasuredStrength(
        strength_meq_per_L=strength,
        fraction_of_saturation=strength / saturated_alkalinity_meq_per_L(temperature_degC),
        conductivity_ratio=sample / saturated,
        cell_scale=cell_scale,
        cell_scale_is_unusual=not USUAL_CELL_SCALE[0] <= cell_scale <= USUAL_CELL_SCALE[1],
    )


def strength_from_titration_meq_per_L(
    *, sample_mL: float, acid_mL: float, acid_normality_eq_per_L: float
) -> float:
    """Strength by titration of a clear sample with standard acid to phenolphthalein, meq/L.

    Notes
    -----
    Standard acid-base method. 100 mL of limewater saturated at 25 degC take 40.6 mL of 0.100 eq/L
    acid. At this end point half of any carbonate counts too.
    """
    check_positive("sample_mL", sample_mL, "mL")
    check_not_negative("acid_mL", acid_mL, "mL")
    check_positive("acid_normality_eq_per_L", acid_normality_eq_per_L, "eq/L")
    return acid_mL * acid_normality_eq_per_L * 1000.0 / sample_mL


def strength_from_diluted_kit_meq_per_L(
    *, sample_mL: float, diluted_to_mL: float, reading_dKH: float
) -> float:
    """Strength from an ordinary alkalinity test of a clear sample diluted with RO/DI water, meq/L.

    The dilution brings it into the test's range: 5.0 mL to 100 mL reads 5.7 dKH when saturated at
    25 degC. Carbonate haze counts in full and reads as strength.
    """
    check_positive("sample_mL", sample_mL, "mL")
    check_positive("diluted_to_mL", diluted_to_mL, "mL")
    check_between("kit", "diluted_to_mL", diluted_to_mL, sample_mL, 10_000.0)
    check_not_negative("reading_dKH", reading_dKH, "dKH")
    return reading_dKH / DKH_PER_MEQ_PER_L * diluted_to_mL / sample_mL


def saturated_reading_25C_mS_per_cm(made_at_degC: float) -> float:
    """Conductivity at 25 degC of limewater saturated at another temperature, mS/cm (model)."""
    check_between("conductivity_COMP26", "made_at_degC", made_at_degC, *SOLUBILITY_RANGE_DEGC)
    return conductivity_25C_mS_per_cm(saturated_alkalinity_meq_per_L(made_at_degC))


def _conductivity(strength_meq_per_L: float) -> float:
    root = sqrt(strength_meq_per_L / 1000.0)
    return strength_meq_per_L / 1000.0 * (_LAMBDA_0 + root * (_LAMBDA_ROOT + root * _LAMBDA_LINEAR))
