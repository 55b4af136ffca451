"""A number as a keeper types or pastes it: one strict reading, or a fault with its code.

One separator, comma or point, is always the decimal sign: "1,026" is 1.026 here. Whether 1026 was
meant is asked by `engine.entry.checks`, which knows the parameter. Groups of three parted by
spaces can only be thousands and are taken as such.
"""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

LONGEST_NUMBER: Final = 20  # characters
LARGEST_NUMBER: Final = 1e9
_LONGEST_PASTE: Final = 1_000  # characters that are looked at at all

_MINUS: Final = frozenset("-\u2212\u2010\u2011\u2012\u2013\u2014\ufe63\uff0d")
_PLUS: Final = frozenset("+\uff0b")
_POINTS: Final = frozenset(".,\uff0e\uff0c\u066b")
_PLAIN: Final = re.compile(r"\d*\.?\d*")
_GROUPED: Final = re.compile(r"\d{1,3}( \d{3})+(\.\d*)?")
_EXPONENT: Final = re.compile(r"[\d.]+e[+-]?\d+")
_NOT_FINITE: Final = frozenset({"nan", "inf", "infinity", "∞"})

FAULT_CODES: Final = (
    "entry_empty",
    "entry_too_long",
    "entry_no_digits",
    "entry_not_finite",
    "entry_exponent",
    "entry_letters",
    "entry_symbols",
    "entry_two_separators",
    "entry_space_inside",
    "entry_negative",
    "entry_too_large",
)


@dataclass(frozen=True, slots=True)
class EntryFault:
    """Why an entry cannot be taken: the code of its sentence and the numbers that it quotes.

    Keys of `numbers` carry their unit as a suffix; texts are shown as they are.
    """

    code: str
    numbers: Mapping[str, float | str] = field(default_factory=dict[str, "float | str"])


def parse_number(text: str) -> float | EntryFault:
    """Read a number that is not negative, typed with a comma or a point.

    Parameters
    ----------
    text : str
        As typed or pasted. Surrounding spaces of every kind, one leading plus sign and digits of
        any script are read; units, letters, exponents and a second separator are not.

    Returns
    -------
    float or EntryFault
        A finite number from 0 to `LARGEST_NUMBER`, or the fault with one of `FAULT_CODES`.
    """
    plain = _plain(text[:_LONGEST_PASTE])
    if not plain:
        return EntryFault("entry_empty")
    if len(text) > _LONGEST_PASTE or len(plain) > LONGEST_NUMBER:
        return EntryFault("entry_too_long", {"longest_count": float(LONGEST_NUMBER)})
    body = plain.removeprefix("+").lstrip()
    fault = _fault(body)
    if fault is not None:
        return EntryFault(fault)
    value = float(body.replace(" ", ""))
    return value if value <= LARGEST_NUMBER else EntryFault("entry_too_large")


def has_thousands_shape(text: str) -> bool:
    """Tell whether the text could also be meant as thousands: "1,026", "1.350"."""
    return re.fullmatch(r"\+?[1-9]\d{0,2}\.\d{3}", _plain(text)) is not None


def _plain(text: str) -> str:
    """Return the text with digits, signs and spaces in their ASCII form, outer spaces gone."""
    return " ".join("".join(_plain_character(character) for character in text).split())


def _plain_character(character: str) -> str:
    digit = unicodedata.decimal(character, None)
    if digit is not None:
        return str(digit)
    if character in _POINTS:
        return "."
    if character in _MINUS:
        return "-"
    if character in _PLUS:
        return "+"
    if unicodedata.category(character) == "Cf":  # invisible marks that pasting brings along
        return ""
    return character


def _fault(body: str) -> str | None:
    """Return the code of what keeps the text from being a number, or None."""
    if _PLAIN.fullmatch(body) or _GROUPED.fullmatch(body):
        return None if any(character.isdigit() for character in body) else "entry_no_digits"
    if body.startswith("-") and _fault(body[1:].lstrip()) is None:
        return "entry_negative"
    if set(body) <= set("0123456789. "):
        return "entry_two_separators" if body.count(".") > 1 else "entry_space_inside"
    return _worded(body.lstrip("+-").casefold())


def _worded(body: str) -> str:
    """Return the code for a text with more in it than digits, separators and spaces."""
    if body in _NOT_FINITE:
        return "entry_not_finite"
    if _EXPONENT.fullmatch(body):
        return "entry_exponent"
    return "entry_letters" if any(character.isalpha() for character in body) else "entry_symbols"
