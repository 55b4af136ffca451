"""Words of the minder's sheet. Emergency and first aid are the emergency card's own sentences."""

from typing import Final

# tests/mobile/test_minder.py holds each of these against mobile/web/emergency.html.
STEPS: Final = (
    "Put on gloves and goggles.",
    "Lift the lime line OUT of the sump.",
    "Put its end into a bucket.",
    "Raise or pinch the line above its container’s water level. Unplugging does not stop a siphon.",
    "Plug or floor wet? Touch no plug. Dry your hands, then switch off at the fuse box.",
    "Unplug the lime pump.",
    "Unplug the stirrer.",
    "Unplug the top-off.",
    "Leave return, flow pumps, skimmer, heater and air running.",
    "Switch the lights off, the refugium’s too.",
    "Aerate strongly with normal room air: skimmer and air stones.",
    "Measure pH.",
)
NEVER: Final = (
    "No acid into the tank.",
    "No vinegar into the tank.",
    "No second chemical to undo the first.",
    "No bare hand into limewater or powder.",
    "Never cut the power of flow, heater or air.",
)
EYES: Final = (
    "Go to the nearest clean running tap at once.",
    "Hold the lids open.",
    "Rinse for 20 minutes.",
    "Have somebody call the emergency number while you rinse.",
)
SKIN: Final = (
    "Brush dry powder off first, away from the eyes.",
    "Rinse with running water for 15 to 20 minutes.",
    "Still slippery? It is still on you. Rinse on.",
)

TEXTS: Final[dict[str, str]] = {
    "page_minder": "The minder's sheet",
    "about": (
        "One page for whoever watches the tank. Walk through it together once, at the tank. Print it, or send the file."
    ),
    "save": "Save the sheet as a file",
    "save_about": "Any browser opens it and prints it on one A4 page.",
    "saved": "The sheet is saved. Open it in a browser to print it.",
    "phones_missing": "No phone numbers are set. Add them in Setup first.",
    "set_phones": "Set phone numbers",
    "title": "Minding the tank: {name}",
    "made": "From the records of {date}. Older than two weeks? Ask for a new one.",
    # --- normal
    "normal_title": "What is normal",
    "alkalinity": "Alkalinity",
    "alkalinity_value": "{low_meq_per_L} to {high_meq_per_L}",
    "pH": "pH",
    "pH_value": "7.9 to 8.45, highest when the lights go off",
    "temperature": "Temperature",
    "temperature_value": "{low_degC} to {high_degC}",
    "salinity": "Salinity",
    "salinity_value": "34 to 35.5 PSU",
    "limewater": "Limewater",
    "limewater_value": "{lime_L_per_day}, in {doses_count} small doses",
    "limewater_drip": "{lime_L_per_day}, by drip",
    "limewater_top_off": "comes with the top-off",
    "limewater_off": "off. Leave it off.",
    "limewater_stopped": "must be off now. If it runs, stop it and call.",
    "evaporation": "Evaporates",
    "evaporation_value": "{low_L_per_day} to {high_L_per_day}",
    "practice": "pH, temperature and salinity ranges are common practice.",
    # --- each day
    "daily_title": "Each day",
    "daily_animals": "Look: do the fish breathe calmly, are corals open as usual?",
    "daily_flow": "Look: water flows back from the tank, the heater keeps the temperature.",
    "daily_level": "Look: the sump's water stands at its mark.",
    "daily_drop": "Limewater runs when you see a drop fall at the outlet within an hour.",
    "daily_bar": "The stirrer's bar turns now and then. What leaves the vessel is clear, never milky.",
    "daily_clear": "What leaves the lime container is clear, never milky.",
    "daily_drip": "Hang only the night's container that was left ready. Never fill it yourself.",
    "daily_fill": (
        "Fill the fresh-water container with RO/DI water, to its mark, every {fill_days} at the latest. "
        "About {low_L_per_day} to {high_L_per_day} goes."
    ),
    "daily_second": "The second source gives alkalinity by itself. Leave it running.",
    "daily_fill_unknown": "Keep the fresh-water container filled with RO/DI water, to its mark.",
    "daily_food": "Food: what was left ready, no more.",
    # --- hands off
    "leave_title": "Leave alone",
    "leave_powder": "Touch no powder. Open no lid of the lime vessel.",
    "leave_setting": "Change no setting of a pump.",
    "leave_catch_up": "What was missed is never made up.",
    "leave_bottles": "Pour nothing into the tank but food.",
    "leave_doubt": "If in doubt lift the lime line out of the sump and send a photo.",
    # --- waiting
    "wait_title": "If limewater stops",
    "wait_days": "That is no emergency. The tank can wait at least {wait_low_days} without it.",
    "wait_month": "That is no emergency. The tank can wait a month without it.",
    "wait_short": "Call the keeper the same day: the tank can wait only about {wait_low_days}.",
    "wait_now": "Call the keeper at once: alkalinity is low already.",
    "wait_unknown": "How long the tank can wait is not known. Call the keeper the same day.",
    "wait_never_restart": "Do not try to start it again yourself.",
    # --- emergency
    "emergency_title": "Too much limewater: do now",
    "emergency_when": "Milky water, fish gasping, pH 8.6 or more, or a pump that never stops.",
    "bands": (
        "pH 8.6 or more: stop lime, measure hourly. 8.8 or more: call and change water. 9.0 or more: emergency, call a vet."
    ),
    "never_title": "Never",
    "eyes_title": "Lime in an eye: speed is essential",
    "skin_title": "Lime on skin",
    "acid": "Never put vinegar or any acid on eyes or skin.",
    "phones_title": "Phone",
    "phone_keeper": "Keeper",
    "phone_blank": "write it here",
}
