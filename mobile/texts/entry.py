"""Sentences about what was typed: why it is asked about or refused, and what to do.

Templates for one kind of finding are written once and made for every unit suffix; in them `<x>`
stands for the number `x` with that suffix.
"""

import re
from typing import Final

from engine.entry.checks import unit_suffix
from engine.entry.fields import FIELD_SUFFIXES
from engine.vocabulary import PARAMETERS

_BY_PARAMETER_UNIT: Final = {
    "entry_outside_usual": (
        "<value> is outside the usual <low> to <high>. Keep it only if you have checked it."
    ),
    "entry_jump": (
        "<value> is <change> away from <last>, {elapsed_days} apart. "
        "Test again before you believe either."
    ),
    "entry_impossible": (
        "{typed_text} cannot be right: possible is <low> to <high>. "
        "Look at the unit and the digits, or test again."
    ),
}

_BY_FIELD_UNIT: Final = {
    "entry_outside_range": (
        "<value> cannot be entered here: possible is <low> to <high>. "
        "Look at the unit and the digits."
    ),
    "entry_outside_expected": (
        "<value> is not what was expected: <low> to <high>. Keep it only if it is right."
    ),
}


def _for_unit(template: str, suffix: str) -> str:
    return re.sub(r"<(\w+)>", rf"{{\1_{suffix}}}", template)


TEXTS: Final[dict[str, str]] = {
    # --- not a number
    "entry_empty": "Type the value first.",
    "entry_too_long": (
        "That is more than {longest_count} characters. Type the number only; nothing was saved."
    ),
    "entry_no_digits": "There is no digit in it. Type the number.",
    "entry_not_finite": "That is no value a test can give. Type the number that you read.",
    "entry_exponent": "Type the number in full, without an exponent.",
    "entry_letters": "Type the number only. The unit is chosen beside it.",
    "entry_symbols": "There is a sign in it that no number has. Type digits and one point.",
    "entry_two_separators": (
        "There is more than one comma or point. Type one at most, as the decimal sign."
    ),
    "entry_space_inside": "There is a space inside the number. Type it without.",
    "entry_negative": "This cannot be below zero. Type the value without the minus.",
    "entry_too_large": "That number is too large to be meant. Look at the digits.",
    # --- readings
    "entry_not_convertible": (
        "{typed_text} is no possible value in {typed_unit}. Look at the unit and the digits."
    ),
    # --- amounts
    "entry_clock": "Type it as on a clock: 9:30, or 930 without the colon.",
    "entry_not_whole": "This must be a whole number.",
    "entry_zero": "Zero is nothing to record. Type the amount, or leave without saving.",
    # --- texts
    "entry_text_too_long": (
        "The text is too long by {over_count}; {longest_count} characters fit. "
        "Shorten it; nothing was cut off."
    ),
    "entry_text_unreadable": (
        "The text holds signs that cannot be kept. "
        "Delete them, or type the text instead of pasting."
    ),
    # --- times
    "entry_time_in_future": (
        "That is {ahead_days} ahead of this phone's clock. Give a time that has passed. "
        "If the clock is wrong, set the clock first."
    ),
    "entry_time_too_old": "That date is before 1990. Look at the year.",
    "entry_clock_back": (
        "This phone's clock is {behind_days} behind your newest record. "
        "Set the clock, then correct this entry's time in History."
    ),
    "entry_older_than_last": (
        "This is {older_days} older than your last one. It is filed under its own time."
    ),
    "entry_long_ago": "This is {age_days} ago. Look at the date once more.",
    # --- ranges
    **{
        f"{code}_{suffix}": _for_unit(template, suffix)
        for code, template in _BY_PARAMETER_UNIT.items()
        for suffix in sorted({unit_suffix(parameter) for parameter in PARAMETERS.values()})
    },
    **{
        f"{code}_{suffix}": _for_unit(template, suffix)
        for code, template in _BY_FIELD_UNIT.items()
        for suffix in FIELD_SUFFIXES
    },
}
