"""The main job on the real build, by touch: first run to plan, a kill, no network, all still there.

One story in one test, because each part stands on what the parts before it left on the phone.
"""

import contextlib
import os
import signal
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Playwright
from playwright.sync_api import Error as PlaywrightError

from tests.support.browser import (
    Record,
    Site,
    open_app,
    profile,
    record,
    served,
    wait_installed,
)
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser


def kill_browser(folder: Path) -> int:
    """SIGKILL every process of the browser that runs on a profile; return how many there were."""
    killed = 0
    for entry in Path("/proc").iterdir():
        with contextlib.suppress(OSError, ValueError):
            command = (entry / "cmdline").read_bytes().decode(errors="replace")
            if str(folder) in command and "chrom" in command:
                os.kill(int(entry.name), signal.SIGKILL)
                killed += 1
    return killed


@contextlib.contextmanager
def doomed(playwright: Playwright, folder: Path):
    """Give a browser on a profile that the test will kill: closing it must not fail then."""
    with contextlib.suppress(PlaywrightError), profile(playwright, folder) as context:
        yield context


def first_run(thumb: Thumb) -> None:
    """Answer the seven pages as a keeper with a 450 L tank and a stirred vessel would."""
    thumb.tap("Set up my system")
    thumb.write("Name", "Journey")
    thumb.tap("Net water volume")
    thumb.type("450")
    thumb.tap("Next")
    thumb.tap("Volume of the stirred vessel")
    thumb.type("5")
    thumb.tap("Next")
    thumb.tap("Least in a day")
    thumb.type("6.3")
    thumb.tap("Most in a day")
    thumb.type("7.5")
    thumb.tap("Next")
    assert thumb.sees("Target")
    thumb.tap("Next")
    assert thumb.sees("Nothing else")
    thumb.tap("Next")
    thumb.tap("Most limewater in a day, ever")
    thumb.type("6")
    thumb.tap("Next")
    thumb.tap("Limewater set now")
    thumb.type("5")
    thumb.tap("A month or more")
    thumb.tap("Yes", exact=True)
    thumb.tap("Save and start")
    assert thumb.sees("Raise nothing untested")


def alkalinity(thumb: Thumb, value: str, *, days_earlier: int = 0) -> int:
    """Record a test from the open app; return the taps it took beside the digits."""
    before = thumb.taps
    thumb.place("Record")
    thumb.tap("Alkalinity")
    thumb.type(value)
    for _ in range(days_earlier):
        thumb.tap("1 day earlier")
    thumb.tap("Save")
    assert thumb.sees(f"Alkalinity {value} dKH")
    return thumb.taps - before


def recharge_half_way(thumb: Thumb) -> None:
    """Begin a recharge and answer its first gates."""
    thumb.place("Mix")
    thumb.tap("Recharge the stirred vessel")
    thumb.tap("Start")
    thumb.tap("Done")
    thumb.tap("Calcium hydroxide, CAS 1305-62-0")
    thumb.tap("Below 8.4")
    thumb.tap("Yes, for 3 hours or more")
    assert thumb.sees("Step 5 of")


def assert_clean(seen: Record) -> None:
    seen.assert_clean()


def before_the_kill(context: BrowserContext, url: str) -> None:
    seen = record(context, url)
    page = open_app(context, url)
    wait_installed(page)
    thumb = Thumb(page)
    first_run(thumb)
    alkalinity(thumb, "8.4", days_earlier=5)
    taps = alkalinity(thumb, "8.2")
    assert taps <= 4, "a usual test takes at most four taps and the digits"
    thumb.place("Plan")
    assert thumb.sees("L a day")
    assert thumb.sees("From 2 tests")
    assert thumb.sees("If limewater stopped")
    thumb.place("Record")
    thumb.tap("Refill")
    thumb.type("12.5")
    thumb.tap("Save")
    assert thumb.sees("Refill, 12.5 L")
    recharge_half_way(thumb)
    assert_clean(seen)


def after_the_kill(context: BrowserContext, url: str) -> None:
    seen = record(context, url)
    page = open_app(context, url)
    thumb = Thumb(page)
    assert thumb.sees("Journey")
    thumb.tap("Go on: Recharge the stirred vessel")
    assert thumb.sees("Step 5 of")
    thumb.place("History")
    for line in ("Alkalinity: 8.2 dKH", "Alkalinity: 8.4 dKH", "Refill: 12.5 L"):
        assert thumb.sees(line), thumb.text()
    thumb.place("Record")
    thumb.tap("pH")
    thumb.type("8.31")
    thumb.tap("Save")
    assert thumb.sees("pH 8.31")
    assert_clean(seen)


def test_everything_is_there_after_a_kill_with_no_network(
    playwright: Playwright, built_site: Site, tmp_path: Path
) -> None:
    folder = tmp_path / "profile"
    with served(built_site.path) as site:
        with doomed(playwright, folder) as context:
            before_the_kill(context, site.url)
            assert kill_browser(folder) > 1
        site.stop()
        with profile(playwright, folder) as context:
            after_the_kill(context, site.url)
