"""A phone with records on it, without typing them: the journal is laid into the browser's storage.

The bytes are what the app writes on any other backend; the storage contract holds them together.
"""

import asyncio
import base64
import shutil
import tempfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from playwright.sync_api import BrowserContext, Page

from engine.log.record_codec import to_dict
from engine.records import Record
from mobile.packaging import precache
from mobile.packaging.build import SOURCES
from mobile.storage.file import disk_folder
from mobile.storage.journal import JOURNAL_NAME
from mobile.storage.store import open_repository
from mobile.validation import VALIDATION
from tests.support.app import first_records
from tests.support.browser import Site, open_app
from tests.support.thumb import Thumb

NAME = "My reef"
DEVICE = "seeded0000000001"

PUT = """async ([folder, name, text]) => {
  const root = await navigator.storage.getDirectory();
  const directory = await root.getDirectoryHandle(folder, { create: true });
  const file = await directory.getFileHandle(name, { create: true });
  const stream = await file.createWritable();
  await stream.write(Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)));
  await stream.close();
}"""


def journal_of(records: tuple[Record, ...]) -> bytes:
    """Return the journal of a store that saved these records, under ids of its own."""

    async def make(folder: Path) -> bytes:
        store = await open_repository(
            disk_folder(folder), new_device_id=lambda: DEVICE, **VALIDATION
        )
        await store.append([to_dict(replace(r, id=store.next_id())) for r in records])
        await store.close()
        return (folder / JOURNAL_NAME).read_bytes()

    # In a thread of its own: Playwright's loop runs in this one.
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(1) as pool:
        return pool.submit(lambda: asyncio.run(make(Path(folder)))).result()


def seed(context: BrowserContext, url: str, records: tuple[Record, ...] | None = None) -> None:
    """Lay a first run of yesterday, or these records, into an origin's empty storage."""
    if records is None:
        records = first_records(datetime.now(UTC) - timedelta(days=1))
    page = context.new_page()
    page.goto(url + "emergency.html")
    text = base64.b64encode(journal_of(records)).decode()
    page.evaluate(PUT, ["sumpside-records", JOURNAL_NAME, text])
    page.close()


def open_seeded(context: BrowserContext, url: str) -> tuple[Page, Thumb]:
    """Open the app on a seeded system."""
    seed(context, url)
    page = open_app(context, url)
    thumb = Thumb(page)
    assert thumb.sees(NAME)
    return page, thumb


def another_build(site: Site, folder: Path, name: str) -> None:
    """Make a copy of a site a newer version of it: only the build id differs."""
    page = (site.path / "index.html").read_text(encoding="utf-8")
    (folder / "index.html").write_text(page.replace(site.report.build_id, name), encoding="utf-8")
    template = (SOURCES / precache.SERVICE_WORKER).read_text(encoding="utf-8")
    precache.write_service_worker(folder, template, base=site.report.base, build=name)


def copy_of(site: Site, folder: Path) -> Path:
    """Copy a site, so that it may be changed while it is served."""
    return Path(shutil.copytree(site.path, folder / "changed"))
