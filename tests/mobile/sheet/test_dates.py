"""Dates of a table: nothing is guessed where day and month could be exchanged."""

from datetime import datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobile.state.sheet.dates import Order, order_of, read_moment

DAY, MONTH = Order.DAY_FIRST, Order.MONTH_FIRST
READ = {
    ("2026-03-04", DAY): "2026-03-04T12:00:00",
    ("2026-03-04 18:30", MONTH): "2026-03-04T18:30:00",
    ("2026-03-04T18:30:15", None): "2026-03-04T18:30:15",
    ("2026/3/4", None): "2026-03-04T12:00:00",
    ("4.3.2026", DAY): "2026-03-04T12:00:00",
    ("04.03.26 7:05", DAY): "2026-03-04T07:05:00",
    ("3/4/2026", MONTH): "2026-03-04T12:00:00",
    ("3/4/2026 7:05 PM", MONTH): "2026-03-04T19:05:00",
    ("3/4/2026 12:05 am", MONTH): "2026-03-04T00:05:00",
    ("4 Mar 2026", None): "2026-03-04T12:00:00",
    ("4-Mar-26", None): "2026-03-04T12:00:00",
    ("March 4, 2026", None): "2026-03-04T12:00:00",
}
UNREAD = [
    *("", "soon", "2026", "2026-13-01", "2026-02-30", "31.2.2026", "4.3.", "4.3.2026 25:00"),
    *("13/13/2026", "4 Foo 2026", "2026-03-04 13:00 pm", "2026-03-04 x", "1" * 5_000, "45985.375"),
]


@pytest.mark.parametrize(("cell", "order"), READ, ids=[cell for cell, _ in READ])
def test_dates_as_people_write_them(cell, order):
    moment = read_moment(cell, "", "", order)
    assert moment is not None
    assert moment.wall.isoformat() == READ[cell, order]


@pytest.mark.parametrize("cell", UNREAD)
def test_what_is_no_date_is_not_read(cell):
    assert read_moment(cell, "", "", DAY) is None


def test_a_date_of_numbers_is_not_read_without_an_order():
    assert read_moment("3/4/2026", "", "", None) is None
    assert read_moment("25/4/2026", "", "", None) is None


def test_time_and_zone_of_other_columns():
    moment = read_moment("2026-03-04", "18:30", "UTC+01:00", None)
    assert moment is not None
    assert (moment.wall.hour, moment.zone) == (18, timezone(timedelta(hours=1)))
    assert read_moment("2026-03-04T18:30:00-05:00", "", "", None).zone == timezone(
        timedelta(hours=-5)
    )
    assert read_moment("2026-03-04", "late", "", None) is None
    assert read_moment("2026-03-04", "18:30", "UTC+99:00", None) is None


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        (["2026-03-04", "2026-03-14"], (False, None)),
        (["4 Mar 2026"], (False, None)),
        (["3/4/2026", "25/4/2026"], (True, DAY)),
        (["3/4/2026", "4/25/2026"], (True, MONTH)),
        (["3/4/2026", "5.6.2026"], (True, None)),
        (["25/4/2026", "4/25/2026"], (True, None)),
        ([], (False, None)),
    ],
)
def test_the_order_is_known_only_when_some_date_tells(cells, expected):
    assert order_of(cells) == expected


@settings(max_examples=200, deadline=None)
@given(
    st.datetimes(datetime(1990, 1, 1), datetime(2099, 12, 31)),  # noqa: DTZ001 - on the wall
    st.sampled_from([("%d.%m.%Y %H:%M", DAY), ("%m/%d/%Y %H:%M", MONTH), ("%Y-%m-%d %H:%M", None)]),
)
def test_what_was_written_in_an_order_is_read_in_it(moment, written):
    form, order = written
    read = read_moment(moment.strftime(form), "", "", order)
    assert read is not None
    assert read.wall == moment.replace(second=0, microsecond=0)


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=80), st.text(max_size=20), st.sampled_from([None, DAY, MONTH]))
def test_any_text_is_read_or_refused_and_never_fails(date, time, order):
    read_moment(date, time, "", order)
    order_of([date, time])
