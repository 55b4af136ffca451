"""Sentences about the storage and about files to import, by the code of a `Problem`."""

from typing import Final

from mobile.storage.problems import Problem

TEXTS: Final[dict[str, str]] = {
    # --- found when the records were opened
    "backend_unavailable": "The better storage is not to be had in this browser.",
    "journal_unreadable": "A file of records exists but cannot be read. It was left as it is.",
    "journal_repair_failed": "Damage was found and could not be cleared. Everything is read only.",
    "journal_commits_lost": "Some entries are missing from the file of records.",
    "journal_header_damaged": (
        "The head of the file of records was damaged and is made anew. Entries were read without it."
    ),
    "journal_tail_torn": (
        "The last entry was cut off while it was being saved. If “Saved” was shown for it, "
        "it is lost."
    ),
    "journal_tail_perhaps": (
        "The end of the file of records is damaged. The last entry may be lost, "
        "even if “Saved” was shown for it."
    ),
    "journal_acknowledged_lost": (
        "Entries that had been saved are missing from the file of records."
    ),
    "journal_link_broken": (
        "A saved entry is missing from the middle of the file of records: "
        "the phone lost it after “Saved” was shown."
    ),
    "journal_cut": (
        "The end of the file of records is missing. What a shortcut for quick opening held was "
        "read from there; entries after it may be gone."
    ),
    "journal_snapshot_damaged": (
        "A shortcut for quick opening was damaged. The records themselves were read in full."
    ),
    "journal_snapshot_unread": (
        "A shortcut for quick opening could not be read. The records themselves were read in full."
    ),
    "journal_snapshot_newer": (
        "A newer version of the app left a shortcut for quick opening. "
        "This one read the records themselves, in full."
    ),
    "erase_damaged": (
        "Erasing was not done: what was to be left was damaged, and a copy of it is kept."
    ),
    "journal_damaged": "A damaged place was found. What it held is lost, as far as known.",
    # --- the second copy
    "copy_healed": "Entries missing here were taken back from the second copy: {detail}.",
    "copy_took_over": (
        "The file of records was from before something was erased. "
        "The second copy, made after that, took its place."
    ),
    "copy_only_reading": (
        "The place of the records does not open now. This is the second copy, for reading: "
        "the newest entries may not be in it."
    ),
    "journal_restored": (
        "The records were gone from their place and were taken back from the second copy. "
        "What was saved in the last moments before may not be in it."
    ),
    "copy_damaged_only": "The second copy is damaged. Not all of it could be read.",
    "copy_of_another": (
        "The other store of this browser holds records of another time. They are left as they "
        "are; the recovery page shows them."
    ),
    "copy_damaged": "The second copy was damaged. It is being made anew.",
    "copy_unreadable": "The second copy cannot be read now.",
    "copy_not_healed": (
        "The second copy may have entries that are missing here, and they could not be taken "
        "over. It is left as it is; make room and open the app again."
    ),
    # --- found by the self-check
    "check_unreadable": "The file of records cannot be read now.",
    "check_header": "The head of the file of records is not the one that this window wrote.",
    "check_header_copy": "One copy of the file's head is damaged; the other one is sound.",
    "check_end": "The file of records does not end where it should ({detail}).",
    "check_differs": "What is shown and what is stored differ. Entries concerned: {detail}.",
    "check_index": "Some entries are stored but not in the order by time.",
    # --- a record that did not pass
    "record_twice": "A record stood there twice with different content. Both are kept.",
    "record_not_object": "Not a record.",
    "record_too_deep": "Nested too deeply to be a record.",
    "record_too_large": "Too large to be a record.",
    "record_bad_number": "A number in it is impossible.",
    "record_bad_text": "A text in it cannot be shown.",
    "record_bad_key": "A field name in it is impossible.",
    "record_bad_id": "Its number is missing or not in order.",
    "record_bad_time": "Its time is missing or impossible.",
    "record_bad_field": "One of its fields is missing or not in order.",
    "record_newer": "Written by a newer version of the app.",
    "record_no_migration": "Written by a version of the app that this one does not know.",
    "record_invalid": "Its content is not in order ({detail}).",
    # --- a file to import
    "import_foreign": "This is not a file of Sumpside records. Nothing was changed.",
    "import_newer": (
        "This file was written by a newer version of the app. Update first. Nothing was changed."
    ),
    "import_too_large": "This file is too large to be an export. Nothing was changed.",
    "import_too_many_lines": (
        "This file has {detail}, more than the app takes in at once. Nothing was changed."
    ),
    "line_not_json": "Not readable.",
    "line_not_text": "Not text.",
    "line_too_deep": "Nested too deeply.",
    "import_count": "The file holds another number of records than it says: it may be cut off.",
    "import_checksum": "The file was changed after the export.",
    "import_records_rejected": "Some lines are no records.",
}
OTHER: Final = "Something unexpected was found ({code})."


def problem_sentence(problem: Problem) -> str:
    """Return the sentence of a problem."""
    return TEXTS.get(problem.code, OTHER).format(code=problem.code, detail=problem.detail)
