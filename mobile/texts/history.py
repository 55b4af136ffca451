"""Words of the log."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "kind_setup": "Set-up",
    "kind_limewater_strength": "Limewater strength",
    "kind_refill": "Refill",
    "kind_recharge": "Powder put in",
    "kind_pump_check": "Pump check",
    "kind_delivery_setting": "Limewater setting",
    "kind_second_source_setting": "Second source setting",
    "kind_water_change": "Water change",
    "kind_addition": "One-off addition",
    "kind_powder_stock": "Powder on the shelf",
    "kind_pack_opened": "Pack of powder opened",
    "kind_vessel_emptied": "Emptied of its bed",
    "kind_supply_stock": "Supply",
    "kind_job_choice": "A job, as you want it",
    "kind_job_done": "Job done",
    "kind_procedure_run": "Procedure",
    "kind_event": "Something changed",
    "kind_incident": "Overdose",
    "kind_note": "Note",
    "kind_amendment": "Amendment",
    "pump_check": "{measured} for {expected} expected: {share}",
    "strength": "{share} of saturated, {method}",
    "second_two_part": "{shown} of the alkalinity part: {gives}",
    "second_reactor": "{shown} through the reactor at {effluent}: {gives}",
    "unknown": "an unknown alkalinity",
    "run_started": "{procedure}, begun",
    "run_step_done": "{procedure}, a step done",
    "run_finished": "{procedure}, finished",
    "run_stopped": "{procedure}, stopped",
    "other_act": "an act unknown to this version",
    "other_procedure": "unknown to this version",
    "job_off": "{job}: turned off",
    "job_interval": "{job}: every {days}",
    "job_snoozed": "{job}: put off for {days}",
    "job_usual": "{job}: as usual",
    "supply": "{item}: {amount}, {stock}",
    "withdrawal": "withdrawn",
    "empty": "Nothing recorded yet. Record an alkalinity test first: a plan starts with two.",
    "amended_mark": "amended later",
    "withdrawn_mark": "withdrawn later",
    "entered": "Entered {when}",
    "from_table": "It came from your own table.",
    "happened": "Taken {when}",
    "typed_as": "Typed as {typed}",
    "kept_though": "Kept although the app asked.",
    "amend": "Amend this entry",
    "amend_time": "Change its time",
    "withdraw": "Withdraw this entry",
    "withdraw_sure": "Yes, withdraw it",
    "withdraw_about": "The log keeps it, struck out. Numbers no longer use it.",
    "back": "Back to the log",
    "older": "Show older entries",
    "withdraw_run": (
        "All steps of this run are withdrawn. Powder that it recorded stays: withdraw that by "
        "itself. If limewater is off because of it, the app no longer says so."
    ),
    "withdraw_only_setup": (
        "This is the system's only set-up. Without it the system is no longer shown; "
        "its entries stay in the log and in every export."
    ),
    "setup_kept": (
        "This is the only set-up: without it the app has nothing to show. Change it in Setup."
    ),
    "not_amendable": "Its figures are changed by making a new entry.",
    "when": "When: year-month-day hour:minute",
    "when_fault": "Write the time like this: {example}.",
    "choose": "Choose first: {what}.",
}
