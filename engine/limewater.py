"""Limewater: what a solution of calcium hydroxide holds, and what mixing powder gives.

Two regimes. Below saturation the strength follows the powder; above it the strength is that of
the saturated solution and the surplus lies at the bottom (or hangs in the water as milk, and
then every suspended gram counts in full).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from engine.chemistry.constants import (
    CALCIUM_MG_PER_MEQ,
    MEQ_PER_GRAM_CALCIUM_HYDROXIDE,
    MOLAR_MASS_CARBON_DIOXIDE,
)
from engine.errors import check_between, check_not_negative, check_positive

SOLUBILITY_RANGE_DEGC: Final = (0.0, 50.0)
# The spread of modern data about the recommended curve, and older handbooks above it [COMP26].
SOLUBILITY_LOW_FACTOR: Final = 0.97
SOLUBILITY_HIGH_FACTOR: Final = 1.10
CONDUCTIVITY_RATIO_RANGE: Final = (0.05, 1.07)
# Uncertainty of the conductance model, as a share of saturation [COMP26].
FRACTION_OF_SATURATION_ERROR: Final = 0.03
# No assay of a solid exceeds pure, save by the bound of the food-grade specification [FCC].
ASSAY_RANGE: Final = (0.0, 1.005)

_SATURATION_25C_G_PER_L: Final = 1.504  # [BBS56], 0.0203 mol/L
_SLOPE_PER_DEGC: Final = -0.0074  # temperature shape of the handbook tables [PERRY]
_CURVATURE_PER_DEGC2: Final = -2.5e-5
_REFERENCE_DEGC: Final = 25.0
_RATIO_CURVATURE: Final = 0.178


@dataclass(frozen=True, slots=True, kw_only=True)
class Limewater:
    """What a mixture of powder and fresh water holds once dissolved and settled."""

    strength_meq_per_L: float
    """Alkalinity of the clear liquid."""
    saturated: bool
    """Whether the clear liquid is saturated, so that more powder makes it no stronger."""
    undissolved_g: float
    """Calcium hydroxide left as a bed, pure, g."""
    deposited_calcium_carbonate_meq: float
    """Equivalents of hydroxide that the carbon of the water turned into carbonate."""

    @property
    def calcium_mg_per_L(self) -> float:
        """Calcium of the clear liquid, mg/L."""
        return self.strength_meq_per_L * CALCIUM_MG_PER_MEQ


def solubility_g_per_L(temperature_degC: float) -> float:
    """Mass of calcium hydroxide that saturates pure water at a temperature.

    Parameters
    ----------
    temperature_degC : float
        Temperature at which the powder and the water met, degC. Valid 0 to 50.

    Returns
    -------
    float
        Solubility, g per litre of solution. Falls as the temperature rises.

    Raises
    ------
    OutsideValidity
        Outside the range of the tables.

    Notes
    -----
    Source: anchor [BBS56] 0.0203 mol/L at 25 degC, temperature shape [PERRY] (from memory).
    Interval: see `solubility_interval_g_per_L`.
    """
    check_between("solubility_BBS56_PERRY", "temperature_degC", temperature_degC, 0.0, 50.0)
    difference = temperature_degC - _REFERENCE_DEGC
    return _SATURATION_25C_G_PER_L * (
        1.0 + _SLOPE_PER_DEGC * difference + _CURVATURE_PER_DEGC2 * difference * difference
    )


def solubility_interval_g_per_L(temperature_degC: float) -> tuple[float, float]:
    """Low and high end of the solubility, g/L: minus 3 and plus 10 percent."""
    middle = solubility_g_per_L(temperature_degC)
    return middle * SOLUBILITY_LOW_FACTOR, middle * SOLUBILITY_HIGH_FACTOR


def saturated_alkalinity_meq_per_L(temperature_degC: float) -> float:
    """Alkalinity of saturated limewater, meq/L (see `solubility_g_per_L` for range, source)."""
    return solubility_g_per_L(temperature_degC) * MEQ_PER_GRAM_CALCIUM_HYDROXIDE


def saturated_calcium_mg_per_L(temperature_degC: float) -> float:
    """Calcium of saturated limewater, mg/L (see `solubility_g_per_L` for range and source)."""
    return saturated_alkalinity_meq_per_L(temperature_degC) * CALCIUM_MG_PER_MEQ


def saturated_pH(temperature_degC: float) -> float:
    """Activity-scale pH of limewater saturated at its own temperature.

    Parameters
    ----------
    temperature_degC : float
        Solution temperature, degC. Valid 0 to 50.

    Returns
    -------
    float
        pH. A poor gauge of strength: half the strength costs only about 0.28, one degree 0.036.

    Notes
    -----
    Source: our cubic through values computed with PHREEQC 3.8.6, pitzer.dat and the Thermoddem
    constant of portlandite [COMP26]; within 0.0005 of them. [BBS56] states 12.45 at 25 degC.
    """
    check_between("saturated_pH_COMP26", "temperature_degC", temperature_degC, 0.0, 50.0)
    difference = temperature_degC - _REFERENCE_DEGC
    return 12.4641 + difference * (-3.6498e-2 + difference * (1.4233e-4 - 4.864e-7 * difference))


def fraction_of_saturation(conductivity_ratio: float) -> float:
    """Strength as a share of saturation from conductivity relative to one's own saturated sample.

    Parameters
    ----------
    conductivity_ratio : float
        Conductivity of the sample over that of limewater saturated at the same temperature,
        same meter. Valid 0.05 to 1.07.

    Returns
    -------
    float
        Share of saturation. Smaller than the ratio: conductance per equivalent falls as the
        concentration rises. Model uncertainty +-0.03 (`FRACTION_OF_SATURATION_ERROR`).

    Raises
    ------
    OutsideValidity
        Outside the fit. Far above 1 the comparison sample was not saturated.

    Notes
    -----
    Source: PHREEQC 3.8.6, phreeqc.dat [COMP26]. For samples at different temperatures see
    `engine.chemistry.strength_checks.strength_from_conductivity`.
    """
    low, high = CONDUCTIVITY_RATIO_RANGE
    check_between("fraction_COMP26", "conductivity_ratio", conductivity_ratio, low, high)
    return conductivity_ratio * (1.0 - _RATIO_CURVATURE * (1.0 - conductivity_ratio))


def pure_powder_g(powder_g: float, *, assay: float, moisture: float = 0.0) -> float:
    """Calcium hydroxide in a mass of powder as weighed, g.

    Parameters
    ----------
    powder_g : float
        Powder as weighed, g.
    assay : float
        Mass of Ca(OH)2 per mass of dry powder, 0 to 1.005.
    moisture : float
        Mass of water per mass of powder as weighed, 0 to 1.
    """
    check_not_negative("powder_g", powder_g, "g")
    check_between("powder", "assay", assay, *ASSAY_RANGE)
    check_between("powder", "moisture", moisture, 0.0, 1.0)
    return powder_g * assay * (1.0 - moisture)


def mix(
    *,
    powder_g: float,
    water_L: float,
    temperature_degC: float,
    assay: float,
    moisture: float = 0.0,
    water_bicarbonate_meq_per_L: float = 0.0,
    water_co2_mg_per_L: float = 0.0,
) -> Limewater:
    """Settled limewater from powder and fresh water.

    Parameters
    ----------
    powder_g, assay, moisture : float
        As in `pure_powder_g`.
    water_L : float
        Fresh water, L; the volume of the solution is taken as equal (0.2 % at saturation).
    temperature_degC : float
        Temperature of the water, degC.
    water_bicarbonate_meq_per_L : float
        Bicarbonate of the fresh water: each milliequivalent binds one of hydroxide.
    water_co2_mg_per_L : float
        Dissolved carbon dioxide of the fresh water: each millimole binds two.

    Returns
    -------
    Limewater
        Strength, regime, and what lies at the bottom.
    """
    check_positive("water_L", water_L, "L")
    check_not_negative("water_bicarbonate_meq_per_L", water_bicarbonate_meq_per_L, "meq/L")
    check_not_negative("water_co2_mg_per_L", water_co2_mg_per_L, "mg/L")
    pure_g = pure_powder_g(powder_g, assay=assay, moisture=moisture)
    bound_meq = water_L * (
        water_bicarbonate_meq_per_L + 2.0 * water_co2_mg_per_L / MOLAR_MASS_CARBON_DIOXIDE
    )
    offered_meq = pure_g * MEQ_PER_GRAM_CALCIUM_HYDROXIDE
    bound_meq = min(bound_meq, offered_meq)
    available_meq = offered_meq - bound_meq
    capacity_meq = saturated_alkalinity_meq_per_L(temperature_degC) * water_L
    dissolved_meq = min(available_meq, capacity_meq)
    return Limewater(
        strength_meq_per_L=dissolved_meq / water_L,
        saturated=available_meq >= capacity_meq,
        undissolved_g=(available_meq - dissolved_meq) / MEQ_PER_GRAM_CALCIUM_HYDROXIDE,
        deposited_calcium_carbonate_meq=bound_meq,
    )
