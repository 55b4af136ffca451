"""Sentences of one-off additions: one for each code of engine.plan.additions.AdditionCode."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "add_nothing": "Nothing to add: every value is at its target or above it.",
    "add_order": ("Magnesium first, then calcium, alkalinity last: never two of them on one day."),
    "add_apart": (
        "Dissolve it in fresh water and pour it slowly into strong flow. "
        "Keep it {apart_hours} and a spot away from any limewater."
    ),
    "add_retest": (
        "Test again {retest_hours} after each part. Go on only if the value rose as expected."
    ),
    "add_total_alkalinity": "Alkalinity: {each_g} a day on {day_count} days.",
    "add_total_calcium": "Calcium: {each_g} a day on {day_count} days.",
    "add_total_magnesium": "Magnesium: {each_g} a day on {day_count} days.",
    "add_sulfate": "It also brings {sulfate_mg_per_L} of sulfate; water changes take it out again.",
    "add_wrong_salt": "Nothing is computed: this salt does not bring what you want to raise.",
    "add_no_lime": (
        "Nothing is computed: never pour lime powder or slurry into a tank. Use bicarbonate."
    ),
    "add_starved": (
        "Alkalinity is only {level_meq_per_L}. Raise it with bicarbonate, not with a stronger base."
    ),
    "add_pH_too_high": (
        "Carbonate lifts pH: use it only with a recorded pH below {below_pH}. Take bicarbonate."
    ),
    "add_incident": (
        "Nothing is computed while an overdose runs: no second chemical. Follow the card."
    ),
    "add_alarm": (
        "Nothing is computed while pH or alkalinity keeps limewater off. Let it come down first."
    ),
    "add_salinity_first": (
        "Salinity is {salinity_PSU}. Put it right first: at 35 PSU your {now_mg_per_L} "
        "would read {corrected_mg_per_L}."
    ),
}
