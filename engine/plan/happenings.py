"""What a happening changes: codes of `Happening.what` that the numbers listen to.

A happening of another code is a remark. How much each one unsettles is common practice, no source.
"""

from typing import Final

# Alkalinity may have jumped by an amount that is not on record.
POWER_CUT: Final = "power_cut"
SKIMMER_OVERFLOW: Final = "skimmer_overflow"
TOP_OFF_SLUG: Final = "top_off_slug"
LEVEL_JUMPS: Final = frozenset({POWER_CUT, SKIMMER_OVERFLOW, TOP_OFF_SLUG})

# What the animals take may be another from here on.
ANIMALS: Final = "animals"
LAMP: Final = "lamp"
FOOD: Final = "food"
HEAT: Final = "heat"
DEMAND_JUMPS: Final = frozenset({ANIMALS, LAMP, FOOD, HEAT})

# Evaporation may be another from here on.
COVER: Final = "cover"
FANS: Final = "fans"
HEATING: Final = "heating"
WINDOWS: Final = "windows"
EVAPORATION_JUMPS: Final = frozenset({COVER, FANS, HEATING, WINDOWS})

PUMP_STOPPED: Final = "pump_stopped"

HAPPENINGS: Final = (
    *sorted(LEVEL_JUMPS),
    *sorted(DEMAND_JUMPS),
    *sorted(EVAPORATION_JUMPS),
    PUMP_STOPPED,
)
