"""Sentences of the shell: notices, errors, storage, the frame of every screen."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "overdose": "Overdose",
    # --- the frame
    "today": "Today",
    "record": "Record",
    "mix": "Mix",
    "plan": "Plan",
    "history": "History",
    "setup": "Setup",
    "help": "Help",
    "place_here": "Open:",
    "back": "Back",
    "not_found": "There is no such page. Use the buttons below.",
    "starting": "Opening your records …",
    # --- notices
    "saved": "Saved.",
    "saved_what": "Saved: {what}.",
    "undo": "Undo",
    "undone": "Taken back. The log keeps both the entry and its withdrawal.",
    "withdrawn": "Withdrawn. The log still shows it, struck out.",
    "amended": "Amended. The log keeps the old entry, too.",
    "dismiss": "OK",
    "exported": "Export ready: {records}. Keep the file somewhere else than this phone.",
    "imported": "Import done: {new}. In conflict and kept aside: {conflict_count}.",
    "nothing_new": "Nothing to import: every record in the file is here already.",
    "update_ready": "A new version is ready. Your records stay.",
    "update_now": "Use it",
    "update_held": (
        "The new version waits while an entry is open or being saved. "
        "If none is, load this page again."
    ),
    # --- demo
    "use_here": "Use here",
    "used_here": "Entries are saved from this window now. The other one reads along.",
    "not_used_here": (
        "The other window did not let go. Close it, then tap Use here again. Nothing was changed."
    ),
    "demo_banner": "Demo. Nothing here is kept.",
    "demo_leave": "Leave demo",
    # --- storage
    "memory_banner": (
        "NOTHING IS KEPT: this browser gives the app no storage. "
        "Records vanish when the page closes. Export before you leave."
    ),
    "read_only_store_busy": (
        "Read only: Sumpside is open in another tab or window. What is saved there shows here, too."
    ),
    "read_only_data_newer_than_app": (
        "Read only: these records were written by a newer version of the app. "
        "Load the page again with a network to get it."
    ),
    "read_only_storage_lost": (
        "NOTHING IS KEPT: the browser cleared its storage. What this window shows may be all that "
        "is left. Export it in Setup before you close the window or load it again."
    ),
    "read_only_store_elsewhere": (
        "The place of your records does not open now. This is the second copy, to read and to "
        "export. Nothing can be saved here."
    ),
    "read_only_banner": (
        "Read only: the phone's storage takes no more. What is shown can be exported. "
        "Load this page again."
    ),
    # --- errors, by code: what happened, what was kept, what to do
    "app_error": "Something went wrong. Try again, or load this page again.",
    "storage_unavailable": (
        "This browser gives the app no lasting storage. Use another browser, or leave private mode."
    ),
    "store_busy": (
        "Another tab or window has the records open. Close it, then load this page again."
    ),
    "storage_failed": (
        "NOT saved: the phone's storage did not take it. Your entry is still here. Try again."
    ),
    "storage_full": (
        "NOT saved: the phone's storage is full. Your entry is still here. "
        "Free some room, then save again."
    ),
    "storage_lost": (
        "NOT saved: the browser cleared its storage while the app was open. What this "
        "window has read is still here. Export it now, in Setup, before you close it."
    ),
    "store_elsewhere": (
        "Your records lie in a part of this browser that does not open now. "
        "Load this page again, or restart the browser, before you begin anew."
    ),
    "journal_stopped": (
        "NOT saved: the storage failed and takes no more. "
        "Note the value on paper, then load this page again."
    ),
    "erase_failed": (
        "Not erased: the storage damaged what was to be left. Export now, then try again."
    ),
    "erasure_stands": (
        "The erasing was begun and did not come to its end. Nothing is saved here any more. "
        "Export now. When this page is loaded again, the records may be gone."
    ),
    "store_read_only": (
        "NOT saved: this window can only read. Use the other tab, or load this page again."
    ),
    "data_newer_than_app": (
        "These records were written by a newer version of the app. They can be read and exported. "
        "Load the page again with a network to get the new version."
    ),
    "data_damaged": (
        "The records on this phone cannot be read. The app left them as they are. "
        "Begin anew and import your last export."
    ),
    "begin_anew": "Begin anew",
    "begin_anew_about": (
        "The app starts without records. The file that cannot be read stays on this phone as a "
        "copy; the app does not read it again."
    ),
    "begin_anew_sure": "Yes, begin without records",
    "begin_anew_not": "No, leave everything as it is",
    "begun_anew": "Begun anew. The old file is kept as a copy. Import your last export if there is one.",
    "plan_elsewhere": (
        "No decision here: Sumpside is open in another tab or window. "
        "What to do stands there, with the newest entries."
    ),
    "record_refused": (
        "NOT saved: one of the numbers cannot be right. The entry is still here. Check it."
    ),
    "record_conflict": (
        "NOT saved: a different record already has this number. Both are untouched. Try again."
    ),
    "import_refused": "Not imported: the file is not in order. Nothing was changed.",
}
