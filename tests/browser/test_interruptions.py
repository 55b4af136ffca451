"""What happens to an open app: reloaded, frozen, its storage cleared or full. Nothing is lost."""

import json
import random
import time
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, CDPSession, Page, Playwright

from tests.support import engines
from tests.support.browser import (
    Site,
    open_app,
    phone,
    profile,
    record,
    served,
    until,
    wait_running,
)
from tests.support.engines import StoragePage, storage_page
from tests.support.seeded import DEVICE, open_seeded
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser

RELOADS = 20
LONGEST_s = 1.0


def opened(page: StoragePage, acknowledged: int) -> dict:
    """Skip what the page before still sent; check that all acknowledged records are there."""
    found = page.next()
    while "opened" not in found:
        acknowledged = max(acknowledged, found["saved"] + 1)
        found = page.next()
    assert found["writable"], found
    assert found["whole"], found
    assert found["opened"] >= acknowledged, (found, acknowledged)
    assert set(found["problems"]) <= {"journal_tail_torn"}, found
    return found


@pytest.mark.parametrize("engine", [engines.CHROMIUM, engines.CHROMIUM_IDB], ids=str)
def test_twenty_reloads_while_saving_lose_nothing_and_make_no_second_device(
    engine: engines.Engine, chromium: Browser, built_site: Site, tmp_path: Path
) -> None:
    rng = random.Random(f"reload storm {engine}")
    devices, acknowledged = set(), 0
    with storage_page(built_site.path, tmp_path) as storage, phone(chromium) as context:
        page = context.new_page()
        page.goto(f"{storage.url}?backend={engine.backend}&job=save")
        for _ in range(RELOADS):
            devices.add(opened(storage, acknowledged)["device"])
            acknowledged = storage.next()["saved"] + 1
            time.sleep(rng.uniform(0.0, LONGEST_s))
            saved = [found["saved"] for found in storage.drain() if "saved" in found]
            acknowledged = max([acknowledged, *(number + 1 for number in saved)])
            page.reload()
        devices.add(opened(storage, acknowledged)["device"])
    print(f"{engine}: {RELOADS} reloads, 0 of {acknowledged} acknowledged records lost")
    assert acknowledged > RELOADS
    assert len(devices) == 1


def type_alkalinity(thumb: Thumb, value: str) -> None:
    thumb.place("Record")
    thumb.tap("Alkalinity")
    thumb.type(value)


def record_alkalinity(thumb: Thumb, value: str) -> None:
    type_alkalinity(thumb, value)
    thumb.tap("Save")
    assert thumb.sees(f"Saved: Alkalinity {value} dKH")


def cdp(context: BrowserContext, page: Page) -> CDPSession:
    return context.new_cdp_session(page)


def exported(page: Page, thumb: Thumb) -> str:
    """Export all records; return the file's text."""
    thumb.tap("Setup")
    with page.expect_download() as waiting:
        thumb.tap("Export all records")
    return Path(waiting.value.path()).read_text(encoding="utf-8")


COPIED = """async () => {
  const root = await navigator.storage.getDirectory();
  const directory = await root.getDirectoryHandle('sumpside-records');
  const journal = await (await directory.getFileHandle('journal')).getFile();
  const bytes = new DataView(new ArrayBuffer(8192));
  await new Promise((resolve, reject) => {
    const request = indexedDB.open('sumpside-records');
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const rows = request.result.transaction('rows').objectStore('rows');
      rows.openCursor(IDBKeyRange.bound(['second-copy-mark', 0], ['second-copy-mark', 1e15]))
        .onsuccess = ({ target: { result: row } }) => {
          if (row) {
            new Uint8Array(bytes.buffer).set(row.value, row.key[1]);
            row.continue();
          } else resolve(request.result.close());
        };
    };
  });
  // Where the copied part ends, in each of the two slots (mobile/storage/slots.py).
  return [36, 4096 + 36].some((at) => bytes.getBigUint64(at, true) === BigInt(journal.size));
}"""


@pytest.mark.parametrize("kinds", ["file_systems", "all"])
def test_storage_cleared_under_the_app_is_told_can_be_exported_and_begun_anew(
    kinds: str, playwright: Playwright, built_site: Site, tmp_path: Path
) -> None:
    # On a stored profile: there a handle goes on taking bytes after its file is gone.
    folder, file = tmp_path / "profile", tmp_path / "export.jsonl"
    with served(built_site.path) as site:
        with profile(playwright, folder) as context:
            page, thumb = open_seeded(context, site.url)
            record_alkalinity(thumb, "8.2")
            until(page, f"({COPIED})()")
            cdp(context, page).send(
                "Storage.clearDataForOrigin",
                {"origin": site.url.rstrip("/"), "storageTypes": kinds},
            )
            is_told(thumb)
            file.write_text(exported(page, thumb), encoding="utf-8")
            kept = [json.loads(line) for line in file.read_text().splitlines()[1:]]
            assert [each["readings"][0]["typed"] for each in kept if "readings" in each] == ["8.2"]
            assert {each["id"].partition(":")[0] for each in kept} == {DEVICE}
            page.reload()
            wait_running(page)
            if kinds == "all":
                begin_anew_from(file, len(kept), page)
            else:
                is_healed(file, len(kept), page)
            record_alkalinity(Thumb(page), "8.5")
        with profile(playwright, folder) as context:
            # A restarted browser gives the first place free again; the records are in the next.
            thumb = Thumb(open_app(context, site.url))
            thumb.place("History")
            for value in ("8.2", "8.5"):
                assert thumb.sees(f"Alkalinity: {value} dKH"), thumb.text()
            assert not thumb.page.get_by_text("Alkalinity: 8.4 dKH").count()


def is_told(thumb: Thumb) -> None:
    """Save into the cleared storage: it is refused, with the reason, and the entry stays."""
    type_alkalinity(thumb, "8.4")
    thumb.tap("Save")
    assert thumb.sees("NOT saved: the browser cleared its storage"), thumb.text()
    assert not thumb.page.get_by_text("Saved: Alkalinity 8.4").count()
    assert thumb.sees("8.4")
    assert thumb.sees("What this window shows may be all that is left")


def begin_anew_from(file: Path, records: int, page: Page) -> None:
    """On the empty store of a new device: take the export in."""
    thumb = Thumb(page)
    thumb.tap("Setup")
    thumb.tap("Where records are kept")
    assert thumb.sees("0 records. This phone signs them"), thumb.text()
    assert DEVICE not in thumb.text()
    choose_import(file, thumb)
    assert thumb.sees(f"{records} new"), thumb.text()
    thumb.tap(f"Import {records} records")
    assert thumb.sees("Import done"), thumb.text()


def is_healed(file: Path, records: int, page: Page) -> None:
    """The database was left: all comes back from the second copy, and the export adds nothing."""
    thumb = Thumb(page)
    thumb.tap("Setup")
    thumb.tap("Where records are kept")
    assert thumb.sees(f"{records} records. This phone signs them"), thumb.text()
    assert DEVICE not in thumb.text()
    assert thumb.sees(f"Entries missing here were taken back from the second copy: {records}.")
    choose_import(file, thumb)
    found = f"In this file: 0 new, {records} already here, 0 in conflict."
    assert thumb.sees(found), thumb.text()
    thumb.tap("Leave everything as it is")


def choose_import(file: Path, thumb: Thumb) -> None:
    thumb.tap("Setup")
    with thumb.page.expect_file_chooser() as waiting:
        thumb.tap("Import a file")
    waiting.value.set_files(file)


REMOVE = """async () => {
  const root = await navigator.storage.getDirectory();
  return root.removeEntry('sumpside-records', { recursive: true }).then(() => 'removed',
    (error) => error.name);
}"""


def test_files_cannot_be_removed_while_the_app_holds_them(
    chromium: Browser, built_site: Site
) -> None:
    with served(built_site.path) as site, phone(chromium) as context:
        page, thumb = open_seeded(context, site.url)
        assert page.evaluate(REMOVE) == "NoModificationAllowedError"
        record_alkalinity(thumb, "8.2")
        page.reload()
        wait_running(page)
        thumb = Thumb(page)
        thumb.place("History")
        assert thumb.sees("Alkalinity: 8.2 dKH")


def test_a_full_storage_is_told_keeps_the_entry_and_takes_it_when_there_is_room(
    chromium: Browser, built_site: Site
) -> None:
    with served(built_site.path) as site, phone(chromium) as context:
        page, thumb = open_seeded(context, site.url)
        record_alkalinity(thumb, "8.2")
        session = cdp(context, page)
        origin = site.url.rstrip("/")
        session.send("Storage.overrideQuotaForOrigin", {"origin": origin, "quotaSize": 1})
        type_alkalinity(thumb, "8.4")
        thumb.tap("Save")
        assert thumb.sees("NOT saved: the phone's storage is full")
        assert not thumb.page.get_by_text("Saved: Alkalinity 8.4").count()
        assert thumb.sees("8.4")
        session.send("Storage.overrideQuotaForOrigin", {"origin": origin})
        thumb.tap("Save")
        assert thumb.sees("Saved: Alkalinity 8.4 dKH")
        page.reload()
        wait_running(page)
        thumb = Thumb(page)
        thumb.place("History")
        for value in ("8.2", "8.4"):
            assert thumb.sees(f"Alkalinity: {value} dKH"), thumb.text()


def test_a_frozen_and_a_hidden_page_goes_on_saving(chromium: Browser, built_site: Site) -> None:
    with served(built_site.path) as site, phone(chromium) as context:
        seen = record(context, site.url)
        page, thumb = open_seeded(context, site.url)
        session = cdp(context, page)
        type_alkalinity(thumb, "8.2")
        other = context.new_page()
        other.goto("about:blank")
        other.bring_to_front()
        for state in ("frozen", "active", "frozen", "active"):
            session.send("Page.setWebLifecycleState", {"state": state})
        page.bring_to_front()
        assert thumb.sees("8.2")  # what was typed is still there
        thumb.tap("Save")
        assert thumb.sees("Saved: Alkalinity 8.2 dKH")
        record_alkalinity(thumb, "8.3")
        seen.assert_clean()


def test_leaving_the_page_and_coming_back_opens_the_store_again(
    chromium: Browser, built_site: Site
) -> None:
    with served(built_site.path) as site, phone(chromium) as context:
        page, thumb = open_seeded(context, site.url)
        record_alkalinity(thumb, "8.2")
        page.goto(site.url + "emergency.html")
        page.go_back()
        wait_running(page)
        thumb = Thumb(page)
        record_alkalinity(thumb, "8.3")
        page.goto("about:blank")
        page.go_back()
        wait_running(page)
        page.go_back()
        page.go_forward()
        wait_running(page)
        thumb = Thumb(page)
        record_alkalinity(thumb, "8.4")
        second = Thumb(open_app(context, site.url))
        second.place("History")
        for value in ("8.2", "8.3", "8.4"):
            assert second.sees(f"Alkalinity: {value} dKH"), second.text()
