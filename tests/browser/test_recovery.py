"""The recovery page: records are seen and saved in every engine, without Python, beside the app."""

import asyncio
import base64
import json
import re
import shutil
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from mobile.bootstrap import ROOT
from mobile.packaging.build import SOURCES
from mobile.storage.journal import JOURNAL_NAME
from mobile.storage.memory import MemoryFolder, memory_folder
from mobile.storage.store import open_repository
from mobile.storage.transfer import ImportPreview
from mobile.validation import VALIDATION
from tests.mobile.storage import version_two as two
from tests.mobile.storage.support import DeviceIds, open_in
from tests.mobile.storage.support import record as plain_record
from tests.support import engines, seeded
from tests.support.browser import (
    Served,
    Site,
    assert_large_enough,
    open_app,
    phone,
    record,
    served,
    wait_installed,
)
from tests.support.engines import Engine, StoragePage, running, storage_page
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser

FRAME = ROOT / "tests" / "browser" / "recovery_page"
LOOKED = '#state:not(:has-text("Looking")):not(:has-text("Not started"))'
PYTHON = ("app.zip", "python_worker.js", "pyodide", "main.dart.js")


def without_python(site: Site, folder: Path) -> Path:
    """Copy a site and take everything away that the app needs to run."""
    broken = seeded.copy_of(site, folder)
    for name in PYTHON:
        path = broken / name
        shutil.rmtree(path) if path.is_dir() else path.unlink()
    return broken


@pytest.fixture(scope="module")
def server(built_site: Site, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Serve a site on which the app can never start."""
    with served(without_python(built_site, tmp_path_factory.mktemp("broken"))) as result:
        yield result


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    with phone(chromium) as result:
        yield result


def store(page: Page, **files: bytes) -> None:
    for name, data in files.items():
        text = base64.b64encode(data).decode()
        page.evaluate(seeded.PUT, ["sumpside-records", name.replace("_", "-"), text])


def opened(page: Page, url: str) -> str:
    """Open the page and return what it says first."""
    page.goto(url + "recovery.html")
    page.locator(LOOKED).wait_for()
    return page.locator("#state").inner_text()


def recovered(context: BrowserContext, server: Served, **files: bytes) -> Page:
    page = context.new_page()
    page.goto(server.url + "emergency.html")
    store(page, **files)
    opened(page, server.url)
    return page


def saved(page: Page) -> bytes:
    """Touch the button and return the file."""
    button = page.get_by_role("link", name="Save your records")
    with page.expect_download() as waiting:
        button.tap()
    name = waiting.value.suggested_filename
    assert re.fullmatch(r"sumpside-recovered-[\d-]{16}\.jsonl", name)
    assert page.locator("#saved").inner_text().startswith(f"Given to the browser as {name}.")
    return Path(waiting.value.path()).read_bytes()


def lines(export: bytes) -> list[dict[str, Any]]:
    return [json.loads(line) for line in export.splitlines()[1:]]


def previewed(export: bytes, *, plain: bool = False) -> ImportPreview:
    """What the app's own door says of a file."""

    async def preview() -> ImportPreview:
        if plain:
            repository = await open_in(MemoryFolder(), device_ids=DeviceIds())
        else:
            repository = await open_repository(
                memory_folder, new_device_id=DeviceIds(), **VALIDATION
            )
        return await repository.preview_import(export)

    with ThreadPoolExecutor(1) as pool:  # Playwright's loop runs in this thread
        return pool.submit(lambda: asyncio.run(preview())).result()


def app_export(page: Page) -> bytes:
    page.bring_to_front()
    thumb = Thumb(page)
    thumb.tap("Setup")
    with page.expect_download() as waiting:
        thumb.tap("Export all records")
    return Path(waiting.value.path()).read_bytes()


def test_what_the_app_saved_is_found_while_it_runs_and_when_it_cannot(
    chromium: Browser, built_site: Site, tmp_path: Path
) -> None:
    changed = seeded.copy_of(built_site, tmp_path)
    with served(changed) as site, phone(chromium) as context:
        seen = record(context, site.url)
        app, thumb = seeded.open_seeded(context, site.url)
        thumb.place("Record")
        thumb.tap("Alkalinity")
        thumb.type("8.2")
        thumb.tap("Save")
        assert thumb.sees("Alkalinity 8.2 dKH")
        beside = context.new_page()
        state = opened(beside, site.url)
        export = saved(beside)
        assert state == f"{len(lines(export))} entries were found."
        assert lines(export)[-1]["kind"] == "water_test"
        assert not beside.locator("#damage").is_visible()
        theirs = app_export(app)
        assert sorted(map(str, lines(export))) == sorted(map(str, lines(theirs)))
        preview = previewed(export)
        assert (preview.problems, preview.rejected_count) == ((), 0)
        assert preview.new == previewed(theirs).new
        seen.assert_clean()
        app.close()
        for name in PYTHON:
            path = changed / name
            shutil.rmtree(path) if path.is_dir() else path.unlink()
        assert opened(beside, site.url) == state
        assert lines(saved(beside)) == lines(export)
        seen.assert_clean()


def test_it_is_kept_offline_by_the_service_worker(chromium: Browser, built_site: Site) -> None:
    with phone(chromium) as context, served(built_site.path) as site:
        page = open_app(context, site.url)
        wait_installed(page)
        site.stop()
        page.goto(site.url + "recovery.html")
        page.locator(LOOKED).wait_for()
        assert page.title() == "Sumpside: see and save your records"


def test_nothing_is_said_truly_and_nothing_is_made(context: BrowserContext, server: Served) -> None:
    seen = record(context, server.url)
    page = context.new_page()
    said = opened(page, server.url)
    assert said == "No records of Sumpside were found in this browser at this address."
    assert f"This address: {server.url}" in page.locator("main").inner_text()
    for hidden in ("#found", "#damage", "#raw", "#technical"):
        assert not page.locator(hidden).is_visible()
    made = page.evaluate(
        """async () => {
          const names = [];
          for await (const name of (await navigator.storage.getDirectory()).keys()) {
            names.push(name);
          }
          return [...names, ...(await indexedDB.databases()), ...(await caches.keys())];
        }"""
    )
    assert made == []
    seen.assert_clean()


def test_a_store_that_cannot_be_looked_into_is_not_taken_for_an_empty_one(
    context: BrowserContext, server: Served
) -> None:
    page = context.new_page()
    page.add_init_script(
        "const refused = new DOMException('no', 'SecurityError');"
        "navigator.storage.getDirectory = () => Promise.reject(refused);"
    )
    said = opened(page, server.url)
    assert said == "No records could be seen. Not every place could be looked into."
    assert "This place could not be read: opfs" in page.locator("#notes").inner_text()


def test_a_database_of_another_form_is_left_alone(context: BrowserContext, server: Served) -> None:
    page = context.new_page()
    page.goto(server.url + "emergency.html")
    page.evaluate(
        """() => new Promise((resolve, reject) => {
          const request = indexedDB.open('sumpside-records', 7);
          request.onupgradeneeded = () => request.result.createObjectStore('other');
          request.onsuccess = () => { request.result.close(); resolve(); };
          request.onerror = () => reject(request.error);
        })"""
    )
    assert opened(page, server.url).startswith("No records of Sumpside were found")
    assert page.evaluate("indexedDB.databases()") == [{"name": "sumpside-records", "version": 7}]


def damaged_journal() -> tuple[bytes, bytes]:
    frames = two.chain([plain_record(f"device0001:{n}", minutes=n) for n in range(1, 6)])
    journal = bytearray(two.journal(frames)[:-3])
    journal[len(two.journal(frames[:1])) + 40] ^= 1
    return bytes(journal), two.marks(frames, 5)


def test_damage_is_told_in_plain_words_and_the_bytes_are_offered(
    context: BrowserContext, server: Served
) -> None:
    seen = record(context, server.url)
    journal, marks = damaged_journal()
    page = recovered(context, server, journal=journal, acknowledged=marks)
    assert page.locator("#state").inner_text() == (
        "3 entries were found. Not everything could be read."
    )
    damage = page.locator("#damage").inner_text()
    assert "Damaged: 1 place." in damage
    assert "Missing between others: 1 save." in damage
    assert "Missing at the end, though reported as saved: 1 save." in damage
    with page.expect_download() as waiting:
        page.get_by_role("link", name="Save opfs-sumpside-records-journal").tap()
    assert Path(waiting.value.path()).read_bytes() == journal
    page.get_by_text("Technical details").tap()
    assert "frames: 3, last number 4" in page.locator("#details").inner_text()
    assert [line["id"] for line in lines(saved(page))] == [f"device0001:{n}" for n in (1, 3, 4)]
    assert previewed(saved(page), plain=True).problems == ()
    seen.assert_clean()


def test_nothing_readable_is_no_nothing(context: BrowserContext, server: Served) -> None:
    page = recovered(context, server, journal=bytes(range(256)) * 40)
    assert page.locator("#state").inner_text() == (
        "A store of Sumpside is here. No entry in it could be read."
    )
    assert page.get_by_role("link", name="Save opfs-sumpside-records-journal").is_visible()
    assert not page.locator("#found").is_visible()


def test_markup_in_a_name_is_shown_as_text(context: BrowserContext, server: Served) -> None:
    name = "<img src=x onerror=alert(1)>"
    frames = two.chain([plain_record("device0001:1", system=name)])
    page = recovered(context, server, journal=two.journal(frames))
    assert f"{name}: 1 entry" in page.locator("#facts").inner_text()
    assert page.locator("main img").count() == 0


DATABASE = """([name, file, text]) => new Promise((resolve, reject) => {
  const request = indexedDB.open(name, 1);
  request.onupgradeneeded = () => {
    for (const each of ['rows', 'files']) request.result.createObjectStore(each);
  };
  request.onerror = () => reject(request.error);
  request.onsuccess = () => {
    const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    const transaction = request.result.transaction(['rows', 'files'], 'readwrite');
    transaction.objectStore('files').put('mark', file);
    for (let at = 0; at < bytes.length; at += 5000) {
      transaction.objectStore('rows').put(bytes.slice(at, at + 5000), [file, at]);
    }
    transaction.oncomplete = () => {
      request.result.close();
      resolve();
    };
  };
})"""


def test_the_second_copy_in_the_other_store_fills_in_what_the_first_lost(
    context: BrowserContext, server: Served
) -> None:
    frames = two.chain([plain_record(f"device0001:{n}", minutes=n) for n in range(1, 5)])
    page = recovered(context, server, journal=two.journal(frames[:2]))
    copy = base64.b64encode(two.journal(frames)).decode()
    page.evaluate(DATABASE, ["sumpside-records", "second-copy", copy])
    page.get_by_role("button", name="Look again").tap()
    page.get_by_text("4 entries were found.").wait_for()
    assert "In the second copy in the browser’s database: 2 more entries" in (
        page.locator("#facts").inner_text()
    )
    assert len(lines(saved(page))) == 4


@pytest.mark.parametrize(
    ("folder", "is_old"), [("sumpside-records-2@one~two", False), ("sumpside-records", True)]
)
def test_below_a_base_the_base_names_the_folder_and_the_old_name_is_looked_at_too(
    context: BrowserContext, server: Served, built_site: Site, folder: str, is_old: bool
) -> None:
    frames = two.chain([plain_record("device0001:1")])
    other = two.chain([plain_record(f"device0002:{n}") for n in (1, 2, 3)])
    with served(built_site.path, base="/one/two/") as site:
        page = context.new_page()
        page.goto(site.url + "emergency.html")
        text = base64.b64encode(two.journal(frames)).decode()
        page.evaluate(seeded.PUT, [folder, "journal", text])
        if not is_old:
            text = base64.b64encode(two.journal(other)).decode()
            page.evaluate(seeded.PUT, ["sumpside-records", "journal", text])
        assert opened(page, site.url) == "1 entry was found."
        assert page.get_by_text("the name that older versions used").is_visible() is is_old


def test_look_again_finds_what_came_since(context: BrowserContext, server: Served) -> None:
    frames = two.chain([plain_record(f"device0001:{n}") for n in (1, 2)])
    page = recovered(context, server, journal=two.journal(frames[:1]))
    assert page.locator("#state").inner_text() == "1 entry was found."
    store(page, journal=two.journal(frames))
    page.get_by_role("button", name="Look again").tap()
    page.get_by_text("2 entries were found.").wait_for()


def test_it_is_reached_from_the_card_and_leads_to_it(
    context: BrowserContext, server: Served
) -> None:
    page = context.new_page()
    page.goto(server.url + "emergency.html")
    page.get_by_role("link", name="See and save your records").tap()
    page.locator(LOOKED).wait_for()
    page.get_by_role("link", name="Overdose? Open the emergency card").tap()
    page.get_by_role("heading", name="Do now").wait_for()


def test_without_javascript_it_says_so(chromium: Browser, server: Served) -> None:
    with phone(chromium, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(server.url + "recovery.html")
        assert page.locator("#state").inner_text() == (
            "Not started. This page needs JavaScript. Your records are not touched."
        )


@pytest.mark.parametrize("width", [320, 390, 1280])
@pytest.mark.parametrize("percent", [100, 200])
def test_everything_is_large_enough_and_nothing_runs_off_the_screen(
    context: BrowserContext, server: Served, width: int, percent: int
) -> None:
    journal, marks = damaged_journal()
    page = recovered(context, server, journal=journal, acknowledged=marks)
    page.set_viewport_size({"width": width, "height": 844})
    page.evaluate("(p) => { document.documentElement.style.fontSize = `${p}%`; }", percent)
    page.get_by_text("Technical details").tap()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    targets = page.locator("a:visible, button:visible, summary:visible").all()
    assert len(targets) == 6
    for target in targets:
        assert_large_enough(target, 56)
    assert page.locator("h1").count() == page.locator("main").count() == 1


# --- every engine, on the store that the app's own Python writes in it


def copy_page(site: Site, folder: Path) -> None:
    """Lay the recovery page, and the frame that watches it, beside the storage page."""
    copy = folder / "site"
    for path in SOURCES.iterdir():
        if path.stem.startswith(("recovery", "journal_", "tokens", "emergency")):
            shutil.copy(path, copy)
    shutil.copytree(site.path / "icons", copy / "icons")
    shutil.copytree(FRAME, copy, dirs_exist_ok=True)


def told(page: StoragePage) -> dict[str, Any]:
    """Return what the recovery page said, passing over what the storage page reports."""
    text = ""
    while True:
        found = page.next()
        text += found.get("part", "")
        if "letters" in found:
            assert len(text) == found["letters"]
            return json.loads(text)


@pytest.mark.parametrize("engine", engines.ALL, ids=str)
def test_every_engine_shows_what_the_app_stored_also_while_it_saves(
    engine: Engine, built_site: Site, tmp_path: Path
) -> None:
    engine.require()
    profile = tmp_path / "profile"
    with storage_page(built_site.path, tmp_path) as page:
        copy_page(built_site, tmp_path)
        frame = replace(page, url=page.url + "recovery_frame.html")
        with running(engine, profile, frame):
            nothing = told(page)
        assert nothing["recovery"].startswith("No records of Sumpside were found")
        assert (nothing["names"], nothing["databases"]) == ([], [])
        with running(engine, profile, frame, job="save", least=3):
            found = told(page)
            during = page.next()
        check_saved(found, least=3)
        assert "saved" in during, "the app's store went on saving"
        with running(engine, profile, frame, least=3):
            after = told(page)
        check_saved(after, least=during["saved"] + 1)
        place = "file store" if engine.backend == "opfs" else "database"
        assert f"In the browser’s {place}: " in after["text"]


def check_saved(found: dict[str, Any], *, least: int) -> None:
    export = found["saved"].encode()
    notes = [int(line["note"]) for line in lines(export)]
    assert notes == list(range(len(notes)))
    assert len(notes) >= least
    assert found["recovery"] == f"{len(notes)} entries were found."
    preview = previewed(export, plain=True)
    assert (preview.problems, len(preview.new)) == ((), len(notes))


def test_the_journal_that_is_looked_for_is_the_one_the_app_writes() -> None:
    reader = (SOURCES / "journal_reader.js").read_text(encoding="utf-8")
    assert f"files.get('{JOURNAL_NAME}')" in reader
