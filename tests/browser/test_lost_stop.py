"""Hole 2 in the built app: a lost "stop" stands, and an entry that one store lost comes back."""

import asyncio
import base64
import tempfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from engine.log.record_codec import to_dict
from engine.records import Reading, WaterTest
from mobile.storage.file import disk_folder
from mobile.storage.frames import scan
from mobile.storage.header import DATA_START
from mobile.storage.journal import JOURNAL_NAME
from mobile.storage.store import open_repository
from mobile.validation import VALIDATION
from tests.support.app import first_records
from tests.support.browser import Site, open_app, phone, served, until
from tests.support.seeded import DEVICE, NAME, PUT
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser

FOLDER = "sumpside-records"
STAND = """async () => {
  const root = await navigator.storage.getDirectory();
  const directory = await root.getDirectoryHandle('sumpside-records');
  const sizes = {};
  for await (const [name, handle] of directory.entries()) {
    sizes[name] = (await handle.getFile()).size;
  }
  const databases = await indexedDB.databases();
  if (!databases.some(({ name }) => name === 'sumpside-records')) return { sizes, copied: [] };
  const copied = await new Promise((resolve, reject) => {
    const request = indexedDB.open('sumpside-records');
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const all = request.result.transaction('files').objectStore('files').getAllKeys();
      all.onsuccess = () => { request.result.close(); resolve(all.result); };
    };
  });
  return { sizes, copied };
}"""
IS_SETTLED = """({ sizes, copied }) =>
  sizes.acknowledged > 0 && sizes.verdicts > 0 && copied.includes('second-copy-mark')"""
READ = """async () => {
  const root = await navigator.storage.getDirectory();
  const directory = await root.getDirectoryHandle('sumpside-records');
  const file = await (await directory.getFileHandle('journal')).getFile();
  return Array.from(new Uint8Array(await file.arrayBuffer()));
}"""
FORGET_COPY = """() => new Promise((resolve, reject) => {
  const request = indexedDB.deleteDatabase('sumpside-records');
  request.onsuccess = () => resolve(true);
  request.onerror = () => reject(request.error);
})"""


def journal_with_a_high_pH(now: datetime) -> bytes:
    """Return a journal of two saves: a first run of yesterday, then a pH of 8.65."""
    at = now - timedelta(minutes=20)
    reading = Reading(parameter="pH_nbs", value=8.65, typed="8.65", typed_unit="")

    async def make(folder: Path) -> bytes:
        store = await open_repository(
            disk_folder(folder), new_device_id=lambda: DEVICE, **VALIDATION
        )
        first = first_records(now - timedelta(days=1))
        await store.append([to_dict(replace(r, id=store.next_id())) for r in first])
        high = WaterTest(
            id=store.next_id(), at=at, recorded_at=at, system=first[0].system, readings=(reading,)
        )
        await store.append([to_dict(high)])
        await store.close()
        return (folder / JOURNAL_NAME).read_bytes()

    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(1) as pool:
        return pool.submit(lambda: asyncio.run(make(Path(folder)))).result()


def put_journal(page: Page, journal: bytes) -> None:
    page.evaluate(PUT, [FOLDER, JOURNAL_NAME, base64.b64encode(journal).decode()])


def stopped_and_settled(context: BrowserContext, url: str) -> None:
    """Open the app on a pH of 8.65, see it stop, and wait until the idle work is done."""
    page = context.new_page()
    page.goto(url + "emergency.html")
    put_journal(page, journal_with_a_high_pH(datetime.now(UTC)))
    page.close()
    page = open_app(context, url)
    assert Thumb(page).first_of("Stop the limewater", "is right") == "Stop the limewater"
    until(page, f"({STAND})().then({IS_SETTLED})")
    page.close()


def flip_the_last_frame(context: BrowserContext, url: str, *, forget_copy: bool) -> None:
    page = context.new_page()
    page.goto(url + "emergency.html")
    journal = bytearray(page.evaluate(READ))
    last = scan(bytes(journal), DATA_START).frames[-1]
    journal[last.end - 9] ^= 1
    put_journal(page, bytes(journal))
    if forget_copy:
        page.evaluate(FORGET_COPY)
    page.close()


def test_a_lost_stop_stands_until_the_keeper_has_read_what_is_missing(
    built_site: Site, chromium: Browser
) -> None:
    with served(built_site.path) as server, phone(chromium) as context:
        stopped_and_settled(context, server.url)
        flip_the_last_frame(context, server.url, forget_copy=True)
        page = open_app(context, server.url)
        thumb = Thumb(page)
        assert thumb.sees("What may be missing")
        assert thumb.sees("Entries that had been saved are missing")
        assert thumb.sees("Water test of")
        assert thumb.sees("The last decision was to stop limewater")
        assert page.get_by_text("is right").count() == 0
        thumb.tap("I have read this")
        page.get_by_text("What may be missing").first.wait_for(state="detached")
        page.close()
        again = open_app(context, server.url)
        assert Thumb(again).sees(NAME)
        assert again.get_by_text("What may be missing").count() == 0


def test_an_entry_that_one_store_lost_comes_back_from_the_other(
    built_site: Site, chromium: Browser
) -> None:
    with served(built_site.path) as server, phone(chromium) as context:
        stopped_and_settled(context, server.url)
        flip_the_last_frame(context, server.url, forget_copy=False)
        page = open_app(context, server.url)
        thumb = Thumb(page)
        assert thumb.first_of("Stop the limewater", "is right") == "Stop the limewater"
        assert page.get_by_text("What may be missing").count() == 0
        page.goto(server.url + "#/setup/storage")
        assert thumb.sees("Entries missing here were taken back from the second copy: 1.")
        assert thumb.sees("A second copy is kept in this browser's database")
