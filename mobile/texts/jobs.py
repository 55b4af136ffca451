"""Words of what comes when: names of jobs by `name_`, why by engine.jobs.codes.JobCode."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # --- names
    "name_test_total_alkalinity": "Test alkalinity",
    "name_test_calcium": "Test calcium",
    "name_test_magnesium": "Test magnesium",
    "name_test_salinity": "Measure salinity",
    "name_test_nitrate": "Test nitrate",
    "name_test_phosphate": "Test phosphate",
    "name_test_tds": "Measure the TDS of your RO/DI water",
    "name_test_room_co2": "Measure the room's CO₂",
    "name_refill_fresh_water": "Refill the fresh-water container",
    "name_refill_lime": "Refill the lime container",
    "name_recharge": "Recharge the vessel",
    "name_buy_powder": "Order powder",
    "name_buy_solution": "Order or mix a solution",
    "name_buy_kit": "Order a test kit",
    "name_retune": "Look at the setting: the season moves it",
    "name_strength_check": "Check the strength of the limewater",
    "name_pump_check": "Check the metering pump with a cylinder",
    "name_pump_tube": "Replace the pump's tube",
    "name_vessel_clean": "Empty and clean the vessel",
    "name_reservoir_clean": "Take the sludge out of the lime container",
    "name_outlet_look": "Look at outlet, air gap and drip",
    "name_outlet_tip": "Clean or replace the outlet's tip",
    "name_check_valve_look": "Look at the check valve",
    "name_check_valve_new": "Replace the check valve",
    "name_top_off_look": "Lift the top-off's sensor: does it stop?",
    "name_top_off_clean": "Clean the top-off's sensor and cut-off",
    "name_pumps_look": "Look at return, skimmer and heater",
    "name_pumps_descale": "Descale return, skimmer and heater",
    "name_ph_calibrate": "Calibrate the pH probe",
    "name_ph_probe_new": "Replace the pH probe",
    "name_meters_check": "Check meters against a standard",
    "name_reagent_check": "Check the alkalinity test against a reference",
    "name_reagent_new": "Replace the alkalinity reagent",
    "name_ro_filters": "Replace the RO prefilters",
    "name_powder_pack": "Replace the open pack of powder",
    "name_ready_water": "Renew the salt water kept ready",
    "name_export": "Export a copy of your records",
    # --- why
    "job_test_never": "Never recorded. A first figure is what later ones are held against.",
    "job_test_since": "Last tested {age_days} ago. Due after {every_low_days} to {every_high_days}.",
    "job_test_after_change": (
        "A setting changed within two weeks: daily until it has settled. Last tested {age_days} ago."
    ),
    "job_refill": (
        "By what evaporates, its {size_L} are empty in {empty_low_days} to {empty_high_days}. Fill it the day before."
    ),
    "job_recharge": (
        "The limewater runs weak in {weak_low_days} to {weak_high_days}. Recharge while a quarter is left."
    ),
    "job_recharge_now": (
        "About a quarter of the charge is left. It runs weak in {weak_low_days} to {weak_high_days}."
    ),
    "job_found_weak": (
        "Your last check found the limewater weak. Look at the stirring, then recharge by day."
    ),
    "job_weak_now": "By the balance the powder is spent. Check the strength, then recharge by day.",
    "job_buy": (
        "Shelf and vessel last {empty_low_days} to {empty_high_days}. "
        "{lead_days} for delivery and {margin_days} in hand are taken off."
    ),
    "job_buy_now": (
        "Shelf and vessel last {empty_low_days} to {empty_high_days}. Order now: "
        "{lead_days} for delivery and {margin_days} in hand are taken off."
    ),
    "job_supply": "{item}: used up or past its date in {ends_in_days}.",
    "job_supply_expired": "{item}: used up or past its date.",
    "job_retune_evaporation": "From then on less evaporates than is dosed.",
    "job_retune_alkalinity": "From then on alkalinity leaves your band on the present setting.",
    "job_after_recharge": (
        "A recharge is checked after a day: a thrown bar shows as weak limewater above a white bed."
    ),
    "job_since": "Last done {age_days} ago. Due after {every_low_days} to {every_high_days}.",
    "job_since_start": (
        "Due every {every_low_days} to {every_high_days}, counted from your first record."
    ),
    "job_probe_off": "At its last check the probe was off by {off_pH}. Calibrate it now.",
    "job_meter_off": "In the standard the meter was off by {off_share}. Calibrate it now.",
    "job_kit_off": (
        "On the reference the kit was off by {off_share}. Take a new bottle, then check it again."
    ),
    "job_own_interval": "Last done {age_days} ago. Your own interval is {own_days}.",
    "job_snoozed": "Put off for another {snoozed_for_days}. Your reason: {why}",
    "job_export_never": "Never exported. A lost or drowned phone takes the records with it.",
    "job_export_since": "Last exported {age_days} ago.",
    # --- when
    "when_now": "due now",
    "when_until": "due now, at the latest {date}",
    "when_late": "overdue since {date}",
    "when_on": "{date}",
    "when_between": "{low} to {high}",
    "when_never": "never recorded",
    # --- the page
    "page_jobs": "What comes when",
    "none_due": "Nothing is due.",
    "none_due_next": "Nothing is due. Next: {job}, {when}.",
    "one_due": "One thing is due: {job}.",
    "some_due": "{count} things are due. First: {job}.",
    "due_title": "Due",
    "coming_title": "In the coming month",
    "later_title": "Later",
    "unknown_title": "Never told to the app",
    "unknown_about": "Perhaps long done. Say when, and it is counted from then.",
    "daily_title": "A look each day",
    "daily_bar": "Is the stirrer's bar turning, is its overflow clear?",
    "daily_drip": "Count the drops, morning and evening.",
    "daily_pH": "pH and temperature: as usual for the hour?",
    "daily_animals": "Animals, flow, water level: as usual?",
    "off_title": "Turned off",
    "practice": "Intervals of tests and care are common practice, no source.",
    "calendar_title": "In your phone's calendar",
    "calendar_about": (
        "This app gives no alarm: a web page cannot ring. Take the dates into your phone's calendar and it reminds you. "
        "Dates move as you record, so export again now and then. "
        "Most calendars then move their entries. Some keep the old ones beside the new."
    ),
    "calendar_export": "Export for the calendar",
    "calendar_done": "{count} dates are in the file. Open it with your calendar.",
    "to_minder": "A sheet for whoever minds the tank",
    "to_jobs": "What comes when",
    # --- one job
    "do_it": "Do it now",
    "mark_done": "It is done",
    "marked": "{job}: done",
    "interval_title": "How often",
    "interval_usual": "As usual",
    "interval_days": "Every {days}",
    "snooze_title": "Put it off",
    "snooze_why": "Why? The reason stays in the log.",
    "why_time": "No time today",
    "why_parts": "Waiting for parts",
    "why_away": "Away",
    "why_fine": "Looked at it, it is fine",
    "snooze_for": "For {days}",
    "snooze_stop": "No longer put off",
    "turn_off": "Turn this off",
    "turn_on": "Turn it on again",
    "off_about": "It no longer shows here nor in the calendar.",
    "chosen": "{job}: kept as you want it",
    "back": "Back to what comes when",
    "not_applicable": "This does not come up with your set-up.",
    # --- the calendar's own words
    "event_about": "{why} Worked out on {date}; it moves with your records.",
}
