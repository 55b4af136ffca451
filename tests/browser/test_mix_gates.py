"""On the real build: no way of the browser passes a gate; the dates reach the phone's calendar."""

import re
from datetime import timedelta
from pathlib import Path

import pytest
import vobject
from playwright.sync_api import Browser, Page

from tests.browser.test_journey import first_run, recharge_half_way
from tests.support.browser import Site, open_app, phone, record, served, steady, wait_running
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser


def stands_at_step_5(page: Page, hash_route: str) -> None:
    """Go to a route and look where the run stands."""
    thumb = Thumb(page)
    page.evaluate("(route) => { location.hash = route; }", hash_route)
    steady(page, thumb.text, 0.5)
    page.evaluate("location.hash = '/mix/recharge_vessel'")
    assert thumb.sees("Step 5 of"), thumb.text()


def test_back_reload_links_and_a_second_window_pass_no_gate(
    chromium: Browser, built_site: Site
) -> None:
    with served(built_site.path) as site, phone(chromium) as context:
        seen = record(context, site.url)
        page = open_app(context, site.url)
        first_run(Thumb(page))
        recharge_half_way(Thumb(page))
        for _ in range(3):
            page.go_back()
            steady(page, Thumb(page).text, 0.5)
        stands_at_step_5(page, "/")
        for route in ("/mix/recharge_vessel/weigh", "/mix/recharge_vessel?step=rest"):
            stands_at_step_5(page, route)
        page.reload()
        wait_running(page)
        stands_at_step_5(page, "/history")
        second = open_app(context, f"{site.url}#/mix/recharge_vessel")
        thumb = Thumb(second)
        assert thumb.sees("Step 5 of"), thumb.text()
        assert thumb.sees("Read only")
        thumb.tap("Yes, nothing else today")
        assert thumb.sees("NOT saved")
        assert thumb.sees("Step 5 of")
        assert seen.console_errors == []
        seen.assert_clean()


def test_the_dates_are_handed_out_as_a_calendar_file(chromium: Browser, built_site: Site) -> None:
    with served(built_site.path) as site, phone(chromium) as context:
        seen = record(context, site.url)
        page = open_app(context, site.url)
        thumb = Thumb(page)
        thumb.tap("Look around in a demo")
        assert thumb.sees("L a day")
        thumb.tap("What comes when")
        assert thumb.sees("a web page cannot ring")
        with page.expect_download() as waiting:
            thumb.tap("Export for the calendar")
        assert re.fullmatch(r"sumpside-dates-[\d-]+\.ics", waiting.value.suggested_filename)
        data = Path(waiting.value.path()).read_bytes()
        calendar = vobject.readOne(data.decode("utf-8"))
        events = calendar.vevent_list
        assert len({event.uid.value for event in events}) == len(events) > 3
        for event in events:
            assert event.dtstart.value.tzinfo is None
            assert event.valarm_list[0].trigger.value == timedelta(0)
        assert thumb.sees(f"{len(events)} dates are in the file")
        seen.assert_clean()
