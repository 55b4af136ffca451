"""What can be said of the day's doses, as codes; sentences stand in mobile/texts/schedule.py."""

from enum import StrEnum

from engine.reasons import Reason


class ScheduleCode(StrEnum):
    """Every reason of engine/plan/schedule.py."""

    NO_PLAN = "schedule_no_plan"
    TOP_OFF = "schedule_top_off"
    EVEN = "schedule_even"
    AT_NIGHT = "schedule_at_night"
    DRIP_NIGHT = "schedule_drip_night"
    DRIP_RATE = "schedule_drip_rate"
    RUN_TIME = "schedule_run_time"
    STIRRER_REST = "schedule_stirrer_rest"
    DOSE_RISE = "schedule_dose_rise"
    LIGHTS_UNSET = "schedule_lights_unset"
    CURVE_IMPOSSIBLE = "schedule_curve_impossible"
    HIGHEST_PH = "schedule_highest_pH"
    FROM_RECORDED_PH = "schedule_from_recorded_pH"
    FROM_ROOM = "schedule_from_room"
    AIR_ASSUMED = "schedule_air_assumed"
    EXCHANGE_ASSUMED = "schedule_exchange_assumed"


def schedule_reason(code: ScheduleCode, **numbers: float | str) -> Reason:
    """Return a reason; each keyword's name carries its unit."""
    return Reason(code, numbers)
