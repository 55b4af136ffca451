"""Words for what could not be worked out, and for entries that may be missing."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # --- in place of a page or a decision
    "title": "This could not be worked out",
    "about": "No dose is shown. You can still record, look back and export.",
    # the last verdict that was sound
    "verdict_stop": "Limewater stays off.",
    "verdict_lower": "Keep limewater at {lower_to_setting_L_per_day} or less.",
    "verdict_lower_unknown": "Keep limewater as low as the last decision said.",
    "verdict_age": "That was the last decision that could be worked out, {when}.",
    "verdict_none": ("Measure pH and alkalinity before the next dose; at 8.5 or more, lime off."),
    "readings_title": "Last readings",
    "readings_none": "No reading of pH or alkalinity is on record here.",
    "last_total_alkalinity": "Alkalinity {value}, {when}",
    "card": "Open the emergency card",
    "export": "Export the records",
    "history": "See what is recorded",
    "record": "Record a test",
    "copy": "Copy report",
    "copy_about": (
        "The report holds the error and the numbers of the log, without names and notes. "
        "Nothing is sent: paste it where you want it."
    ),
    "copied": "Copied, if this browser allows it. Paste it to see.",
    "prepare": "Make a report",
    "prepare_about": (
        "For whoever looks into a fault: versions, the last errors, and the numbers of the log."
    ),
    "report_failed": "The report could not be made. Export the records instead.",
    "bar_failed": "A line that belongs here could not be shown.",
    "tap_failed": "That did not work. Look whether it is saved, then try again.",
    "calendar_failed": "No file: what comes due could not be worked out.",
    # --- damage that may have cost entries
    "unseen_title": "What may be missing",
    "unseen_held": "What was lost may have held: {what}.",
    "unseen_unknown": "What was lost is not known.",
    "unseen_unread": "This version of the app cannot read {records}. They are kept and exported.",
    "unseen_until": (
        "Until you confirm this nothing is raised. Record again what you miss, newest first."
    ),
    # in its place where nothing can be saved, so that it cannot be confirmed; by what blocks
    "unseen_until_store_elsewhere": (
        "Nothing is raised until the place of the records opens again: "
        "close all Sumpside tabs, then the browser, and open it again."
    ),
    "unseen_until_store_busy": (
        "This window only reads, so nothing is raised here. Confirm this where the records are "
        "saved: in the other window, or here after Use here."
    ),
    "unseen_until_read_only": (
        "Nothing is raised while nothing can be saved here. The line at the top says what to do."
    ),
    "unseen_confirm": "I have read this",
    "unseen_not_confirmed": "Not confirmed: the storage did not take it. Try again.",
    "held_one": "{what} of {when}",
    "held_more": "and {records} more",
    # --- the browser may clear the records
    "not_persisted": (
        "This browser may clear the records when the phone runs short of room. "
        "Add the app to the home screen, or export now and then."
    ),
    "not_persisted_export": "Export, in Setup",
    "not_persisted_later": "Say it again in a month",
}
