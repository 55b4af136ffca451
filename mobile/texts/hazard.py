"""Sentences about what limewater could do: one for each code, kind and band of the engine.

Numbers come with their units from mobile/state/sentences.py.
"""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # --- why there is no number
    "hazard_setup_missing": "No hazard figures: the system is not set up. Hold the lime until it is.",
    "hazard_alkalinity_missing": (
        "No pH can be told: alkalinity was never tested. Hold the lime, test it and record it."
    ),
    "hazard_only_rise": (
        "From the volumes alone only the rise of alkalinity is known. An alkalinity test gives pH, "
        "times and sizes; a pH reading makes them sharper."
    ),
    "hazard_outside_model": (
        "No hazard figures: salinity, temperature or pH is outside what the model holds. "
        "Hold the lime and measure again."
    ),
    "hazard_source_unknown": (
        "The container that lime is drawn from is not in Setup. All of it could come."
    ),
    "hazard_charge_unknown": (
        "No figure: no recharge is recorded, so the powder is not known. Record the next one."
    ),
    "hazard_drain_back_unknown": (
        "No figure: how much drains back when the return stops is not in Setup."
    ),
    "hazard_setting_unknown": "No figure: the log does not say how much lime is given a day.",
    "hazard_rate_unknown": "No figure: the lime pump's rate is not in Setup.",
    "hazard_vessel_unknown": "No figure: the vessel's volume is not in Setup.",
    # --- what the figures rest on
    "hazard_closed_bound": (
        "Worst case: no help from the air, and at the worst a day of bright light."
    ),
    "hazard_start_recorded": (
        "Starts at the highest recent pH, {start_pH}; the probe may read {probe_error_pH} low."
    ),
    "hazard_start_assumed": "No pH of this day is recorded: {assumed_pH} is assumed.",
    "hazard_start_air": "Starts at pH {start_pH}, where outside air would bring this water.",
    "hazard_alkalinity_old": "The alkalinity test is {age_days} old, so a wide range is counted.",
    "hazard_salinity_assumed": "Salinity is not recorded: {salinity_PSU} is assumed.",
    "hazard_until_found": "It runs {found_hours} until somebody finds it.",
    "hazard_until_cut_off": "It runs {found_hours} until the cut-off stops it.",
    "hazard_unmixed": (
        "While the return is off all of it stays in the sump. There it is far worse than this."
    ),
    "hazard_skimmate_assumed": (
        "Counted: {skimmate_L} of skimmate, replaced by limewater. Common practice, no source."
    ),
    "hazard_whole_charge": "Counted: the whole charge of {charge_g}, as right after a recharge.",
    "hazard_old_bed": (
        "At the worst {old_bed_g} of older powder counts as lime, though part of it is chalk."
    ),
    "hazard_bed_lifted": (
        "This flow stirs up the vessel: part of its {charge_g} of powder comes along."
    ),
    "hazard_bed_not_counted": (
        "Not counted: powder of the vessel that may come along. Its amount is not known."
    ),
    "hazard_siphon_lifts_bed": (
        "Nobody knows how fast a siphon flows, and it may stir up the vessel. "
        "Counted: what it carries out of {charge_g} of powder."
    ),
    "hazard_rest_skipped": (
        "Counted: the doses of the first {rest_hours} after a recharge, still milky."
    ),
    # --- how a case ends
    "hazard_passes": "pH passes {band_pH} after {early_hours} to {late_hours}.",
    "hazard_passes_most_likely": (
        "pH passes {band_pH} after {early_hours} at the soonest, most likely {middle_hours}."
    ),
    "hazard_may_reach": "pH may pass {band_pH}, after {early_hours} at the soonest.",
    "hazard_at_once": "pH passes {band_pH} at once.",
    "hazard_may_at_once": "pH may pass {band_pH} at once.",
    "hazard_stays_below": "pH stays below {band_pH}: {worst_pH} at the worst.",
    "hazard_alkalinity_band": (
        "Alkalinity alone may call for action: a rise of {limit_meq_per_L} in a day or more."
    ),
    "hazard_past_model": (
        "Past pH 9.5 there is no figure: magnesium and calcium fall out and the water clouds. "
        "Expect losses."
    ),
    "hazard_may_past_model": (
        "At the worst it goes past pH 9.5. There is no figure there: expect losses."
    ),
    "hazard_rise": "Alkalinity rises by {rise_low_meq_per_L} to {rise_high_meq_per_L}.",
    "hazard_salinity_falls": "Salinity falls to {salinity_PSU}.",
    "hazard_extra_water": "The sump must hold {extra_L} more.",
    "hazard_sump_overflows": (
        "The sump has room for {room_L}: what is more runs over. Keep plugs above and dry."
    ),
    "hazard_ammonia": (
        "The poisonous share of any ammonia becomes {ammonia_times} times as large: test ammonia."
    ),
    # --- the set-up
    "safe_verdict_holds": "No single fault of pump or container takes pH past {band_pH}.",
    "safe_verdict_unknown": "No verdict on this set-up. Hold the lime until the figures are there.",
    "safe_verdict_partly_unknown": (
        "What is known stays below pH {band_pH}. Some faults cannot be judged: see below."
    ),
    "safe_container_would_hold": (
        "A lime container of {container_L} would keep it below {band_pH}, even at the worst."
    ),
    "safe_with_break_would_hold": (
        "With a siphon break, a container of {container_L} would keep it below {band_pH}, "
        "even at the worst."
    ),
    "safe_no_room": (
        "On a bright day pH may pass {band_pH} without any fault, so no container is small enough. "
        "Hold the lime while pH is high."
    ),
    "safe_size_unknown": (
        "How small a container must be is not known: powder of the vessel may come along."
    ),
    "safe_bed_comes_along": (
        "This flow stirs up the vessel, so container, cut-off and dose count its powder too."
    ),
    "safe_siphon_bed_counted": (
        "Without a siphon break a siphon may stir up the vessel. So the container counts up to "
        "{charge_g} of powder in it."
    ),
    "safe_siphon_bed_unknown": (
        "Without a siphon break powder of the vessel may come along. Its amount is not known: "
        "record the next recharge."
    ),
    "safe_container_rule": (
        "{source_L} is {held_days} of lime in one container. Its clear limewater lost at once: "
        "{rise_meq_per_L} more."
    ),
    "safe_container_fills": "A container of {safe_L} means {fills_count} fills a day.",
    "safe_cut_off": (
        "A cut-off after {cut_off_hours} without pause, reset by hand, keeps pH below {band_pH}."
    ),
    "safe_cut_off_below_dose": (
        "A cut-off would have to act after {cut_off_hours}, but one dose takes {dose_hours}. "
        "Give more, smaller doses."
    ),
    "safe_charge": "A tip-over forgives at most {charge_g} of powder in the vessel.",
    "safe_charge_carried_out": (
        "This flow may carry powder out. With that container at most {charge_g} may lie in the vessel."
    ),
    "safe_charge_too_small": (
        "That lasts {charge_days}, less than {practical_days}. With more powder wedge the vessel, "
        "set it in a tray, and keep the outlet above the bed."
    ),
    "safe_charge_none": (
        "A tip-over is never forgiven: its clear limewater alone is too much. "
        "Wedge the vessel, set it in a tray, and keep the outlet above the bed."
    ),
    "safe_charge_old_bed": (
        "No new charge is forgiven: up to {old_bed_g} of older powder lies there. "
        "Empty and clean it first."
    ),
    "safe_largest_dose": "Keep one dose at {dose_mL} or less: then ten times too much is forgiven.",
    "safe_dose_split": (
        "One dose of {dose_mL} is more than {largest_mL}, of which ten times too much is forgiven. "
        "Spread the same litres over {doses_count} doses a day or more."
    ),
    "safe_dose_not_forgiven": (
        "One dose of {dose_mL} is more than {largest_mL}, of which ten times too much is forgiven. "
        "No pump gives doses that small: keep the cut-off short."
    ),
    "safe_system_scale": (
        "In {net_volume_L} it takes {low_L} to {middle_L} of limewater to reach pH {band_pH}: "
        "about {middle_share} of the tank."
    ),
    "safe_smaller_pump": (
        "A pump that gives at most {pump_L_per_day} stays below pH {band_pH} until it is found."
    ),
    "safe_slower_flow": (
        "A flow of at most {flow_L_per_h} through the vessel lets its powder lie."
    ),
    "safe_more_doses": (
        "At {doses_count} doses a day or more, one given twice stays below pH {band_pH}."
    ),
    "safe_siphon_break": (
        "An air gap at a visible drip, above every water level, stops a siphon. "
        "A check valve is not enough."
    ),
    "safe_split_container": (
        "Split the container: draw from {part_L} at a time ({parts_count} parts) to stay below "
        "pH {band_pH}."
    ),
    "safe_small_container": "Draw from at most {part_L} at a time to stay below pH {band_pH}.",
    "safe_lime_off_with_return": "Let the lime stop whenever the return pump stops.",
    # --- rescue
    "rescue_change_brings": (
        "Changing {change_share} brings pH to about {after_pH} and alkalinity to "
        "{after_low_meq_per_L} to {after_high_meq_per_L}. Calcium: about {after_calcium_mg_per_L}."
    ),
    "rescue_change_unknown": (
        "Past pH 9.5 no figure is given for a change. Stop the lime, change water, measure again."
    ),
    "rescue_new_water_unknown": (
        "The new water's alkalinity is not recorded, so a wide range is counted."
    ),
    "rescue_ready_water": "Salt water ready: {ready_L}, {ready_share} of the tank.",
    "rescue_ready_water_short": (
        "Salt water ready: {ready_L}, only {ready_share} of the tank. Keep {wanted_L} ready."
    ),
    "rescue_ready_water_none": "No salt water stands ready. Keep {wanted_L} mixed and aerated.",
    "rescue_air_brings": (
        "Air alone brings pH to {strong_pH} to {poor_pH} in {air_hours}. Do not wait for it."
    ),
    "rescue_air_unknown": "Past pH 9.5 no figure is given for aeration. It is slow: change water.",
}

KINDS: Final[dict[str, str]] = {
    "pump_stuck": "The lime pump sticks on",
    "top_off_stuck": "The top-off sticks on",
    "container_emptied": "The lime container empties at once",
    "drip_runs_on": "The drip runs on with the return stopped",
    "return_stopped": "The return stops and the lime goes on",
    "restart_slug": "A slug after the return restarts",
    "skimmer_overflow": "The skimmer overflows and lime replaces it",
    "bed_flushed": "The powder is tipped or flushed into the tank",
    "uncleared_recharge": "A recharge is dosed before it cleared",
    "vessel_surge": "A surge lifts the bed of the vessel",
    "dose_repeated": "A dose is given twice",
    "tenfold_setting": "The setting is ten times too large",
    "room_co2_low": "The room's air becomes as fresh as outside",
}

BANDS: Final[dict[str, str]] = {
    "below": "Below every limit",
    "stop_lime": "Stop lime",
    "act_now": "Act now",
    "emergency": "Emergency",
    "expect_losses": "Expect losses",
}

PRECIPITATION: Final[dict[str, str]] = {
    "normal": "Nothing falls out",
    "watch": "High saturation: watch it over a day",
    "within_hours": "Lime may fall out within hours",
    "clouding": "Clouding and loss of alkalinity",
    "brucite": "Magnesium falls out as brucite",
    "bulk": "Calcium and magnesium fall out in bulk",
}
