"""The jobs that come back, and why one is due, as codes; words stand in mobile/texts/jobs.py."""

from enum import StrEnum

from engine.reasons import Reason


class Job(StrEnum):
    """Everything that comes due; the codes are on disk in `JobChoice` and `JobDone`."""

    # Tests, one for each parameter that is not read daily by a probe
    TEST_ALKALINITY = "test_total_alkalinity"
    TEST_CALCIUM = "test_calcium"
    TEST_MAGNESIUM = "test_magnesium"
    TEST_SALINITY = "test_salinity"
    TEST_NITRATE = "test_nitrate"
    TEST_PHOSPHATE = "test_phosphate"
    TEST_TDS = "test_tds"
    TEST_ROOM_CO2 = "test_room_co2"

    # By forecast
    REFILL_FRESH_WATER = "refill_fresh_water"
    REFILL_LIME = "refill_lime"
    RECHARGE = "recharge"
    BUY_POWDER = "buy_powder"
    BUY_SOLUTION = "buy_solution"
    BUY_KIT = "buy_kit"
    RETUNE = "retune"

    # Checks and care, since they were last done
    STRENGTH_CHECK = "strength_check"
    PUMP_CHECK = "pump_check"
    PUMP_TUBE = "pump_tube"
    VESSEL_CLEAN = "vessel_clean"
    RESERVOIR_CLEAN = "reservoir_clean"
    OUTLET_LOOK = "outlet_look"
    OUTLET_TIP = "outlet_tip"
    CHECK_VALVE_LOOK = "check_valve_look"
    CHECK_VALVE_NEW = "check_valve_new"
    TOP_OFF_LOOK = "top_off_look"
    TOP_OFF_CLEAN = "top_off_clean"
    PUMPS_LOOK = "pumps_look"
    PUMPS_DESCALE = "pumps_descale"
    PH_CALIBRATE = "ph_calibrate"
    PH_PROBE_NEW = "ph_probe_new"
    METERS_CHECK = "meters_check"
    REAGENT_CHECK = "reagent_check"
    REAGENT_NEW = "reagent_new"
    RO_FILTERS = "ro_filters"
    POWDER_PACK = "powder_pack"
    READY_WATER = "ready_water"
    EXPORT = "export"


class JobCode(StrEnum):
    """Why a job is due when it is."""

    TEST_NEVER = "job_test_never"
    TEST_SINCE = "job_test_since"
    TEST_AFTER_CHANGE = "job_test_after_change"
    REFILL = "job_refill"
    RECHARGE = "job_recharge"
    RECHARGE_NOW = "job_recharge_now"
    FOUND_WEAK = "job_found_weak"
    WEAK_NOW = "job_weak_now"
    BUY = "job_buy"
    BUY_NOW = "job_buy_now"
    SUPPLY = "job_supply"
    SUPPLY_EXPIRED = "job_supply_expired"
    RETUNE_EVAPORATION = "job_retune_evaporation"
    RETUNE_ALKALINITY = "job_retune_alkalinity"
    AFTER_RECHARGE = "job_after_recharge"
    SINCE = "job_since"
    SINCE_START = "job_since_start"
    PROBE_OFF = "job_probe_off"
    METER_OFF = "job_meter_off"
    KIT_OFF = "job_kit_off"
    OWN_INTERVAL = "job_own_interval"
    SNOOZED = "job_snoozed"
    EXPORT_NEVER = "job_export_never"
    EXPORT_SINCE = "job_export_since"


def job_reason(code: JobCode, **numbers: float | str) -> Reason:
    """Return a reason; each keyword's name carries its unit."""
    return Reason(code, numbers)
