"""Words of Plan."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "no_setup": "Set up the system first.",
    "dose_title": "Limewater by plan",
    "set_title": "Limewater, to set",
    "set_about": "The plan is {planned} delivered. {doses}",
    "keep_title": "Limewater, kept as it is set",
    "keep_about": (
        "It delivers {delivered}. The plan is {planned} delivered: too little apart to touch anything."
    ),
    "is_set": "Limewater is set to {set}; that delivers {delivered}.",
    "doses": "{doses} of {dose}, spread over the day.",
    "demand_tests": (
        "About {best_meq_per_L_per_day} ({x_meq_per_day}); nine times in ten "
        "{low_meq_per_L_per_day} to {high_meq_per_L_per_day}. From {test_count} tests."
    ),
    "demand_entered": (
        "Entered, not measured: {best_meq_per_L_per_day} ({x_meq_per_day}), taken as "
        "{low_meq_per_L_per_day} to {high_meq_per_L_per_day}. Two tests replace it."
    ),
    "mind_title": "To mind",
    "rest_title": "The rest",
    "rest_kept": "Second source, kept as it is set: {value}. By the numbers:",
    "stop_title": "If limewater stopped",
    "setting_title": "What is set now",
    "caps_title": "What holds the dose down",
    "caps_about": "Litres delivered. No dose passes any of these. The first one is the tightest.",
    "binds": "holds the dose",
    "why_title": "Why",
    "why_show": "Show every reason and number",
    "why_hide": "Hide the reasons",
    "powder_title": "Powder",
    "cap_evaporation": "Evaporation",
    "cap_net_rise": "Rise of alkalinity by plan",
    "cap_stopped_rise": "Rise if the corals stopped feeding",
    "cap_keeper": "Your own ceiling",
    "cap_pump_range": "What the pump can give",
    "cap_vessel_surge": "One dose through the vessel",
    "cap_dose_pH": "pH rise of one dose",
    "cap_day_pH": "The day's highest pH",
    "cap_suspect": "No raise on a doubtful test",
    "cap_weekly_rise": "Raise of the setting in a week",
    "cap_restart": "Half dose after an overdose",
    "cap_untested": "No raise without a fresh test",
}
