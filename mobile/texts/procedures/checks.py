"""Sentences of the checks: pump, strength, air gap, meters. Bounds: common practice, no source."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "pump_check": "Check the metering pump",
    "pump_check_about": "Three runs into a measuring cylinder: mean, spread and wear.",
    "pump_check_finished": (
        "Finished. Check the pump again in a month, after a new tube in 48 hours."
    ),
    "pump_risk_1": "A line that hangs low siphons on with the pump unplugged.",
    "pump_risk_2": "Air in the line makes the runs too small.",
    "pump_risk_3": "A raised setting becomes an overdose when the tube is changed.",
    "pump_line": "Hang the line's tank end into a jug.",
    "pump_line_note": "Same height as at the sump: height changes what the pump gives.",
    "pump_expected": "Read on the pump what ten doses should give.",
    "pump_expected_note": "At least 100 mL, or ten minutes of pumping, tells it well.",
    "pump_prime": "Run the pump into the jug until no air comes.",
    "pump_run_1": "Pump the first ten doses into the measuring cylinder.",
    "pump_run_1_note": "Read at the bottom of the curved surface.",
    "pump_run_2": "Pump the second ten doses into the measuring cylinder.",
    "pump_run_3": "Pump the third ten doses into the measuring cylinder.",
    "pump_run_unusual": (
        "{typed} is far from the {advised} that the pump promised. Keep it only if you measured it."
    ),
    "pump_again_unusual": (
        "{typed} is far from the first run's {advised}: air, or a worn tube. Prime and "
        "measure again."
    ),
    "pump_spread": "Is the spread of the three runs, {spread_share}, 3 % or less?",
    "pump_spread_agree": "Yes, they agree",
    "pump_spread_block": "They differ by {spread_share}: that is air in the line or a worn tube.",
    "pump_spread_apart": "No: prime and measure again",
    "pump_spread_apart_why": "Air in the line, or a worn tube. Three new runs follow.",
    "pump_spread_worn": "No, the second time too: keep them",
    "pump_mean": "The pump gives {mean_mL} for {expected_mL}: {pump_share} of its setting.",
    "pump_mean_rate_note": "It really pumps {new_rate_L_per_h}.",
    "pump_mean_trend_note": "Since the first check of this tube it has lost {wear_share}.",
    "pump_mean_off_note": "The plan counts with this share from now on. Set what Today says.",
    "pump_mean_worn_note": (
        "More than 15 % off: fit a new tube. A raised setting only hides the wear."
    ),
    "pump_line_back": "Hang the line's end back over the sump.",
    "pump_line_back_note": "Its end stays above the highest water level, with air between.",
    "strength_conductivity": "Check strength by conductivity",
    "strength_conductivity_about": "Compare what reaches the sump with your own saturated sample.",
    "strength_conductivity_finished": "Finished. Today and Plan count with this strength now.",
    "conductivity_risk_1": "Two samples of different temperature cannot be compared.",
    "conductivity_risk_2": "Salt in the sample reads as strength.",
    "conductivity_risk_3": "A sample that is not saturated makes weak limewater look strong.",
    "conductivity_own": "Do you have a settled, saturated sample of your own?",
    "conductivity_own_have": "Yes, settled for 12 hours",
    "conductivity_own_make": "No, make one now",
    "conductivity_bottle": "Fill a 250 mL bottle with RO/DI water.",
    "conductivity_powder": "Weigh 1 g of powder into the bottle, on the scale.",
    "conductivity_powder_note": "That is more than it can dissolve.",
    "conductivity_shake": "Shake the closed bottle for a minute.",
    "conductivity_mark": "Write “caustic, not water” on the bottle.",
    "conductivity_settle": "Let the bottle settle for 12 hours beside the vessel.",
    "conductivity_sample": "Catch a clear sample of what reaches the sump.",
    "conductivity_clear": "Are both samples clear as water?",
    "conductivity_clear_clear": "Both clear",
    "conductivity_clear_milky": "One is milky",
    "conductivity_clear_milky_why": "Let it settle until it is clear, then go on.",
    "conductivity_same": "Are both samples within 1 °C of each other?",
    "conductivity_same_note": "One degree apart already changes the ratio by 2 %.",
    "conductivity_same_same": "Yes, I measured both",
    "conductivity_same_apart": "No, or not measured",
    "conductivity_same_apart_why": (
        "Let them stand side by side, closed, until they are. Then measure again."
    ),
    "conductivity_degC": "Enter the temperature of both samples.",
    "conductivity_rinse_1": "Rinse the meter's probe with RO/DI water.",
    "conductivity_saturated": "Read the meter in your own saturated sample.",
    "conductivity_saturated_note": (
        "Saturated limewater really reads about 8 mS/cm at 25 °C. The ratio counts, not this number."
    ),
    "conductivity_rinse_2": "Rinse the probe again with RO/DI water.",
    "conductivity_reading": "Read the meter in the sample from the sump.",
    "conductivity_reading_unusual": (
        "{typed} against {advised} in the saturated sample is unusual. Rinse, then read again."
    ),
    "conductivity_keep": (
        "Keep {strength_share} of saturated, likely {strength_low_share} to {strength_high_share}?"
    ),
    "conductivity_keep_keep": "Keep it",
    "conductivity_keep_again": "Measure again",
    "conductivity_keep_again_why": "Nothing was kept. The readings follow once more.",
    "conductivity_keep_weak_note": "Weak: recharge. Never turn the pump up instead.",
    "conductivity_keep_over_note": (
        "More than saturated cannot be: look at the sample and the temperature once more."
    ),
    "conductivity_keep_own_note": (
        "Your saturated sample is far from what it should read: check the meter with a standard."
    ),
    "strength_dilution": "Check strength by a diluted kit test",
    "strength_dilution_about": "5 mL made up to 100 mL, then your ordinary alkalinity test.",
    "strength_dilution_finished": "Finished. Today and Plan count with this strength now.",
    "dilution_risk_1": "White haze reads as strength: the sample must be clear.",
    "dilution_risk_2": "Half a millilitre too much in the syringe is 10 % too strong.",
    "dilution_risk_3": "The undiluted sample burns; tests are not made for it.",
    "dilution_sample": "Catch a clear sample of what reaches the sump.",
    "dilution_clear": "Is the sample clear as water?",
    "dilution_clear_clear": "Clear",
    "dilution_clear_milky": "Hazy or milky",
    "dilution_clear_milky_why": "Let it settle until it is clear, then go on.",
    "dilution_degC": "Measure the temperature where the lime dissolves.",
    "dilution_degC_as_advised": "{lime_degC}, as in Setup",
    "dilution_degC_other": "Another temperature",
    "dilution_syringe": "Draw exactly 5.0 mL of the sample into a syringe.",
    "dilution_cup": "Empty the syringe into a clean measuring cylinder.",
    "dilution_top": "Top the cylinder up to exactly 100 mL with RO/DI water.",
    "dilution_mix": "Swirl the closed cylinder.",
    "dilution_test": "Test the diluted water with your alkalinity kit.",
    "dilution_test_note": (
        "Saturated at {stand_degC} reads {saturated_dilution_meq_per_L}, half strength "
        "{half_dilution_meq_per_L}."
    ),
    "dilution_test_unusual": (
        "{typed} is far from the {advised} of saturated limewater. Test a fresh dilution."
    ),
    "dilution_keep": (
        "Keep {strength_share} of saturated, likely {strength_low_share} to {strength_high_share}?"
    ),
    "dilution_keep_keep": "Keep it",
    "dilution_keep_again": "Measure again",
    "dilution_keep_again_why": "Nothing was kept. The readings follow once more.",
    "dilution_keep_weak_note": "Weak: recharge. Never turn the pump up instead.",
    "dilution_keep_over_note": (
        "More than saturated cannot be: look at the sample and the temperature once more."
    ),
    "dilution_pour": "Pour sample and dilution down the drain with plenty of water.",
    "dilution_pour_note": "Never back into the tank.",
    "dilution_vial": "Rinse the kit's vial three times.",
    "dilution_vial_note": (
        "Away from the tank. Haze on the glass goes off with a little household vinegar."
    ),
    "strength_titration": "Check strength by titration",
    "strength_titration_about": (
        "100 mL of limewater against standard acid, to the end of the pink."
    ),
    "strength_titration_finished": "Finished. Today and Plan count with this strength now.",
    "titration_risk_1": "Acid stronger than 0.1 mol/L burns and makes the result wrong.",
    "titration_risk_2": "Sample, acid and indicator never go near the tank.",
    "titration_risk_3": "Haze that settles out makes the result unsure.",
    "titration_acid": "Does the acid's label say hydrochloric acid, 0.1 mol/L?",
    "titration_acid_yes": "Yes, 0.1 mol/L",
    "titration_acid_no": "Another strength, or not sure",
    "titration_acid_no_why": (
        "Use bought standard acid of 0.1 mol/L only. Do not dilute strong acid for this."
    ),
    "titration_sample": "Catch a clear sample of what reaches the sump.",
    "titration_clear": "Is the sample clear as water?",
    "titration_clear_clear": "Clear",
    "titration_clear_milky": "Hazy or milky",
    "titration_clear_milky_why": "Let it settle until it is clear, then go on.",
    "titration_measure": "Measure exactly 100 mL of the sample into a glass.",
    "titration_indicator": "Add three drops of phenolphthalein.",
    "titration_indicator_note": (
        "The sample turns pink. The indicator is harmful: keep your gloves on."
    ),
    "titration_acid_mL": "Add acid, drop by drop at the end, until the pink is gone.",
    "titration_acid_mL_note": (
        "Saturated at {stand_degC} takes {saturated_acid_mL}. Swirl after every addition."
    ),
    "titration_acid_unusual": (
        "{typed} is far from the {advised} that saturated limewater takes. Measure again."
    ),
    "titration_keep": (
        "Keep {strength_share} of saturated, likely {strength_low_share} to {strength_high_share}?"
    ),
    "titration_keep_keep": "Keep it",
    "titration_keep_again": "Measure again",
    "titration_keep_again_why": "Nothing was kept. The readings follow once more.",
    "titration_keep_weak_note": "Weak: recharge. Never turn the pump up instead.",
    "titration_keep_over_note": (
        "More than saturated cannot be: look at the sample and the temperature once more."
    ),
    "titration_pour": "Pour the titrated sample down the drain with plenty of water.",
    "titration_pour_note": "Never back into the tank.",
    "titration_rinse": "Rinse glass and burette with RO/DI water.",
    "safety_check": "Check air gap, outlet and cut-off",
    "safety_check_about": "See that the lime line cannot siphon and that the top-off stops.",
    "safety_check_finished": "Finished. Look at outlet and drops every week.",
    "safety_risk_1": "Unplugging a pump does not stop a siphon.",
    "safety_risk_2": "A crust at the outlet shuts the line or lifts the vessel's lid.",
    "safety_risk_3": "A stuck sensor lets the top-off run on.",
    "safety_gap": "Does the lime line end above the highest water level?",
    "safety_gap_air": "Yes, with air between",
    "safety_gap_under": "No, it reaches the water",
    "safety_gap_under_why": (
        "Lift the line out of the sump. Fix it above the highest water level, then begin again."
    ),
    "safety_still": "Let the line stand for 2 minutes with everything off.",
    "safety_siphon": "Has the line stopped dripping?",
    "safety_siphon_stopped": "Yes, no drop falls",
    "safety_siphon_runs": "It runs on",
    "safety_siphon_runs_why": (
        "That is a siphon. Lift the line out of the sump. Raise it above the container's "
        "water level."
    ),
    "safety_crust": "Is the outlet free of crust?",
    "safety_crust_clean": "Clean",
    "safety_crust_crust": "There is a crust",
    "safety_crust_crust_why": "Put a new soft tip on, or cut the end off. Then look again.",
    "safety_valve": "Is every check valve of the line younger than six months?",
    "safety_valve_young": "Yes",
    "safety_valve_none": "There is none",
    "safety_valve_old": "No, or not known",
    "safety_valve_old_why": "Put a new one in. It helps, but the air gap is what protects.",
    "safety_plugs": "Do all plugs hang beside or above the sump, with drip loops?",
    "safety_plugs_dry": "Yes, dry",
    "safety_plugs_below": "No",
    "safety_plugs_below_why": (
        "Move them first. With wet plugs switch off at the fuse box, with dry hands."
    ),
    "safety_lift": "Lift the top-off's sensor as the water would lift it.",
    "safety_lift_note": "If it sees light or pressure instead, make it see “full”.",
    "safety_cut_off": "Does the top-off stop by itself?",
    "safety_cut_off_stops": "It stops",
    "safety_cut_off_no_top_off": "There is no top-off",
    "safety_cut_off_runs": "It runs on",
    "safety_cut_off_runs_why": "Switch the top-off off. Fill by hand until a new sensor is in.",
    "safety_sensor": "Put the sensor back in its place.",
    "meter_checks": "Check probe, meters and reagents",
    "meter_checks_about": "Compare them with a buffer, a standard and a reference.",
    "meter_checks_finished": "Finished. Readings are only as good as these checks.",
    "meter_risk_1": "Old buffer or standard makes a good meter look wrong.",
    "meter_risk_2": "A new bottle of reagent can shift every later test.",
    "meter_probe": "Check the pH probe now?",
    "meter_probe_yes": "Yes",
    "meter_probe_no": "Not today",
    "meter_probe_rinse": "Rinse the probe with RO/DI water.",
    "meter_probe_rinse_note": "Wipe crust off with a soft cloth.",
    "meter_buffer_7": "Read the probe in fresh buffer of pH 7.00.",
    "meter_buffer_10": "Read the probe in fresh buffer of pH 10.00.",
    "meter_buffer_10_note": "Buffer of pH 10 goes off within hours in an open cup.",
    "meter_probe_result": "The probe is off by {probe_error_pH} at most.",
    "meter_probe_result_off_note": "That is 0.1 or more: calibrate it. Until then this is said wherever pH is asked for.",
    "meter_probe_result_spent_note": "That is 0.3 or more: the probe may be spent.",
    "meter_probe_set": "Do you calibrate the probe now?",
    "meter_probe_set_no": "No",
    "meter_probe_set_yes": "Yes",
    "meter_probe_set_act": "Set the probe in both fresh buffers, as its manual says.",
    "meter_probe_set_act_note": "“Done” records it as calibrated.",
    "meter_meter": "Check the conductivity or salinity meter now?",
    "meter_meter_yes": "Yes",
    "meter_meter_no": "Not today",
    "meter_standard": "Read the value on the standard's label.",
    "meter_meter_rinse": "Rinse the meter's probe with a little standard.",
    "meter_standard_reading": "Read the meter in the standard, at 25 °C or compensated.",
    "meter_reading_unusual": (
        "{typed} is far from the {advised} on the label. Take fresh standard and read again."
    ),
    "meter_meter_result": "The meter is off by {meter_off_share}.",
    "meter_meter_result_off_note": "That is 2 % or more, about 0.7 PSU: calibrate it. Until then salinity is told with it.",
    "meter_meter_set": "Do you calibrate the meter now?",
    "meter_meter_set_no": "No",
    "meter_meter_set_yes": "Yes",
    "meter_meter_set_act": "Set the meter in fresh standard, as its manual says.",
    "meter_meter_set_act_note": "“Done” records it as calibrated.",
    "meter_reagent": "Check the alkalinity reagent now?",
    "meter_reagent_yes": "Yes",
    "meter_reagent_no": "Not today",
    "meter_reference": "Read the alkalinity on the reference solution's label.",
    "meter_reference_reading": "Test the reference with your kit.",
    "meter_reagent_result": "The reagent is off by {reagent_off_share}.",
    "meter_reagent_result_off_note": (
        "That is 5 % or more: take another bottle. A change of bottle is not a change of demand."
    ),
    "meter_tds": "Check the fresh water after the last filter stage now?",
    "meter_tds_yes": "Yes",
    "meter_tds_no": "Not today",
    "meter_tds_reading": "Read the TDS meter in fresh RO/DI water.",
    "meter_tds_result": "The fresh water reads {tds_ppm}.",
    "meter_tds_result_off_note": "That is 3 or more: change the resin soon, at 5 now.",
    "meter_close": "Close every bottle.",
}
