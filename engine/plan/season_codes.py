"""What can be said of water and season, as codes; sentences stand in mobile/texts/season.py."""

from enum import StrEnum

from engine.reasons import Reason


class SeasonCode(StrEnum):
    """Every reason of engine/plan/water_balance.py and engine/plan/season.py."""

    WATER_UNKNOWN = "water_unknown"
    WATER_BALANCED = "water_balanced"
    WATER_EXCESS = "water_excess"
    WATER_OVERFLOW = "water_overflow"
    WATER_ROOM_UNSET = "water_room_unset"
    SALINITY_ASSUMED = "salinity_assumed"
    SALINITY_HOLDS = "salinity_holds"
    SALINITY_FALLS_TO = "salinity_falls_to"
    SALINITY_MAY_FALL = "salinity_may_fall"
    SALINITY_RISES_TO = "salinity_rises_to"
    SALINITY_FALLS_PERHAPS = "salinity_falls_perhaps"  # it may be past the end already
    SALINITY_RISES_PERHAPS = "salinity_rises_perhaps"
    SALINITY_OUTSIDE = "salinity_outside"
    TWO_PART_SALT = "two_part_salt"
    SKIMMATE_LOSS = "skimmate_loss"

    SEASON_UNKNOWN = "season_unknown"
    SEASON_MEASURED = "season_measured"
    SEASON_OWN_MONTHS = "season_own_months"
    SEASON_OWN_MONTHS_SCALED = "season_own_months_scaled"
    SEASON_NO_PLAN = "season_no_plan"
    SEASON_SHORT = "season_short"
    SEASON_SHORT_ALONE = "season_short_alone"
    SEASON_COVERED = "season_covered"
    RETUNE_EVAPORATION = "retune_evaporation"
    RETUNE_ALKALINITY = "retune_alkalinity"
    RETUNE_NONE = "retune_none"


def season_reason(code: SeasonCode, **numbers: float | str) -> Reason:
    """Return a reason; each keyword's name carries its unit."""
    return Reason(code, numbers)
