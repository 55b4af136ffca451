"""Sentences of the diagnosis: what is seen, what may be behind it, what would settle it."""

from typing import Final

LIKELIHOOD: Final[dict[str, str]] = {
    "likely": "Likely",
    "possible": "Possible",
    "unlikely": "Less likely",
}

TEXTS: Final[dict[str, str]] = {
    # --- what is seen
    "finding_steady": "Alkalinity and pH run as expected.",
    "finding_falls": (
        "Alkalinity falls by {net_low_meq_per_L_per_day} to {net_high_meq_per_L_per_day} "
        "on what is given now."
    ),
    "finding_rises": (
        "Alkalinity rises by {net_low_meq_per_L_per_day} to {net_high_meq_per_L_per_day} "
        "on what is given now."
    ),
    "finding_runs_low": "The last tests ran lower than expected.",
    "finding_runs_high": "The last tests ran higher than expected.",
    "finding_pH_high": "pH reached {highest_pH}, higher than it should.",
    "finding_pH_low": "pH came no higher than {highest_pH}.",
    "finding_no_demand": "Without a demand from tests there is nothing to compare with.",
    "finding_look_at_animals": (
        "Look at the animals first: closed polyps, pale tips, slime. Then cut the dose."
    ),
    # --- what may be behind it
    "cause_weak_lime": (
        "The limewater is {strength_share} of saturated: {missing_meq_per_day} is missing."
    ),
    "cause_weak_lime_unchecked": (
        "The lime may be spent or turned to carbonate; white is not strong. "
        "At full strength it brings {full_meq_per_day}."
    ),
    "cause_pump_worn": "The pump gives {pump_share} of its setting: {missing_meq_per_day} is missing.",
    "cause_pump_unchecked": (
        "The pump was not measured lately: "
        "its tube may give less or more than the {set_L_per_day} set."
    ),
    "cause_pump_stopped": (
        "The lime may have stopped: empty container, blocked tip, clock, plug. "
        "It gave {lime_meq_per_day}."
    ),
    "cause_pump_gives_more": (
        "The pump gives {pump_share} of its setting: {more_meq_per_day} too much. A new tube?"
    ),
    "cause_demand_up": "The animals take more, by about {drift_meq_per_day}.",
    "cause_demand_down": "The animals take less, by about {drift_meq_per_day}.",
    "cause_evaporation_down": (
        "Less evaporates than the {limewater_L_per_day} reckoned with, so the top-off brings less lime."
    ),
    "cause_evaporation_up": (
        "More evaporates than the {limewater_L_per_day} reckoned with, so the top-off brings more lime."
    ),
    "cause_second_source_off": "The second source may have stopped: it gave {second_meq_per_day}.",
    "cause_second_source_more": "The second source may give more than {second_meq_per_day}.",
    "cause_recharged": (
        "The lime was renewed {age_days} ago: {more_meq_per_day} more than before on one setting."
    ),
    "cause_slug": (
        "A slug of limewater: skimmer overflow, restart after a power cut, stuck top-off. "
        "Each litre brings {litre_meq}."
    ),
    "cause_reagent": (
        "The test itself: reagent, tester, hour. These tests scatter by {error_meq_per_L}."
    ),
    "cause_salinity": (
        "Salinity moved by {change_PSU}, and alkalinity goes with it: {moved_meq_per_day}."
    ),
    "cause_nitrate": (
        "Nitrate rose by {rise_mg_per_L}, which takes alkalinity: {taken_meq_per_day}."
    ),
    "cause_nitrate_untested": (
        "Rising nitrate takes alkalinity, {ten_meq_per_L} for each 10 mg/L; it was not tested."
    ),
    "cause_room_unmeasured": "The room's air: people and closed windows lower pH, open ones lift it.",
    "cause_room_co2_high": "The room has {room_ppm} of carbon dioxide, which holds pH low.",
    "cause_room_co2_low": "The room has {room_ppm} of carbon dioxide, which lets pH rise.",
    "cause_lime_stopped": "Limewater went from {was_L_per_day} to {now_L_per_day}; pH follows.",
    "cause_probe": "The probe may be off.",
    # --- what would settle it
    "measure_strength": "Check the limewater's strength: 10 minutes.",
    "measure_pump": "Measure the pump into a cylinder at the tank end: 10 minutes.",
    "measure_look": "Look: does limewater drip, does the stirrer turn, is there fresh water?",
    "measure_same_hour": "Test alkalinity at the same hour for three days.",
    "measure_refills": "Record two refills to the mark.",
    "measure_second_source": "Measure what the second source gives in a day.",
    "measure_reference": "Test a reference solution, or the same water with another bottle.",
    "measure_salinity": "Measure salinity with a checked meter.",
    "measure_nitrate": "Test nitrate.",
    "measure_window": "Open the windows for two hours and watch pH.",
    "measure_window_shut": "Are windows open? Close them for two hours and watch pH.",
    "measure_probe": "Calibrate the probe in two buffers.",
}
