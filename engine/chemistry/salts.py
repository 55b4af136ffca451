"""One-off additions of weighed salts: how much of a compound for a change, and what it brings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from engine.chemistry.constants import (
    MOLAR_MASS_CALCIUM,
    MOLAR_MASS_CALCIUM_CHLORIDE,
    MOLAR_MASS_CALCIUM_HYDROXIDE,
    MOLAR_MASS_MAGNESIUM,
    MOLAR_MASS_MAGNESIUM_CHLORIDE,
    MOLAR_MASS_MAGNESIUM_SULFATE,
    MOLAR_MASS_SODIUM_BICARBONATE,
    MOLAR_MASS_SODIUM_CARBONATE,
    MOLAR_MASS_SULFATE,
    MOLAR_MASS_WATER,
)
from engine.errors import InvalidQuantity, check_between, check_not_negative, check_positive

ASSAY_RANGE: Final = (0.01, 1.005)


@dataclass(frozen=True, slots=True, kw_only=True)
class Compound:
    """A salt as weighed, with what one mole of it brings into seawater."""

    code: str
    formula: str
    molar_mass_g_per_mol: float
    alkalinity_eq_per_mol: float = 0.0
    dic_mol_per_mol: float = 0.0
    calcium_mol_per_mol: float = 0.0
    magnesium_mol_per_mol: float = 0.0
    sulfate_mol_per_mol: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition:
    """Change that a weighed salt makes in the tank, per litre."""

    alkalinity_meq_per_L: float
    dic_mmol_per_L: float
    calcium_mg_per_L: float
    magnesium_mg_per_L: float
    sulfate_mg_per_L: float


SODIUM_BICARBONATE: Final = Compound(
    code="sodium_bicarbonate",
    formula="NaHCO3",
    molar_mass_g_per_mol=MOLAR_MASS_SODIUM_BICARBONATE,
    alkalinity_eq_per_mol=1.0,
    dic_mol_per_mol=1.0,
)
SODIUM_CARBONATE: Final = Compound(
    code="sodium_carbonate",
    formula="Na2CO3",
    molar_mass_g_per_mol=MOLAR_MASS_SODIUM_CARBONATE,
    alkalinity_eq_per_mol=2.0,
    dic_mol_per_mol=1.0,
)
CALCIUM_HYDROXIDE: Final = Compound(
    code="calcium_hydroxide",
    formula="Ca(OH)2",
    molar_mass_g_per_mol=MOLAR_MASS_CALCIUM_HYDROXIDE,
    alkalinity_eq_per_mol=2.0,
    calcium_mol_per_mol=1.0,
)


def _calcium_chloride(waters: int) -> Compound:
    return Compound(
        code=f"calcium_chloride_{waters}_water" if waters else "calcium_chloride_anhydrous",
        formula=f"CaCl2.{waters}H2O" if waters else "CaCl2",
        molar_mass_g_per_mol=MOLAR_MASS_CALCIUM_CHLORIDE + waters * MOLAR_MASS_WATER,
        calcium_mol_per_mol=1.0,
    )


CALCIUM_CHLORIDE_ANHYDROUS: Final = _calcium_chloride(0)
CALCIUM_CHLORIDE_DIHYDRATE: Final = _calcium_chloride(2)
CALCIUM_CHLORIDE_HEXAHYDRATE: Final = _calcium_chloride(6)
MAGNESIUM_CHLORIDE_HEXAHYDRATE: Final = Compound(
    code="magnesium_chloride_6_water",
    formula="MgCl2.6H2O",
    molar_mass_g_per_mol=MOLAR_MASS_MAGNESIUM_CHLORIDE + 6 * MOLAR_MASS_WATER,
    magnesium_mol_per_mol=1.0,
)
MAGNESIUM_SULFATE_HEPTAHYDRATE: Final = Compound(
    code="magnesium_sulfate_7_water",
    formula="MgSO4.7H2O",
    molar_mass_g_per_mol=MOLAR_MASS_MAGNESIUM_SULFATE + 7 * MOLAR_MASS_WATER,
    magnesium_mol_per_mol=1.0,
    sulfate_mol_per_mol=1.0,
)

COMPOUNDS: Final = {
    compound.code: compound
    for compound in (
        SODIUM_BICARBONATE,
        SODIUM_CARBONATE,
        CALCIUM_HYDROXIDE,
        CALCIUM_CHLORIDE_ANHYDROUS,
        CALCIUM_CHLORIDE_DIHYDRATE,
        CALCIUM_CHLORIDE_HEXAHYDRATE,
        MAGNESIUM_CHLORIDE_HEXAHYDRATE,
        MAGNESIUM_SULFATE_HEPTAHYDRATE,
    )
}


def grams_for_alkalinity(
    compound: Compound, rise_meq_per_L: float, *, volume_L: float, assay: float
) -> float:
    """Mass of a compound that raises alkalinity, g.

    Parameters
    ----------
    compound : Compound
        One that brings alkalinity.
    rise_meq_per_L : float
        Rise wanted, meq/L, at least 0.
    volume_L : float
        Net water volume, L.
    assay : float
        Mass of the compound *as its formula states it, water included*, per mass of the product;
        0.01 to 1.005. Product that took up moisture has less.

    Raises
    ------
    InvalidQuantity
        The compound brings none.
    """
    return _grams(
        compound, "alkalinity", rise_meq_per_L, compound.alkalinity_eq_per_mol, (volume_L, assay)
    )


def grams_for_calcium(
    compound: Compound, rise_mg_per_L: float, *, volume_L: float, assay: float
) -> float:
    """Mass of a compound that raises calcium, g; see `grams_for_alkalinity`."""
    rise_mmol_per_L = rise_mg_per_L / MOLAR_MASS_CALCIUM
    return _grams(
        compound, "calcium", rise_mmol_per_L, compound.calcium_mol_per_mol, (volume_L, assay)
    )


def grams_for_magnesium(
    compound: Compound, rise_mg_per_L: float, *, volume_L: float, assay: float
) -> float:
    """Mass of a compound that raises magnesium, g; see `grams_for_alkalinity`."""
    rise_mmol_per_L = rise_mg_per_L / MOLAR_MASS_MAGNESIUM
    return _grams(
        compound, "magnesium", rise_mmol_per_L, compound.magnesium_mol_per_mol, (volume_L, assay)
    )


def effect(compound: Compound, grams: float, *, volume_L: float, assay: float) -> Addition:
    """Change that a weighed compound makes in a volume of water (dissolved fully)."""
    check_not_negative("grams", grams, "g")
    check_positive("volume_L", volume_L, "L")
    check_between("salts", "assay", assay, *ASSAY_RANGE)
    mmol_per_L = grams * assay / compound.molar_mass_g_per_mol * 1000.0 / volume_L
    return Addition(
        alkalinity_meq_per_L=mmol_per_L * compound.alkalinity_eq_per_mol,
        dic_mmol_per_L=mmol_per_L * compound.dic_mol_per_mol,
        calcium_mg_per_L=mmol_per_L * compound.calcium_mol_per_mol * MOLAR_MASS_CALCIUM,
        magnesium_mg_per_L=mmol_per_L * compound.magnesium_mol_per_mol * MOLAR_MASS_MAGNESIUM,
        sulfate_mg_per_L=mmol_per_L * compound.sulfate_mol_per_mol * MOLAR_MASS_SULFATE,
    )


def _grams(
    compound: Compound, target: str, rise_per_L: float, per_mol: float, tank: tuple[float, float]
) -> float:
    volume_L, assay = tank
    if per_mol <= 0.0:
        raise InvalidQuantity("compound", compound.code, code=f"compound_brings_no_{target}")
    check_not_negative(f"{target}_rise", rise_per_L, "mmol/L")
    check_positive("volume_L", volume_L, "L")
    check_between("salts", "assay", assay, *ASSAY_RANGE)
    return rise_per_L * volume_L / 1000.0 * compound.molar_mass_g_per_mol / per_mol / assay
