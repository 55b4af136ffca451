"""Readings out as CSV: units in the heading, nothing a spreadsheet would run, the same back in."""

import csv
import io
from datetime import datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.records import Reading, WaterTest
from mobile.state.sheet.cells import guarded_text, plain_text
from mobile.state.sheet.export import readings_csv
from tests.mobile.sheet.support import looked, picked
from tests.support.app import START, scenario_records

SUMMER = timezone(timedelta(hours=2))


def _test(number: int, note: str = "", **readings: float) -> WaterTest:
    at = datetime(2026, 7, number, 18, 30, tzinfo=SUMMER)
    return WaterTest(
        id=f"phone00000000001:{number}",
        at=at,
        recorded_at=at,
        system="reef",
        note=note,
        readings=tuple(
            Reading(parameter=name, value=value, typed=str(value), typed_unit="mg/L")
            for name, value in readings.items()
        ),
    )


def _rows(data: bytes, delimiter: str = ",") -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), delimiter=delimiter))


def test_one_row_a_test_with_units_in_the_heading_and_the_local_clock():
    tests = [_test(1, calcium=420.0, total_alkalinity=2.9), _test(2, "größer", calcium=430.5)]
    data = readings_csv(tests, alkalinity_unit="dKH", sign=".")
    assert data.startswith(b"\xef\xbb\xbf")
    assert _rows(data) == [
        [
            *("Date and time", "UTC offset", "Total alkalinity (dKH)", "Calcium (mg/L)"),
            *("Tested by", "Reagent lot", "Note"),
        ],
        ["2026-07-01 18:30", "UTC+02:00", "8.131223", "420", "", "", ""],
        ["2026-07-02 18:30", "UTC+02:00", "", "430.5", "", "", "größer"],
    ]


def test_a_decimal_comma_comes_with_semicolons():
    data = readings_csv([_test(1, calcium=430.5)], alkalinity_unit="dKH", sign=",")
    assert _rows(data, ";")[1][2] == "430,5"


DANGEROUS = [
    *('=HYPERLINK("x","y")', "+1+1", "-2", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1", "  @x"),
    *("'=1", "''", "'", "\uff1d1", "\uff0b1"),
]


@pytest.mark.parametrize("note", [*DANGEROUS, "plain", "a=1", "", "it's", '8,1; "x"\nnext'])
async def test_no_cell_is_a_formula_and_the_same_text_comes_back(note):
    data = readings_csv([_test(1, note, calcium=420.0)], alkalinity_unit="dKH", sign=".")
    cell = _rows(data)[1][-1]
    assert not cell.lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d"))
    (test,) = (await looked(await picked(data))).tests
    assert test.note == note


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=30))
def test_guarding_is_undone_whatever_the_text(text):
    guarded = guarded_text(text)
    assert plain_text(guarded) == text
    assert not guarded.startswith(("=", "+", "-", "@", "\t", "\r"))


@pytest.mark.parametrize("sign", [".", ","])
@pytest.mark.parametrize("unit", ["dKH", "meq/L", "mg/L CaCO3"])
async def test_our_own_table_comes_back_as_the_same_and_adds_nothing(unit, sign):
    tests = [r for r in scenario_records("demo_system", START) if isinstance(r, WaterTest)]
    assert len(tests) > 10
    data = readings_csv(tests, alkalinity_unit=unit, sign=sign)
    sheet = await picked(data)
    assert sheet.choices.sign == sign
    found = await looked(sheet, written=tests)
    assert (found.new, found.conflicting, found.rejected) == (0, [], [])
    assert found.same == sum(len(test.readings) for test in tests)
    fresh = await looked(sheet)
    assert [t.at for t in fresh.tests] == [t.at.replace(second=0, microsecond=0) for t in tests]
    for old, new in zip(tests, fresh.tests, strict=True):
        assert {r.parameter: pytest.approx(r.value, rel=1e-5) for r in old.readings} == {
            r.parameter: r.value for r in new.readings
        }
