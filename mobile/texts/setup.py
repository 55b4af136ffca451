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
    "page_equipment": "Equipment",
    "about_equipment": "Details behind the numbers.",
    # fields
    "field_name": "Name",
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
    "field_band_low_total_alkalinity_meq_per_L": "Band, low end",
    "field_band_high_total_alkalinity_meq_per_L": "Band, high end",
    "field_floor_total_alkalinity_meq_per_L": "Floor, never below",
    "field_second_source": "The rest comes from",
    "field_two_part_meq_per_mL": "Strength of the alkalinity part",
    "hint_two_part_meq_per_mL": "Milliequivalents in each millilitre, from its label or recipe.",
    "field_reactor_effluent_meq_per_L": "Alkalinity of the reactor's outflow",
    "field_keeper_cap_L_per_day": "Most limewater in a day, ever",
    "hint_keeper_cap_L_per_day": "Your own ceiling. Your least evaporation is offered.",
    "field_evaporation_share": "Share of the least evaporation to use",
    "field_net_rise_meq_per_L_per_day": "Most that alkalinity may rise by plan",
    "field_stopped_rise_meq_per_L_per_day": "Most it may rise if the corals stopped feeding",
    "field_limewater_L_per_day": "Limewater set now",
    "field_alkalinity_meq_per_day": "Second source set now",
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
    "field_lime_temperature_degC": "Temperature where the lime dissolves",
    "field_tank_temperature_degC": "Tank temperature",
    "field_net_volume_error_share": "How unsure the volume is, ±",
    "field_doses_per_day": "Doses a day",
    "field_pump_step_mL": "Smallest step of the pump",
    "field_fresh_water_container_L": "Fresh-water container",
    "field_stirrer_every_h": "Stirrer runs every",
    "field_powder_assay": "Calcium hydroxide in the powder",
    "hint_powder_assay": "From the label. Unknown: 92 %.",
    # options
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
    "storage_file": "In a folder on this machine, written through at each save.",
    "storage_memory": "NOWHERE: this browser gives the app no storage. Export before you leave.",
    "persisted_yes": "The browser promised not to clear it.",
    "persisted_no": "The browser may clear it when room is short. Installing the app helps.",
    "persisted_unknown": "Whether the browser may clear it is asked after the first save.",
    "room": "{used} used of {quota}.",
    "record_count": "{records}, written as {device}.",
    "last_export_never": "Never exported. A lost or drowned phone takes the records with it.",
    "last_export": "Last export: {when}.",
    "import_found": "In this file: {new} new, {same} already here, {conflicting} in conflict.",
    "import_rejected": "Cannot be read, and stays out: {rejected}.",
    "import_apply": "Import {new}",
    "import_apply_damaged": "Import what is readable",
    "import_leave": "Leave everything as it is",
    "emergency": "Open the emergency card",
    "problems": "Found when the records were opened",
}
