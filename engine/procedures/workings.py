"""The arithmetic of the guided procedures: plain numbers in, named numbers out.

Every result's name carries its unit; strengths are shares of saturation with a 90 % interval. A
number outside what a formula is valid for raises, and `engine.procedures.sums` then gives nothing.
"""

from math import floor, log10, sqrt
from typing import Final

from engine.chemistry.constants import DKH_PER_MEQ_PER_L
from engine.chemistry.salts import (
    CALCIUM_CHLORIDE_ANHYDROUS,
    CALCIUM_CHLORIDE_DIHYDRATE,
    CALCIUM_CHLORIDE_HEXAHYDRATE,
    SODIUM_BICARBONATE,
    SODIUM_CARBONATE,
    Compound,
)
from engine.chemistry.strength_checks import (
    strength_from_conductivity,
    strength_from_diluted_kit_meq_per_L,
    strength_from_titration_meq_per_L,
)
from engine.limewater import saturated_alkalinity_meq_per_L
from engine.stock.charge import lime_container_powder_g
from engine.vocabulary import Z90

Numbers = dict[str, float]

DILUTED_SAMPLE_ML: Final = 5.0
DILUTED_TO_ML: Final = 100.0
TITRATED_SAMPLE_ML: Final = 100.0
ACID_NORMALITY_EQ_PER_L: Final = 0.1
# Half-width of the 90 % interval of a strength check, of saturation: see engine.demand.strength.
_METER_SHARE: Final = 0.05
_KIT_SHARE: Final = 0.08
# What follows is common practice or an estimate, no source.
LARGEST_RESERVOIR_FACTOR: Final = 1.1  # of the powder worked out
TWO_PART_MEQ_PER_ML: Final = 1.0  # both parts stay dissolved at room temperature
CITRIC_ACID_G_PER_L: Final = 50.0
DROP_ML: Final = 0.05  # 1 drop a second is about 3 mL a minute
NIGHT_MINUTES: Final = 600.0
AWAY_RESERVE: Final = 1.3
NET_SHARE_OF_GLASS: Final = 0.85
GLASS_ERROR_SHARE: Final = 0.10
FILL_ERROR_SHARE: Final = 0.03
# One standard deviation of a mean of three readings of one meter against itself.
SALINITY_ERROR_PSU: Final = 0.05


def pump_runs(expected: float, run_1: float, run_2: float, run_3: float) -> Numbers:
    """Return mean, spread and share of three runs of a pump."""
    runs = (run_1, run_2, run_3)
    mean = sum(runs) / len(runs)
    return {
        "mean_mL": mean,
        "spread_share": (max(runs) - min(runs)) / mean,
        "pump_share": mean / expected,
        "pump_off_share": abs(mean / expected - 1.0),
    }


def pump_trend(share: float, first_share: float) -> Numbers:
    """Return what a tube has lost since its first check."""
    return {"wear_share": 1.0 - share / first_share}


def _weighable(grams: float) -> float:
    """Return grams at three significant digits, rounded toward less."""
    if grams <= 0.0:
        return 0.0
    scale = 10.0 ** (2 - floor(log10(grams)))
    return floor(grams * scale + 1e-9) / scale


def _strength(share: float, error: float) -> Numbers:
    return {
        "strength_share": share,
        "strength_low_share": max(share - error, 0.0),
        "strength_high_share": share + error,
    }


def saturated_dilution(stand_degC: float) -> Numbers:
    """Return what saturated limewater reads once 5 mL are made up to 100 mL."""
    diluted = saturated_alkalinity_meq_per_L(stand_degC) * DILUTED_SAMPLE_ML / DILUTED_TO_ML
    return {"saturated_dilution_meq_per_L": diluted, "half_dilution_meq_per_L": diluted / 2.0}


def dilution_strength(diluted_meq_per_L: float, stand_degC: float) -> Numbers:
    """Return the strength by a diluted kit test."""
    strength = strength_from_diluted_kit_meq_per_L(
        sample_mL=DILUTED_SAMPLE_ML,
        diluted_to_mL=DILUTED_TO_ML,
        reading_dKH=diluted_meq_per_L * DKH_PER_MEQ_PER_L,
    )
    return _strength(strength / saturated_alkalinity_meq_per_L(stand_degC), _KIT_SHARE)


def saturated_titration(stand_degC: float) -> Numbers:
    """Return the acid that 100 mL of saturated limewater take."""
    strength = saturated_alkalinity_meq_per_L(stand_degC)
    acid_mL = strength * TITRATED_SAMPLE_ML / (ACID_NORMALITY_EQ_PER_L * 1000.0)
    return {"saturated_acid_mL": acid_mL}


def titration_strength(acid_mL: float, stand_degC: float) -> Numbers:
    """Return the strength by the acid that 100 mL took."""
    strength = strength_from_titration_meq_per_L(
        sample_mL=TITRATED_SAMPLE_ML,
        acid_mL=acid_mL,
        acid_normality_eq_per_L=ACID_NORMALITY_EQ_PER_L,
    )
    return _strength(strength / saturated_alkalinity_meq_per_L(stand_degC), _METER_SHARE)


def conductivity_strength(reading: float, own: float, stand_degC: float) -> Numbers:
    """Both samples at one temperature and on one meter, so that its compensation drops out."""
    found = strength_from_conductivity(
        reading_mS_per_cm=reading,
        temperature_degC=stand_degC,
        own_saturated_mS_per_cm=own,
        own_saturated_temperature_degC=stand_degC,
    )
    return {
        **_strength(found.fraction_of_saturation, _METER_SHARE),
        "own_off_share": abs(found.cell_scale - 1.0),
    }


def reservoir_powder(water_L: float, degC: float, assay: float, share: float) -> Numbers:
    """Return the powder for the litres of a lime container."""
    powder = lime_container_powder_g(
        water_L, temperature_degC=degC, assay=assay, share_of_saturation=share
    )
    return {
        "reservoir_powder_g": _weighable(powder),
        "largest_reservoir_powder_g": powder * LARGEST_RESERVOIR_FACTOR,
    }


def _grams(compound: Compound, litres: float, assay: float) -> float:
    """Return the salt for so many litres at the strength of the two parts, g."""
    mmol = litres * 1000.0 * TWO_PART_MEQ_PER_ML
    per_mol = compound.alkalinity_eq_per_mol or 2.0 * compound.calcium_mol_per_mol
    return _weighable(mmol / 1000.0 * compound.molar_mass_g_per_mol / per_mol / assay)


def alkalinity_part(part_L: float, assay: float) -> Numbers:
    """Return the salt for the alkalinity part of a two-part."""
    return {
        "bicarbonate_g": _grams(SODIUM_BICARBONATE, part_L, assay),
        "carbonate_g": _grams(SODIUM_CARBONATE, part_L, assay),
    }


def calcium_part(part_L: float, assay: float) -> Numbers:
    """Return the salt for the calcium part, by its hydrate."""
    return {
        "chloride_anhydrous_g": _grams(CALCIUM_CHLORIDE_ANHYDROUS, part_L, assay),
        "chloride_dihydrate_g": _grams(CALCIUM_CHLORIDE_DIHYDRATE, part_L, assay),
        "chloride_hexahydrate_g": _grams(CALCIUM_CHLORIDE_HEXAHYDRATE, part_L, assay),
        "two_part_meq_per_mL": TWO_PART_MEQ_PER_ML,
    }


def drip_wanted(drip_L: float) -> Numbers:
    """Return the drops a minute that empty a container in a night."""
    return {"drops_wanted_count": float(floor(drip_L * 1000.0 / NIGHT_MINUTES / DROP_ML))}


def drip_first(drops: float, drip_L: float) -> Numbers:
    """Return the rate of a drip and how long its container lasts."""
    rate = drops * DROP_ML
    return {"drip_mL_per_min": rate, "drip_hours": drip_L * 1000.0 / rate / 60.0}


def drip_later(first: float, later: float) -> Numbers:
    """Return how far a drip has changed."""
    return {"drip_change_share": abs(later / first - 1.0)}


def away_water(days: float, evaporation_L_per_day: float) -> Numbers:
    """Return the plain water for the days away."""
    return {"away_water_L": evaporation_L_per_day * days * AWAY_RESERVE}


def hours_a_day(limewater_L_per_day: float, evaporation_high_L_per_day: float) -> float:
    """Return the hours of a day that a top-off may run through the vessel, at most all of them.

    By the most that evaporates, so that no day brings more limewater than is wanted.
    """
    return min(24.0, floor(24.0 * limewater_L_per_day / evaporation_high_L_per_day + 1e-9))


def _volume(litres: float, error: float) -> Numbers:
    return {
        "found_volume_L": litres,
        "found_error_share": error,
        "found_low_L": litres * (1.0 - error),
        "found_high_L": litres * (1.0 + error),
    }


def volume_from_change(removed_L: float, before_PSU: float, after_PSU: float) -> Numbers:
    """Tank water of one salinity out, as much fresh water in: the fall tells the volume."""
    fall = before_PSU - after_PSU
    if fall <= 0.0:
        return {}
    error = sqrt(2.0) * Z90 * SALINITY_ERROR_PSU / fall
    return _volume(removed_L * before_PSU / fall, error)


def pump_rate(share: float, rate_L_per_h: float) -> Numbers:
    """Return what the pump really gives, of a rate in Setup."""
    return {"new_rate_L_per_h": share * rate_L_per_h}


def ten_minutes(volume_mL: float) -> Numbers:
    """Return the rate from what came in ten minutes."""
    return {"found_rate_L_per_h": volume_mL * 6.0 / 1000.0}


def citric_acid(water_L: float) -> Numbers:
    """Return citric acid for descaling, g."""
    return {"citric_g": water_L * CITRIC_ACID_G_PER_L}


def volume_from_glass(glass_L: float, sump_L: float) -> Numbers:
    """Return the net volume from glass and sump, less rock and sand."""
    return _volume(NET_SHARE_OF_GLASS * (glass_L + sump_L), GLASS_ERROR_SHARE)


def volume_from_fill(counted_L: float) -> Numbers:
    """Return the net volume counted at filling."""
    return _volume(counted_L, FILL_ERROR_SHARE)


def volume_against_setup(
    found_L: float, found_share: float, setup_L: float, setup_share: float
) -> Numbers:
    """Compare a found volume with the one in Setup.

    By how much it is less sure (below 0: surer), and how far the two lie apart, as a share of
    what both errors together allow.
    """
    allowed_L = sqrt((found_share * found_L) ** 2 + (setup_share * setup_L) ** 2)
    return {
        "found_wider_share": found_share - setup_share,
        "found_apart_share": abs(found_L - setup_L) / allowed_L,
    }


def probe_error(in_pH_7: float, in_pH_10: float) -> Numbers:
    """Return how far a pH probe is off in the worse of two buffers, without and with its sign."""
    off = max(in_pH_7 - 7.0, in_pH_10 - 10.0, key=abs)
    return {"probe_error_pH": abs(off), "probe_off_pH": off}


def meter_error(standard: float, reading: float) -> Numbers:
    """Return how far a meter is off in a standard, as a share of it, without and with its sign."""
    off = reading / standard - 1.0
    return {"meter_off_share": abs(off), "meter_signed_share": off}


def reagent_error(reference: float, reading: float) -> Numbers:
    """Return how far a kit is off on a reference, as a share of it, without and with its sign."""
    off = reading / reference - 1.0
    return {"reagent_off_share": abs(off), "reagent_signed_share": off}
