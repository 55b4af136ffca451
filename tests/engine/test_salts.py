"""Weighed salts: there, and back."""

import pytest

from engine.chemistry import salts
from engine.errors import InvalidQuantity, OutsideValidity


def test_worked_examples_for_450_litres():
    one_dKH = 0.356650
    tank = {"volume_L": 450.0, "assay": 1.0}
    assert salts.grams_for_alkalinity(salts.SODIUM_BICARBONATE, one_dKH, **tank) == pytest.approx(
        13.48, abs=5e-3
    )
    assert salts.grams_for_alkalinity(salts.SODIUM_CARBONATE, one_dKH, **tank) == pytest.approx(
        8.505, abs=5e-4
    )
    assert salts.grams_for_alkalinity(salts.CALCIUM_HYDROXIDE, one_dKH, **tank) == pytest.approx(
        5.946, abs=5e-4
    )
    assert salts.grams_for_magnesium(
        salts.MAGNESIUM_CHLORIDE_HEXAHYDRATE, 100.0, **tank
    ) == pytest.approx(376.4, abs=0.05)


def test_assay_raises_the_mass_in_proportion():
    pure = salts.grams_for_calcium(
        salts.CALCIUM_CHLORIDE_ANHYDROUS, 20.0, volume_L=100.0, assay=1.0
    )
    poor = salts.grams_for_calcium(
        salts.CALCIUM_CHLORIDE_ANHYDROUS, 20.0, volume_L=100.0, assay=0.94
    )
    assert poor == pytest.approx(pure / 0.94)


@pytest.mark.parametrize("compound", salts.COMPOUNDS.values(), ids=salts.COMPOUNDS)
def test_effect_of_the_grams_is_the_rise_that_was_asked_for(compound):
    tank = {"volume_L": 321.0, "assay": 0.97}
    if compound.alkalinity_eq_per_mol:
        grams = salts.grams_for_alkalinity(compound, 0.3, **tank)
        assert salts.effect(compound, grams, **tank).alkalinity_meq_per_L == pytest.approx(0.3)
    if compound.calcium_mol_per_mol:
        grams = salts.grams_for_calcium(compound, 15.0, **tank)
        assert salts.effect(compound, grams, **tank).calcium_mg_per_L == pytest.approx(15.0)
    if compound.magnesium_mol_per_mol:
        grams = salts.grams_for_magnesium(compound, 50.0, **tank)
        assert salts.effect(compound, grams, **tank).magnesium_mg_per_L == pytest.approx(50.0)


def test_bicarbonate_brings_as_much_carbon_as_alkalinity_carbonate_half_lime_none():
    tank = {"volume_L": 100.0, "assay": 1.0}
    ratios = [
        each.dic_mmol_per_L / each.alkalinity_meq_per_L
        for each in (
            salts.effect(salts.SODIUM_BICARBONATE, 10.0, **tank),
            salts.effect(salts.SODIUM_CARBONATE, 10.0, **tank),
            salts.effect(salts.CALCIUM_HYDROXIDE, 10.0, **tank),
        )
    ]
    assert ratios == pytest.approx([1.0, 0.5, 0.0])


def test_magnesium_sulfate_tells_the_sulfate_it_brings():
    tank = {"volume_L": 100.0, "assay": 1.0}
    grams = salts.grams_for_magnesium(salts.MAGNESIUM_SULFATE_HEPTAHYDRATE, 10.0, **tank)
    added = salts.effect(salts.MAGNESIUM_SULFATE_HEPTAHYDRATE, grams, **tank)
    assert added.sulfate_mg_per_L == pytest.approx(39.5, abs=0.05)


def test_a_compound_without_the_wanted_part_is_refused():
    with pytest.raises(InvalidQuantity) as caught:
        salts.grams_for_calcium(salts.SODIUM_BICARBONATE, 10.0, volume_L=100.0, assay=1.0)
    assert caught.value.code == "compound_brings_no_calcium"


def test_lowering_by_a_salt_is_impossible_and_so_is_a_pack_without_any():
    with pytest.raises(InvalidQuantity):
        salts.grams_for_alkalinity(salts.SODIUM_CARBONATE, -1.0, volume_L=100.0, assay=1.0)
    with pytest.raises(OutsideValidity):
        salts.grams_for_alkalinity(salts.SODIUM_CARBONATE, 1.0, volume_L=100.0, assay=0.0)
