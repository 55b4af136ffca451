"""Limewater: solubility, the two regimes, and what conductivity says."""

from itertools import pairwise

import pytest

from engine.errors import InvalidQuantity, OutsideValidity
from engine.limewater import (
    fraction_of_saturation,
    mix,
    pure_powder_g,
    saturated_alkalinity_meq_per_L,
    saturated_calcium_mg_per_L,
    saturated_pH,
    solubility_g_per_L,
    solubility_interval_g_per_L,
)


def test_saturated_at_25_degrees():
    assert solubility_g_per_L(25.0) == pytest.approx(1.504)
    assert saturated_alkalinity_meq_per_L(25.0) == pytest.approx(40.60, abs=0.005)
    assert saturated_calcium_mg_per_L(25.0) == pytest.approx(813.5, abs=0.1)


def test_warmer_limewater_is_weaker_over_the_whole_range():
    strengths = [saturated_alkalinity_meq_per_L(float(t)) for t in range(51)]
    assert all(cold > warm for cold, warm in pairwise(strengths))


def test_retrograde_shape_is_that_of_the_handbook():
    assert solubility_g_per_L(10.0) / solubility_g_per_L(25.0) == pytest.approx(1.107, rel=0.03)
    assert solubility_g_per_L(40.0) / solubility_g_per_L(25.0) == pytest.approx(0.887, rel=0.03)


def test_interval_is_minus_3_plus_10_percent():
    low, high = solubility_interval_g_per_L(20.0)
    assert low == pytest.approx(0.97 * solubility_g_per_L(20.0))
    assert high == pytest.approx(1.10 * solubility_g_per_L(20.0))


def test_saturated_ph_falls_with_temperature_and_is_a_useless_gauge():
    assert saturated_pH(10.0) - saturated_pH(30.0) == pytest.approx(0.76, abs=0.02)


def test_below_saturation_strength_follows_powder():
    half = mix(powder_g=7.52, water_L=10.0, temperature_degC=25.0, assay=1.0)
    assert half.strength_meq_per_L == pytest.approx(20.30, abs=0.005)
    assert not half.saturated
    assert half.undissolved_g == 0.0


def test_above_saturation_strength_follows_volume_and_the_rest_lies_at_the_bottom():
    rich = mix(powder_g=30.0, water_L=10.0, temperature_degC=25.0, assay=1.0)
    assert rich.strength_meq_per_L == pytest.approx(saturated_alkalinity_meq_per_L(25.0))
    assert rich.saturated
    assert rich.undissolved_g == pytest.approx(30.0 - 15.04)
    assert rich.calcium_mg_per_L == pytest.approx(saturated_calcium_mg_per_L(25.0))


def test_two_level_teaspoons_a_gallon_may_be_half_of_saturation():
    spoons = mix(powder_g=2 * 1.6, water_L=3.785, temperature_degC=25.0, assay=1.0)
    assert spoons.strength_meq_per_L / saturated_alkalinity_meq_per_L(25.0) < 0.6


def test_assay_and_moisture_count_for_what_is_weighed_not_for_saturated_liquid():
    assert pure_powder_g(10.0, assay=0.95, moisture=0.02) == pytest.approx(9.31)
    pure = mix(powder_g=30.0, water_L=10.0, temperature_degC=25.0, assay=1.0)
    poor = mix(powder_g=30.0, water_L=10.0, temperature_degC=25.0, assay=0.92, moisture=0.03)
    assert poor.strength_meq_per_L == pure.strength_meq_per_L


def test_hard_or_gassy_water_binds_lime():
    weak = {"powder_g": 5.0, "water_L": 10.0, "temperature_degC": 25.0, "assay": 1.0}
    clean = mix(**weak)
    assert clean.strength_meq_per_L - mix(
        water_co2_mg_per_L=20.0, **weak
    ).strength_meq_per_L == pytest.approx(0.909, abs=1e-3)
    hard = mix(water_bicarbonate_meq_per_L=4.0, **weak)
    assert clean.strength_meq_per_L - hard.strength_meq_per_L == pytest.approx(4.0)
    assert hard.deposited_calcium_carbonate_meq == pytest.approx(40.0)


def test_water_can_bind_no_more_lime_than_there_is():
    drowned = mix(
        powder_g=0.1,
        water_L=10.0,
        temperature_degC=25.0,
        assay=1.0,
        water_bicarbonate_meq_per_L=50.0,
    )
    assert drowned.strength_meq_per_L == 0.0


def test_share_of_saturation_is_less_than_the_conductivity_ratio():
    assert fraction_of_saturation(1.0) == pytest.approx(1.0)
    assert fraction_of_saturation(0.405) == pytest.approx(0.362, abs=1e-3)
    assert all(fraction_of_saturation(r / 100) < r / 100 for r in range(5, 100))


@pytest.mark.parametrize("ratio", [0.04, 1.08])
def test_conductivity_ratio_outside_the_fit_is_refused(ratio):
    with pytest.raises(OutsideValidity):
        fraction_of_saturation(ratio)


@pytest.mark.parametrize(
    "call",
    [
        lambda: solubility_g_per_L(-0.1),
        lambda: solubility_g_per_L(50.1),
        lambda: saturated_pH(51.0),
        lambda: pure_powder_g(1.0, assay=1.1),
        lambda: pure_powder_g(1.0, assay=0.9, moisture=-0.1),
    ],
)
def test_outside_the_tables_there_is_no_number(call):
    with pytest.raises(OutsideValidity):
        call()


def test_impossible_amounts_are_invalid():
    with pytest.raises(InvalidQuantity):
        mix(powder_g=-1.0, water_L=1.0, temperature_degC=25.0, assay=1.0)
    with pytest.raises(InvalidQuantity):
        mix(powder_g=1.0, water_L=0.0, temperature_degC=25.0, assay=1.0)
