"""Sentences of the day's doses: one for each code of engine.plan.schedule_codes.ScheduleCode."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "schedule_no_plan": "There is no dose to spread over the day.",
    "schedule_top_off": "The top-off gives limewater whenever water has evaporated.",
    "schedule_even": "{dose_count} doses of {dose_mL}, one every {every_hours}, day and night.",
    "schedule_at_night": "{dose_count} doses of {dose_mL}, one every {every_hours} in the dark.",
    "schedule_drip_night": "One container, dripped over {drip_hours} of the night.",
    "schedule_drip_rate": (
        "{drip_mL_per_min}, about {drop_count} drops a minute. Count again after 10 minutes."
    ),
    "schedule_run_time": "The pump runs {run_s} for each dose.",
    "schedule_stirrer_rest": "Let the stirrer rest {rest_hours} before each dose.",
    "schedule_dose_rise": "One dose lifts pH by {rise_pH} at most.",
    "schedule_lights_unset": "Enter when the lights go on and off to see the day's pH.",
    "schedule_curve_impossible": (
        "The day's pH cannot be told: the lime takes more carbon than air and animals bring. "
        "Measure pH at lights-off and hold the dose."
    ),
    "schedule_highest_pH": "The day's highest pH: {before_pH} as set now, {after_pH} by plan.",
    "schedule_from_recorded_pH": "Fitted to the highest pH of this week, {highest_pH}.",
    "schedule_from_room": "Reckoned with {room_ppm} of carbon dioxide in the room.",
    "schedule_air_assumed": (
        "The room's carbon dioxide is assumed. Record pH at lights-off, and the curve follows it."
    ),
    "schedule_exchange_assumed": (
        "How fast your tank breathes is assumed; the curve shows the shape, not the digits."
    ),
}
