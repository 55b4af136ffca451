"""Words of the page that measures how fast the air works; one sentence for each ExchangeCode."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "title": "How fast the air works",
    "about": "After a dose pH falls back, as air takes part. How fast is your tank's own.",
    "step_1": "1. In the dark, an hour after the last dose: record pH and alkalinity.",
    "step_2": "2. Leave the limewater off and the lamps dark for 4 to 12 hours. Only when that is safe.",
    "step_3": "3. Record pH and alkalinity again, then come back here.",
    "record_pH": "Record pH",
    "record_alkalinity": "Record alkalinity",
    "record_room": "Record the room's CO₂",
    "none": "There are not two readings of each yet, 2 to 14 h apart.",
    "before": "First: pH {pH} and {alkalinity}, {when}.",
    "after": "Then: pH {pH} and {alkalinity}, {when}.",
    "sure_ask": "Were limewater and lamps off all the time between?",
    "sure_yes": "Yes, both off",
    "sure_no": "No",
    "not_off": "Then this pair tells nothing. Take another one with both off.",
    "use": "Use {rate} a day",
    "saved_as": "from two readings",
    "back": "Back to pH and air",
    "air_found": (
        "Between {low_times} and {high_times} a day. {rate_times} a day is on the safe side."
    ),
    "air_room_assumed": (
        "The room's CO₂ was never measured: 500 to 800 ppm is assumed. Measured, it is surer."
    ),
    "air_too_soon": "Only {apart_hours} apart. Wait at least {least_hours}.",
    "air_too_late": "They are {apart_hours} apart: too long. At most {most_hours}.",
    "air_too_little": (
        "pH moved by only {change_pH}, and {least_pH} is needed. "
        "Wait longer, or begin at a higher pH."
    ),
    "air_alkalinity_rose": (
        "Alkalinity rose by {rise_meq_per_L} between them: something was dosed. "
        "Take another pair with all dosing off."
    ),
    "air_not_explained": (
        "No rate is given: this change is too small to tell air from breathing animals, "
        "or went the wrong way. Begin right after a dose."
    ),
    "air_too_unsure": (
        "No rate is given: it could be {low_times} to {high_times} a day. "
        "Begin at a higher pH, and measure the room's CO₂."
    ),
}
