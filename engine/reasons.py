"""Why a decision came out as it did: a code and the numbers used, never a sentence.

The sentences stand in mobile/texts/plan.py, one for each code; a test holds the two together.
A number's key carries its unit (`cap_L_per_day`), which is all that the app needs to print it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from engine.errors import check_finite


class Code(StrEnum):
    """Every reason that the dosing decision can give."""

    # What stands in the way of any number
    SETUP_MISSING = "setup_missing"
    INCIDENT_RUNNING = "incident_running"
    PH_TOO_HIGH = "pH_too_high"
    ALKALINITY_JUMPED = "alkalinity_jumped"
    SLUG_UNTESTED = "slug_untested"
    SLUG_SIZED = "slug_sized"
    ALKALINITY_ABOVE_BAND = "alkalinity_above_band"
    PUMP_FAULT_HIGH = "pump_fault_high"
    CLOCK_BEHIND_LOG = "clock_behind_log"
    READING_IMPOSSIBLE = "reading_impossible"
    LIMIT_UNSET = "limit_unset"
    KEEPER_CAP_UNSET = "keeper_cap_unset"
    EVAPORATION_SHARE_UNSET = "evaporation_share_unset"
    NET_RISE_UNSET = "net_rise_unset"
    STOPPED_RISE_UNSET = "stopped_rise_unset"
    EVAPORATION_UNSET = "evaporation_unset"
    ALKALINITY_MISSING = "alkalinity_missing"
    ALKALINITY_STALE = "alkalinity_stale"
    PUMP_FAULT_LOW = "pump_fault_low"
    STRENGTH_UNKNOWN = "strength_unknown"
    DELIVERY_UNRECORDED = "delivery_unrecorded"
    SECOND_SOURCE_UNRECORDED = "second_source_unrecorded"
    TESTS_TOO_FEW = "tests_too_few"
    TESTS_TOO_CLOSE = "tests_too_close"
    DEMAND_UNCERTAIN = "demand_uncertain"
    DEMAND_NOT_POSITIVE = "demand_not_positive"
    NOTHING_ADMITTED = "nothing_admitted"
    BELOW_PUMP_STEP = "below_pump_step"
    NEW_TANK = "new_tank"

    # What limits a dose: one for each cap of engine.limits
    CAP_EVAPORATION = "cap_evaporation"
    CAP_NET_RISE = "cap_net_rise"
    CAP_STOPPED_RISE = "cap_stopped_rise"
    CAP_KEEPER = "cap_keeper"
    CAP_PUMP_RANGE = "cap_pump_range"
    CAP_VESSEL_SURGE = "cap_vessel_surge"
    CAP_DOSE_PH = "cap_dose_pH"
    CAP_DAY_PH = "cap_day_pH"
    CAP_WEEKLY_RISE = "cap_weekly_rise"
    CAP_RESTART = "cap_restart"
    CAP_UNTESTED = "cap_untested"
    CAP_SUSPECT = "cap_suspect"

    # What a number rests on
    FUTURE_RECORDS = "future_records"
    DEMAND_FROM_TESTS = "demand_from_tests"
    DEMAND_ENTERED = "demand_entered"
    ENTERED_CONTRADICTED = "entered_contradicted"
    WATER_CHANGE_UNKNOWN = "water_change_unknown"
    SUSPECT_TEST = "suspect_test"
    SUSPECT_NEW_SOURCE = "suspect_new_source"
    DEMAND_STEP_UP = "demand_step_up"
    DEMAND_STEP_DOWN = "demand_step_down"
    TESTS_SHIFTED_UP = "tests_shifted_up"
    TESTS_SHIFTED_DOWN = "tests_shifted_down"
    TREND_UP = "trend_up"
    TREND_DOWN = "trend_down"
    SOURCE_READS_HIGH = "source_reads_high"
    SOURCE_READS_LOW = "source_reads_low"
    CALCIUM_RATIO = "calcium_ratio"
    CALCIUM_RATIO_LOW = "calcium_ratio_low"
    CALCIUM_RATIO_HIGH = "calcium_ratio_high"
    NEED = "need"
    APPROACH_UP = "approach_up"
    APPROACH_DOWN = "approach_down"
    PH_ASSUMED = "pH_assumed"
    PH_RECORDED = "pH_recorded"
    PH_MODEL_OUTSIDE = "pH_model_outside"
    STRENGTH_ASSUMED = "strength_assumed"
    STRENGTH_MIXED = "strength_mixed"
    STRENGTH_MEASURED = "strength_measured"
    STRENGTH_CHECK_OLD = "strength_check_old"
    PUMP_UNCHECKED = "pump_unchecked"
    PUMP_CHECKED = "pump_checked"
    EVAPORATION_ENTERED = "evaporation_entered"
    EVAPORATION_MEASURED = "evaporation_measured"
    REFILLS_BELOW_ENTERED = "refills_below_entered"
    EVAPORATION_FELL = "evaporation_fell"
    REFILLS_OLD = "refills_old"
    TWO_PART_WATER = "two_part_water"

    # What to mind although a number is given
    OVERDOSE_ACT_NOW = "overdose_act_now"
    OVERDOSE_EMERGENCY = "overdose_emergency"
    VESSEL_FLOW_HIGH = "vessel_flow_high"
    WEAK_LIME = "weak_lime"
    WEAK_SHORT = "weak_short"
    WEAK_RECHARGE = "weak_recharge"
    WEAK_TOO_MUCH = "weak_too_much"
    WORN_PUMP = "worn_pump"
    PUMP_SPENT = "pump_spent"
    HIGH_UNTIL_REPEATED = "high_until_repeated"
    ALKALINITY_RISING = "alkalinity_rising"
    ALKALINITY_ROSE = "alkalinity_rose"
    SECOND_SOURCE_UNKNOWN_STRENGTH = "second_source_unknown_strength"
    SALINITY_FALLS = "salinity_falls"
    SETTING_ABOVE_CAP = "setting_above_cap"
    SETTING_NET_CHANGE = "setting_net_change"
    IF_STOPPED_EATING = "if_stopped_eating"

    # Where stopping leads
    USES_UP = "uses_up"
    STOP_SAFE = "stop_safe"
    STOP_SAFE_HOLDS = "stop_safe_holds"
    STOP_SAFE_BELOW_BAND = "stop_safe_below_band"
    STOP_SAFE_BELOW_FLOOR = "stop_safe_below_floor"
    STOP_SAFE_UNKNOWN = "stop_safe_unknown"
    SHORT_OF_ALKALINITY = "short_of_alkalinity"
    SHORT_BELOW_BAND = "short_below_band"
    SHORT_PASSES_BAND = "short_passes_band"
    SHORT_IN_BAND = "short_in_band"
    SETTLES = "settles"
    STAYS_BELOW_BAND = "stays_below_band"
    SECOND_HELD_NET_RISE = "second_held_net_rise"
    SECOND_HELD_STOPPED_RISE = "second_held_stopped_rise"
    SECOND_HELD_SUSPECT = "second_held_suspect"
    SECOND_HELD_UNTESTED = "second_held_untested"
    HELD_SHORT = "held_short"
    HELD_SHORT_BELOW_BAND = "held_short_below_band"
    SECOND_SOURCE_TWO_PART = "second_source_two_part"
    SECOND_SOURCE_REACTOR = "second_source_reactor"
    REACTOR_ALKALINITY = "reactor_alkalinity"

    # What keeps a decision from raising anything, and what stands of the last sound one
    RECORDS_MISSING = "records_missing"
    PARTS_FAILED = "parts_failed"
    STOP_STANDS = "stop_stands"
    LOWER_STANDS = "lower_stands"

    # What an overdose waits for before it may be ended
    RESTART_ALKALINITY_UNREAD = "restart_alkalinity_unread"
    RESTART_ALKALINITY_HIGH = "restart_alkalinity_high"
    RESTART_PH_UNREAD = "restart_pH_unread"
    RESTART_PH_HIGH = "restart_pH_high"

    # Powder
    POWDER_LEFT = "powder_left"
    POWDER_UNKNOWN = "powder_unknown"
    POWDER_LOW = "powder_low"
    POWDER_SPENT = "powder_spent"
    CHARGE_CAPPED = "charge_capped"

    # The one change to make
    NOTHING_TO_DO = "nothing_to_do"
    TOP_OFF_RIGHT = "top_off_right"
    SET_PUMP_FIRST = "set_pump_first"
    RAISE_PUMP = "raise_pump"
    LOWER_PUMP = "lower_pump"
    HOLD = "hold"
    STOP = "stop"
    SET_DRIP_FIRST = "set_drip_first"
    RAISE_DRIP = "raise_drip"
    LOWER_DRIP = "lower_drip"
    HOLD_DRIP = "hold_drip"
    STOP_DRIP = "stop_drip"
    MIX_DRIP_ANEW = "mix_drip_anew"
    HOLD_TOP_OFF = "hold_top_off"
    STOP_TOP_OFF_VESSEL = "stop_top_off_vessel"
    STOP_TOP_OFF_CONTAINER = "stop_top_off_container"
    NO_LIME_NEEDED = "no_lime_needed"
    RECHARGE_FIRST = "recharge_first"
    LOWER_THEN_RECHARGE = "lower_then_recharge"
    LOWER_DRIP_THEN_MIX = "lower_drip_then_mix"
    NEW_TUBE_FIRST = "new_tube_first"
    MIX_SATURATED = "mix_saturated"
    MIX_WEAKER = "mix_weaker"
    PAST_THE_VESSEL = "past_the_vessel"
    ALL_THROUGH_VESSEL = "all_through_vessel"
    SET_SECOND_SOURCE = "set_second_source"
    SET_SECOND_SOURCE_FIRST = "set_second_source_first"


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason, with the numbers that it used.

    Attributes
    ----------
    code : str
        One of `Code`.
    numbers : Mapping
        Finite numbers by keys with a unit suffix, or short texts.
    """

    code: str
    numbers: Mapping[str, float | str] = field(default_factory=dict[str, float | str])

    def __post_init__(self) -> None:
        for name, value in self.numbers.items():
            if not isinstance(value, str):
                check_finite(name, value)


def reason(code: Code, **numbers: float | str) -> Reason:
    """Return a reason; each keyword's name carries its unit."""
    return Reason(code, numbers)
