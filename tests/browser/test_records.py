"""Records in a real browser: a second tab, export and import, the answer about persistence."""

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests.support.browser import Site, open_app, phone, record, served, wait_running
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser


def small_system(thumb: Thumb) -> None:
    """Set up a system by the offered answers, as far as they go."""
    thumb.tap("Set up my system")
    thumb.write("Name", "Tabs")
    thumb.tap("Net water volume")
    thumb.type("300")
    thumb.tap("Next")
    thumb.tap("Drip from a hung container")
    thumb.tap("Volume of the lime container")
    thumb.type("2")
    thumb.tap("Next")
    thumb.tap("Least in a day")
    thumb.type("3")
    thumb.tap("Most in a day")
    thumb.type("4")
    thumb.tap("Next")
    assert thumb.sees("Target")
    thumb.tap("Next")
    assert thumb.sees("Nothing else")
    thumb.tap("Next")
    thumb.tap("Most limewater in a day, ever")
    thumb.type("3")
    thumb.tap("Next")
    assert thumb.sees("What it gets now")
    thumb.tap("Save and start")
    assert thumb.sees("Raise nothing untested")


def record_alkalinity(thumb: Thumb, value: str) -> None:
    thumb.place("Record")
    thumb.tap("Alkalinity")
    thumb.type(value)
    thumb.tap("Save")


def exported(page: Page, thumb: Thumb) -> bytes:
    thumb.tap("Setup")
    with page.expect_download() as waiting:
        thumb.tap("Export all records")
    path = waiting.value.path()
    assert re.fullmatch(r"sumpside-[\d-]+\.jsonl", waiting.value.suggested_filename)
    return Path(path).read_bytes()


def test_an_export_goes_into_another_phone(
    chromium: Browser, built_site: Site, tmp_path: Path
) -> None:
    with served(built_site.path) as site:
        with phone(chromium) as context:
            page = open_app(context, site.url)
            thumb = Thumb(page)
            small_system(thumb)
            record_alkalinity(thumb, "8.2")
            assert thumb.sees("Alkalinity 8.2 dKH")
            data = exported(page, thumb)
        header, *lines = data.decode().splitlines()
        assert json.loads(header)["format"] == "sumpside-records"
        assert json.loads(header)["records"] == len(lines)
        file = tmp_path / "export.jsonl"
        file.write_bytes(data)
        with phone(chromium) as context:
            import_into_empty(context, site.url, file, len(lines))


def import_into_empty(context: BrowserContext, url: str, file: Path, count: int) -> None:
    seen = record(context, url)
    page = open_app(context, url)
    thumb = Thumb(page)
    small_system(thumb)
    thumb.tap("Setup")
    with page.expect_file_chooser() as waiting:
        thumb.tap("Import a file")
    waiting.value.set_files(file)
    assert thumb.sees(f"{count} new")
    thumb.tap(f"Import {count} records")
    assert thumb.sees("Import done")
    page.reload()
    wait_running(page)
    thumb = Thumb(page)
    thumb.tap("Setup")
    thumb.tap("Tabs", exact=True)
    thumb.place("Today")
    assert thumb.sees("Tabs")
    seen.assert_clean()


def test_setup_tells_where_records_are_and_asks_once_for_persistence(
    chromium: Browser, built_site: Site
) -> None:
    with served(built_site.path) as site, phone(chromium) as context:
        context.add_init_script(
            """self.asked = 0;
            const persist = navigator.storage.persist.bind(navigator.storage);
            navigator.storage.persist = () => { self.asked += 1; return persist(); };"""
        )
        page = open_app(context, site.url)
        thumb = Thumb(page)
        assert page.evaluate("self.asked") == 0  # nothing is asked before something is saved
        small_system(thumb)
        thumb.tap("Setup")
        assert page.evaluate("self.asked") == 1
        assert thumb.sees("In this browser's own storage on this phone")
        thumb.tap("Where records are kept")
        assert thumb.sees(re.compile("The browser (promised not to clear it|may clear it)"))


def test_the_demo_is_left_with_one_tap_and_keeps_nothing(
    chromium: Browser, built_site: Site
) -> None:
    with served(built_site.path) as site, phone(chromium) as context:
        seen = record(context, site.url)
        page = open_app(context, site.url)
        thumb = Thumb(page)
        thumb.tap("Look around in a demo")
        assert thumb.sees("Demo. Nothing here is kept.")
        assert thumb.sees("L a day")
        record_alkalinity(thumb, "8.3")
        assert thumb.sees("Alkalinity 8.3 dKH")
        thumb.tap("Leave demo")
        assert thumb.sees("Set up my system")
        page.reload()
        wait_running(page)
        assert Thumb(page).sees("Set up my system")
        seen.assert_clean()
