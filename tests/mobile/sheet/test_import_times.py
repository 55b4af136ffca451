"""Rows that a table leaves open: no offset, no time of day, cells parted in two."""

from dataclasses import replace
from datetime import timedelta, timezone

import pytest

from mobile.state.sheet import page
from mobile.state.sheet.rows import log_of, preview
from tests.mobile.sheet.support import NOW, looked, picked, values

HOME, ABROAD = (timezone(timedelta(hours=hours)) for hours in (1, -5))


async def _read(text, zone, tests=()):
    sheet = await picked(text)
    return await preview(
        sheet.table,
        sheet.choices,
        log_of(tests, tests),
        system="reef",
        now=NOW.astimezone(zone),
        local=lambda moment: moment.astimezone(zone),
    )


@pytest.mark.parametrize("time", ["", " 08:30"])
async def test_the_same_table_read_in_another_zone_brings_nothing_twice(time):
    one = f"date,alkalinity dKH\n2026-03-01{time},8.1\n2026-03-04{time},8.2\n"
    home = await _read(one, HOME)
    again = await _read(one, ABROAD, home.tests)
    assert (home.new, again.new, again.same) == (2, 0, 2)
    more = f"date,alkalinity dKH,Ca\n2026-03-01{time},8.1,420\n2026-03-04{time},8.3,425\n"
    grown = await _read(more, ABROAD, home.tests)
    assert (grown.new, grown.same, len(grown.conflicting)) == (2, 1, 1)


async def test_a_row_with_an_offset_is_the_same_instant_anywhere():
    text = "date,zone,alkalinity dKH\n2026-03-01 12:00,{},8.1\n"
    home = await _read(text.format("+01:00"), HOME)
    assert (await _read(text.format("+01:00"), ABROAD, home.tests)).same == 1
    assert (await _read(text.format("Z"), ABROAD, home.tests)).new == 1


async def test_a_row_of_today_without_a_time_is_not_in_the_future_before_noon():
    found = await looked(await picked("date,alkalinity dKH\n2026-11-25,8.1\n2026-11-26,8.2\n"))
    assert [at for at, _, _ in values(found)] == ["2026-11-25T09:00:00+00:00"]
    assert [finding.code for finding in found.rejected] == ["table_future"]


async def test_a_leading_zero_is_never_of_thousands():
    found = await looked(await picked('date,alkalinity dKH,PO4\n2026-03-01,8.1,"0,035"\n'))
    assert values(found)[1][1:] == ("phosphate", 0.035)
    assert found.rejected == []


async def test_a_row_with_more_cells_than_the_first_line_is_left_out_and_told():
    sheet = await picked("date,kh,ca\n2026-03-01,8,1,420\n2026-03-02,8,421,\n")
    sheet = page.with_role(sheet, 1, "total_alkalinity|dKH")
    found = await looked(sheet)
    assert [(finding.line, finding.code) for finding in found.rejected] == [(2, "table_too_wide")]
    assert {at[:10] for at, _, _ in values(found)} == {"2026-03-02"}
    (line,) = page.finding_lines(replace(sheet, preview=found))
    assert "A decimal comma needs quotation marks" in line
