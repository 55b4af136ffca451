"""Words of a running overdose. The acts are the emergency card's own list; a test compares them."""

from typing import Final

ACTS: Final[dict[str, str]] = {
    "gloves": "Put on gloves and goggles.",
    "lift_line": "Lift the lime line OUT of the sump.",
    "bucket": "Put its end into a bucket.",
    "raise_line": (
        "Raise or pinch the line above its container’s water level. "
        "Unplugging does not stop a siphon."
    ),
    "fuse": ("Plug or floor wet? Touch no plug. Dry your hands, then switch off at the fuse box."),
    "unplug_pump": "Unplug the lime pump.",
    "unplug_stirrer": "Unplug the stirrer.",
    "unplug_top_off": "Unplug the top-off.",
    "leave_running": (
        "Leave return, flow pumps, skimmer, heater and air running. "
        "If the fuse is off, restart them from a dry socket."
    ),
    "lights_off": "Switch the lights off, the refugium’s too.",
    "air": "Aerate strongly with normal room air: skimmer and air stones.",
    "measure_pH": "Measure pH.",
    "measure_alkalinity": "Measure alkalinity.",
    "measure_salinity": "Measure salinity.",
}

# The card's own sentences, word for word; a test compares them.
NEVER: Final = (
    "No acid into the tank.",
    "No vinegar into the tank.",
    "No carbonated water.",
    "No CO₂ from a cylinder: it suffocates people in a room.",
    "No dry ice.",
    "No second chemical to undo the first.",
    "No bare hand into limewater or powder.",
    "Never cut the power of flow, heater or air.",
)
ANIMALS: Final = (
    "Look at the animals at each reading. Do fish gasp or lie down? Call a vet, whatever the pH.",
    (
        "Move fish only if they gasp or pH is over 9.2. Matched, aerated water must stand ready. "
        "Leave corals."
    ),
)

TEXTS: Final[dict[str, str]] = {
    "title": "Overdose",
    "idle": (
        "Record an overdose here while it runs: a clock, what to do, what to read next. "
        "Lime stays off until you end it."
    ),
    "idle_first": "First lift the lime line out of the sump. Recording can wait a minute.",
    "start": "Start the clock",
    "card": "Open the emergency card",
    "from_today": "An overdose? Record it",
    "banner": "Overdose since {since}. No lime until you end it.",
    "banner_go": "Go on",
    "begun": "Since it was begun here, {since}.",
    "clock_minutes": "{minutes} min",
    "clock_hours": "{hours} h {minutes} min",
    "clock_days": "{days} days {hours} h",
    # --- what is due
    "due_title": "Read next",
    "due_now": "{what}: now. It was due at {at}.",
    "due_at": "{what}: at {at}, in {wait}.",
    "due_first": "{what}: now.",
    "pH_done": "pH is below 8.5: no more hourly readings. Read it once a day.",
    "record_pH": "Enter pH",
    "record_alkalinity": "Enter alkalinity",
    "record_salinity": "Enter salinity",
    "record_change": "Enter a water change",
    # --- acts
    "acts_title": "Do now, in this order",
    "acts_done": "Done",
    "done_at": "{what} Done at {at}.",
    # --- readings and what was expected
    "readings_title": "Read so far",
    "reading": "{at}: {what}.",
    "reading_expected_pH": "{at}: {what}. Expected by air: {low_pH} to {high_pH}.",
    "reading_expected_alkalinity": "{at}: {what}. Expected: about {expected_meq_per_L}.",
    "change": "{at}: water changed, {what}.",
    "recovery_title": "How it should go down",
    "recovery_none": (
        "Enter pH and alkalinity, read within an hour of each other. Past pH 9.5 there is no figure."
    ),
    "recovery_says": (
        "In 6 h air alone brings pH to {low_pH} to {high_pH}. Strong air is the lower, poor air "
        "the upper line."
    ),
    "recovery_above": "pH is above what air explains. Lime may still be running in: look again.",
    "plot_says": "By air, and by the water changed so far: pH {low_pH} to {high_pH} at {end_hours}.",
    "plot_pH": "pH (NBS)",
    "plot_hours": "Hours since it began",
    "plot_strong": "Strong air",
    "plot_poor": "Poor air",
    "plot_read": "Read",
    "helps_title": "What helps now",
    "practice": "Common practice, no source.",
    "animals_title": "The animals",
    "animals_vet": "pH 9.0 or more? Call a vet.",
    "never_title": "Never",
    # --- notes
    "notes_title": "Notes",
    "note_hint": "What do you see?",
    "note_save": "Keep the note",
    "note_saved": "Note",
    # --- the end
    "end_title": "To end it",
    "end_rule": (
        "No lime until alkalinity is back in its band, pH is below 8.4 and the fault is found. "
        "Then lime starts at half."
    ),
    "end_waits": "Waits for:",
    "end_ask": "Is the fault found and mended?",
    "end_yes": "Yes, found and mended: end it",
    "end_sure": "End it? Lime may start again at half the dose.",
    "end_sure_yes": "Yes, end it",
    "none_ask": "It was no overdose",
    "none_sure": "Only if no limewater ran in: begun by mistake, or a drill.",
    "none_sure_yes": "Yes, it was none",
    "keep_running": "No, it goes on",
    "ended": "Overdose ended",
    "was_none": "It was no overdose",
    "started": "Overdose begun",
    "act_done": "{what}",
    # --- in History
    "event_started": "Begun",
    "event_ended": "Ended: the fault was found and mended",
    "event_no_overdose": "It was no overdose",
    "event_noted": "Note",
}
