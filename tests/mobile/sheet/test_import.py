"""The keeper's own table against the log: what comes in, what stays out and why."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from engine.log.record_codec import from_dict, to_dict
from engine.records import Amendment, Reading, WaterTest
from mobile.state.sheet import columns, page
from mobile.state.sheet.dates import Order
from tests.mobile.sheet.support import NOW, looked, picked, reasons, values


def _roles(sheet):
    return sheet.choices.roles


@pytest.mark.parametrize(
    ("heading", "cells", "role"),
    [
        ("Alk (dKH)", ["8.1"], "total_alkalinity|dKH"),
        ("KH", ["8,1"], "total_alkalinity|dKH"),
        ("Alkalinity", ["8.1"], "total_alkalinity|dKH"),
        ("Alkalinity", ["2.9"], "total_alkalinity|meq/L"),
        ("Alk ppm", ["145"], "total_alkalinity|mg/L CaCO3"),
        ("Alkalinity", ["4.5"], "total_alkalinity|?"),
        ("Ca mg/L", ["420"], "calcium|mg/L"),
        ("Calcium", ["10.5"], "calcium|mmol/L"),
        ("Mg", ["1320"], "magnesium|mg/L"),
        ("NO3 mg/L", ["5"], "nitrate|mg/L"),
        ("PO4", ["0.05"], "phosphate|mg/L"),
        ("pH", ["8.2"], "pH_nbs|"),
        ("SG", ["1.026"], "salinity|SG 25/25"),
        ("Salinity", ["35"], "salinity|PSU"),
        ("Salinity", ["1.0264"], "salinity|SG 25/25"),
        ("Temp", ["25.1"], "temperature|degC"),
        ("Temp", ["77.5"], "temperature|degF"),
        ("Temp °F", ["25"], "temperature|degF"),
        ("Dose per day", ["5"], "out"),
        ("Fish fed", ["yes"], "out"),
        ("Notes", ["x"], "note"),
    ],
)
async def test_a_column_is_guessed_from_its_heading_and_its_values(heading, cells, role):
    lines = "\n".join(f"2026-03-0{n};{cell}" for n, cell in enumerate(cells, start=1))
    sheet = await picked(f"Date;{heading}\n{lines}\n")
    assert _roles(sheet) == ("date", role)


async def test_a_unit_that_could_be_either_is_asked_and_nothing_is_read_before():
    sheet = await picked("Date,Alkalinity\n2026-03-01,4.5\n")
    assert sheet.choices.open_question == "unit"
    assert "Alkalinity" in page.question(sheet)
    sheet = page.with_role(sheet, 1, "total_alkalinity|meq/L")
    assert values(await looked(sheet)) == [("2026-03-01T12:00:00+00:00", "total_alkalinity", 4.5)]


async def test_an_order_that_no_date_tells_is_asked_once():
    sheet = await picked("Date,KH\n03/04/2026,8.1\n05/06/2026,8.2\n")
    assert sheet.choices.open_question == "order"
    assert page.date_sample(sheet) == "03/04/2026"
    for order, month in ((Order.DAY_FIRST, 4), (Order.MONTH_FIRST, 3)):
        from dataclasses import replace

        known = replace(sheet, choices=replace(sheet.choices, order=order))
        assert (await looked(known)).tests[0].at.month == month


async def test_decimal_commas_thousands_and_units():
    sheet = await picked(
        "Datum;KH;Ca;Mg;Dichte\n01.03.2026;8,1;420;1.320;1,0264\n28.03.2026;8,25;1.050,5;1320;1,026\n"
    )
    assert sheet.choices.sign == ","
    found = await looked(sheet)
    read = {(at[:10], parameter): value for at, parameter, value in values(found)}
    assert read["2026-03-01", "total_alkalinity"] == pytest.approx(8.1 / 2.80387, rel=1e-4)
    assert read["2026-03-01", "magnesium"] == 1320.0
    assert read["2026-03-28", "magnesium"] == 1320.0
    assert 34.0 < read["2026-03-01", "salinity"] < 36.5
    assert reasons(found) == [(3, "entry_outside_usual_mg_per_L")]


async def test_an_english_table_with_thousands():
    sheet = await picked('Date,Alk dKH,Mg\n2026-03-01,8.1,"1,320"\n2026-03-02,8.2,"1,310"\n')
    assert sheet.choices.sign == "."
    assert [v for _, p, v in values(await looked(sheet)) if p == "magnesium"] == [1320.0, 1310.0]


async def test_what_stays_out_is_named_with_its_line_and_reason():
    sheet = await picked(
        "Date;KH;Ca;Note\n"
        "2026-03-01;8,1;420;\n"
        "someday;8,1;420;\n"
        ";8,1;;\n"
        "2026-03-04;82;4200;\n"
        "2026-03-05;eight;-3;\n"
        "2027-03-05;8,1;;\n"
        "1970-03-05;8,1;;\n"
        "2026-03-08;8,1;;" + "x" * 2_100 + "\n"
        "2026-03-09;8,1;;a\x07b\n"
        "2026-03-10;3,5;;\n"
        "2026-03-11;-;n/a;nothing tested\n"
    )
    found = await looked(sheet)
    assert reasons(found) == [
        (3, "table_bad_date"),
        (4, "table_no_date"),
        (5, "entry_impossible_meq_per_L"),
        (5, "entry_impossible_mg_per_L"),
        (6, "entry_letters"),
        (6, "entry_negative"),
        (7, "table_future"),
        (8, "table_too_old"),
        (9, "table_long_text"),
        (10, "table_bad_text"),
        (11, "entry_outside_usual_meq_per_L"),
    ]
    assert (found.new, found.unusual) == (2, 1)
    from dataclasses import replace

    lines = page.finding_lines(replace(sheet, preview=found))
    assert "Line 5, KH: 82 cannot be right; possible is 0.5 dKH to 40 dKH." in lines
    assert lines[-1] == "And 3 more."


async def test_unusual_values_come_in_only_when_the_keeper_stands_by_them():
    from dataclasses import replace

    sheet = await picked("Date;KH\n2026-03-01;8,1\n2026-03-10;3,5\n2026-03-11;99\n")
    found = await looked(sheet)
    assert (found.new, found.unusual, len(found.rejected)) == (1, 1, 2)
    sheet = replace(sheet, choices=replace(sheet.choices, unusual=True))
    found = await looked(sheet)
    assert (found.new, found.unusual, len(found.rejected)) == (2, 1, 1)
    assert [r.confirmed for test in found.tests for r in test.readings] == [False, True]


async def test_twice_is_once_and_rows_added_later_are_new():
    first = "Date;KH;Ca;Note\n2026-03-01;8,1;420;a\n2026-03-02;8,2;;\n"
    found = await looked(await picked(first))
    assert (found.new, found.same) == (3, 0)
    assert {test.source for test in found.tests} == {"table"}
    again = await looked(await picked(first), written=found.tests)
    assert (again.new, again.same, again.tests) == (0, 3, [])
    more = await looked(
        await picked(first.replace("8,2;;", "8,2;430;") + "2026-03-03;8,3;;\n"), written=found.tests
    )
    assert (more.new, more.same) == (2, 3)
    both = [*found.tests, *more.tests]
    assert len({test.id for test in both}) == len(both)


async def test_the_same_row_is_the_same_record_on_every_phone():
    text = "Date;KH\n2026-03-01;8,1\n"
    one, other = [(await looked(await picked(text))).tests[0] for _ in range(2)]
    assert to_dict(one) == to_dict(other)
    assert from_dict(to_dict(one)) == one


async def test_another_value_at_the_same_time_is_a_conflict_and_the_log_stays():
    mine = WaterTest(
        id="phone00000000001:1",
        at=datetime(2026, 3, 1, 12, 0, 40, tzinfo=UTC),
        recorded_at=NOW,
        system="reef",
        readings=(
            Reading(parameter="calcium", value=420.0, typed="420", typed_unit="mg/L"),
            Reading(parameter="magnesium", value=1300.0, typed="1300", typed_unit="mg/L"),
        ),
    )
    sheet = await picked("Date;Ca;Mg\n2026-03-01;440;1300\n2026-03-02;440;1300\n2026-03-02;450;\n")
    found = await looked(sheet, written=[mine])
    assert (found.new, found.same) == (2, 1)
    assert reasons(found) == [(2, "table_conflict"), (4, "table_twice")]


async def test_what_was_withdrawn_stays_withdrawn():
    text = "Date;KH\n2026-03-01;8,1\n"
    (test,) = (await looked(await picked(text))).tests
    gone = Amendment(id="p:2", at=NOW, recorded_at=NOW, system="reef", supersedes=test.id)
    found = await looked(await picked(text), written=[test, gone], standing=[])
    assert (found.new, found.same, found.withdrawn) == (0, 0, 1)


async def test_a_time_is_on_the_clock_that_hung_there_then():
    def local(moment):
        hours = 2 if 4 <= moment.month <= 10 else 1
        return moment.astimezone(timezone(timedelta(hours=hours)))

    sheet = await picked("Date,Time,KH\n2026-07-01,18:30,8.1\n2026-01-01,18:30,8.2\n")
    found = await looked(sheet, local=local)
    assert [test.at.isoformat() for test in found.tests] == [
        "2026-07-01T18:30:00+02:00",
        "2026-01-01T18:30:00+01:00",
    ]
    assert found.without_time == 0


async def test_a_role_moves_and_a_column_can_be_left_out():
    sheet = await picked("Date,First,Second\n2026-03-01,8.1,8.4\n")
    assert sheet.choices.open_question == "readings"
    sheet = page.with_role(sheet, 1, page.reading_role(sheet, 1, "total_alkalinity"))
    assert _roles(sheet) == ("date", "total_alkalinity|dKH", "out")
    sheet = page.with_role(sheet, 2, page.reading_role(sheet, 2, "total_alkalinity"))
    assert _roles(sheet) == ("date", "out", "total_alkalinity|dKH")
    assert page.with_role(sheet, 0, columns.OUT).choices.open_question == "date"


async def test_forty_thousand_rows_are_looked_at_in_bounded_time():
    import time

    rows = "\n".join(
        f"20{10 + n % 16}-{n % 12 + 1:02}-{n % 28 + 1:02} {n % 24:02}:{n % 60:02};8,1;420"
        for n in range(40_000)
    )
    start = time.process_time()
    found = await looked(await picked("Date;KH;Ca\n" + rows))
    assert found.new + found.same == 80_000
    assert time.process_time() - start < 60
