"""Codes of the hazard engine's reasons, and how the accidents are named.

The sentences stand in mobile/texts/hazard.py, one for each code and each kind.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from engine.reasons import Reason

if TYPE_CHECKING:
    from collections.abc import Mapping


class Kind(StrEnum):
    """What goes wrong."""

    PUMP_STUCK = "pump_stuck"
    TOP_OFF_STUCK = "top_off_stuck"
    CONTAINER_EMPTIED = "container_emptied"  # a siphon, or all of it lost at once
    DRIP_RUNS_ON = "drip_runs_on"
    RETURN_STOPPED = "return_stopped"
    RESTART_SLUG = "restart_slug"
    SKIMMER_OVERFLOW = "skimmer_overflow"
    BED_FLUSHED = "bed_flushed"  # vessel or container tipped, the undissolved powder with it
    UNCLEARED_RECHARGE = "uncleared_recharge"
    VESSEL_SURGE = "vessel_surge"
    DOSE_REPEATED = "dose_repeated"
    TENFOLD_SETTING = "tenfold_setting"
    ROOM_CO2_LOW = "room_co2_low"


class HazardCode(StrEnum):
    """Every reason that hazard, safe set-up and rescue can give."""

    # Why there is no number
    SETUP_MISSING = "hazard_setup_missing"
    ALKALINITY_MISSING = "hazard_alkalinity_missing"
    ONLY_RISE = "hazard_only_rise"
    OUTSIDE_MODEL = "hazard_outside_model"
    SOURCE_UNKNOWN = "hazard_source_unknown"
    CHARGE_UNKNOWN = "hazard_charge_unknown"
    DRAIN_BACK_UNKNOWN = "hazard_drain_back_unknown"
    SETTING_UNKNOWN = "hazard_setting_unknown"
    RATE_UNKNOWN = "hazard_rate_unknown"
    VESSEL_UNKNOWN = "hazard_vessel_unknown"

    # What the figures rest on
    CLOSED_BOUND = "hazard_closed_bound"
    START_RECORDED = "hazard_start_recorded"
    START_ASSUMED = "hazard_start_assumed"
    START_AIR = "hazard_start_air"
    ALKALINITY_OLD = "hazard_alkalinity_old"
    SALINITY_ASSUMED = "hazard_salinity_assumed"
    UNTIL_FOUND = "hazard_until_found"
    UNTIL_CUT_OFF = "hazard_until_cut_off"
    UNMIXED = "hazard_unmixed"
    SKIMMATE_ASSUMED = "hazard_skimmate_assumed"
    WHOLE_CHARGE = "hazard_whole_charge"
    OLD_BED = "hazard_old_bed"
    BED_LIFTED = "hazard_bed_lifted"
    BED_NOT_COUNTED = "hazard_bed_not_counted"
    SIPHON_LIFTS_BED = "hazard_siphon_lifts_bed"
    REST_SKIPPED = "hazard_rest_skipped"

    # How a case ends
    PASSES = "hazard_passes"
    PASSES_MOST_LIKELY = "hazard_passes_most_likely"
    MAY_REACH = "hazard_may_reach"
    AT_ONCE = "hazard_at_once"
    MAY_AT_ONCE = "hazard_may_at_once"
    STAYS_BELOW = "hazard_stays_below"
    ALKALINITY_BAND = "hazard_alkalinity_band"
    PAST_MODEL = "hazard_past_model"
    MAY_PAST_MODEL = "hazard_may_past_model"
    RISE = "hazard_rise"
    SALINITY_FALLS = "hazard_salinity_falls"
    EXTRA_WATER = "hazard_extra_water"
    SUMP_OVERFLOWS = "hazard_sump_overflows"
    AMMONIA = "hazard_ammonia"

    # The set-up
    VERDICT_HOLDS = "safe_verdict_holds"
    VERDICT_UNKNOWN = "safe_verdict_unknown"
    VERDICT_PARTLY_UNKNOWN = "safe_verdict_partly_unknown"
    CONTAINER_WOULD_HOLD = "safe_container_would_hold"
    WITH_BREAK_WOULD_HOLD = "safe_with_break_would_hold"
    NO_ROOM = "safe_no_room"
    SIZE_UNKNOWN = "safe_size_unknown"
    BED_COMES_ALONG = "safe_bed_comes_along"
    SIPHON_BED_COUNTED = "safe_siphon_bed_counted"
    SIPHON_BED_UNKNOWN = "safe_siphon_bed_unknown"
    CONTAINER_RULE = "safe_container_rule"
    CUT_OFF = "safe_cut_off"
    CUT_OFF_BELOW_DOSE = "safe_cut_off_below_dose"
    CHARGE = "safe_charge"
    CHARGE_CARRIED_OUT = "safe_charge_carried_out"
    CHARGE_TOO_SMALL = "safe_charge_too_small"
    CHARGE_NONE = "safe_charge_none"
    CHARGE_OLD_BED = "safe_charge_old_bed"
    LARGEST_DOSE = "safe_largest_dose"
    DOSE_SPLIT = "safe_dose_split"
    DOSE_NOT_FORGIVEN = "safe_dose_not_forgiven"
    SYSTEM_SCALE = "safe_system_scale"
    SMALLER_PUMP = "safe_smaller_pump"
    SLOWER_FLOW = "safe_slower_flow"
    MORE_DOSES = "safe_more_doses"
    SIPHON_BREAK = "safe_siphon_break"
    SPLIT_CONTAINER = "safe_split_container"
    SMALL_CONTAINER = "safe_small_container"
    CONTAINER_FILLS = "safe_container_fills"
    LIME_OFF_WITH_RETURN = "safe_lime_off_with_return"

    # Rescue
    CHANGE_BRINGS = "rescue_change_brings"
    CHANGE_UNKNOWN = "rescue_change_unknown"
    NEW_WATER_UNKNOWN = "rescue_new_water_unknown"
    READY_WATER = "rescue_ready_water"
    READY_WATER_SHORT = "rescue_ready_water_short"
    READY_WATER_NONE = "rescue_ready_water_none"
    AIR_BRINGS = "rescue_air_brings"
    AIR_UNKNOWN = "rescue_air_unknown"


def hazard_reason(code: HazardCode, **numbers: float | str) -> Reason:
    """Return a reason; each keyword's name carries its unit."""
    found: Mapping[str, float | str] = numbers
    return Reason(code, found)
