"""Strength by meter, acid and kit, and strength with age."""

import pytest

from engine.chemistry.strength_checks import (
    conductivity_25C_mS_per_cm,
    saturated_reading_25C_mS_per_cm,
    strength_from_conductivity,
    strength_from_conductivity_25C_meq_per_L,
    strength_from_diluted_kit_meq_per_L,
    strength_from_titration_meq_per_L,
    true_conductivity_25C_mS_per_cm,
)
from engine.errors import OutsideValidity
from engine.limewater import fraction_of_saturation, saturated_alkalinity_meq_per_L


@pytest.mark.parametrize("strength", [0.5, 3.0, 20.0, 40.6, 46.0])
def test_conductivity_leads_back_to_strength(strength):
    reading = conductivity_25C_mS_per_cm(strength)
    assert strength_from_conductivity_25C_meq_per_L(reading) == pytest.approx(strength, rel=1e-9)


@pytest.mark.parametrize(
    ("degC", "expected"), [(15.0, 8.35), (20.0, 8.12), (25.0, 7.87), (30.0, 7.62)]
)
def test_cold_saturated_limewater_conducts_more_when_compensated(degC, expected):
    assert saturated_reading_25C_mS_per_cm(degC) == pytest.approx(expected, abs=0.006)


@pytest.mark.parametrize(("degC", "high_percent"), [(20.0, 1.4), (15.0, 3.2)])
def test_a_meter_set_to_two_percent_reads_high_in_the_cold(degC, high_percent):
    true = conductivity_25C_mS_per_cm(40.0)
    raw = true * (1 + 0.0174 * (degC - 25.0))
    shown = raw / (1 + 0.02 * (degC - 25.0))
    assert 100 * (shown / true - 1) == pytest.approx(high_percent, abs=0.2)
    assert true_conductivity_25C_mS_per_cm(
        shown, temperature_degC=degC, meter_compensation_percent_per_degC=2.0
    ) == pytest.approx(true, rel=1e-12)


def same_temperature(reading, own=7.9, degC=25.0):
    return strength_from_conductivity(
        reading_mS_per_cm=reading,
        temperature_degC=degC,
        own_saturated_mS_per_cm=own,
        own_saturated_temperature_degC=degC,
    )


@pytest.mark.parametrize("ratio", [0.1, 0.3, 0.5, 0.8, 1.0])
def test_at_one_temperature_the_full_model_and_the_short_formula_agree(ratio):
    measured = same_temperature(7.9 * ratio)
    assert measured.conductivity_ratio == pytest.approx(ratio)
    assert measured.fraction_of_saturation == pytest.approx(
        fraction_of_saturation(ratio), abs=0.006
    )


def test_a_weak_vessel_is_found_weak():
    assert same_temperature(3.2, degC=24.0).fraction_of_saturation == pytest.approx(0.36, abs=0.01)


def test_the_meters_own_constant_drops_out():
    honest, off = same_temperature(4.0, own=8.0), same_temperature(5.15, own=10.3)
    assert off.fraction_of_saturation == pytest.approx(honest.fraction_of_saturation, rel=1e-12)
    assert off.cell_scale_is_unusual
    assert not honest.cell_scale_is_unusual


def test_a_sample_saturated_in_the_cold_reference_is_counted_against_its_own_temperature():
    # Full-strength output of a 25 degC vessel, against an own sample saturated and read at 15.
    own = saturated_reading_25C_mS_per_cm(15.0)
    sample = saturated_reading_25C_mS_per_cm(25.0)
    measured = strength_from_conductivity(
        reading_mS_per_cm=sample,
        temperature_degC=25.0,
        own_saturated_mS_per_cm=own * (1 + 0.0174 * -10) / (1 + 0.02 * -10),
        own_saturated_temperature_degC=15.0,
    )
    assert measured.conductivity_ratio < 0.95
    assert measured.fraction_of_saturation == pytest.approx(1.0, abs=1e-9)
    assert measured.strength_meq_per_L == pytest.approx(saturated_alkalinity_meq_per_L(25.0))


def test_readings_outside_the_model_are_refused():
    with pytest.raises(OutsideValidity):
        same_temperature(0.0)
    with pytest.raises(OutsideValidity):
        same_temperature(12.0)
    with pytest.raises(OutsideValidity):
        same_temperature(4.0, degC=40.0)


def test_titration_by_the_standard_method():
    assert strength_from_titration_meq_per_L(
        sample_mL=50.0, acid_mL=20.3, acid_normality_eq_per_L=0.1
    ) == pytest.approx(40.6)


@pytest.mark.parametrize(("degC", "reading"), [(25.0, 5.7), (10.0, 6.3)])
def test_kit_reading_of_a_diluted_saturated_sample(degC, reading):
    strength = strength_from_diluted_kit_meq_per_L(
        sample_mL=5.0, diluted_to_mL=100.0, reading_dKH=reading
    )
    assert strength == pytest.approx(saturated_alkalinity_meq_per_L(degC), rel=0.01)


def test_a_sample_cannot_be_diluted_to_less_than_itself():
    with pytest.raises(OutsideValidity):
        strength_from_diluted_kit_meq_per_L(sample_mL=50.0, diluted_to_mL=10.0, reading_dKH=5.0)
