"""Names of the guided procedures: what `ProcedureRun.procedure` holds on disk."""

from typing import Final

COMMISSIONING: Final = "commissioning"
TUBE_CHANGE: Final = "tube_change"
# In the order in which the Mix screen lists them within a group.
PROCEDURE_KEYS: Final = (
    "recharge_vessel",
    "lime_reservoir",
    "drip_setup",
    "pump_check",
    "strength_conductivity",
    "strength_dilution",
    "strength_titration",
    "safety_check",
    "meter_checks",
    "water_change_day",
    "clean_scale",
    "make_two_part",
    "power_cut_restart",
    "dispose",
    COMMISSIONING,
    "new_vessel",
    TUBE_CHANGE,
    "true_volume",
    "going_away",
)
