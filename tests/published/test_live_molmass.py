"""Every molar mass against molmass."""

import pytest

from engine.chemistry import constants, salts
from tests.published import reference_programs

molmass = reference_programs.load("molmass")

FORMULAS = {
    "MOLAR_MASS_CALCIUM": "Ca",
    "MOLAR_MASS_MAGNESIUM": "Mg",
    "MOLAR_MASS_WATER": "H2O",
    "MOLAR_MASS_CARBON_DIOXIDE": "CO2",
    "MOLAR_MASS_CALCIUM_HYDROXIDE": "Ca(OH)2",
    "MOLAR_MASS_CALCIUM_OXIDE": "CaO",
    "MOLAR_MASS_CALCIUM_CARBONATE": "CaCO3",
    "MOLAR_MASS_SODIUM_BICARBONATE": "NaHCO3",
    "MOLAR_MASS_SODIUM_CARBONATE": "Na2CO3",
    "MOLAR_MASS_SODIUM_CHLORIDE": "NaCl",
    "MOLAR_MASS_CALCIUM_CHLORIDE": "CaCl2",
    "MOLAR_MASS_MAGNESIUM_CHLORIDE": "MgCl2",
    "MOLAR_MASS_MAGNESIUM_SULFATE": "MgSO4",
    "MOLAR_MASS_SULFATE": "SO4",
}


@pytest.mark.parametrize(("name", "formula"), FORMULAS.items())
def test_molar_mass_equals_molmass(name, formula):
    assert getattr(constants, name) == pytest.approx(molmass.Formula(formula).mass, rel=1e-9)


def test_no_molar_mass_is_left_out():
    names = {name for name in vars(constants) if name.startswith("MOLAR_MASS_")}
    assert names == set(FORMULAS)


@pytest.mark.parametrize("compound", salts.COMPOUNDS.values(), ids=salts.COMPOUNDS)
def test_every_salt_weighs_what_its_formula_says(compound):
    formula = compound.formula
    if "." in formula:
        salt, water = formula.split(".")
        formula = f"{salt}({water.removesuffix('H2O') and 'H2O'}){water.removesuffix('H2O')}"
    assert compound.molar_mass_g_per_mol == pytest.approx(molmass.Formula(formula).mass, rel=1e-9)
