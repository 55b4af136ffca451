"""What a guided procedure works out on the way, from its facts and the numbers entered so far.

Each sum names the facts that it needs and those that it gives. A sum whose needs are not all
known, or that lies outside what its formula is valid for, gives nothing: nothing is judged then.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Final

from engine.errors import InvalidQuantity, OutsideValidity
from engine.procedures import workings as works

Facts = Mapping[str, float | str]


@dataclass(frozen=True, slots=True)
class Computation:
    """A sum: the facts it needs, in order, and the facts it gives."""

    needs: tuple[str, ...]
    gives: tuple[str, ...]
    work: Callable[..., dict[str, float]]


def with_sums(codes: Iterable[str], facts: Facts) -> dict[str, float | str]:
    """Return the facts with what the sums make of them; later sums may use earlier ones."""
    known: dict[str, float | str] = dict(facts)
    for code in codes:
        computation = COMPUTED[code]
        needed = [known.get(key) for key in computation.needs]
        numbers = [n for n in needed if isinstance(n, float | int) and isfinite(n)]
        if len(numbers) < len(needed):
            continue
        try:
            found = computation.work(*numbers)
        except (InvalidQuantity, OutsideValidity, ZeroDivisionError):
            continue
        known |= {key: value for key, value in found.items() if isfinite(value)}
    return known


def _hours(litres: str, gives: str) -> Computation:
    """Return the sum of the hours a day that a top-off runs through the vessel for so much."""

    def work(wanted_L_per_day: float, most_L_per_day: float) -> dict[str, float]:
        return {gives: works.hours_a_day(wanted_L_per_day, most_L_per_day)}

    return Computation((litres, "evaporation_high_L_per_day"), (gives,), work)


COMPUTED: Final[Mapping[str, Computation]] = {
    "pump_runs": Computation(
        ("expected_mL", "run_1_mL", "run_2_mL", "run_3_mL"),
        ("mean_mL", "spread_share", "pump_share", "pump_off_share"),
        works.pump_runs,
    ),
    "pump_rate": Computation(
        ("pump_share", "pump_L_per_h"),
        ("new_rate_L_per_h",),
        works.pump_rate,
    ),
    "pump_trend": Computation(
        ("pump_share", "first_pump_share"), ("wear_share",), works.pump_trend
    ),
    "ten_minutes": Computation(
        ("ten_minutes_mL",),
        ("found_rate_L_per_h",),
        works.ten_minutes,
    ),
    "saturated_dilution": Computation(
        ("stand_degC",),
        ("saturated_dilution_meq_per_L", "half_dilution_meq_per_L"),
        works.saturated_dilution,
    ),
    "dilution_strength": Computation(
        ("diluted_meq_per_L", "stand_degC"),
        ("strength_share", "strength_low_share", "strength_high_share"),
        works.dilution_strength,
    ),
    "saturated_titration": Computation(
        ("stand_degC",), ("saturated_acid_mL",), works.saturated_titration
    ),
    "titration_strength": Computation(
        ("acid_mL", "stand_degC"),
        ("strength_share", "strength_low_share", "strength_high_share"),
        works.titration_strength,
    ),
    "conductivity_strength": Computation(
        ("reading_mS_per_cm", "own_saturated_mS_per_cm", "stand_degC"),
        ("strength_share", "strength_low_share", "strength_high_share", "own_off_share"),
        works.conductivity_strength,
    ),
    "reservoir_powder": Computation(
        ("water_L", "stand_degC", "assay_share", "mix_share"),
        ("reservoir_powder_g", "largest_reservoir_powder_g"),
        works.reservoir_powder,
    ),
    "alkalinity_part": Computation(
        ("part_L", "alkalinity_assay_share"),
        ("bicarbonate_g", "carbonate_g"),
        works.alkalinity_part,
    ),
    "calcium_part": Computation(
        ("part_L", "calcium_assay_share"),
        (
            "chloride_anhydrous_g",
            "chloride_dihydrate_g",
            "chloride_hexahydrate_g",
            "two_part_meq_per_mL",
        ),
        works.calcium_part,
    ),
    "citric_acid": Computation(("acid_water_L",), ("citric_g",), works.citric_acid),
    "drip_wanted": Computation(("drip_L",), ("drops_wanted_count",), works.drip_wanted),
    "drip_first": Computation(
        ("drops_1_count", "drip_L"), ("drip_mL_per_min", "drip_hours"), works.drip_first
    ),
    "drip_later": Computation(
        ("drops_1_count", "drops_2_count"), ("drip_change_share",), works.drip_later
    ),
    "away_water": Computation(
        ("away_days", "evaporation_high_L_per_day"), ("away_water_L",), works.away_water
    ),
    "half_hours": _hours("half_plan_L_per_day", "half_hours"),
    "three_quarter_hours": _hours("three_quarter_plan_L_per_day", "three_quarter_hours"),
    "full_hours": _hours("plan_L_per_day", "full_hours"),
    "volume_from_change": Computation(
        ("removed_L", "salinity_before_PSU", "salinity_after_PSU"),
        ("found_volume_L", "found_error_share", "found_low_L", "found_high_L"),
        works.volume_from_change,
    ),
    "volume_from_glass": Computation(
        ("glass_L", "sump_L"),
        ("found_volume_L", "found_error_share", "found_low_L", "found_high_L"),
        works.volume_from_glass,
    ),
    "volume_from_fill": Computation(
        ("counted_L",),
        ("found_volume_L", "found_error_share", "found_low_L", "found_high_L"),
        works.volume_from_fill,
    ),
    "volume_against_setup": Computation(
        ("found_volume_L", "found_error_share", "net_volume_L", "volume_error_share"),
        ("found_wider_share", "found_apart_share"),
        works.volume_against_setup,
    ),
    "probe_error": Computation(
        ("buffer_1_pH", "buffer_2_pH"),
        ("probe_error_pH", "probe_off_pH"),
        works.probe_error,
    ),
    "meter_error": Computation(
        ("standard_mS_per_cm", "standard_reading_mS_per_cm"),
        ("meter_off_share", "meter_signed_share"),
        works.meter_error,
    ),
    "reagent_error": Computation(
        ("reference_meq_per_L", "reference_reading_meq_per_L"),
        ("reagent_off_share", "reagent_signed_share"),
        works.reagent_error,
    ),
}
