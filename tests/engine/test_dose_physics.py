"""Limewater into a tank: replacing evaporation or on top, closed or open to the air."""

import pytest

from engine.carbonate import solve
from engine.chemistry.dose_physics import (
    TankWater,
    add_limewater,
    dose_consequences,
    rise_to_reach_omega_aragonite_meq_per_L,
    rise_to_reach_pH_nbs_meq_per_L,
)
from engine.errors import InvalidQuantity, OutsideValidity
from engine.limewater import saturated_alkalinity_meq_per_L


def tank(volume_L=100.0, pH_nbs=8.1, alkalinity=2500.0):
    state = solve(
        total_alkalinity_umol_per_kg=alkalinity,
        pH_nbs=pH_nbs,
        salinity=35.0,
        temperature_degC=25.0,
    )
    return TankWater.from_state(volume_L, state)


def test_a_litre_of_saturated_limewater_in_100_litres():
    result = dose_consequences(
        tank(), dose_L=1.0, strength_meq_per_L=saturated_alkalinity_meq_per_L(25.0)
    )
    assert result.alkalinity_rise_meq_per_L == pytest.approx(0.406, abs=1e-3)
    assert result.calcium_rise_mmol_per_L == pytest.approx(0.203, abs=5e-4)
    assert result.closed.dic_umol_per_kg == result.before.dic_umol_per_kg
    assert result.salinity_change == 0.0
    assert result.water.volume_L == pytest.approx(100.0, rel=1e-12)


def test_half_a_milliequivalent_from_8_1_is_the_reference_case():
    result = dose_consequences(tank(), dose_L=1.25, strength_meq_per_L=40.0, air_pCO2_uatm=400.0)
    assert result.closed.pH_nbs == pytest.approx(8.6255, abs=1e-4)
    assert result.closed.omega_aragonite == pytest.approx(9.035, abs=1e-3)
    assert result.in_air is not None
    assert result.in_air.pH_nbs == pytest.approx(8.2745, abs=1e-4)
    assert result.pH_rise == pytest.approx(0.5255, abs=1e-4)


def test_without_air_given_no_state_in_air_is_claimed():
    assert dose_consequences(tank(), dose_L=1.0, strength_meq_per_L=40.0).in_air is None


@pytest.mark.parametrize(("start", "end"), [(7.9, 8.521), (8.3, 8.752)])
def test_the_same_dose_lifts_a_high_start_to_a_higher_end(start, end):
    result = dose_consequences(tank(pH_nbs=start), dose_L=1.25, strength_meq_per_L=40.0)
    assert result.closed.pH_nbs == pytest.approx(end, abs=1e-3)


def test_on_top_of_evaporation_everything_is_diluted_together():
    before = tank()
    after = add_limewater(before, dose_L=5.0, strength_meq_per_L=0.0, evaporated_L=0.0)
    share = after.salinity / before.salinity
    assert share < 1.0
    assert after.dic_umol_per_kg / before.dic_umol_per_kg == pytest.approx(share, rel=1e-14)
    assert after.calcium_umol_per_kg / before.calcium_umol_per_kg == pytest.approx(share)
    assert after.mass_kg == pytest.approx(before.mass_kg + 5.0 * 0.99904, rel=1e-14)
    assert after.volume_L == pytest.approx(105.0, abs=0.1)


def test_evaporation_not_made_good_concentrates():
    after = add_limewater(tank(), dose_L=1.0, strength_meq_per_L=40.0, evaporated_L=3.0)
    assert after.salinity == pytest.approx(35.7, abs=0.05)


def test_milk_counts_in_full():
    clear = add_limewater(tank(450.0), dose_L=1.0, strength_meq_per_L=40.6)
    milky = add_limewater(tank(450.0), dose_L=1.0, strength_meq_per_L=40.6, suspended_g=30.0)
    rise_umol_per_kg = milky.total_alkalinity_umol_per_kg - clear.total_alkalinity_umol_per_kg
    assert rise_umol_per_kg * clear.density_kg_per_L / 1000 == pytest.approx(1.8, abs=0.001)


def test_alkalinity_and_calcium_come_in_the_ratio_in_which_corals_take_them():
    before, after = tank(), add_limewater(tank(), dose_L=2.0, strength_meq_per_L=40.0)
    alkalinity = after.total_alkalinity_umol_per_kg - before.total_alkalinity_umol_per_kg
    calcium = after.calcium_umol_per_kg - before.calcium_umol_per_kg
    assert alkalinity == pytest.approx(2.0 * calcium, rel=1e-11)


@pytest.mark.parametrize("target", [8.4, 8.6, 9.0, 9.5])
def test_dose_to_a_ph_brings_the_tank_to_that_ph(target):
    rise = rise_to_reach_pH_nbs_meq_per_L(tank(), target)
    result = dose_consequences(tank(), dose_L=100.0 * rise / 40.0, strength_meq_per_L=40.0)
    assert result.closed.pH_nbs == pytest.approx(target, abs=1e-9)


@pytest.mark.parametrize("target", [5.0, 12.3, 30.0])
def test_dose_to_a_saturation_brings_the_tank_to_that_saturation(target):
    rise = rise_to_reach_omega_aragonite_meq_per_L(tank(), target)
    result = dose_consequences(tank(), dose_L=100.0 * rise / 40.0, strength_meq_per_L=40.0)
    assert result.closed.omega_aragonite == pytest.approx(target, rel=1e-9)


def test_nothing_is_needed_for_a_level_already_reached():
    assert rise_to_reach_pH_nbs_meq_per_L(tank(), 8.0) == 0.0
    assert rise_to_reach_omega_aragonite_meq_per_L(tank(), 2.0) == 0.0


def test_a_saturation_that_no_ph_gives_is_refused():
    with pytest.raises(OutsideValidity):
        rise_to_reach_omega_aragonite_meq_per_L(tank(), 1e6)


def test_a_tank_cannot_evaporate_more_than_it_holds():
    with pytest.raises(InvalidQuantity):
        add_limewater(tank(), dose_L=0.0, strength_meq_per_L=0.0, evaporated_L=200.0)


def test_dilution_beyond_the_constants_gives_no_ph():
    with pytest.raises(OutsideValidity):
        dose_consequences(tank(), dose_L=150.0, strength_meq_per_L=1.0, evaporated_L=0.0)


def test_severities_rank_as_the_experiments_found_them():
    # No precipitation at saturation 5, runaway above 7, brucite near pH 9.5 (+1.8 meq/L),
    # bulk precipitation at pH 10 and saturation 30: [MOR22], [RIN24], [COMP26].
    water = tank()
    doses = [
        rise_to_reach_omega_aragonite_meq_per_L(water, 5.0),
        rise_to_reach_omega_aragonite_meq_per_L(water, 7.0),
        rise_to_reach_pH_nbs_meq_per_L(water, 9.5),
        rise_to_reach_pH_nbs_meq_per_L(water, 10.0),
    ]
    assert doses == sorted(doses)
    assert doses[2] == pytest.approx(1.87, abs=0.01)
    assert rise_to_reach_omega_aragonite_meq_per_L(water, 30.0) < doses[3]


def test_carbon_taken_up_from_air_per_alkalinity_is_what_experiments_find():
    # 0.7 to 0.9 mol per mol [RIN24], about 0.8 [MOR22].
    where = {"salinity": 35.0, "temperature_degC": 25.0, "pCO2_uatm": 400.0}
    low = solve(total_alkalinity_umol_per_kg=2000.0, **where).dic_umol_per_kg
    high = solve(total_alkalinity_umol_per_kg=2500.0, **where).dic_umol_per_kg
    assert (high - low) / 500.0 == pytest.approx(0.815, abs=5e-4)
