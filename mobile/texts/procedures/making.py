"""Sentences of mixing: lime reservoir, drip, two-part. Waits and order: common practice, no source."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "lime_reservoir": "Prepare a lime reservoir",
    "lime_reservoir_about": "Weigh powder for the litres, let it settle, draw clear limewater.",
    "lime_reservoir_finished": "Finished. Check the strength of the limewater in 24 hours.",
    "reservoir_risk_1": (
        "A big container is a big dose. Tipped or siphoned, all of it is in the tank."
    ),
    "reservoir_risk_2": "A draw line in the bed sends milk into the tank.",
    "reservoir_risk_3": "Stirring every day lets air spoil the limewater.",
    "reservoir_risk_4": "Cold water takes more powder than warm water.",
    "reservoir_line_out": "Lift the draw line out of the container.",
    "reservoir_bed": "Is the old bed thinner than 2 cm?",
    "reservoir_bed_thin": "Thin, or none",
    "reservoir_bed_thick": "Thicker",
    "reservoir_bed_thick_why": (
        "Take the sludge out first: see the procedure for disposing of sludge."
    ),
    "reservoir_fill": "Fill the container to its mark with plain RO/DI water, counting the litres.",
    "reservoir_fill_note": "Only what you pour in now counts.",
    "reservoir_fill_unusual": (
        "{typed} does not fit a container of {advised}. Keep it only if you counted it."
    ),
    "reservoir_degC": "Measure the temperature where the container stands.",
    "reservoir_degC_as_advised": "{lime_degC}, as in Setup",
    "reservoir_degC_other": "Another temperature",
    "reservoir_degC_note": "Cold water dissolves more lime than warm water.",
    "mix_degC_unusual": (
        "{typed} is far from the {advised} in Setup. Keep it only if you measured it."
    ),
    "reservoir_weigh": "Weigh {reservoir_powder_g} of powder into the jar, on the scale.",
    "reservoir_weigh_as_advised": "{reservoir_powder_g} weighed",
    "reservoir_weigh_other": "Another amount",
    "reservoir_weigh_note": "That is for {water_L} at {stand_degC}.",
    "reservoir_weigh_above": (
        "{typed} is more than these litres may be given: {largest}. Weigh less powder in."
    ),
    "reservoir_pour": "Pour the slurry into the container.",
    "reservoir_stir": "Stir slowly with a plastic rod for 2 minutes.",
    "reservoir_lid": "Lay the lid on loosely.",
    "reservoir_lid_note": "It keeps the air out, which makes chalk of the lime.",
    "reservoir_rest": "Let the container rest for 12 hours.",
    "reservoir_rest_note": "6 hours is the least. Do not stir it again. You may close the app.",
    "reservoir_clear": "Is the liquid above the bed clear?",
    "reservoir_clear_clear": "Clear as water",
    "reservoir_clear_milky": "Still milky",
    "reservoir_clear_milky_why": "No lime into the tank yet: the container rests once more.",
    "reservoir_line": "Hang the draw line at least 5 cm above the bed.",
    "drip_setup": "Set up tonight's drip",
    "drip_setup_about": "Hang tonight's litres, set the drops, count them again.",
    "drip_setup_finished": "Finished. Count the drops again tonight and tomorrow.",
    "drip_risk_1": "A drip runs on when the return pump stops.",
    "drip_risk_2": "The drops slow down as the container empties and the tip scales.",
    "drip_risk_3": "A container for more than one night can empty itself into the tank.",
    "drip_clamp": "Is the clamp closed?",
    "drip_clamp_shut": "Closed",
    "drip_clamp_open": "Not yet",
    "drip_clamp_open_why": "Close the clamp first.",
    "drip_litres": "Pour {tonight_L} of clear, settled limewater into the container.",
    "drip_litres_as_advised": "{tonight_L} poured in",
    "drip_litres_other": "Another amount",
    "drip_litres_note": "Tonight's litres only: the container must run empty by morning.",
    "drip_litres_above": (
        "{typed} is more than the plan gives for a night: {largest}. Pour the rest back."
    ),
    "drip_hang": "Hang the container where it cannot fall or tip.",
    "drip_prime": "Run the line into a jug until no air is left in it.",
    "drip_shut": "Close the clamp again.",
    "drip_end": "Fix the line's end over the sump.",
    "drip_end_note": "Air stays between its end and the highest water level.",
    "drip_open": "Open the clamp to about {drops_wanted_count} drops a minute.",
    "drip_open_note": "That empties the container in about ten hours.",
    "drip_drops_1": "Count the drops of one minute.",
    "drip_drops_1_unusual": (
        "{typed} drops: wanted were about {advised}. Set the clamp, then count again."
    ),
    "drip_lasts": "That is {drip_mL_per_min}: the container lasts {drip_hours}.",
    "drip_ten_minutes": "Let it drip for 10 minutes.",
    "drip_drops_2": "Count the drops of one minute again.",
    "drip_drops_2_unusual": (
        "{typed} drops now, {advised} at first. Set the clamp anew, then count again."
    ),
    "drip_one_hour": "Let it drip for an hour.",
    "drip_drops_3": "Count the drops of one minute once more.",
    "drip_drops_3_unusual": (
        "{typed} drops now, {advised} at first. Set the clamp anew, then count again."
    ),
    "drip_night": "Let it drip through the night.",
    "drip_left": "What is left in the container this morning?",
    "drip_left_empty": "Nothing",
    "drip_left_some": "Some limewater",
    "drip_close": "Close the clamp until tonight.",
    "drip_close_note": "Lime by day meets the day's highest pH.",
    "make_two_part": "Make up a two-part from salts",
    "make_two_part_about": "Weigh two salts for two bottles of known strength.",
    "make_two_part_finished": "Finished. Dose the two parts 30 minutes and some distance apart.",
    "two_part_risk_1": "Calcium chloride grows hot in water: too much at once boils over.",
    "two_part_risk_2": "Mixed with each other the two parts turn into chalk.",
    "two_part_risk_3": "A wrong hydrate or purity makes the strength wrong.",
    "two_part_alkalinity": "Which salt brings the alkalinity?",
    "two_part_alkalinity_bicarbonate": "Sodium hydrogen carbonate (bicarbonate)",
    "two_part_alkalinity_carbonate": "Sodium carbonate",
    "two_part_label_alkalinity": "Does its label name that salt alone, with its purity?",
    "two_part_label_alkalinity_yes": "Yes, both",
    "two_part_label_alkalinity_no": "No, or not sure",
    "two_part_label_alkalinity_no_why": (
        "Do not use it: without the purity no strength can be worked out."
    ),
    "two_part_assay_alkalinity": "Read the purity on the label of the alkalinity salt.",
    "two_part_calcium": "Which calcium chloride is it?",
    "two_part_calcium_dihydrate": "Dihydrate, CaCl₂·2H₂O",
    "two_part_calcium_anhydrous": "Anhydrous, CaCl₂",
    "two_part_calcium_hexahydrate": "Hexahydrate, CaCl₂·6H₂O",
    "two_part_label_calcium": "Does its label name that form, with its purity?",
    "two_part_label_calcium_yes": "Yes, both",
    "two_part_label_calcium_no": "No, or not sure",
    "two_part_label_calcium_no_why": "Do not use it: each form holds another amount of calcium.",
    "two_part_assay_calcium": "Read the purity on the label of the calcium chloride.",
    "two_part_assay_calcium_note": "Of the form that you named, not of bare calcium chloride.",
    "two_part_litres": "Choose how many litres each bottle will hold.",
    "two_part_water_1": "Fill the first bottle three quarters full with RO/DI water.",
    "two_part_weigh_bicarbonate": "Weigh {bicarbonate_g} of the alkalinity salt, on the scale.",
    "two_part_weigh_bicarbonate_as_advised": "{bicarbonate_g} weighed",
    "two_part_weigh_bicarbonate_other": "Another amount",
    "two_part_weigh_carbonate": "Weigh {carbonate_g} of the alkalinity salt, on the scale.",
    "two_part_weigh_carbonate_as_advised": "{carbonate_g} weighed",
    "two_part_weigh_carbonate_other": "Another amount",
    "two_part_above": (
        "{typed} is more than the {largest} worked out: the bottle would be too strong. Take "
        "some out."
    ),
    "two_part_unusual": (
        "{typed} is less than the {advised} worked out: the strength would be wrong."
    ),
    "two_part_dissolve_1": "Add the salt slowly to the first bottle.",
    "two_part_top_1": "Top the first bottle up to its litres with RO/DI water.",
    "two_part_top_1_note": "Shake the closed bottle until it is clear.",
    "two_part_name_1": "Write “alkalinity part, not for drinking” on the first bottle.",
    "two_part_water_2": "Fill the second bottle three quarters full with cold RO/DI water.",
    "two_part_weigh_dihydrate": "Weigh {chloride_dihydrate_g} of calcium chloride, on the scale.",
    "two_part_weigh_dihydrate_as_advised": "{chloride_dihydrate_g} weighed",
    "two_part_weigh_dihydrate_other": "Another amount",
    "two_part_weigh_anhydrous": "Weigh {chloride_anhydrous_g} of calcium chloride, on the scale.",
    "two_part_weigh_anhydrous_as_advised": "{chloride_anhydrous_g} weighed",
    "two_part_weigh_anhydrous_other": "Another amount",
    "two_part_weigh_hexahydrate": (
        "Weigh {chloride_hexahydrate_g} of calcium chloride, on the scale."
    ),
    "two_part_weigh_hexahydrate_as_advised": "{chloride_hexahydrate_g} weighed",
    "two_part_weigh_hexahydrate_other": "Another amount",
    "two_part_dissolve_2": "Add the calcium chloride in small portions to the second bottle.",
    "two_part_dissolve_2_note": "It grows hot. Let it cool between the portions, with the cap off.",
    "two_part_top_2": "Top the cooled second bottle up to its litres with RO/DI water.",
    "two_part_name_2": "Write “calcium part, not for drinking” on the second bottle.",
    "two_part_clear": "Are both bottles clear?",
    "two_part_clear_clear": "Both clear",
    "two_part_clear_cloudy": "One is cloudy",
    "two_part_clear_cloudy_why": "Shake it and wait an hour. If it stays cloudy, do not dose it.",
    "two_part_use": "Shall the plan count with {two_part_meq_per_mL} from now on?",
    "two_part_use_yes": "Yes, I dose these now",
    "two_part_use_no": "Not yet",
    "two_part_change": "Put the new bottles on the dosing pumps.",
    "two_part_change_note": "The calcium part runs at the same millilitres as the alkalinity part.",
}
