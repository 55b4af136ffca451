"""Sentences for what follows from a dose: stopping, powder, the one change to make; by code."""

from typing import Final

FOLLOWS: Final[dict[str, str]] = {
    # --- where stopping leads
    "uses_up": (
        "The tank uses the surplus up by itself: back at {target_meq_per_L} in "
        "{back_low_days} to {back_high_days}. No chemical against it."
    ),
    "stop_safe": (
        "Without limewater: below {band_low_meq_per_L} in {band_low_low_days} to "
        "{band_low_high_days}, below {floor_meq_per_L} in {floor_low_days} to {floor_high_days}."
    ),
    "stop_safe_holds": (
        "Without limewater alkalinity stays above {floor_meq_per_L} for {floor_days} or more."
    ),
    "stop_safe_below_band": (
        "Alkalinity is at the low end of its band or below it. "
        "Without limewater: below {floor_meq_per_L} in {floor_low_days} to {floor_high_days}."
    ),
    "stop_safe_below_floor": (
        "Alkalinity is at your floor of {floor_meq_per_L} or below it. "
        "Do not leave the tank without alkalinity."
    ),
    "stop_safe_unknown": "How long the tank can wait without limewater is not known yet.",
    "short_of_alkalinity": (
        "{short_meq_per_day} is missing: alkalinity falls by {fall_meq_per_L_per_day}. "
        "It passes {band_low_meq_per_L} in {band_low_low_days} to {band_low_high_days}, "
        "{floor_meq_per_L} in {floor_low_days} to {floor_high_days}. "
        "Test daily and get a second source."
    ),
    "short_below_band": (
        "{short_meq_per_day} is missing, and alkalinity is below {band_low_meq_per_L} already. "
        "Test daily and get a second source now."
    ),
    "short_passes_band": (
        "{short_meq_per_day} is missing: alkalinity falls by {fall_meq_per_L_per_day}, then slower. "
        "It passes {band_low_meq_per_L} in {band_low_low_days} to {band_low_high_days}. "
        "Test every few days."
    ),
    "short_in_band": (
        "{short_meq_per_day} is missing: alkalinity sinks, but stays above {band_low_meq_per_L}. "
        "Nothing else is needed now."
    ),
    "settles": (
        "It would come to rest near {rest_low_meq_per_L} to {rest_high_meq_per_L}, "
        "as animals take less of less."
    ),
    "stays_below_band": (
        "Alkalinity is below {band_low_meq_per_L} and limewater alone will not bring it back. "
        "{short_meq_per_day} more would: get a second source, and test every few days."
    ),
    "second_held_net_rise": (
        "The second source is held to {ceiling_meq_per_day} of the {wanted_meq_per_day} left: "
        "more could raise alkalinity faster than your limit."
    ),
    "second_held_stopped_rise": (
        "The second source is held to {ceiling_meq_per_day} of the {wanted_meq_per_day} left: "
        "if the animals stopped feeding, more would raise alkalinity too fast."
    ),
    "second_held_suspect": (
        "The newest test does not fit the others. Until it is repeated the second source stays at "
        "{ceiling_meq_per_day}, not {wanted_meq_per_day}."
    ),
    "second_held_untested": (
        "The last alkalinity test is over a week old. Untested the second source stays at "
        "{ceiling_meq_per_day}, not {wanted_meq_per_day}."
    ),
    "held_short": (
        "{short_meq_per_day} stays missing: alkalinity falls by {fall_meq_per_L_per_day}. "
        "It passes {band_low_meq_per_L} in {band_low_low_days} to {band_low_high_days}, "
        "{floor_meq_per_L} in {floor_low_days} to {floor_high_days}. "
        "Test daily. Only you can raise the limit, in Setup."
    ),
    "held_short_below_band": (
        "{short_meq_per_day} stays missing, and alkalinity is below {band_low_meq_per_L} already. "
        "Test daily. Only you can raise the limit, in Setup."
    ),
    "second_source_two_part": (
        "{remainder_meq_per_day} is left for the two-part: {each_part_mL_per_day} of each part."
    ),
    "second_source_reactor": (
        "{remainder_meq_per_day} is left for the reactor: {effluent_mL_per_min}, as its water "
        "brings {effluent_gain_meq_per_L} more than the tank has."
    ),
    "reactor_alkalinity": (
        "At its present flow of {flow_mL_per_min} the reactor's water should have {effluent_meq_per_L}."
    ),
    # --- powder
    "restart_alkalinity_unread": (
        "Alkalinity was not tested since it began. It must be at {band_high_meq_per_L} or less."
    ),
    "restart_alkalinity_high": (
        "Alkalinity is {last_meq_per_L}. Wait until it is at {band_high_meq_per_L} or less."
    ),
    "restart_pH_unread": "No pH of this day is recorded. It must be below {resume_pH}.",
    "restart_pH_high": "The last pH is {last_pH}. Wait until it is below {resume_pH}.",
    "powder_left": (
        "Powder for {left_low_days} to {left_high_days}; {use_g_per_day} of pure lime is used."
    ),
    "powder_low": (
        "Recharge soon: at {use_g_per_day} of pure lime the powder lasts {left_high_days} at most."
    ),
    "powder_spent": "The powder in use is reckoned to be spent.",
    "powder_unknown": "Record a recharge, and powder left is counted from then on.",
    "charge_capped": (
        "{wanted_g} would last longer, but this vessel takes {largest_g} at most: {charge_days}."
    ),
    # --- the one change to make
    "nothing_to_do": "Nothing to do. {was_L_per_day} is right.",
    "top_off_right": "Nothing to do. The top-off through the vessel gives the right amount.",
    "set_pump_first": "Set the pump to {setting_L_per_day}.",
    "raise_pump": "Set the pump to {setting_L_per_day} (was {was_L_per_day}).",
    "lower_pump": "Lower the pump to {setting_L_per_day} (was {was_L_per_day}).",
    "hold": "Leave the pump as it is. Raise nothing untested.",
    "stop": "Stop the limewater for now. Circulation, heater and air stay on.",
    "set_drip_first": "Let the drip give {setting_L_per_day}.",
    "raise_drip": "Let the drip give {setting_L_per_day} (was {was_L_per_day}).",
    "lower_drip": "Lower the drip to {setting_L_per_day} (was {was_L_per_day}).",
    "hold_drip": "Leave the drip as it is. Raise nothing untested.",
    "stop_drip": "Stop the drip for now: clamp its line. Circulation, heater and air stay on.",
    "mix_drip_anew": (
        "Mix the drip's limewater anew. Leave it at {was_L_per_day}; do not drip more instead."
    ),
    "hold_top_off": "Leave the top-off and its lime as they are. Add no more powder untested.",
    "stop_top_off_vessel": (
        "Stop the limewater for now: lead the top-off past the vessel, plain water only. "
        "Circulation, heater and air stay on."
    ),
    "stop_top_off_container": (
        "Stop the limewater for now: feed the top-off with plain water from another container. "
        "Circulation, heater and air stay on."
    ),
    "no_lime_needed": "No limewater now: alkalinity is to come down. Test again tomorrow.",
    "recharge_first": "Recharge the lime. Leave the pump at {was_L_per_day}; do not turn it up.",
    "lower_then_recharge": (
        "First lower the pump to {setting_L_per_day} (was {was_L_per_day}). Then recharge the lime."
    ),
    "lower_drip_then_mix": (
        "First lower the drip to {setting_L_per_day} (was {was_L_per_day}). "
        "Then mix its limewater anew."
    ),
    "new_tube_first": (
        "Fit a new pump tube and measure again. The pump's setting should be {setting_L_per_day}."
    ),
    "mix_saturated": (
        "Mix the lime container saturated: {powder_each_litre_g} of powder for each litre."
    ),
    "mix_weaker": (
        "Mix the lime container weaker, {mix_share} of saturated: "
        "{powder_each_litre_g} of powder for each litre."
    ),
    "past_the_vessel": (
        "Lead part of the top-off past the vessel: {admitted_L_per_day} of limewater is allowed, "
        "up to {evaporation_high_L_per_day} evaporates. "
        "By a timer: {through_hours} of the day through the vessel."
    ),
    "all_through_vessel": (
        "Lead all of the top-off through the vessel: {admitted_L_per_day} of limewater is allowed, "
        "up to {evaporation_high_L_per_day} evaporates."
    ),
    "set_second_source": (
        "Set the second source to {second_meq_per_day} (was {second_was_meq_per_day})."
    ),
    "set_second_source_first": "Set the second source to {second_meq_per_day}.",
}
