"""Words of the pages behind Plan: the day, the year, the water, the drift."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # --- the list on Plan: title and, where nothing is known yet, what the page is for
    "pages_title": "Look closer",
    "page_day": "The day's doses",
    "page_day_about": "When, how much, how long the pump runs, and what pH does.",
    "page_year": "The year ahead",
    "page_year_about": "Month by month: evaporation, limewater, what is missing.",
    "page_water": "Water level and salinity",
    "page_water_about": "Whether the sump rises and salinity holds.",
    "page_drift": "What drifts, and why",
    "page_drift_about": "What the tests show, and what would settle it.",
    "to_plan": "Back to the plan",
    "failed": "This could not be worked out from the log.",
    # --- the day
    "day_summary": "{doses} of {dose}.",
    "day_drip_summary": "One container of {daily}, dripped by night.",
    "day_title": "Doses",
    "day_small_gap": (
        "The setting stays at {kept}. These are the numbers of the plan, too little apart to touch."
    ),
    "day_total": "Together {daily}, never more than the plan.",
    "day_pH_title": "pH over the day",
    "day_pH_y": "pH",
    "day_pH_x": "Hour of the day",
    "day_pH_says": (
        "Lights on from {on} to {off}. As set now pH goes from {before_low_pH} to {before_high_pH}; "
        "by plan from {after_low_pH} to {after_high_pH}."
    ),
    "day_pH_after": "by plan",
    "day_pH_before": "as set now",
    "day_pH_ceiling": "no lime from {ceiling_pH} on",
    "day_times_title": "Times",
    "day_set_lights": "Enter the lamp's hours",
    "day_record_pH": "Record pH",
    # --- the year
    "year_retune_on": "Retune before {date}.",
    "year_plot_says": (
        "Limewater possible: {least_L_per_day} in {least_month} to {most_L_per_day} in {most_month}. "
        "Needed: {need_L_per_day}."
    ),
    "year_plot_flat": (
        "Limewater possible: about {least_L_per_day} all year. Needed: {need_L_per_day}."
    ),
    "year_plot_y": "L a day",
    "year_plot_x": "Month, from now on",
    "year_possible": "limewater possible",
    "year_needed": "limewater needed",
    "year_months_title": "Month by month",
    "year_evaporates": "Evaporates: {low_L_per_day} to {high_L_per_day}.",
    "year_limewater": "Limewater possible {possible_L_per_day}, needed {need_L_per_day}.",
    "year_second_two_part": (
        "Left over: {left_meq_per_L_per_day}, by two-part {each_mL_per_day} of each part."
    ),
    "year_second_reactor": "Left over for the reactor: {left_meq_per_L_per_day}.",
    "year_second_none": "Missing: {left_meq_per_L_per_day}.",
    "year_level": "If nothing is retuned, alkalinity ends the month at {level_meq_per_L}.",
    "year_too_high": "The setting of now is too much for this month.",
    "year_as_now": (
        "It takes demand as it is now. Corals that grow, and new ones, are not foreseen."
    ),
    "year_set_months": "Enter your months",
    "year_record_refill": "Record a refill",
    # --- the water
    "water_as_set": "As set now",
    "water_by_plan": "By plan",
    "water_same": "By plan it is the same.",
    "water_no_plan": "There is no plan to compare with.",
    "water_set_evaporation": "Enter what evaporates",
    "water_set_room": "Enter the sump's room",
    "water_record_salinity": "Record salinity",
    # --- the drift
    "drift_causes": "What may be behind it",
    "drift_rank": "The likeliest first. The order is experience, not a measured chance.",
    "drift_explains": "It would explain about {explains_share} of the drift.",
    "drift_explains_more": "It would explain all of the drift and more.",
    "drift_settles": "What would settle it: {measure}",
    "drift_record_test": "Record an alkalinity test",
    "drift_no_demand": "Record alkalinity tests, some days apart: the drift is read from them.",
    # --- buttons to a measurement
    "go_strength": "Check the strength",
    "go_pump": "Measure the pump",
    "go_test": "Record alkalinity",
    "go_refill": "Record a refill",
    "go_second_source": "Record the second source",
    "go_salinity": "Record salinity",
    "go_nitrate": "Record nitrate",
    "go_pH": "Record pH",
    # --- on Today
    "today_cause": "{likelihood}: {cause} {measure}",
    "retune_evaporation": ("By {date} the setting is more than evaporation allows. Retune before."),
    "retune_alkalinity": "By {date} alkalinity leaves its band on this setting. Retune before.",
    "today_to_drift": "What may be behind it",
    "today_to_water": "Water level and salinity",
}
