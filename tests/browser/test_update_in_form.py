"""A new version while an entry is open: it waits for the keeper, and loses nothing of the log."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.support.browser import Site, phone, record, served, until, wait_installed, wait_running
from tests.support.seeded import another_build, copy_of, open_seeded
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser

NEWER = "newer0newer0"
RUNNING = "document.querySelector('meta[name=sumpside-build]').content"


def test_an_update_in_the_middle_of_a_form_keeps_what_is_typed_and_every_record(
    chromium: Browser, built_site: Site, tmp_path: Path
) -> None:
    folder = copy_of(built_site, tmp_path)
    with served(folder) as site, phone(chromium) as context:
        seen = record(context, site.url)
        page, thumb = open_seeded(context, site.url)
        wait_installed(page)
        thumb.place("Record")
        thumb.tap("Alkalinity")
        thumb.type("8.2")
        another_build(built_site, folder, NEWER)
        page.evaluate("navigator.serviceWorker.ready.then((found) => found.update())")
        assert thumb.sees("A new version is ready")
        assert thumb.sees("8.2")
        thumb.tap("Use it")  # asked for too early: the entry is worth more
        assert thumb.sees("The new version waits while an entry is open")
        assert page.evaluate(RUNNING) == built_site.report.build_id
        assert thumb.sees("8.2")
        thumb.tap("Save")
        assert thumb.sees("Saved: Alkalinity 8.2 dKH")
        assert page.evaluate(RUNNING) == built_site.report.build_id  # never by itself
        thumb.place("History")
        thumb.tap("Use it")
        until(page, f"{RUNNING} === '{NEWER}'")
        wait_running(page)
        thumb = Thumb(page)
        thumb.place("History")
        assert thumb.sees("Alkalinity: 8.2 dKH")
        thumb.place("Record")
        thumb.tap("Alkalinity")
        thumb.type("8.3")
        thumb.tap("Save")
        assert thumb.sees("Saved: Alkalinity 8.3 dKH")
        seen.assert_clean()
