"""The care of the records on the real build: a table in and out, the self-check, erasing it all."""

import csv
import io
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.support.browser import Site, phone, record, served, wait_running
from tests.support.seeded import DEVICE, NAME, open_seeded
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser

# Every file of ours in the browser's file system, as text.
FILES = """async () => {
  const root = await navigator.storage.getDirectory();
  const found = {};
  for await (const [place, folder] of root.entries())
    for await (const [name, file] of folder.entries())
      found[`${place}/${name}`] = await (await file.getFile()).text();
  return found;
}"""


def own_table() -> str:
    """Return a keeper's own table: two days ago and the day before, decimal comma."""
    days = [datetime.now(UTC) - timedelta(days=ago) for ago in (3, 2)]
    rows = zip(days, ("8,1;420", "7,9;415"), strict=True)
    return "Datum;KH;Ca (mg/l)\r\n" + "".join(f"{day:%Y-%m-%d} 12:00;{v}\r\n" for day, v in rows)


def bring_in(page: Page, thumb: Thumb, file: Path) -> None:
    thumb.tap("Setup")
    thumb.tap("Readings and spreadsheets")
    with page.expect_file_chooser() as waiting:
        thumb.tap("Choose a CSV file")
    waiting.value.set_files(file)
    assert thumb.sees("In this table: 4 new, 0 already here, 0 in conflict, 0 left out.")
    thumb.tap("Import 4 readings")
    assert thumb.sees("Saved: 4 readings from your table.")
    thumb.place("History")
    for values in ("8.1 dKH, 420 mg/L", "7.9 dKH, 415 mg/L"):  # one test a row of the table
        assert thumb.sees(f"Alkalinity, Calcium: {values}"), thumb.text()


def taken_out(page: Page, thumb: Thumb) -> list[dict[str, str]]:
    """Export the readings as a table; return its rows."""
    thumb.tap("Setup")
    thumb.tap("Readings and spreadsheets")
    with page.expect_download() as waiting:
        thumb.tap("Table with 8.2")
    assert re.fullmatch(r"sumpside-readings-[\d-]+\.csv", waiting.value.suggested_filename)
    data = Path(waiting.value.path()).read_bytes()
    assert thumb.sees("Table ready: 2 tests.")
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))


def check_all(thumb: Thumb) -> None:
    thumb.tap("Setup")
    thumb.tap("Where records are kept")
    thumb.tap("Check all records now")
    assert thumb.sees("No damage found"), thumb.text()


def erase_everything(page: Page, thumb: Thumb) -> None:
    assert any(NAME in text for text in page.evaluate(FILES).values())
    thumb.tap("Setup")
    thumb.tap("Erase records")
    thumb.tap("Everything:")
    thumb.tap("Erase for good")
    assert thumb.sees("Everything was erased"), thumb.text()
    assert thumb.sees("Set up my system")


def test_a_table_comes_in_and_goes_out_all_is_checked_and_erased_for_good(
    chromium: Browser, built_site: Site, tmp_path: Path
) -> None:
    file = tmp_path / "own.csv"
    file.write_text(own_table(), encoding="utf-8")
    with served(built_site.path) as site, phone(chromium) as context:
        seen = record(context, site.url)
        page, thumb = open_seeded(context, site.url)
        bring_in(page, thumb, file)
        rows = taken_out(page, thumb)
        assert [row["Total alkalinity (dKH)"] for row in rows] == ["8.1", "7.9"]
        assert [row["Calcium (mg/L)"] for row in rows] == ["420", "415"]
        check_all(thumb)
        erase_everything(page, thumb)
        left = page.evaluate(FILES)
        assert [name for name, text in left.items() if NAME in text or DEVICE in text] == []
        page.reload()
        wait_running(page)
        assert Thumb(page).sees("Set up my system")
        seen.assert_clean()
