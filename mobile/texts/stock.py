"""Sentences of powder, packs and supplies: one for each code of engine.stock.codes.StockCode.

A number of days has its day of the calendar beside it, as `<name>_date`.
"""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # --- in the vessel
    "stock_vessel_unknown": (
        "What is in use is not known. Record the next powder that you put in: it is counted from then."
    ),
    "stock_vessel_balance": (
        "You put in {charged_g} of powder. The doses since took {dosed_g} of lime from it. "
        "About {left_low_g} to {left_high_g} can still be given. "
        "A strength check would narrow that."
    ),
    "stock_vessel_balance_narrowed": (
        "You put in {charged_g} of powder. The doses since took {dosed_g} of lime from it. "
        "About {left_low_g} to {left_high_g} can still be given. "
        "Your strength check is counted in."
    ),
    "stock_runs_weak": (
        "The limewater runs weak between {weak_low_date} and {weak_high_date}: in {weak_low_days} to {weak_high_days}."
    ),
    "stock_runs_weak_later": "The powder in use lasts {weak_low_days} or more.",
    "stock_found_weak": (
        "Your last check found the limewater weak. Look at the stirring, then recharge by day."
    ),
    "stock_run_out": "By the balance the powder in use is spent. Check the strength, then recharge.",
    "stock_weak_despite_powder": (
        "The last check was weak although powder should be there. Look first: does the bar turn, is the bed stirred?"
    ),
    "stock_old_bed": (
        "About {old_bed_g} of an older bed lies below. It counts as sludge: white at the bottom is not strength."
    ),
    # --- a recharge
    "stock_charge": "Next recharge: {charge_g} of powder lasts about {charge_days}.",
    "stock_charge_cut": (
        "Next recharge: {charge_g}, the most that this vessel takes. It lasts about {charge_days}, not the {wanted_days} you wanted."
    ),
    "stock_charge_scoops": (
        "By your own scoop of {scoop_g}: about {scoops_count} level ones. Weighing is always better."
    ),
    "stock_bed_full": (
        "No room for a charge: with the old bed it would pass a fifth of the height. Empty the vessel first."
    ),
    "stock_bed_height": (
        "The bed then stands at {settled_share} to {loose_share} of the height. Above a fifth the bar sticks."
    ),
    "stock_no_scoop": (
        "Weigh it. A level teaspoon holds anything from 1.6 to 3.2 g, so a spoon can halve the strength."
    ),
    # --- on the shelf
    "stock_shelf_unknown": "Record what you buy, or count once, and the shelf is kept from then on.",
    "stock_shelf": "{shelf_g} of powder on the shelf.",
    "stock_shelf_empty": "No powder on the shelf by the records. Count it if that is wrong.",
    "stock_shelf_packs": (
        "{shelf_g} of powder on the shelf: {closed_count} closed of {pack_g}, {open_g} in the open one."
    ),
    "stock_pack_old": (
        "The open pack is {opened_days} old. Powder that fizzes in vinegar has turned to carbonate: use a fresh pack."
    ),
    "stock_pack_age": "The open pack was opened {opened_days} ago. Sealed and dry it is good for a year.",
    "stock_reorder_by": (
        "Order by {reorder_in_date}. Shelf and vessel last {empty_low_days} to {empty_high_days}; "
        "{lead_days} for delivery and {margin_days} in hand are taken off."
    ),
    "stock_reorder_now": (
        "Order powder now. Shelf and vessel last {empty_low_days} to {empty_high_days}; "
        "delivery takes {lead_days}."
    ),
    "stock_reorder_later": "There is powder for two years or more. Buy none: it ages.",
    "stock_season_included": "Use follows your evaporation through the year.",
    "stock_season_left_out": (
        "Use is taken as it is now: evaporation through the year is not known yet."
    ),
    "stock_year": "A year takes about {year_kg}.",
    "stock_year_packs": "A year takes about {year_kg}, {year_packs} packs of {pack_g}.",
    "stock_year_money": "At the last price that is about {year_price} {currency} a year.",
    "stock_store": (
        "Keep it sealed, dry, in an airy place, locked away from children and animals. Damp and air turn it to carbonate. "
        "Never in a drinks bottle, never in aluminium or zinc."
    ),
    # --- solutions and kits
    "stock_supply_left_mL": "{item}: {left_mL} left.",
    "stock_supply_left_tests": "{item}: {left_count} tests left.",
    "stock_supply_days": "Enough for {supply_low_days} to {supply_high_days} at the present use.",
    "stock_supply_use_unknown": "How fast it is used is not known yet.",
    "stock_supply_expires": "Good until {expires_in_date}.",
    "stock_supply_expired": "Past its date for {expires_in_days}. Replace it before you trust a number.",
    # --- names of solutions and kits
    "item_alkalinity_part": "Alkalinity part",
    "item_calcium_part": "Calcium part",
    "item_alkalinity_kit": "Alkalinity test",
    "item_calcium_kit": "Calcium test",
    "item_magnesium_kit": "Magnesium test",
    "item_nitrate_kit": "Nitrate test",
    "item_phosphate_kit": "Phosphate test",
    # --- the page
    "page_powder": "Powder and supplies",
    "page_powder_about": "How long it lasts, what to weigh, when to order",
    "powder_in_use": "In use",
    "powder_recharge": "The next recharge",
    "powder_shelf": "On the shelf",
    "powder_supplies": "Solutions and tests",
    "powder_no_supplies": "Nothing recorded yet. Record a bottle or a test kit to see when it runs out.",
    "powder_practice": "Shares lost to sludge, damp and air are common practice or estimates, no source.",
    "powder_plot_says": (
        "{left_now_g} of lime is left now. It runs out between {weak_low_date} and {weak_high_date}."
    ),
    "powder_plot_later": "{left_now_g} of lime is left now, for {weak_low_days} or more.",
    "powder_plot_y": "Lime left to give, g",
    "powder_plot_x": "days from today",
    "powder_plot_best": "most likely",
    "powder_plot_low": "low end",
    "powder_plot_high": "high end",
    "powder_summary": "Runs weak between {weak_low_date} and {weak_high_date}",
    "powder_summary_weak": "Your last check found it weak",
    "powder_summary_spent": "Spent by the balance: check the strength",
    "way_powder_stock": "Record powder bought or counted",
    "way_pack_opened": "Record a pack opened",
    "way_vessel_emptied": "Record that it was emptied",
    "way_supply_solution": "Record a solution",
    "way_supply_kit": "Record a test kit",
    "way_setup": "Days wanted, lead time, scoop",
    "way_recharge": "Guided recharge",
}
