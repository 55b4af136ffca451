"""Sentences of the guided procedures, by the keys of the files in mobile/procedures.

A step's key is its act or question; `_note` adds why or how; `_<answer>` is the words of an answer,
`_<answer>_why` what follows from a refusing one. Waiting times, the order and the 8.4 of the pH are
common practice, no source.
"""

from typing import Final

# Statements by code; which of them hold for calcium hydroxide comes from its registration.
HAZARD_SOURCE: Final = (
    "H statements: GHS annex 3, Regulation (EC) No 1272/2008 annex III (wording from memory). "
    "Classification of calcium hydroxide, CAS 1305-62-0: safety data sheets under "
    "REACH registration 01-2119475151-45."
)
HAZARDS: Final[dict[str, str]] = {
    "signal": "Danger",
    "H315": "Causes skin irritation.",
    "H318": "Causes serious eye damage.",
    "H335": "May cause respiratory irritation.",
}

TEXTS: Final[dict[str, str]] = {
    "recharge_vessel": "Recharge the stirred vessel",
    "recharge_vessel_about": "Put new powder in, let it rest, start again with clear limewater.",
    # --- before anything is opened
    "mix_read": "Read all steps ahead before you begin.",
    "mix_read_note": "After the powder is in, the vessel rests four hours, two at least.",
    "mix_label": "What does the label on the powder say?",
    "mix_label_calcium_hydroxide": "Calcium hydroxide, CAS 1305-62-0",
    "mix_label_other": "Something else, or not sure",
    "mix_label_other_why": (
        "Do not use this powder. Calcium oxide (quicklime) boils in water. "
        "Garden, mortar and magnesium limes do not belong in a tank either."
    ),
    "mix_pH": "What is the tank's pH today?",
    "mix_pH_below": "Below 8.4",
    "mix_pH_high": "8.4 or higher",
    "mix_pH_high_why": "Choose another day: fresh limewater would raise the pH further.",
    "mix_pH_unknown": "Not measured today",
    "mix_pH_unknown_why": "Measure the pH first, then start again. Lime stays as it is until then.",
    "mix_pH_block": (
        "Your last record says pH {last_pH}. "
        "Record a new pH below 8.4 first, or choose another day."
    ),
    "mix_home": "Will somebody be at home and awake for the next 3 hours?",
    "mix_home_stays": "Yes, for 3 hours or more",
    "mix_home_leaves": "No, or it is late",
    "mix_home_leaves_why": "Choose another day. Recharge by day, never before bed or leaving.",
    "mix_quiet_day": "Is today free of water changes and one-off additions?",
    "mix_quiet_day_quiet": "Yes, nothing else today",
    "mix_quiet_day_busy": "No",
    "mix_quiet_day_busy_why": "Choose another day, so that one change can be judged at a time.",
    "mix_children_pets": "Are children and pets out of the room?",
    "mix_children_pets_away": "Yes, they are out",
    "mix_children_pets_near": "Not yet",
    "mix_children_pets_near_why": "Keep the powder closed until they are out.",
    "mix_water": "Can you reach a running tap within 10 seconds?",
    "mix_water_note": (
        "It is for the eyes: rinse at once, for 20 minutes, with the lids held open. "
        "Then see a doctor."
    ),
    "mix_water_near": "Yes, I tried it",
    "mix_water_far": "No",
    "mix_water_far_why": "Do not open powder here. Bring the work to where a tap is near.",
    "mix_draught": "Stop every fan and draught near the powder.",
    "mix_lenses": "Take out contact lenses, if you wear any.",
    "mix_phone": "Lay the phone on a dry shelf or in a clear bag.",
    "mix_phone_note": "Gloves carry lime to the phone, and the phone to the face.",
    # --- protective gear
    "mix_goggles": "Are close-fitting goggles on?",
    "mix_goggles_note": "Glasses keep out neither dust nor splashes.",
    "mix_goggles_on": "Goggles are on",
    "mix_goggles_missing": "I have none",
    "mix_goggles_missing_why": "Open nothing without goggles: lime blinds. Get some first.",
    "mix_mask": "Is a particle mask on?",
    "mix_mask_note": "Class FFP2 or N95; a loose dust mask leaks.",
    "mix_mask_on": "Mask is on",
    "mix_mask_missing": "I have none",
    "mix_mask_missing_why": "Open no powder without a mask: its dust irritates the lungs.",
    "mix_gloves": "Are waterproof gloves on, with the sleeves over them?",
    "mix_gloves_on": "Gloves are on",
    "mix_gloves_missing": "I have none",
    "mix_gloves_missing_why": "Touch no powder and no limewater without gloves: burns come late.",
    # --- limewater off
    "mix_pump_off": "Is the limewater pump off and unplugged?",
    "mix_pump_off_note": (
        "From here until the overflow is clear no limewater is given. "
        "Return pump, flow and heater stay on."
    ),
    "mix_pump_off_off": "Pump is off",
    "mix_pump_off_no_pump": "No pump: the top-off feeds it",
    "mix_pump_off_running": "Not yet",
    "mix_pump_off_running_why": "Switch the limewater pump off first. Unplug it, too.",
    "mix_stirrer_off": "Is the stirrer off?",
    "mix_stirrer_off_off": "Stirrer is off",
    "mix_stirrer_off_running": "Not yet",
    "mix_stirrer_off_running_why": "Switch the stirrer off first.",
    "mix_top_off_off": "Is the top-off through the vessel off?",
    "mix_top_off_off_off": "Top-off is off",
    "mix_top_off_off_no_top_off": "No top-off runs through it",
    "mix_top_off_off_running": "Not yet",
    "mix_top_off_off_running_why": "Switch it off first: it would push milk into the sump.",
    # --- opening the vessel
    "mix_outlet_jug": "Hang the vessel's outlet into a jug.",
    "mix_cloth": "Lay a cloth over the lid.",
    "mix_cloth_note": "Pressure under the lid can spray lime.",
    "mix_pressure": "Loosen the lid slowly until the pressure is gone.",
    "mix_draw_off": "Draw {draw_off_L} of water out of the vessel into the jug.",
    "mix_draw_off_note": "That is limewater: it burns like the powder.",
    # --- powder open: few taps until the lid is closed
    "mix_jar_water": "Fill a lidded jar half full with RO/DI water.",
    "mix_weigh": "Weigh {recharge_powder_g} of powder into the jar, on the scale.",
    "mix_weigh_note": "Pour low and slowly: dust stays down.",
    "mix_weigh_as_advised": "{recharge_powder_g} weighed",
    "mix_weigh_other": "Another amount",
    "mix_close_tub": "Close the powder tub and the jar.",
    "mix_swirl": "Swirl the closed jar until no dry powder is left.",
    "mix_pour": "Pour the slurry through a funnel into the vessel.",
    "mix_wipe_seal": "Wipe the vessel's seal clean.",
    "mix_wipe_seal_note": "Grit on the seal makes a slow leak.",
    "mix_close_lid": "Close the vessel's lid.",
    # --- stirring
    "mix_stir_on": "Switch the stirrer on.",
    "mix_stir_on_note": "The limewater pump stays off.",
    "mix_bar": "Is the stirrer bar turning?",
    "mix_bar_turns": "It turns",
    "mix_bar_stuck": "It stands still",
    "mix_bar_stuck_why": (
        "Switch the stirrer off. Rock the closed vessel gently. Switch the stirrer on again."
    ),
    "mix_stir": "Let the powder stir for 5 minutes.",
    "mix_leak": "Is the lid dry all round?",
    "mix_leak_dry": "Dry",
    "mix_leak_wet": "Wet or weeping",
    "mix_leak_wet_why": "Switch the stirrer off. Wipe the seal. Close the lid again.",
    "mix_outlet_in_jug": "See that the outlet hangs in the jug.",
    "mix_stir_off_note": "The limewater pump stays off, too.",
    "mix_stir_off": "Switch the stirrer off.",
    # --- hands and phone
    "mix_rinse_gloves": "Rinse the gloves under the tap.",
    "mix_gloves_off": "Take the gloves off.",
    "mix_wash_hands": "Wash your hands.",
    "mix_wipe_phone": "Wipe the phone with a damp cloth.",
    # --- rest, and clear again
    "mix_rest": "Let the vessel rest for 4 hours.",
    "mix_rest_note": "Overnight is better; 2 hours is the least. You may close the app.",
    "mix_run_clear": "Switch on only what feeds the vessel: it runs into the jug.",
    "mix_run_clear_note": "Fill the outlet line once, and go on until the drops are clear.",
    "mix_clear": "Is the overflow clear?",
    "mix_clear_clear": "Clear as water",
    "mix_clear_milky": "Still milky",
    "mix_clear_milky_why": "No lime into the tank yet: the vessel rests once more.",
    "mix_feed_off": "Switch it off again.",
    "mix_pH_again_note": "Hours have passed: measure it again before limewater runs.",
    "mix_pH_again_high_why": (
        "Leave the limewater off until the pH is below 8.4. Nothing is made up later."
    ),
    "mix_pH_again_unknown_why": "Measure the pH first. The limewater stays off until then.",
    "mix_outlet_back": "Hang the outlet back over the sump.",
    "mix_outlet_back_note": "Its end stays above the highest water level, with air between.",
    "mix_drip": "Do clear drops fall through air into the sump?",
    "mix_drip_drips": "Yes, I see them fall",
    "mix_drip_no_drops": "No drops, or a steady stream",
    "mix_drip_no_drops_why": (
        "Lift the outlet out of the sump. Leave lime off until you found the blockage or siphon."
    ),
    "mix_all_on": "Switch pump, stirrer and top-off back on.",
    "mix_all_on_note": "Only what was on before. Set no more than Today says.",
    "mix_first_hour": "Look at the vessel again in one hour.",
    "mix_look": "Are the drops into the sump clear?",
    "mix_look_note": "Look only; touch it with goggles and gloves on.",
    "mix_look_clear": "Clear as water",
    "mix_look_milky": "Milky",
    "mix_look_milky_why": (
        "Lift the outlet out of the sump into the jug at once. Then switch the lime pump off."
    ),
    # --- the frame
    "mix_done": "Done",
    "mix_start": "Start",
    "mix_stop": "Stop this run",
    "mix_confirm": "Keep {typed_g}",
    "mix_step": "Step {place} of {steps}",
    "mix_finished": "Finished. Check the strength of the limewater in 24 hours.",
    "mix_stopped": "This run was stopped.",
    "mix_stopped_by_keeper": "You stopped this run.",
    "mix_after_nothing": "Nothing was changed on the system.",
    "mix_after_delivery_off": (
        "Limewater is still switched off. Close the vessel before you switch it on again."
    ),
    "mix_after_powder_in": (
        "Fresh powder is in the vessel and limewater is still off. "
        "It must rest 4 hours and run clear into a jug before any dose."
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
    "mix_fact_missing": (
        "This cannot be worked out: {fact} is missing. Leave the vessel as it is, and see Setup."
    ),
    "mix_answer_unknown": "That is no answer to this step.",
    "mix_wait_not_over": "The wait is not over. Let the vessel be until then.",
    "mix_clock_back": (
        "This phone's clock was moved back. Set the clock, or start the wait anew."
    ),
    "mix_amount_above_largest": (
        "{typed_g} is more than this vessel may be given: {largest_g}. Weigh less powder in."
    ),
    "mix_amount_unusual": (
        "{typed_g} is far from the {advised_g} worked out for this vessel. "
        "Keep it only if the scale says so."
    ),
    "fact_recharge_powder_g": "the powder for a recharge",
    "fact_largest_charge_powder_g": "the largest charge",
    "fact_draw_off_L": "the volume of the vessel",
}  # fmt: skip
