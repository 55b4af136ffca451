"""Numbers as typed: what is read, and the fault of everything else."""

import pytest

from engine.entry.numbers import (
    FAULT_CODES,
    LARGEST_NUMBER,
    EntryFault,
    has_thousands_shape,
    parse_number,
)

READ = {
    "8.2": 8.2,
    "8,2": 8.2,
    "  8.2\n": 8.2,
    "\u00a08,2\u202f": 8.2,
    "+8.2": 8.2,
    "+ 8,2": 8.2,
    "\uff18\uff0e\uff12": 8.2,  # full-width
    "\u0668\u066b\u0662": 8.2,  # Arabic-Indic
    "\u200e8.2\ufeff": 8.2,  # invisible marks of a paste
    "0": 0.0,
    "5.": 5.0,
    ".5": 0.5,
    "007": 7.0,
    "1,026": 1.026,
    "1.350": 1.35,
    "1 350": 1350.0,
    "1\u202f350,5": 1350.5,
    "12 345 678": 12_345_678.0,
}

REFUSED = {
    "": "entry_empty",
    " \u00a0\n": "entry_empty",
    "\u200b": "entry_empty",
    "A long text that was pasted from a forum, 8.2 dKH and so on.": "entry_too_long",
    "9" * 21: "entry_too_long",
    "8" * 5_000_000: "entry_too_long",
    ".": "entry_no_digits",
    "+": "entry_no_digits",
    "nan": "entry_not_finite",
    "NaN": "entry_not_finite",
    "inf": "entry_not_finite",
    "-Infinity": "entry_not_finite",
    "∞": "entry_not_finite",
    "1e400": "entry_exponent",
    "8e0": "entry_exponent",
    "1E-3": "entry_exponent",
    "8.2 dKH": "entry_letters",
    "eight": "entry_letters",
    "0x10": "entry_letters",
    "1_000": "entry_symbols",
    "🐠": "entry_symbols",
    "8\ufe0f\u20e3": "entry_symbols",
    "8²": "entry_symbols",
    "8'2": "entry_symbols",
    "7-8": "entry_symbols",
    "\ud83d": "entry_symbols",
    "\x00": "entry_symbols",
    "1.026,5": "entry_two_separators",
    "8..2": "entry_two_separators",
    "1,026,500": "entry_two_separators",
    "8 2": "entry_space_inside",
    "1 35": "entry_space_inside",
    "-5": "entry_negative",
    "\u22125,5": "entry_negative",
    "- 5": "entry_negative",
    "-0": "entry_negative",
    "9" * 20: "entry_too_large",
}


@pytest.mark.parametrize(("text", "value"), READ.items(), ids=map(repr, READ))
def test_number_is_read(text: str, value: float):
    assert value == parse_number(text)


@pytest.mark.parametrize(("text", "code"), REFUSED.items(), ids=lambda text: repr(text[:30]))
def test_what_is_no_number_is_a_fault(text: str, code: str):
    found = parse_number(text)
    assert isinstance(found, EntryFault)
    assert code == found.code


def test_every_fault_code_is_shown_by_an_example():
    assert set(FAULT_CODES) == set(REFUSED.values())


def test_largest_number_is_still_read():
    assert parse_number(f"{LARGEST_NUMBER:.0f}") == LARGEST_NUMBER


@pytest.mark.parametrize("text", ["1,026", "1.350", "+12,500"])
def test_one_separator_before_three_digits_may_mean_thousands(text: str):
    assert has_thousands_shape(text)


@pytest.mark.parametrize("text", ["0.350", "8.2", "1350", "1.3505", "1 350"])
def test_other_shapes_cannot_mean_thousands(text: str):
    assert not has_thousands_shape(text)
