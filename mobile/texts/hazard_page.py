"""Words of the page "What could go wrong", of its what-if, and of the line on Today."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "title": "What could go wrong",
    "plan_row_about": "Every accident with limewater, and what would make it harmless.",
    "working": "Working it out …",
    "not_worked_out": (
        "No hazard figures: they could not be worked out. Hold the lime until they are there."
    ),
    # --- the line on Today: "If the lime pump sticks on, pH passes ..."
    "if_kind": "If {kind}, {said}",
    "container_lost": (
        "If the {container_L} lime container empties at once, alkalinity rises by "
        "{low_meq_per_L} to {high_meq_per_L}."
    ),
    "container_pH": "pH passes {band_pH}.",
    "container_salinity": "Salinity falls to {salinity_PSU}.",
    "container_change": "Change this before the next fill.",
    "container_size": "Draw from at most {container_L} at a time.",
    "container_size_break": (
        "Build in a siphon break and draw from at most {container_L} at a time."
    ),
    "today_button": "What could go wrong",
    # --- sections
    "verdict_title": "The verdict on this set-up",
    "test_button": "Record an alkalinity test",
    "guard_button": "Change what guards it",
    "scale_title": "How much is too much",
    "scale_half": "Half the water forgives half the lime. The same container is twice as dangerous.",
    "plot_title": "The course of the worst one that takes time",
    "after_title": "With the recommended change",
    "safe_title": "What would make it safe",
    "sizes_title": "Largest sizes that stay safe",
    "cases_title": "Every accident, worst first",
    "unknown_title": "Not known",
    "basis_title": "What the figures rest on",
    "basis_practice": (
        "The bands, the bright day and the probe's error are common practice, no source. "
        "The chemistry is computed."
    ),
    "band_now": "The set-up is judged safe if no single fault takes pH to {band_pH} ({band}).",
    "at_least": "at least {band}",
    "pH_unknown": "pH not known",
    # --- sizes
    "size_container": "Lime or day container: {x_L}",
    "size_container_break": "Lime or day container, with a siphon break: {x_L}",
    "size_container_now": "Without a siphon break, with the powder that lies there now: {x_L}",
    "size_charge_break": "Powder in one charge, with a siphon break: {x_g}",
    "size_charge": "Powder in one charge: {x_g}",
    "size_cut_off": "Longest run of the pump: {x_hours}",
    "size_dose": "One dose: {x_mL}",
    "size_none": "Nothing at all is forgiven at this band.",
    "size_bands": "Lost at once: {band} above {low_L}, most likely from {middle_L}.",
    "size_bands_none": "Lost at once: {band}, perhaps by any amount.",
    # --- alternatives
    "settles": "Settles: {kinds}.",
    "leaves": "Leaves: {kinds}.",
    "enough": "This alone settles all that Today warns of.",
    # --- one case
    "time_band": "{band} (pH {band_pH}): {when}",
    "time_never": "not reached",
    "time_at_once": "at once",
    "time_maybe_at_once": "perhaps at once",
    "time_maybe": "perhaps, after {early_hours} at the soonest",
    "time_between": "after {early_hours} to {late_hours}",
    "time_likely": "after {early_hours} at the soonest, most likely {middle_hours}",
    "worst_point": (
        "At its worst: pH {worst_pH}, alkalinity {worst_meq_per_L}, calcium {calcium_mg_per_L}, "
        "salinity {salinity_PSU}."
    ),
    "worst_carbon": "Dissolved carbon {carbon_mmol} mmol/L.",
    "worst_omega": "Aragonite saturation {omega_times}. {precipitation}.",
    "worst_band": "At its worst: {band}. {precipitation}.",
    "omega_calm": "A saturation of 5 to 7 is a well-fed tank and no alarm.",
    "details_show": "Show the figures",
    "details_hide": "Hide the figures",
    # --- plots
    "plot_pH": "pH (NBS)",
    "plot_alkalinity": "Alkalinity, {unit}",
    "plot_band": "{band}: from {band_pH}",
    "plot_hours": "Hours since it began",
    "plot_closed": "No help from the air",
    "plot_worst": "At the worst",
    "plot_open": "With room air",
    "plot_before": "As it is",
    "plot_after": "With the change",
    "plot_pH_says": (
        "{kind}: pH starts at {start_pH}. Without help from the air it is {end_pH} after "
        "{end_hours}; with room air {open_pH}."
    ),
    "plot_pH_says_past": (
        "{kind}: pH starts at {start_pH} and passes 9.50 after {end_hours}. "
        "From there on there is no figure: expect losses."
    ),
    "plot_alkalinity_says": (
        "Alkalinity goes from {start_meq_per_L} to {end_meq_per_L} in {end_hours}. "
        "Air does not change it."
    ),
    "plot_after_says": (
        "At the worst, as it is and with {change}. With it pH stays at {after_pH} or below."
    ),
    "change_container": "a container of {part_L}",
    "change_break": "a siphon break and a container of {part_L}",
    # --- what-if
    "what_if_title": "What if",
    "what_if_about": "Try other sizes here. Nothing is recorded.",
    "what_if_container": "Container",
    "what_if_cut_off": "Pump cut-off",
    "what_if_rate": "Pump at full rate",
    "what_if_break": "Siphon break",
    "what_if_yes": "built in",
    "what_if_none": "none",
    "what_if_unknown": "not known",
    "what_if_reset": "As it is in Setup",
    "more": "More: {what}",
    "less": "Less: {what}",
}

# The accidents as they stand after "If".
IF_KINDS: Final[dict[str, str]] = {
    "pump_stuck": "the lime pump sticks on",
    "top_off_stuck": "the top-off sticks on",
    "container_emptied": "the lime container empties at once",
    "drip_runs_on": "the drip runs on with the return stopped",
    "restart_slug": "the return restarts and the top-off gives a slug",
    "vessel_surge": "a surge lifts the bed of the vessel",
}
