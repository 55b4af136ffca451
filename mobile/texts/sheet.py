"""Sentences of the pages for spreadsheets: readings out, and readings in from the keeper's own."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # --- headings of the exported table: they stand in the file
    "head_date": "Date and time",
    "head_zone": "UTC offset",
    "head_total_alkalinity": "Total alkalinity",
    "head_calcium": "Calcium",
    "head_magnesium": "Magnesium",
    "head_pH_nbs": "pH (NBS scale)",
    "head_salinity": "Salinity",
    "head_temperature": "Water temperature",
    "head_nitrate": "Nitrate",
    "head_phosphate": "Phosphate",
    "head_room_co2": "Room CO2",
    "head_tds": "RO/DI water TDS",
    "head_tester": "Tested by",
    "head_lot": "Reagent lot",
    "head_note": "Note",
    # --- the page
    "title": "Readings and spreadsheets",
    "about": "Readings as a table, out of Sumpside or into it.",
    "out_title": "Readings out, as a table",
    "out_about": (
        "All water tests of {system}, one row each, units in the first row. "
        "This is no backup: only Export all records holds everything."
    ),
    "out_point": "Table with 8.2",
    "out_comma": "Table with 8,2",
    "out_done": "Table ready: {tests}.",
    "out_left": (
        "Not in it: {readings} of a kind unknown to this version. The export of all records "
        "holds them."
    ),
    "out_empty": "There is no water test to put into a table yet.",
    "in_title": "Readings in, from your own table",
    "in_about": (
        "Save your spreadsheet as CSV first. The readings come into {system}. "
        "You see what would come in before anything is saved."
    ),
    "in_pick": "Choose a CSV file",
    "in_read_only": "Readings cannot come in here: this window only reads.",
    # --- the columns
    "columns_title": "What your columns hold",
    "columns_about": "Tap a column to correct it.",
    "column_unnamed": "Column {number}",
    "column_detail": "{role} · for example {samples}",
    "column_empty": "{role} · empty",
    "column_choose": "What does {column} hold?",
    "column_back": "Back to the table",
    "column_unit": "In which unit?",
    "role_out": "Left out",
    "role_date": "Date",
    "role_time": "Time of day",
    "role_zone": "UTC offset",
    "role_note": "Note",
    "role_tester": "Tested by",
    "role_lot": "Reagent lot",
    "role_unsaid": "{parameter}, unit not known",
    "role_reading": "{parameter}, {unit}",
    "order_title": "How are dates written: {sample}?",
    "order_day_first": "Day first",
    "order_month_first": "Month first",
    "sign_title": "How is the decimal sign written?",
    "sign_point": "8.2",
    "sign_comma": "8,2",
    "ask_date": "Say which column holds the date.",
    "ask_order": "Say whether the day or the month comes first. The dates alone do not tell.",
    "ask_readings": "Say which column holds readings.",
    "ask_unit": "Say the unit of {column}. The values alone do not tell.",
    # --- the preview
    "preview_title": "What would come in",
    "found": "In this table: {new} new, {same} already here, {conflicting} in conflict, {rejected} left out.",
    "span": "New readings from {first} to {last}.",
    "span_day": "New readings of {first}.",
    "no_time": "No time of day in {rows}: 12:00 is taken.",
    "withdrawn": "Withdrawn in the log before, and left out: {count}.",
    "encoding": "Letters were read as {encoding}. Look at the notes before you import.",
    "take_unusual": "Take the unusual values, too: {count}",
    "leave_unusual": "Leave the unusual values out",
    "unusual_taken": "Unusual values that would come in: {count}. Take them only if they were real.",
    "line": "Line {line}, {column}: {why}",
    "line_only": "Line {line}: {why}",
    "more": "And {count} more.",
    "apply": "Import {readings}",
    "leave": "Leave everything as it is",
    "working": "Reading the table …",
    "imported": "{readings} from your table",
    "nothing_new": "Nothing to import: no reading in this table is new.",
    # --- why a cell stays out
    "why_conflict": "{typed}, but the log has another value of that time. The log's value stays.",
    "why_twice": "{typed}, but an earlier line has another value of that time.",
    "why_no_date": "no date.",
    "why_bad_date": "the date cannot be read.",
    "why_too_wide": "more cells than the first line. A decimal comma needs quotation marks here.",
    "why_future": "the date is ahead of this phone's clock.",
    "why_too_old": "the date is before 1990.",
    "why_bad_text": "signs that cannot be kept.",
    "why_long_text": "the text is too long.",
    "why_impossible": "{typed} cannot be right; possible is {low} to {high}.",
    "why_unusual": "{typed} is outside the usual {low} to {high}.",
    "why_no_number": "{typed} is no number.",
    # --- not a table
    "table_too_large": "This file is too large to be a table of readings. Nothing was changed.",
    "table_empty": "This file is empty. Nothing was changed.",
    "table_not_text": "This is no CSV file. Save the spreadsheet as CSV, then choose that file.",
    "table_no_columns": "No columns were found. Save the spreadsheet as CSV, then choose that file.",
    "table_too_many_columns": "This file has too many columns. Nothing was changed.",
    "table_too_many_lines": "This file has too many lines. Nothing was changed.",
    "table_cell_too_long": (
        "A cell in this file is too long: a quotation mark may be missing. Nothing was changed."
    ),
}
