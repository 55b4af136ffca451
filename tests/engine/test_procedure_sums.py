"""What procedures work out, against the reference's own figures and by hand."""

import pytest

from engine.procedures.sums import COMPUTED, with_sums
from engine.procedures.workings import TWO_PART_MEQ_PER_ML

DKH = 2.80387  # dKH per meq/L: 56.0774 / 20, by definition


def worked(code: str, **facts) -> dict:
    return {k: v for k, v in with_sums([code], facts).items() if k not in facts}


@pytest.mark.parametrize("code", COMPUTED)
def test_a_sum_gives_what_it_says_and_nothing_without_its_needs(code: str):
    computation = COMPUTED[code]
    assert worked(code) == {}
    usual = {
        "stand_degC": 25.0,
        "assay_share": 0.95,
        "mix_share": 1.0,
        "alkalinity_assay_share": 0.99,
        "calcium_assay_share": 0.97,
        "salinity_before_PSU": 35.4,
        "salinity_after_PSU": 35.0,
    }
    facts = {key: usual.get(key, 3.0) for key in computation.needs}
    assert set(worked(code, **facts)) == set(computation.gives)
    for missing in computation.needs:
        assert worked(code, **{k: v for k, v in facts.items() if k != missing}) == {}


def test_diluted_reading_of_saturated_limewater():
    # Common practice, no source: 5.7 dKH at 25 degC, 6.3 at 10 degC, 2.8 for half strength.
    for degC, dKH in ((25.0, 5.7), (10.0, 6.3)):
        found = worked("saturated_dilution", stand_degC=degC)
        assert round(found["saturated_dilution_meq_per_L"] * DKH, 1) == dKH
    assert round(
        worked("saturated_dilution", stand_degC=25.0)["half_dilution_meq_per_L"] * DKH, 1
    ) == pytest.approx(2.8)


def test_diluted_reading_tells_the_strength():
    full = worked("dilution_strength", diluted_meq_per_L=40.6 * 0.05, stand_degC=25.0)
    assert full["strength_share"] == pytest.approx(1.0, abs=0.001)
    assert full["strength_low_share"] < 0.93
    # The same reading means less in the cold, where saturated limewater is stronger.
    cold = worked("dilution_strength", diluted_meq_per_L=40.6 * 0.05, stand_degC=10.0)
    assert cold["strength_share"] == pytest.approx(40.60 / 44.88, abs=0.002)


def test_acid_for_saturated_limewater():
    # Standard acid-base method: 100 mL saturated at 25 degC take 40.6 mL of 0.100 eq/L.
    found = worked("saturated_titration", stand_degC=25.0)
    assert found["saturated_acid_mL"] == pytest.approx(40.6, abs=0.05)
    strength = worked("titration_strength", acid_mL=20.3, stand_degC=25.0)
    assert strength["strength_share"] == pytest.approx(0.5, abs=0.001)


def test_half_the_conductivity_is_less_than_half_the_strength():
    # Reference section 2: r = 0.50 gives f = 0.456, model error 0.003.
    found = worked(
        "conductivity_strength",
        reading_mS_per_cm=3.975,
        own_saturated_mS_per_cm=7.95,
        stand_degC=25.0,
    )
    assert found["strength_share"] == pytest.approx(0.456, abs=0.01)
    assert found["own_off_share"] < 0.02


def test_readings_that_do_not_fit_give_no_strength():
    assert not worked(
        "conductivity_strength",
        reading_mS_per_cm=25.0,
        own_saturated_mS_per_cm=7.0,
        stand_degC=25.0,
    )
    assert not worked("volume_from_change", removed_L=5.0, salinity_before_PSU=35.0,
                      salinity_after_PSU=35.1)  # fmt: skip


def test_reservoir_takes_a_reserve_and_more_in_the_cold():
    warm = worked("reservoir_powder", water_L=20.0, stand_degC=25.0, assay_share=0.95, mix_share=1)
    cold = worked("reservoir_powder", water_L=20.0, stand_degC=10.0, assay_share=0.95, mix_share=1)
    # 20 L of 1.504 g/L (Bates, Bower and Smith 1956), a fifth in reserve, 95 % assay: 38.0 g
    assert warm["reservoir_powder_g"] == pytest.approx(37.9, abs=0.11)
    assert cold["reservoir_powder_g"] > 1.09 * warm["reservoir_powder_g"]
    weak = worked("reservoir_powder", water_L=20.0, stand_degC=25.0, assay_share=0.95,
                  mix_share=0.5)  # fmt: skip
    assert weak["reservoir_powder_g"] == pytest.approx(15.8, abs=0.05)  # exact, no reserve
    assert weak["largest_reservoir_powder_g"] < 1.11 * weak["reservoir_powder_g"]


def test_two_part_grams_by_salt_hydrate_and_assay():
    # Reference section 8: per meq 84.007 mg NaHCO3, 52.994 mg Na2CO3, 73.507 mg CaCl2.2H2O.
    assert TWO_PART_MEQ_PER_ML == 1.0
    part = worked("alkalinity_part", part_L=2.0, alkalinity_assay_share=1.0)
    assert part["bicarbonate_g"] == pytest.approx(2 * 84.007, rel=0.006)
    assert part["carbonate_g"] == pytest.approx(2 * 52.994, rel=0.01)
    calcium = worked("calcium_part", part_L=2.0, calcium_assay_share=0.97)
    assert calcium["chloride_dihydrate_g"] == pytest.approx(2 * 73.507 / 0.97, rel=0.007)
    assert calcium["chloride_dihydrate_g"] <= 2 * 73.507 / 0.97  # rounded toward less
    assert (
        calcium["chloride_anhydrous_g"]
        < calcium["chloride_dihydrate_g"]
        < calcium["chloride_hexahydrate_g"]
    )


def test_pump_runs_give_mean_spread_and_share():
    found = worked("pump_runs", expected_mL=200.0, run_1_mL=180.0, run_2_mL=190.0, run_3_mL=188.0)
    assert found["mean_mL"] == pytest.approx(186.0)
    assert found["spread_share"] == pytest.approx(10.0 / 186.0)
    assert found["pump_share"] == pytest.approx(0.93)
    assert worked("pump_trend", pump_share=0.93, first_pump_share=1.02)["wear_share"] == (
        pytest.approx(1.0 - 0.93 / 1.02)
    )


def test_pump_that_gives_nothing_is_not_judged():
    assert not worked("pump_runs", expected_mL=200.0, run_1_mL=0.0, run_2_mL=0.0, run_3_mL=0.0)


def test_water_for_the_days_away():
    found = worked("away_water", away_days=14.0, evaporation_high_L_per_day=7.5)
    assert found["away_water_L"] == pytest.approx(7.5 * 14 * 1.3)


def test_drip_of_one_drop_a_second():
    # Common practice, no source: about 3 mL a minute, 4.3 L a day.
    found = worked("drip_first", drops_1_count=60.0, drip_L=1.8)
    assert found["drip_mL_per_min"] == pytest.approx(3.0)
    assert found["drip_hours"] == pytest.approx(10.0)
    assert worked("drip_wanted", drip_L=1.8)["drops_wanted_count"] == pytest.approx(60.0)


def test_volume_by_salinity_says_how_wide_it_is():
    # 6 L of 35.4 out of 430 L, fresh water in: 35.4 * (1 - 6/430)
    after = 35.4 * (1.0 - 6.0 / 430.0)
    found = worked(
        "volume_from_change", removed_L=6.0, salinity_before_PSU=35.4, salinity_after_PSU=after
    )
    assert found["found_volume_L"] == pytest.approx(430.0)
    assert 0.2 < found["found_error_share"] < 0.26
    assert found["found_low_L"] < 430.0 < found["found_high_L"]
