"""Words of Today."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "water": "Where the water stands",
    "mind": "To mind",
    "next": "Next",
    "alkalinity": "Alkalinity {value}, tested {when}.",
    "expected": "Expected now: {low_meq_per_L} to {high_meq_per_L}.",
    "expected_unknown": "Where it stands now is not known: test it.",
    "last_pH_nbs": "pH {value}, {when}",
    "last_calcium": "Calcium {value}, {when}",
    "last_magnesium": "Magnesium {value}, {when}",
    "last_salinity": "Salinity {value}, {when}",
    "test_first": "Test alkalinity and record it. Two tests, some days apart, give a plan.",
    "test_due": "An alkalinity test is due: before the lights come on, at your usual hour.",
    "test_next": "Next alkalinity test: {day}.",
    "test_now": "Measure pH and alkalinity now, and record both.",
    "test_again": "Repeat the alkalinity test today.",
    "test_tomorrow": "Next alkalinity test: tomorrow, at your usual hour.",
    "test_daily": "Next alkalinity test: tomorrow, then every day.",
    "then": "Then: {steps}",
    # what leads before a number is believed
    "animals_first": "Look at the animals, temperature and salinity first.",
    "repeat_test": "Repeat the alkalinity test.",
    "untested": "Test alkalinity: the last test is {age_days} old.",
    "untested_until": "Test before the lights come on. Until then nothing is raised.",
    "not_enough": "No more limewater is allowed, and the tank needs more.",
    "leave_pump": "Leave the pump at {was_L_per_day}.",
    "leave_drip": "Leave the drip at {was_L_per_day}.",
    "leave_as_it_is": "Leave the limewater as it is.",
    "checked_right": "Limewater and pump were checked and are right.",
    "check_them": "Check the strength of the limewater and the pump, too.",
    "paused_hold": "Keep it off until the procedure is finished. What is missed is never made up.",
    "in_stages": 'The procedure "{procedure}" says when more is set. Go on with it.',
    "as_told": "It is set now: {what}",
    "second_part": "second source {value}",
    # nothing may be raised
    "lead_records_missing": "Entries may be missing. Measure pH and alkalinity before more lime.",
    "lead_parts_failed": (
        "A part of this could not be worked out. Measure pH and alkalinity before more lime."
    ),
    # the dose is right, the set-up is not
    "unsafe_nothing_to_do": "{was_L_per_day} is right. The set-up is not safe.",
    "unsafe_top_off_right": "The top-off gives the right amount. The set-up is not safe.",
    # a refusal that lowers what runs above a limit: the figure is a ceiling, no plan
    "ceiling_lower_pump": (
        "Lower the pump: no more than {setting_L_per_day} for now (was {was_L_per_day})."
    ),
    "ceiling_lower_drip": (
        "Lower the drip: no more than {setting_L_per_day} for now (was {was_L_per_day})."
    ),
    "record_test": "Record an alkalinity test",
    "to_plan": "Why, and the whole plan",
    "resume": "Go on: {procedure}",
}
