"""Sentences of Setup's pages about the records: where they are, the self-check, erasing."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # --- in Setup
    "to_storage": "Where records are kept",
    "to_storage_about": "Where they are, how safe, how much room, and a check of all of them.",
    "to_tables": "Readings and spreadsheets",
    "to_tables_about": "Readings out as a table, or in from your own.",
    "to_erase": "Erase records",
    "to_erase_about": "One system or everything, for good.",
    "days_since": "Last export: {when}, {days} ago. Entered since: {records}.",
    "today_export": "Last export {days} ago. Entered since: {records}.",
    "today_never": "Never exported: a lost or drowned phone takes {records} with it.",
    "today_way": "Make a copy, in Setup",
    # --- the storage page
    "title": "Where records are kept",
    "where": "Where",
    "safety": "How safe",
    "room_title": "Room",
    "backup": "Copies",
    "health": "Health",
    "health_good": "When the records were opened, no damage was found.",
    "blocked": "This window cannot save now.",
    "aside_none": "No record is kept aside.",
    "aside": "Kept aside, because another record has the same number: {records}.",
    "aside_one": "{title}: {summary} · {when}",
    "second_idb": "A second copy is kept in this browser's database, a moment behind each save.",
    "second_opfs": "A second copy is kept in this browser's files, a moment behind each save.",
    "second_none": "This browser offers one place only: there is no second copy on this device.",
    "low_room": "Less than 50 MB is left. Free some room on the phone before it runs out.",
    "check": "Check all records now",
    "check_about": "Reads everything again from the phone's storage. It changes nothing.",
    "checking": "Reading everything again …",
    "check_good": "No damage found: {records} read again, {saves} checked, {size}.",
    "check_bad": "Something is wrong. {records} are sound. Export now, then tell the maker.",
    "back": "Back to Setup",
    # --- erasing
    "erase_title": "Erase records",
    "erase_about": (
        "What is erased here is gone from this phone. Only an export brings it back. "
        "Files that you exported are not touched."
    ),
    "erase_first": "Export first. It takes one tap.",
    "erase_pick": "What should be erased?",
    "erase_system": "{system}: {records}",
    "erase_all": "Everything: {records}",
    "erase_read_only": "Nothing can be erased here: this window only reads.",
    "sure_system": (
        "{system} will be gone: {records}, its set-up and its figures on the emergency card. "
        "Other systems stay."
    ),
    "sure_all": (
        "Everything will be gone: {records}, every set-up, and the figures on the emergency card. "
        "The app begins as new."
    ),
    "sure_export": "Last export: {when}. Entered since, and in no export: {records}.",
    "sure_never": "There is no export. Nothing can bring these records back.",
    "sure": "Erase for good",
    "sure_soon": "One moment: read this first.",
    "leave": "Leave everything as it is",
    "not_erased": "Not erased.",
    "erased_system": "Erased. Other systems were left alone.",
    "copy_left": (
        "Erased here. The second copy in the browser's other store could not be reached: "
        "it is written over when that opens again."
    ),
    "erased_all": "Everything was erased from this phone's storage.",
    "shared_left": (
        "Erased here. Older records were left on this phone: another Sumpside site at this web "
        "address may use them."
    ),
}
