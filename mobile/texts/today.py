"""Words of Today."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "water": "Where the water stands",
    "mind": "To mind",
    "next": "Next",
    "alkalinity": "Alkalinity {value}, tested {when}.",
    "expected": "Expected now: {low} to {high}.",
    "expected_unknown": "Where it stands now is not known: test it.",
    "last_pH_nbs": "pH {value}, {when}",
    "last_calcium": "Calcium {value}, {when}",
    "last_magnesium": "Magnesium {value}, {when}",
    "last_salinity": "Salinity {value}, {when}",
    "test_first": "Test alkalinity and record it. Two tests, some days apart, give a plan.",
    "test_due": "An alkalinity test is due: before the lights come on, at your usual hour.",
    "test_next": "Next alkalinity test: {day}.",
    "last_refill": "Last refill {when}.",
    "paused_hold": "Keep it off until the procedure is finished. What is missed is never made up.",
    "as_told": "It is set now: {what}",
    "second_part": "second source {value}",
    "record_test": "Record an alkalinity test",
    "to_plan": "Why, and the whole plan",
    "resume": "Go on: {procedure}",
}
