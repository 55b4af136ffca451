"""Mix on the real build, by touch: a strength check by conductivity, through to a changed plan."""

from pathlib import Path

import pytest
from playwright.sync_api import Playwright

from tests.browser.test_journey import alkalinity, first_run
from tests.support.browser import Site, open_app, profile, record, served
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser


def amount(thumb: Thumb, asked: str, digits: str) -> None:
    """Type a number into a step of a procedure."""
    assert thumb.sees(asked), thumb.text()
    thumb.type(digits)
    thumb.tap("Use this number")


def done(thumb: Thumb, asked: str, answer: str = "Done") -> None:
    """Answer a step; its words are on the screen without scrolling."""
    assert thumb.sees(asked), thumb.text()
    thumb.tap(answer)


def check_by_conductivity(thumb: Thumb) -> None:
    thumb.place("Mix")
    thumb.tap("Check strength by conductivity")
    assert thumb.sees("Have ready")
    assert thumb.sees("What can go wrong")
    thumb.tap("Start")
    done(thumb, "Are children and pets out of the room?", "Yes, they are out")
    done(thumb, "Lay the phone")
    done(thumb, "Do you have a settled", "Yes, settled for 12 hours")
    done(thumb, "Are close-fitting goggles on?", "Goggles are on")
    done(thumb, "Are waterproof gloves on", "Gloves are on")
    done(thumb, "Catch a clear sample")
    done(thumb, "Are both samples clear", "Both clear")


def read_and_keep(thumb: Thumb) -> None:
    done(thumb, "Are both samples within 1 °C", "Yes, I measured both")
    amount(thumb, "Enter the temperature of both samples.", "24")
    done(thumb, "Rinse the meter's probe")
    amount(thumb, "Read the meter in your own saturated sample.", "8.1")
    done(thumb, "Rinse the probe again")
    amount(thumb, "Read the meter in the sample from the sump.", "5.2")
    assert thumb.sees("Weak: recharge. Never turn the pump up instead.")
    done(thumb, "Keep 60 % of saturated", "Keep it")
    done(thumb, "Rinse the gloves")
    done(thumb, "Take the gloves off")
    done(thumb, "Wash your hands")
    done(thumb, "Wipe the phone")
    assert thumb.sees("Finished. Today and Plan count with this strength now.")


def test_strength_check_by_conductivity_changes_the_plan(
    playwright: Playwright, built_site: Site, tmp_path: Path
):
    with served(built_site.path) as site, profile(playwright, tmp_path) as context:
        seen = record(context, site.url)
        page = open_app(context, site.url)
        thumb = Thumb(page)
        first_run(thumb)
        for value, days_earlier in (("8.4", 5), ("8.2", 0)):
            alkalinity(thumb, value, days_earlier=days_earlier)
            assert thumb.sees("Where the water stands")  # saving ends on Today
        assert not thumb.sees("Recharge the lime.", timeout_s=2)
        check_by_conductivity(thumb)
        read_and_keep(thumb)
        thumb.place("Today")
        # The level held on weak lime: what was right at 60 % is too much once it is fresh.
        assert thumb.sees("Then recharge the lime."), thumb.text()
        thumb.place("Plan")
        assert thumb.sees("First lower the pump to 3.1"), thumb.text()
        assert thumb.sees("(was 5 L a day)"), thumb.text()
        thumb.place("History")
        assert thumb.sees("60 %"), thumb.text()
        seen.assert_clean()
