"""Words of the first run and of Setup."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "welcome_title": "Sumpside",
    "welcome": (
        "Works out how much limewater your reef aquarium needs a day, and how sure that is. "
        "Everything stays on this phone, and works without signal."
    ),
    "welcome_caution": (
        "Limewater and its powder burn skin and blind eyes, and too much kills a tank. "
        "The app advises. You set the pump, and the powder's own safety data sheet and local "
        "rules come first."
    ),
    "welcome_start": "Set up my system",
    "welcome_resume": "Go on with the set-up",
    "welcome_import": "Bring records from an export",
    "welcome_demo": "Look around in a demo",
    "step_of": "Step {step} of {steps}",
    "next": "Next",
    "use": "Save",
    "finish": "Save and start",
    "previous": "Back",
    "needed": "Still needed: {what}.",
    "out_of_order": "“{low}” must not be above “{high}”.",
    "demand_too_large": (
        "What is set now would be {demand} in this volume: more than any tank uses. "
        "Look at the digits and the units."
    ),
    "demand_unusual": (
        "{demand} is outside what tanks usually use: {low} to {high}. "
        "Look at the digits and the units. If it is right, go on once more."
    ),
    "lamps_same": "Lamps on and off at the same hour: change one, or leave both unset.",
    "lamps_one": "Give both hours of the lamps, or leave both unset.",
    "night_needs_lamps": "Doses in the dark need both hours of the lamps.",
    "months_same": "The same month cannot evaporate most and least.",
    "tool_pH_limits": "Measure how fast the air works",
    "unset": "not set",
    "clear": "Leave “{what}” unset",
    "phone_one_number": (
        "{what}: one number as it is dialled: digits, spaces, and a plus in front. No words."
    ),
    "stays": "now {value}",
    "offered": "offered: {value}",
    # pages
    "page_system": "Your system",
    "about_system": "A name, and how much water there really is.",
    "page_delivery": "How limewater gets in",
    "about_delivery": "What feeds what decides every limit. Take the one that fits.",
    "page_evaporation": "Evaporation",
    "about_evaporation": (
        "Each litre of limewater must be a litre that evaporates. "
        "Give your least and your most in a day. Refills will narrow it."
    ),
    "page_targets": "Alkalinity to hold",
    "about_targets": "These are common practice for a reef tank. Keep them, or type your own.",
    "page_second_source": "A second source",
    "about_second_source": "What gives the alkalinity that limewater cannot.",
    "page_limits": "Your limits",
    "about_limits": (
        "No dose passes these. Common practice, offered for you to confirm. "
        "A limit left unset means no dose at all."
    ),
    "page_start": "What it gets now",
    "about_start": (
        "Until two tests exist, this serves instead, and is marked as entered. "
        "Leave empty what you do not know."
    ),
    "page_demand": "Demand, entered",
    "about_demand": "Serves until two tests exist, and is marked as entered. Tests replace it.",
    "page_safety": "For an accident",
    "about_safety": "The emergency card shows these. Salt water ready is the real rescue kit.",
    "page_guards": "What stops an accident",
    "about_guards": (
        "A pump that sticks on, a siphon, a tipped container: what ends them in your set-up. "
        "Plan tells what each would do. Enter only what you have tested."
    ),
    "field_pump_cut_off_hours": "Longest run before a timer cuts the lime pump off",
    "hint_pump_cut_off_hours": "Leave it unset when nothing does. It must need a hand to reset.",
    "field_top_off_L_per_h": "What the top-off pump gives while it runs",
    "field_top_off_cut_off_hours": "Longest run before the top-off cuts itself off",
    "hint_top_off_cut_off_hours": "Lift the sensor and wait: does it stop? Leave unset if not.",
    "field_siphon_break": "Is there an air gap above every water level?",
    "hint_siphon_break": "A visible drip into air. A check valve does not count.",
    "field_unattended_hours": "Longest time that nobody looks",
    "field_hazard_band": "What no single fault may reach",
    "hint_hazard_band": "pH 8.8 is the usual one. 8.6 wants smaller containers.",
    "option_act_now": "Act now: pH 8.8",
    "option_stop_lime": "Stop lime: pH 8.6",
    "page_equipment": "Equipment",
    "about_equipment": "Details behind the numbers.",
    "page_powder": "Powder",
    "about_powder": (
        "How long a recharge is to last, and how early to order. "
        "Left unset: 14 days, 7 days for delivery, 14 days in hand. All common practice."
    ),
    "page_lamps": "Lamps and doses",
    "about_lamps": "When the lamps burn. In the dark pH is lowest, and lime lifts it where it may.",
    "page_pH_limits": "pH and air",
    "about_pH_limits": "How far limewater may lift pH, and how fast the room's air evens it out.",
    "page_other_water": "Other water",
    "about_other_water": "What comes and goes besides evaporation.",
    "page_kits": "Your test kits",
    "about_kits": "How far two tests of the same water differ. Tests count by it.",
    "page_season": "Season",
    "about_season": "Months that you know to evaporate most and least. Half a year of refills replaces them.",
    # fields
    "field_powder_days": "A recharge is to last",
    "hint_powder_days": "Longer is handy and riskier: a tipped vessel holds more lime.",
    "field_powder_lead_days": "A delivery of powder takes",
    "field_powder_margin_days": "Keep in hand",
    "field_scoop_g": "Your own scoop, level, weighed",
    "hint_scoop_g": (
        "Weigh ten level scoops on a kitchen scale and take a tenth. Weighing each charge is better."
    ),
    "field_currency": "Your currency",
    "field_name": "Name",
    "hint_name": "Left empty: My tank. You can change it here at any time.",
    "empty_name": "My tank",
    "field_net_volume_L": "Net water volume",
    "hint_net_volume_L": (
        "Only water: about 85 % of the glass, plus the sump at running level (common practice). "
        "Taken as ±10 %."
    ),
    "field_delivery": "Limewater comes by",
    "field_vessel_L": "Volume of the stirred vessel",
    "field_lime_container_L": "Volume of the lime container",
    "field_shared_container": "Does one fresh-water container feed the lime pump and the top-off?",
    "hint_shared_container": "Then its fall is the whole evaporation.",
    "field_pump_L_per_h": "Metering pump, at full rate",
    "field_evaporation_low_L_per_day": "Least in a day",
    "hint_evaporation_low_L_per_day": "A cool, damp day, windows shut. Not known? Mark the level and see what a day takes; often 0.5 to 2 % of the volume (common practice).",
    "field_evaporation_high_L_per_day": "Most in a day",
    "field_target_total_alkalinity_meq_per_L": "Target",
    "field_band_low_total_alkalinity_meq_per_L": "Good from",
    "field_band_high_total_alkalinity_meq_per_L": "Good up to",
    "field_floor_total_alkalinity_meq_per_L": "Never below (floor)",
    "field_second_source": "The rest comes from",
    "field_two_part_meq_per_mL": "Strength of the alkalinity part",
    "hint_two_part_meq_per_mL": "From its label or recipe, in any of these units.",
    "field_reactor_effluent_meq_per_L": "Alkalinity of the reactor's outflow",
    "field_keeper_cap_L_per_day": "Most limewater in a day, ever",
    "hint_keeper_cap_L_per_day": "Your own ceiling. Your least evaporation is offered.",
    "field_evaporation_share": "Share of the least evaporation to use",
    "field_net_rise_meq_per_L_per_day": "Most that alkalinity may rise in a day, by plan",
    "field_stopped_rise_meq_per_L_per_day": "Most it may rise in a day if the corals used none",
    "field_limewater_L_per_day": "Limewater set now",
    "field_two_part_mL_per_day": "Alkalinity part set now",
    "hint_two_part_mL_per_day": "As much of the other part is taken for granted.",
    "field_flow_L_per_day": "Flow through the reactor now",
    "hint_flow_L_per_day": "Measured at its outlet.",
    "field_reactor_flow_L_per_day": "Flow at which the reactor is kept",
    "hint_reactor_flow_L_per_day": (
        "Then the plan says what alkalinity its outflow needs. Left unset: a flow is given."
    ),
    "hint_limewater_L_per_day": "0 when it gets none yet.",
    "field_set_since": "Set like that since",
    "hint_set_since": "Tests from before are not used: what went in then is not known.",
    "option_today": "Today",
    "option_week": "A week or more",
    "option_month": "A month or more",
    "field_holds_steady": "Does alkalinity hold steady on that?",
    "hint_holds_steady": "Steady for a week or more, give or take 0.3 dKH: then that is the demand.",
    "field_entered_demand_meq_per_L_per_day": "Alkalinity the tank uses, if you know it",
    "field_salt_water_ready_L": "Salt water mixed and ready",
    "hint_salt_water_ready_L": (
        "A quarter of the tank's volume is a good reserve (common practice)."
    ),
    "field_drain_back_L": "Water that drains into the sump when the return stops",
    "field_phone_vet": "Vet",
    "field_phone_poison_centre": "Poison centre",
    "field_phone_emergency": "Emergency number",
    "field_lime_temperature_degC": "Temperature at the lime vessel or container",
    "field_tank_temperature_degC": "Tank temperature",
    "field_net_volume_error_share": "How far off the volume may be, either way",
    "field_doses_per_day": "Doses a day",
    "field_pump_step_mL": "Smallest step of the pump",
    "field_fresh_water_container_L": "Fresh-water container",
    "field_stirrer_every_h": "Stirrer runs every",
    "field_powder_assay": "Purity of the lime powder",
    "hint_powder_assay": "Calcium hydroxide in it, from the label. Not known: 92 %.",
    "field_lights_on_hours": "Lamps on at",
    "hint_lights_on_hours": (
        "As on this phone's clock: 9:30, or 930. Left unset: no curve of the day's pH."
    ),
    "field_lights_off_hours": "Lamps off at",
    "hint_lights_off_hours": "21:00, or 2100. 24:00 is midnight.",
    "field_doses_at_night": "Give more of the limewater in the dark?",
    "hint_doses_at_night": "Needs both hours above. Otherwise doses are even over the day.",
    "field_ceiling_pH": "Highest pH to plan for",
    "hint_ceiling_pH": "From 8.0 to 8.5. Left unset: 8.45 (common practice).",
    "field_dose_rise_pH": "Most that one dose may lift pH",
    "hint_dose_rise_pH": "From 0.01 to 0.1. Left unset: 0.05 (common practice).",
    "field_gas_exchange_per_day": "How fast air evens out pH",
    "hint_gas_exchange_per_day": (
        "5 a day for a calm, covered tank, 50 for a strong skimmer and open top (estimate). "
        "Left unset: all of that range. Better measured, below."
    ),
    "field_top_off_alkalinity_meq_per_L": "Alkalinity of the plain top-off water",
    "hint_top_off_alkalinity_meq_per_L": (
        "0 for RO/DI water. Hard tap water can have 7 to 14 dKH (common practice)."
    ),
    "field_skimmate_L_per_day": "Wet skimmate and splashes",
    "hint_skimmate_L_per_day": "What the skimmer's cup and splashes take in a day. 0 if little.",
    "field_sump_room_L": "Room left in the sump",
    "hint_sump_room_L": (
        "From its running level to the rim. Left unset: no day of overflow is told."
    ),
    "field_alkalinity_test_error_meq_per_L": "Alkalinity test, give or take",
    "hint_alkalinity_test_error_meq_per_L": (
        "Two tests in three lie within it: 0.2 dKH for a photometer, 0.3 for drops "
        "(common practice). Left unset: the app finds it from your tests."
    ),
    "field_calcium_test_error_mg_per_L": "Calcium test, give or take",
    "hint_calcium_test_error_mg_per_L": "Left unset: 15 mg/L (common practice).",
    "field_evaporation_high_month": "Evaporates most in",
    "field_evaporation_low_month": "Evaporates least in",
    # options
    "option_month_unknown": "Not known",
    "option_month_1": "January",
    "option_month_2": "February",
    "option_month_3": "March",
    "option_month_4": "April",
    "option_month_5": "May",
    "option_month_6": "June",
    "option_month_7": "July",
    "option_month_8": "August",
    "option_month_9": "September",
    "option_month_10": "October",
    "option_month_11": "November",
    "option_month_12": "December",
    "option_pump_vessel": "Metering pump through a stirred vessel",
    "option_pump_container": "Metering pump from a lime container",
    "option_top_off_vessel": "Automatic top-off through a stirred vessel",
    "option_top_off_container": "Lime in the top-off container",
    "option_drip": "Drip from a hung container",
    "option_none": "Nothing else",
    "option_two_part": "A two-part solution",
    "option_reactor": "A calcium reactor",
    "option_yes": "Yes",
    "option_no": "No",
    # the Setup screen
    "another_system": "Add another system",
    "systems": "Systems",
    "unit": "Show alkalinity in",
    "records": "Your records",
    "records_in_demo": "Your own records are untouched. Leave the demo to export or import.",
    "export": "Export all records",
    "import": "Import a file",
    "storage": "Where records are kept",
    "storage_opfs": "In this browser's own storage on this phone, written through at each save.",
    "storage_idb": "In this browser's database on this phone, written through at each save.",
    "storage_file": "In a folder on this machine, written through at each save.",
    "storage_memory": "NOWHERE: this browser gives the app no storage. Export before you leave.",
    "persisted_yes": "The browser promised not to clear it.",
    "persisted_no": "The browser may clear it when room is short. Installing the app helps.",
    "persisted_unknown": "Whether the browser may clear it is asked after the first save.",
    "room": "{used} used of {quota}.",
    "record_count": "{records}. This phone signs them {device}.",
    "last_export_never": "Never exported. A lost or drowned phone takes the records with it.",
    "last_export": "Last export: {when}.",
    "import_found": "In this file: {new} new, {same} already here, {conflicting} in conflict.",
    "import_rejected": "Cannot be read, and stays out: {rejected}.",
    "import_line": "Line {line}: {why}",
    "import_conflicts": "In conflict: the same number with other content. Both are kept:",
    "import_conflict": "{title}: {summary} · {when}",
    "import_more": "And {count} more.",
    "import_apply": "Import {new}",
    "import_apply_damaged": "Import what is readable",
    "import_leave": "Leave everything as it is",
    "emergency": "Open the emergency card",
    "problems": "Found when the records were opened",
}
