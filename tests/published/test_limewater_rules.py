"""Rules that keepers go by, and arithmetic worked by hand, against the engine.

The rules of thumb are common practice and have no source; a test says in which range they hold.
Published values stand in values.toml; the three that the dose rests on are asked here once more
through the names that scripts use.
"""

import pytest

from engine.chemistry.constants import (
    CALCIUM_CARBONATE_MG_PER_MEQ,
    CALCIUM_MG_PER_MEQ,
    DKH_PER_MEQ_PER_L,
    MEQ_PER_GRAM_CALCIUM_HYDROXIDE,
)
from engine.limewater import (
    saturated_alkalinity_meq_per_L,
    saturated_pH,
    solubility_g_per_L,
)
from engine.stock.charge import calcium_hydroxide_g_per_day

SATURATED_25C = saturated_alkalinity_meq_per_L(25.0)
# A US level teaspoon of powder, by bulk densities of the lime trade (from memory), g.
TEASPOON_G = (1.6, 3.2)
US_CUP_ML = 236.6
BULK_DENSITY_G_PER_ML = (0.32, 0.64)


# --- common practice, no source


def test_two_level_teaspoons_saturate_about_two_to_four_litres():
    low, high = (2.0 * grams / solubility_g_per_L(25.0) for grams in TEASPOON_G)
    assert low == pytest.approx(2.1, abs=0.2)
    assert high == pytest.approx(4.3, abs=0.3)


def test_two_litres_a_day_use_about_ninety_grams_or_a_cup_of_powder_a_month():
    grams = 30.0 * calcium_hydroxide_g_per_day(2.0, SATURATED_25C)
    assert grams == pytest.approx(90.0, abs=2.0)
    cups = [grams / density / US_CUP_ML for density in BULK_DENSITY_G_PER_ML]
    assert max(cups) == pytest.approx(1.2, abs=0.05)
    assert min(cups) == pytest.approx(0.6, abs=0.05)


def test_limewater_is_about_fifty_times_weaker_than_a_strong_two_part():
    two_part_meq_per_L = 100_000.0 / CALCIUM_CARBONATE_MG_PER_MEQ
    assert two_part_meq_per_L / SATURATED_25C == pytest.approx(50.0, rel=0.03)


def test_a_heavily_stocked_tank_needs_several_times_what_it_can_evaporate():
    # 500 L, 4 dKH a day, 1 % evaporates
    needed_L = 4.0 / DKH_PER_MEQ_PER_L * 500.0 / SATURATED_25C
    assert 3.0 < needed_L / 5.0 < 5.0


def test_a_modest_tank_is_covered_by_limewater_alone():
    # 500 L, 0.8 dKH a day, 1 % evaporates
    assert 0.8 / DKH_PER_MEQ_PER_L * 500.0 / SATURATED_25C < 5.0


# --- arithmetic of our own, worked by hand


def test_a_litre_and_a_half_in_thirty_doses():
    assert 1500.0 / 30.0 == 50.0  # mL a dose
    assert pytest.approx(61.0, abs=0.5) == 1.5 * SATURATED_25C  # meq a day
    assert calcium_hydroxide_g_per_day(1.5, SATURATED_25C) == pytest.approx(2.3, abs=0.05)


def test_twenty_litres_used_up_in_five_days():
    assert pytest.approx(162.0, abs=0.5) == 20.0 / 5.0 * SATURATED_25C


def test_six_litres_needed_where_one_point_eight_evaporates():
    assert pytest.approx(170.0, abs=1.0) == (6.0 - 1.8) * SATURATED_25C


# --- published


def test_saturated_limewater_at_25_degC():
    # Bates, Bower & Smith 1956, J. Res. NBS 56(6) 305-312: about 0.0203 mol/L, pH 12.45.
    assert pytest.approx(0.0203, rel=0.015) == SATURATED_25C / 2000.0
    assert saturated_pH(25.0) == pytest.approx(12.45, abs=0.02)
    # PHREEQC 3.8.6, pitzer.dat with Thermoddem's portlandite: 1.505 g/L, pH 12.464.
    assert solubility_g_per_L(25.0) == pytest.approx(1.505, rel=0.015)


def test_lime_dissolves_less_in_warm_water():
    # Handbook table (Perry, from memory), shape only: 1.76, 1.59 and 1.41 g/kg at 10, 25, 40 degC.
    base = solubility_g_per_L(25.0)
    assert solubility_g_per_L(10.0) / base == pytest.approx(1.76 / 1.59, rel=0.03)
    assert solubility_g_per_L(40.0) / base == pytest.approx(1.41 / 1.59, rel=0.03)


def test_stoichiometry():
    # From molar masses (IUPAC weights, computed with molmass 2026.1.8).
    assert pytest.approx(26.9932, rel=1e-4) == MEQ_PER_GRAM_CALCIUM_HYDROXIDE
    assert pytest.approx(2.80387, rel=1e-4) == DKH_PER_MEQ_PER_L
    assert pytest.approx(50.0435, rel=1e-4) == CALCIUM_CARBONATE_MG_PER_MEQ
    assert pytest.approx(7.1469, rel=1e-4) == CALCIUM_MG_PER_MEQ / DKH_PER_MEQ_PER_L
