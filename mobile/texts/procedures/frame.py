"""Words around the steps of every guided procedure: answers, waits, findings, facts, tools."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "mix_done": "Done",
    "mix_start": "Start",
    "mix_stop": "Stop this run",
    "mix_confirm": "Keep {typed}",
    "mix_step": "Step {place} of {steps}",
    "mix_stopped": "This run was stopped.",
    "mix_stopped_by_keeper": "You stopped this run.",
    "mix_after_nothing": "Nothing was changed on the system.",
    "mix_after_records": "What this run had recorded by then stays in the log.",
    "mix_after_delivery_off": (
        "Limewater is still switched off. Close what stands open before you switch it on again."
    ),
    "mix_after_powder_in": (
        "Fresh powder is in the vessel and limewater is still off. "
        "It must rest 4 hours and run clear into a jug before any dose."
    ),
    "lime_reservoir_powder_in": (
        "Fresh powder is in the container and limewater is still off. "
        "It must rest 12 hours and be clear before any dose."
    ),
    "mix_after_on": "Limewater is on again, and the powder is recorded.",
    "mix_stop_ask": "Leave the page to pause: the run goes on at this step. Stop ends it for good.",
    "mix_delivery_paused": "Limewater is paused since {since}.",
    "mix_gear": "Put this on again before you go on: {gear}.",
    "mix_gear_goggles": "goggles",
    "mix_gear_mask": "mask",
    "mix_gear_gloves": "gloves",
    "mix_continue": "Go on",
    "mix_continue_early": "Go on early",
    "mix_wait_again": "Start the wait anew",
    "mix_wait_least": "{left} until you may go on, at {least}. Advised until {advised}.",
    "mix_wait_only": "{left} left, until {advised}.",
    "mix_wait_advised": "You may go on. Better wait {left} more, until {advised}.",
    "mix_wait_over": "The wait ended at {advised}, {ago}.",
    # --- why an answer is held
    "mix_already_open": "A run is open already. Finish it or stop it first.",
    "mix_not_open": "No run is open. Start it first.",
    "mix_fact_missing": "This cannot be worked out: {fact} is missing. Change nothing until it is known.",
    "mix_answer_unknown": "That is no answer to this step.",
    "mix_wait_not_over": "The wait is not over. Let it be until then.",
    "mix_clock_back": "This phone's clock was moved back. Set the clock, or start the wait anew.",
    "mix_amount_above_largest": (
        "{typed} is more than this vessel may be given: {largest}. Weigh less powder in."
    ),
    "mix_amount_unusual": (
        "{typed} is far from the {advised} worked out for this vessel. "
        "Keep it only if the scale says so."
    ),
    # --- names of numbers that may be missing, and where they come from
    "fact_recharge_powder_g": "the powder for a recharge (vessel in Setup, litres in Plan)",
    "fact_largest_charge_powder_g": "the largest charge (vessel in Setup)",
    "fact_draw_off_L": "the volume of the vessel (see Setup)",
    "fact_assay_share": "the powder's assay (see Setup)",
    "fact_mix_share": "how strong to mix (see Plan)",
    "fact_tonight_L": "the plan's litres (see Plan)",
    "fact_plan_L_per_day": "the plan's litres (see Plan)",
    "fact_half_plan_L_per_day": "the plan's litres (see Plan)",
    "fact_three_quarter_plan_L_per_day": "the plan's litres (see Plan)",
    "fact_evaporation_high_L_per_day": "the most that evaporates in a day (see Setup)",
    "fact_net_volume_L": "the net water volume (see Setup)",
    "fact_volume_error_share": "how sure the volume is (see Setup)",
    "fact_lime_degC": "the temperature where the lime dissolves (see Setup)",
    "fact_strength_share": "the strength: the readings do not fit together. Measure again, it",
    "fact_strength_low_share": "the strength: the readings do not fit together. Measure again, it",
    "fact_found_volume_L": "a volume: the readings do not fit together. Measure again, it",
    "fact_found_error_share": "a volume: the readings do not fit together. Measure again, it",
    "fact_other": "a number that this step needs",
    # --- what must be at hand
    "tool_acid": "Household vinegar or citric acid",
    "tool_acid_standard": "Standard hydrochloric acid, 0.1 mol/L, ready made",
    "tool_bags": "Strong plastic bags and a pen",
    "tool_bottle": "A 250 mL bottle with a cap",
    "tool_bottles": "Two bottles with caps",
    "tool_buckets": "Buckets, one with a lid",
    "tool_buffers": "Fresh buffers of pH 7.00 and 10.00",
    "tool_burette": "A burette or a graduated 50 mL syringe",
    "tool_cloth": "A cloth",
    "tool_cylinder": "A measuring cylinder of 100 mL or more",
    "tool_funnel": "A funnel",
    "tool_gloves": "Waterproof gloves that reach under the sleeves",
    "tool_goggles": "Close-fitting goggles",
    "tool_indicator": "Phenolphthalein indicator",
    "tool_jar": "A jar with a lid",
    "tool_jug": "A jug that holds what drips",
    "tool_kit": "Your alkalinity test kit",
    "tool_labels": "Labels and a waterproof pen",
    "tool_mask": "A particle mask, FFP2 or N95",
    "tool_meter": "A conductivity meter for 0 to 20 mS/cm",
    "tool_new_water": "Salt water, mixed and warm",
    "tool_pH_meter": "A pH meter or probe",
    "tool_paper": "Damp kitchen paper and a wet cloth",
    "tool_reference": "An alkalinity reference solution",
    "tool_ro": "RO/DI water",
    "tool_rod": "A plastic rod",
    "tool_salinity_meter": "A salinity meter",
    "tool_scale": "A kitchen scale that shows grams",
    "tool_sheet": "The minder's sheet, printed",
    "tool_standard": "A conductivity or salinity standard",
    "tool_syringe": "A 5 mL syringe",
    "tool_tap": "A running tap within ten seconds",
    "tool_tape": "A tape measure",
    "tool_thermometer": "A thermometer",
    "tool_torch": "A torch",
    "tool_towels": "Towels and a tray",
    "tool_tube": "The new tube",
    "tool_watch": "A watch with seconds",
}
