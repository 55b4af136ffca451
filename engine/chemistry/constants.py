"""Molar masses and the stoichiometry that follows from them.

Source of the atomic weights: [CIAAW], the elements' mean atomic masses from the isotopic
compositions of the IUPAC commission. tests/published/test_live_molmass.py holds every mass
here against molmass.
"""

from __future__ import annotations

from typing import Final

# Atomic weights, g/mol [CIAAW]
_H: Final = 1.007941
_C: Final = 12.01074
_O: Final = 15.999405
_NA: Final = 22.98976928
_MG: Final = 24.3051
_S: Final = 32.0648
_CL: Final = 35.4529
_CA: Final = 40.078

# Molar masses, g/mol
MOLAR_MASS_CALCIUM: Final = _CA
MOLAR_MASS_MAGNESIUM: Final = _MG
MOLAR_MASS_WATER: Final = 2 * _H + _O
MOLAR_MASS_CARBON_DIOXIDE: Final = _C + 2 * _O
MOLAR_MASS_CALCIUM_HYDROXIDE: Final = _CA + 2 * (_O + _H)
MOLAR_MASS_CALCIUM_OXIDE: Final = _CA + _O
MOLAR_MASS_CALCIUM_CARBONATE: Final = _CA + _C + 3 * _O
MOLAR_MASS_SODIUM_BICARBONATE: Final = _NA + _H + _C + 3 * _O
MOLAR_MASS_SODIUM_CARBONATE: Final = 2 * _NA + _C + 3 * _O
MOLAR_MASS_SODIUM_CHLORIDE: Final = _NA + _CL
MOLAR_MASS_CALCIUM_CHLORIDE: Final = _CA + 2 * _CL
MOLAR_MASS_MAGNESIUM_CHLORIDE: Final = _MG + 2 * _CL
MOLAR_MASS_MAGNESIUM_SULFATE: Final = _MG + _S + 4 * _O
MOLAR_MASS_SULFATE: Final = _S + 4 * _O

# Calcium hydroxide: one mole gives 2 equivalents of alkalinity, 1 mole of calcium, no carbon.
MEQ_PER_GRAM_CALCIUM_HYDROXIDE: Final = 2000.0 / MOLAR_MASS_CALCIUM_HYDROXIDE
CALCIUM_MG_PER_GRAM_CALCIUM_HYDROXIDE: Final = (
    1000.0 * MOLAR_MASS_CALCIUM / MOLAR_MASS_CALCIUM_HYDROXIDE
)
# Calcium oxide is twice monovalent, so 10 mg CaO per L (1 dKH, [DIN]) is 20 / M meq/L.
DKH_PER_MEQ_PER_L: Final = MOLAR_MASS_CALCIUM_OXIDE / 20.0
CALCIUM_CARBONATE_MG_PER_MEQ: Final = MOLAR_MASS_CALCIUM_CARBONATE / 2.0
# CaCO3 forms from 1 Ca and 2 equivalents of alkalinity; limewater brings them in that ratio.
CALCIUM_MG_PER_MEQ: Final = MOLAR_MASS_CALCIUM / 2.0

ZERO_CELSIUS_K: Final = 273.15
GAS_CONSTANT_CM3_BAR_PER_MOL_K: Final = 83.14462618  # [CODATA18]
BAR_PER_ATM: Final = 1.01325  # by definition
HPA_PER_ATM: Final = 1013.25  # by definition
T68_PER_T90: Final = 1.00024  # [SAU91], temperature scales of 1968 and 1990
