"""Sentences of the dosing decision: one for each code of engine.reasons.Code.

Numbers come with their units from mobile/state/sentences.py.
"""

from typing import Final

from mobile.texts.plan_follow import FOLLOWS

TEXTS: Final[dict[str, str]] = {
    # --- what stands in the way of any number
    "setup_missing": "No plan yet: the system is not set up.",
    "incident_running": (
        "An overdose is being recorded, begun {since_days} ago. No limewater until you end it."
    ),
    "pH_too_high": (
        "A pH of {last_pH} is on record. No limewater until a whole day stays below {resume_pH}. "
        "Do not make it up later."
    ),
    "alkalinity_jumped": (
        "Alkalinity rose by {rise_meq_per_L} to {last_meq_per_L} within {rise_days}. "
        "Lift the lime line out of the sump and test again."
    ),
    "slug_untested": (
        "An overflow or a slug of the top-off is on record, and nothing was tested since. "
        "Lift the lime line out now. Measure pH and alkalinity; plain water in the top-off."
    ),
    "slug_sized": (
        "The top-off ran {extra_L} more than usual. If it was limewater, alkalinity rose by "
        "{rise_low_meq_per_L} to {rise_high_meq_per_L}, and salinity is about {salinity_PSU}. "
        "Lift the lime line out now. Measure pH and alkalinity; plain water in the top-off."
    ),
    "alkalinity_above_band": (
        "Alkalinity is above its band: {last_meq_per_L} at the last test, the band ends at "
        "{band_high_meq_per_L}. No limewater, and nothing else that raises it, until it is back inside."
    ),
    "pump_fault_high": (
        "The pump gave {pump_share} of its setting at the last check. "
        "Stop it, find the fault and measure again."
    ),
    "clock_behind_log": (
        "No new number: this phone's clock is behind the log. "
        "Entries of a later date: {entered_later_count}. Set the clock right, or amend them."
    ),
    "reading_impossible": (
        "No new number: readings of the last two weeks that cannot be real: {impossible_count}. "
        "Find them in History: amend or withdraw them."
    ),
    "limit_unset": "No dose: a limit is not confirmed in Setup.",
    "records_missing": (
        "Entries may be missing from the log, so nothing is raised. "
        "Measure pH and alkalinity and record both before more lime."
    ),
    "parts_failed": (
        "A part of this could not be worked out, so nothing is raised. "
        "Measure pH and alkalinity before more lime."
    ),
    "stop_stands": "The last decision was to stop limewater. It stands until this is cleared up.",
    "lower_stands": "The last decision was to lower limewater. It stands until this is cleared up.",
    "keeper_cap_unset": "Not set: the most limewater a day that you allow.",
    "evaporation_share_unset": "Not set: how much of the evaporation may be limewater.",
    "net_rise_unset": "Not set: how fast alkalinity may rise by plan.",
    "stopped_rise_unset": "Not set: the daily rise you accept if the animals stopped feeding.",
    "evaporation_unset": (
        "No dose: evaporation is not known. Enter its low end, or record refills for a week."
    ),
    "alkalinity_missing": "No number: alkalinity was never tested. Test it and record it.",
    "alkalinity_stale": (
        "No new number: the last alkalinity test is {age_days} old. Test before anything is raised."
    ),
    "pump_fault_low": (
        "The pump gave only {pump_share} of its setting at the last check. "
        "Do not turn it up. Find the fault and measure again."
    ),
    "strength_unknown": (
        "No number: how strong the limewater is cannot be told. "
        "Enter the lime container's litres in Setup, or record a strength check."
    ),
    "delivery_unrecorded": (
        "No number: the log does not say how much limewater is given. "
        "Record its setting, 0 if it is off."
    ),
    "second_source_unrecorded": (
        "No number: the log does not say what the second source gives. Record its setting."
    ),
    "tests_too_few": (
        "Usable alkalinity tests: {test_count}; it takes two. "
        "They count from the first recorded setting."
    ),
    "tests_too_close": (
        "The {test_count} tests lie within {span_days}: too close together for a number. "
        "Test again in a day or two."
    ),
    "demand_uncertain": (
        "The tests scatter too much for a dose. "
        "Use could be {demand_low_meq_per_L_per_day} to {demand_high_meq_per_L_per_day}. "
        "Test alkalinity at the same hour for some days."
    ),
    "demand_not_positive": (
        "The tests show no use of alkalinity over {span_days}. "
        "Look at the animals, temperature and salinity first."
    ),
    "nothing_admitted": "No dose: {asked_L_per_day} is needed, but only {cap_L_per_day} allowed.",
    "below_pump_step": (
        "No dose: {asked_L_per_day} is less than the smallest step, {step_L_per_day}. "
        "Plan fewer doses a day."
    ),
    "new_tank": (
        "No lime yet: the tank uses {demand_meq_per_L_per_day}. "
        "Water changes are enough below {enough_meq_per_L_per_day}."
    ),
    # --- what limits a dose
    "cap_evaporation": "Evaporation leaves room for at most {cap_L_per_day}.",
    "cap_net_rise": "More than {cap_L_per_day} could raise alkalinity faster than your limit.",
    "cap_stopped_rise": (
        "If the animals stopped feeding, more than {cap_L_per_day} would raise alkalinity too fast."
    ),
    "cap_keeper": "You allow at most {cap_L_per_day}.",
    "cap_pump_range": "The pump gives at most {cap_L_per_day}.",
    "cap_vessel_surge": "More than {cap_L_per_day} in these doses would stir up the vessel.",
    "cap_dose_pH": (
        "More than {cap_L_per_day} in these doses would raise pH too far with each dose."
    ),
    "cap_day_pH": (
        "With this week's pH, more than {cap_L_per_day} could lift the day's highest pH too far."
    ),
    "cap_suspect": (
        "The newest test does not fit the others. Nothing above {cap_L_per_day} until it is repeated."
    ),
    "cap_weekly_rise": "A setting is raised by 15 % a week at most: {cap_L_per_day} now.",
    "cap_restart": (
        "After an overdose lime starts at half: {cap_L_per_day} now. Test every day for a week."
    ),
    "cap_untested": (
        "The last alkalinity test is over a week old. Nothing above {cap_L_per_day} untested."
    ),
    # --- what a number rests on
    "future_records": "Left out, as dated later than now. Entries: {future_count}.",
    "demand_from_tests": (
        "{test_count} tests over {span_days}: the tank uses "
        "{demand_low_meq_per_L_per_day} to {demand_high_meq_per_L_per_day}."
    ),
    "demand_entered": (
        "Use of {demand_meq_per_L_per_day} is entered, not measured. Tests will replace it."
    ),
    "entered_contradicted": (
        "The entered use of {entered_meq_per_L_per_day} does not fit the tests."
    ),
    "water_change_unknown": (
        "Water changes without the new water's alkalinity, taken as equal: {change_count}."
    ),
    "suspect_test": (
        "{test_meq_per_L} of {age_days} ago is {off_meq_per_L} off: {expected_low_meq_per_L} to "
        "{expected_high_meq_per_L} was expected. Nothing was changed for it. "
        "Repeat it with the same water, or test a reference, before you believe either."
    ),
    "suspect_new_source": (
        "{test_meq_per_L} of {age_days} ago is {off_meq_per_L} off: {expected_low_meq_per_L} to "
        "{expected_high_meq_per_L} was expected. It is the first test of {source_name}. "
        "Nothing was changed for it. "
        "Repeat it as before, or test a reference, before you believe either."
    ),
    "demand_step_up": (
        "Since a test {since_days} ago the tank uses clearly more. Ask what changed: "
        "animals, lamp, food, heat."
    ),
    "demand_step_down": (
        "Since a test {since_days} ago the tank uses clearly less. "
        "Look at the animals first, then temperature and salinity."
    ),
    "tests_shifted_up": (
        "Since a test {since_days} ago alkalinity stands higher than expected. "
        "Is an addition, water change or overflow missing in the log, or does the tank use less? "
        "Record what is missing."
    ),
    "tests_shifted_down": (
        "Since a test {since_days} ago alkalinity stands lower than expected. "
        "Is a water change or a stopped pump missing in the log, or does the tank use more? "
        "Record what is missing."
    ),
    "trend_up": "Use has risen by {change_meq_per_L_per_day} over {span_days}.",
    "trend_down": (
        "Use has fallen by {change_meq_per_L_per_day} over {span_days}. Look at the animals."
    ),
    "source_reads_high": (
        "{source_name} reads about {offset_meq_per_L} higher than the tests before. "
        "That is not taken as use; check it against a reference."
    ),
    "source_reads_low": (
        "{source_name} reads about {offset_meq_per_L} lower than the tests before. "
        "That is not taken as use; check it against a reference."
    ),
    "calcium_ratio": (
        "With each dKH go {ratio_low_mg_per_L} to {ratio_high_mg_per_L} of calcium, "
        "as skeletons take it ({usual_mg_per_L})."
    ),
    "calcium_ratio_low": (
        "With each dKH go only {ratio_low_mg_per_L} to {ratio_high_mg_per_L} of calcium "
        "({usual_mg_per_L} is usual). Something else takes alkalinity: look at nitrate."
    ),
    "calcium_ratio_high": (
        "With each dKH go {ratio_low_mg_per_L} to {ratio_high_mg_per_L} of calcium "
        "({usual_mg_per_L} is usual). Check salinity and the calcium test."
    ),
    "need": "The tank needs {need_meq_per_day}: {need_L_per_day} of limewater.",
    "approach_up": (
        "{approach_meq_per_L_per_day} of it raises alkalinity slowly to {target_meq_per_L}."
    ),
    "approach_down": (
        "{approach_meq_per_L_per_day} less, so that alkalinity sinks slowly to {target_meq_per_L}."
    ),
    "pH_assumed": "No fresh pH on record: {assumed_pH} is assumed.",
    "pH_recorded": "The highest pH of the last day is {last_pH}.",
    "pH_model_outside": (
        "Salinity or temperature is outside the range of the pH model. "
        "Only the plain limit on single doses holds."
    ),
    "strength_assumed": (
        "Limewater is taken as saturated: {strength_meq_per_L}. Its strength was not checked."
    ),
    "strength_mixed": (
        "The limewater was mixed at {strength_share} of saturated: {strength_meq_per_L}."
    ),
    "strength_measured": (
        "Limewater was checked {age_days} ago: {strength_share} of saturated, {strength_meq_per_L}."
    ),
    "strength_check_old": "The strength check is {age_days} old. Check again.",
    "weak_lime": (
        "The limewater is weak: {strength_share} of saturated. "
        "Recharge; never give more of it instead. A white bed can be spent."
    ),
    "pump_unchecked": "The pump was never measured: it is taken to give what it is set to.",
    "pump_checked": "The pump gave {pump_share} of its setting, measured {age_days} ago.",
    "evaporation_entered": (
        "Evaporation is entered: {evaporation_low_L_per_day} to {evaporation_high_L_per_day}."
    ),
    "evaporation_fell": ("This week {week_L_per_day} evaporated (before: {before_L_per_day})."),
    "evaporation_measured": (
        "Refills over {span_days} show an evaporation of "
        "{evaporation_low_L_per_day} to {evaporation_high_L_per_day}."
    ),
    "refills_below_entered": (
        "Refills over {span_days} show only {shown_L_per_day} evaporated. "
        "You entered {evaporation_low_L_per_day} as the least. "
        "The lower amount counts; correct the range in Setup."
    ),
    "refills_old": "The last refill on record is {age_days} old, so refills do not count.",
    "two_part_water": "The two-part brings {water_L_per_day} of water, which counts, too.",
    # --- what to mind
    "overdose_act_now": "Act now: the red Overdose card says what to do first.",
    "overdose_emergency": "This is an emergency: open the red Overdose card now.",
    "vessel_flow_high": (
        "{plan_L_per_day} is more than the vessel's {vessel_L}. Check the strength: it may fall."
    ),
    "weak_short": (
        "The limewater is at {strength_share} of its strength: the tank misses "
        "{missing_meq_per_day}, which is {missing_meq_per_L_per_day}. "
        "Recharge by day: {powder_g} of powder lasts {charge_days}."
    ),
    "weak_recharge": (
        "The limewater is at {strength_share} of its strength. "
        "Recharge by day: {powder_g} of powder lasts {charge_days}."
    ),
    "weak_too_much": (
        "The limewater is at {strength_share} of its strength. "
        "With fresh lime {was_L_per_day} would be more than the tank takes. "
        "Recharge by day: {powder_g} of powder lasts {charge_days}."
    ),
    "worn_pump": (
        "The pump gives {pump_share} of its setting. Until the new tube is in, "
        "{temporary_L_per_day} on the display gives the plan. Lower it again at the new tube."
    ),
    "pump_spent": "The pump gives only {pump_share} of its setting. Do not raise it; fit a tube.",
    "high_until_repeated": (
        "{last_meq_per_L} is above your band, which ends at {band_high_meq_per_L}. "
        "If it is not repeated within a day, limewater stops."
    ),
    "alkalinity_rising": (
        "Alkalinity climbs by {net_low_meq_per_L_per_day} to {net_high_meq_per_L_per_day} "
        "on an unchanged dose. Look at the animals, temperature and salinity first."
    ),
    "alkalinity_rose": (
        "Alkalinity rose from {from_meq_per_L} to {to_meq_per_L} in {rise_days} on an unchanged dose. "
        "The animals seem to take about {less_share} less than is given."
    ),
    "second_source_unknown_strength": (
        "{remainder_meq_per_day} is left for the second source. "
        "Enter its strength in Setup for its own units."
    ),
    "salinity_falls": (
        "{delivered_L_per_day} is more than evaporates ({evaporation_low_L_per_day}). "
        "Salinity falls by up to {salinity_fall_PSU_per_day}, and the sump rises."
    ),
    "setting_above_cap": "{delivered_L_per_day} is given, above the limit of {cap_L_per_day}.",
    "setting_net_change": (
        "As set now, alkalinity moves by {net_low_meq_per_L_per_day} "
        "to {net_high_meq_per_L_per_day}."
    ),
    "if_stopped_eating": (
        "If the animals stopped feeding, this setting adds up to {rise_meq_per_L_per_day}."
    ),
    **FOLLOWS,
}
