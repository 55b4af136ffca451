"""One cell of a spreadsheet's text: what must not become a formula, what counts as blank."""

import unicodedata
from typing import Final

from engine.entry.numbers import EntryFault, has_thousands_shape, parse_number

# What a spreadsheet takes for the start of a formula, or skips before one; wide forms count, too.
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\n")
_GUARD: Final = "'"
_BLANK: Final = frozenset({"", "-", "\u2013", "\u2014", "?", "n/a", "na", "none", "null"})


def _must_guard(text: str) -> bool:
    first = text.lstrip(" ")[:1]
    return unicodedata.normalize("NFKC", first) in (*_FORMULA, _GUARD)


def guarded_text(text: str) -> str:
    """Return a text that no spreadsheet reads as a formula; `plain_text` undoes it."""
    return _GUARD + text if _must_guard(text) else text


def plain_text(text: str) -> str:
    """Return the text that `guarded_text` was given; any other text as it is."""
    return text[1:] if text.startswith(_GUARD) and _must_guard(text[1:]) else text


def number_text(cell: str) -> str:
    """Return a cell that holds a number on one line, without signs that cannot be seen."""
    shown = "".join(c if unicodedata.category(c) not in ("Cf", "Cc") else " " for c in cell)
    return " ".join(shown.split())


def is_blank(cell: str) -> bool:
    """Tell whether a cell holds nothing."""
    return cell.strip().casefold() in _BLANK


def without_thousands(cell: str, sign: str) -> str:
    """Return a number's text without the separators of its thousands.

    Parameters
    ----------
    sign : str
        The table's decimal sign, "." or ",": the other one can only part thousands, but for a
        number that begins with 0: that one is left as it is.
    """
    other = "," if sign == "." else "."
    text = cell.strip()
    head, _, tail = text.partition(sign)
    first, *groups = head.split(other)
    if groups and not first.startswith("0") and all(len(group) == 3 for group in groups):
        head = head.replace(other, "")
    elif other in text:
        return text
    return f"{head}{sign}{tail}" if sign in text else head


def decimal_sign(cells: list[str], delimiter: str) -> str:
    """Return the decimal sign that a table's numbers speak for."""
    points, commas = (
        sum(sign in cell and is_number(cell) and not has_thousands_shape(cell) for cell in cells)
        for sign in (".", ",")
    )
    if points == commas:
        return "," if delimiter == ";" else "."
    return "." if points > commas else ","


def is_number(cell: str) -> bool:
    """Tell whether a cell reads as one number."""
    return not isinstance(parse_number(cell), EntryFault)
