"""Sentences of steps that several guided procedures share."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "mix_read": "Read all steps ahead before you begin.",
    "mix_label_note": (
        "Read it anew on every pack, with its purity (assay): the weights count with {assay_share}."
    ),
    "mix_label_caked_note": "Damp or caked powder is chalk in part: take a fresh pack.",
    "mix_label": "What does the label on the powder say?",
    "mix_label_calcium_hydroxide": "Calcium hydroxide, CAS 1305-62-0",
    "mix_label_other": "Something else, or not sure",
    "mix_label_other_why": (
        "Do not use this powder. Calcium oxide (quicklime) boils in water. Dolomitic (magnesian),"
        " garden, mortar and builder's limes do not belong in a tank either."
    ),
    "mix_pH": "What is the tank's pH today?",
    "mix_pH_below": "Below 8.4",
    "mix_pH_high": "8.4 or higher",
    "mix_pH_high_why": "Choose another day: fresh limewater would raise the pH further.",
    "mix_pH_unknown": "Not measured today",
    "mix_pH_unknown_why": "Measure the pH first, then start again. Lime stays as it is until then.",
    "mix_pH_block": (
        "Your last record says pH {last_pH}. Record a new pH below 8.4 first, or choose "
        "another day."
    ),
    "mix_pH_drift_note": (
        "Your probe was off by {probe_drift_pH} at its last check. Calibrate it, then measure."
    ),
    "mix_kit_drift_note": "Your kit was off by {kit_drift_share} on the reference: so is this strength.",
    "mix_meter_drift_note": (
        "Your meter was off by {meter_drift_share} in the standard. Calibrate it, then measure."
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
        "It is for the eyes: rinse at once, for 20 minutes, with the lids held open. Then see"
        " a doctor."
    ),
    "mix_water_near": "Yes, I tried it",
    "mix_water_far": "No",
    "mix_water_far_why": "Do not open powder here. Bring the work to where a tap is near.",
    "mix_draught": "Stop every fan and draught near the powder.",
    "mix_draught_note": "Air the room before and after: dust must leave it, not blow about.",
    "mix_lenses": "Take out contact lenses, if you wear any.",
    "mix_phone": "Lay the phone on a dry shelf or in a clear bag.",
    "mix_phone_note": "Gloves carry lime to the phone, and the phone to the face.",
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
    "mix_stirrer_off": "Is the stirrer off?",
    "mix_stirrer_off_off": "Stirrer is off",
    "mix_stirrer_off_running": "Not yet",
    "mix_stirrer_off_running_why": "Switch the stirrer off first.",
    "mix_outlet_jug": "Hang the vessel's outlet into a jug.",
    "mix_cloth": "Lay a cloth over the lid.",
    "mix_cloth_note": "Pressure under the lid can spray lime.",
    "mix_pressure": "Loosen the lid slowly until the pressure is gone.",
    "mix_jar_water": "Fill a lidded jar half full with RO/DI water.",
    "mix_close_tub": "Close the powder tub and the jar.",
    "mix_swirl": "Swirl the closed jar until no dry powder is left.",
    "mix_bar": "Is the stirrer bar turning?",
    "mix_bar_turns": "It turns",
    "mix_bar_stuck": "It stands still",
    "mix_bar_stuck_why": (
        "Switch the stirrer off. Rock the closed vessel gently. Switch the stirrer on again."
    ),
    "mix_rinse_gloves": "Rinse the gloves under the tap.",
    "mix_gloves_off": "Take the gloves off.",
    "mix_wash_hands": "Wash your hands.",
    "mix_wipe_phone": "Wipe the phone with a damp cloth.",
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
    "mix_lime_pump_off": "Is the limewater pump off and unplugged?",
    "mix_lime_pump_off_off": "Pump is off",
    "mix_lime_pump_off_running": "Not yet",
    "mix_lime_pump_off_running_why": "Switch the limewater pump off first. Unplug it, too.",
    "mix_lime_pump_off_note": "Return pump, flow and heater stay on.",
    "mix_lime_top_off_off": "Is the top-off that brings limewater switched off?",
    "mix_lime_top_off_off_off": "Top-off is off",
    "mix_lime_top_off_off_running": "Not yet",
    "mix_lime_top_off_off_running_why": "Switch that top-off off first. Unplug it, too.",
    "mix_lime_top_off_off_note": "Return pump, flow and heater stay on.",
    "mix_lime_clamp_shut": "Is the clamp of the drip closed?",
    "mix_lime_clamp_shut_shut": "Clamp is closed",
    "mix_lime_clamp_shut_open": "Not yet",
    "mix_lime_clamp_shut_open_why": "Close the clamp first.",
    "mix_lime_clamp_shut_note": "Return pump, flow and heater stay on.",
    "mix_lime_pump_on": "Switch the limewater pump back on.",
    "mix_lime_pump_on_note": "Set no more than Today says. Nothing is made up later.",
    "mix_lime_top_off_on": "Switch the top-off back on.",
    "mix_lime_top_off_on_note": "Nothing is made up later.",
    "mix_lime_clamp_open": "Open the clamp to the drops you counted.",
    "mix_lime_clamp_open_note": "Tonight's litres only. Nothing is made up later.",
    "mix_top_off_plain_off": "Is the plain top-off switched off?",
    "mix_top_off_plain_off_off": "Top-off is off",
    "mix_top_off_plain_off_none": "There is none",
    "mix_top_off_plain_off_running": "Not yet",
    "mix_top_off_plain_off_running_why": (
        "Switch it off first: it would fill the sump while the level is wrong."
    ),
    "mix_return_off": "Is the return pump off?",
    "mix_return_off_off": "Return is off",
    "mix_return_off_running": "Not yet",
    "mix_return_off_running_why": "Switch the return pump off now, after lime and top-off.",
}
