"""Sentences of water and season: one for each code of engine.plan.season_codes.SeasonCode."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # --- level and salinity
    "water_unknown": "Evaporation is not known, so level and salinity cannot be told.",
    "water_balanced": (
        "The level holds: {limewater_L_per_day} of limewater, while "
        "{evaporation_low_L_per_day} to {evaporation_high_L_per_day} evaporates."
    ),
    "water_excess": (
        "{excess_low_L_per_day} to {excess_high_L_per_day} more comes in than evaporates: "
        "the sump rises."
    ),
    "water_overflow": "The sump is full in {overflow_low_days} to {overflow_high_days}.",
    "water_room_unset": "Enter how many litres the sump can still take, and the days are told.",
    "salinity_assumed": "Salinity was never recorded: {salinity_PSU} is assumed.",
    "salinity_holds": "Salinity holds at {salinity_PSU}.",
    "salinity_falls_to": (
        "Salinity falls by {change_PSU_per_day} and reaches {end_PSU} "
        "in {end_low_days} to {end_high_days}."
    ),
    "salinity_falls_perhaps": (
        "Salinity falls by {change_PSU_per_day}. It may be at {end_PSU} already, "
        "or take up to {end_high_days}. Test salinity first."
    ),
    "salinity_rises_perhaps": (
        "Salinity rises by {change_PSU_per_day}. It may be at {end_PSU} already, "
        "or take up to {end_high_days}. Test salinity first."
    ),
    "salinity_may_fall": (
        "Salinity may fall by up to {change_PSU_per_day}: {end_PSU} in {end_low_days} at the earliest."
    ),
    "salinity_rises_to": (
        "Salinity rises by {change_PSU_per_day} and reaches {end_PSU} "
        "in {end_low_days} to {end_high_days}."
    ),
    "salinity_outside": (
        "Salinity is {salinity_PSU}, beyond {end_PSU} already, and drifts further away."
    ),
    "two_part_salt": ("The two-part leaves salt: {yearly_PSU} in a year without water changes."),
    "skimmate_loss": (
        "{skimmate_L_per_day} of skimmate takes salt with it: {lost_PSU_per_day}. "
        "Make up for it with salt water."
    ),
    # --- the year
    "season_unknown": (
        "The year cannot be told yet. Enter in which month most and least evaporates, "
        "or record refills for half a year."
    ),
    "season_measured": "From refills over {span_days}.",
    "season_own_months": (
        "From the months and the range that you named. Refills of a week or more show their size."
    ),
    "season_own_months_scaled": (
        "From the months that you named, in the size that the last refills show. "
        "After six months refills alone tell."
    ),
    "season_no_plan": "No demand is known, so the year cannot be told.",
    "season_short": (
        "In {short_of_months} limewater is not enough: "
        "the second source gives up to {worst_meq_per_L_per_day}."
    ),
    "season_short_alone": (
        "In {short_of_months} limewater is not enough: "
        "up to {worst_meq_per_L_per_day} is missing. Get a second source before then."
    ),
    "season_covered": "Limewater is enough in every month of the next twelve.",
    "retune_evaporation": (
        "In {retune_days} the setting of now is more than evaporation allows. Retune by then."
    ),
    "retune_alkalinity": (
        "In {retune_days} alkalinity leaves its band on the setting of now. Retune by then."
    ),
    "retune_none": "The setting of now would do all year.",
}
