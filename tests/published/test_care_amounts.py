"""Amounts that the procedures and the shelf name, against figures from outside the engine.

Molar masses are molmass's own; strengths and solubilities are the sources' printed figures.
"""

import re

import pytest
from molmass import Formula

from engine.procedures.sums import with_sums
from engine.procedures.workings import CITRIC_ACID_G_PER_L
from engine.stock.charge import lime_container_powder_g
from mobile.texts.procedures import TEXTS

# Bates, Bower and Smith 1956, J. Res. NBS 56, 305-312: about 0.0203 mol/L at 25 degC.
NBS_MOL_PER_L = 0.0203
# Perry's handbook (from memory), g of calcium hydroxide in 100 g of water.
PERRY_G_PER_100_G = {10.0: 0.176, 20.0: 0.165, 30.0: 0.153, 40.0: 0.141}
# One degree of German hardness is 10 mg of CaO in a litre, by definition.
MEQ_PER_DKH = 10.0 / (Formula("CaO").mass / 2.0)


def worked(code: str, **facts: float) -> dict[str, float | str]:
    return with_sums([code], facts)


def test_diluted_reading_of_saturated_limewater_at_25_degC_is_5_7_dKH():
    """5 mL to 100 mL is a twentieth: 0.0203 mol/L x 2 eq/mol / 20, over 0.3566 meq in a dKH."""
    by_hand_dKH = NBS_MOL_PER_L * 2000.0 / 20.0 / MEQ_PER_DKH
    assert by_hand_dKH == pytest.approx(5.7, abs=0.05)
    found = worked("saturated_dilution", stand_degC=25.0)["saturated_dilution_meq_per_L"]
    assert isinstance(found, float)
    assert found / MEQ_PER_DKH == pytest.approx(by_hand_dKH, rel=0.015)


def test_acid_to_the_end_of_the_pink_is_40_6_mL_at_25_degC():
    """100 mL of 0.0203 mol/L take two protons each of 0.100 mol/L acid."""
    found = worked("saturated_titration", stand_degC=25.0)["saturated_acid_mL"]
    assert found == pytest.approx(NBS_MOL_PER_L * 2.0 * 100.0 / 0.100, rel=0.015)


@pytest.mark.parametrize("degC", PERRY_G_PER_100_G)
def test_powder_for_a_reservoir_follows_the_handbook_by_temperature(degC: float):
    """The handbook lies some 5 % above the modern value; cold over warm holds to 2 %."""

    def grams(at_degC: float) -> float:
        return lime_container_powder_g(20.0, temperature_degC=at_degC, assay=1.0)

    handbook_g = 20.0 * 10.0 * PERRY_G_PER_100_G[degC] * 1.2  # a fifth in reserve
    assert grams(degC) == pytest.approx(handbook_g, rel=0.08)
    shape = PERRY_G_PER_100_G[degC] / PERRY_G_PER_100_G[20.0]
    assert grams(degC) / grams(20.0) == pytest.approx(shape, rel=0.02)


@pytest.mark.parametrize(
    ("code", "assay", "gives", "formula", "eq_per_mol"),
    [
        ("alkalinity_part", "alkalinity_assay_share", "bicarbonate_g", "NaHCO3", 1),
        ("alkalinity_part", "alkalinity_assay_share", "carbonate_g", "Na2CO3", 2),
        ("calcium_part", "calcium_assay_share", "chloride_anhydrous_g", "CaCl2", 2),
        ("calcium_part", "calcium_assay_share", "chloride_dihydrate_g", "CaCl2(H2O)2", 2),
        ("calcium_part", "calcium_assay_share", "chloride_hexahydrate_g", "CaCl2(H2O)6", 2),
    ],
)
def test_two_part_recipes_by_molar_mass(code, assay, gives, formula, eq_per_mol):
    """2 L of each part at 1 meq/mL are 2 eq: that many moles of salt, over its purity."""
    pure_g = 2.0 * Formula(formula).mass / eq_per_mol
    found = worked(code, part_L=2.0, **{assay: 0.97})[gives]
    assert isinstance(found, float)
    assert 0.99 * pure_g / 0.97 < found <= pure_g / 0.97  # rounded toward less, never more


def test_saturated_water_does_not_take_more_bicarbonate_than_dissolves():
    """Sodium hydrogen carbonate dissolves to 96 g/L at 20 degC (handbook, from memory)."""
    found = worked("alkalinity_part", part_L=1.0, alkalinity_assay_share=1.0)["bicarbonate_g"]
    assert isinstance(found, float)
    assert found < 96.0


def test_acid_for_descaling_is_as_strong_as_household_vinegar():
    """50 g/L of citric acid (common practice) beside vinegar of 5 %, in equivalents of acid."""
    citric_eq_per_L = CITRIC_ACID_G_PER_L / Formula("C6H8O7").mass * 3.0
    vinegar_eq_per_L = 50.0 / Formula("C2H4O2").mass
    assert citric_eq_per_L == pytest.approx(0.78, abs=0.01)
    assert citric_eq_per_L == pytest.approx(vinegar_eq_per_L, rel=0.1)
    chalk_g = citric_eq_per_L / 2.0 * Formula("CaCO3").mass
    assert chalk_g == pytest.approx(39.0, abs=0.5)  # that a litre can take up at the most


def test_own_saturated_sample_keeps_powder_undissolved():
    """1 g in 250 mL: more than twice what dissolves, also in the cold and at a poor assay."""
    bottle_mL = float(re.findall(r"a (\d+) mL bottle", TEXTS["conductivity_bottle"])[0])
    powder_g = float(re.findall(r"Weigh (\d+) g", TEXTS["conductivity_powder"])[0])
    dissolves_g = bottle_mL / 100.0 * PERRY_G_PER_100_G[10.0]
    assert 0.92 * powder_g > 2.0 * dissolves_g
