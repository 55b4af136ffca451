"""Two sites on one origin: each has its records, figures, locks, channel and files to itself."""

import base64
import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from mobile.browser.names import own_name
from mobile.packaging.build import SOURCES
from mobile.storage.header import choose
from mobile.storage.journal import JOURNAL_NAME
from tests.support import engines
from tests.support.app import first_records
from tests.support.browser import (
    Site,
    build_once,
    open_app,
    phone,
    until,
    wait_installed,
)
from tests.support.engines import Engine, running, storage_page
from tests.support.portal import Network, network
from tests.support.seeded import DEVICE, NAME, PUT, journal_of
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser

BASES = ["/", "/one/", "/one/two/", "/one~two/", "/one-2/", "/%C3%A4/", "/a/b/c~/"]
READ = """async ([folder, name]) => {
  const root = await navigator.storage.getDirectory();
  const directory = await root.getDirectoryHandle(folder);
  const file = await (await directory.getFileHandle(name)).getFile();
  return btoa(String.fromCharCode(...new Uint8Array(await file.arrayBuffer())));
}"""
FOLDERS = """async () => {
  const names = [];
  for await (const name of (await navigator.storage.getDirectory()).keys()) names.push(name);
  return names.sort();
}"""
FILES_OF = """async (folder) => {
  const names = [];
  const root = await navigator.storage.getDirectory();
  for await (const name of (await root.getDirectoryHandle(folder)).keys()) names.push(name);
  return names;
}"""
CACHES = "caches.keys().then((keys) => keys.sort())"
FIGURES = """async (site) => {
  const cacheName = `sumpside-figures@${site}`;
  return (await caches.match(`/${site}/figures.json`, { cacheName }))?.text();
}"""
LOCKS = "navigator.locks.query().then(({ held }) => held.map(({ name }) => name).sort())"


@pytest.fixture
def sites(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Network]:
    built = {base: build_once(tmp_path_factory, base).path for base in ("/one/", "/two/")}
    with network(built) as (made, _gate):
        yield made


def journal(page: Page, folder: str) -> bytes:
    return base64.b64decode(page.evaluate(READ, [folder, JOURNAL_NAME]))


def seed_shared(page: Page, url: str) -> bytes:
    """Lay a first run where every site kept its records before."""
    page.goto(url + "/one/emergency.html")
    laid = journal_of(first_records(datetime.now(UTC) - timedelta(days=1)))
    page.evaluate(PUT, ["sumpside-records", JOURNAL_NAME, base64.b64encode(laid).decode()])
    return laid


def wait_published(page: Page) -> list[str]:
    """Wait until each site has given its card the figures of its start; return both."""
    for site in ("one", "two"):
        until(page, f"({FIGURES})('{site}')")
    return [page.evaluate(FIGURES, site) for site in ("one", "two")]


def test_python_and_the_page_give_the_same_names(chromium: Browser) -> None:
    page = chromium.new_page()
    page.add_script_tag(content=(SOURCES / "names.js").read_text(encoding="utf-8"))
    for base in BASES:
        assert page.evaluate("(base) => sumpsideName('x', base)", base) == own_name("x", base)
    assert len({own_name("x", base) for base in BASES}) == len(BASES)
    page.close()


def test_records_of_before_come_along_to_each_site_and_then_go_apart(
    chromium: Browser, sites: Network
) -> None:
    with phone(chromium) as context:
        laid = seed_shared(first := context.new_page(), sites.url)
        first.close()
        one = open_app(context, sites.url + "/one/")
        two = open_app(context, sites.url + "/two/")
        assert Thumb(one).sees(NAME)
        assert Thumb(two).sees(NAME)
        folders = ["sumpside-records", "sumpside-records@one", "sumpside-records@two"]
        assert one.evaluate(FOLDERS) == folders
        held = one.evaluate(LOCKS)
        assert [name for name in held if name in folders] == folders[1:]  # both can save at once
        own = tuple(f"{folder}/" for folder in folders[1:])  # a file beside the journal
        fetching = ("sumpside-files/one/", "sumpside-files/two/")
        assert [n for n in held if n not in folders and not n.startswith((*own, *fetching))] == []
        assert journal(one, "sumpside-records") == laid
        devices = set()
        for folder in folders:
            header = choose(journal(one, folder))
            assert header
            devices.add(header.device)
        assert len(devices) == 3
        assert DEVICE in devices
        wait_installed(one)
        wait_installed(two)
        wait_published(one)
        kinds = ("blobs/{}/", "versions/{}/", "figures@{}")
        assert one.evaluate(CACHES) == sorted(
            f"sumpside-{kind.format(site)}" for site in ("one", "two") for kind in kinds
        )


def test_what_one_site_saves_and_says_the_other_neither_has_nor_hears(
    chromium: Browser, sites: Network
) -> None:
    with phone(chromium) as context:
        seed_shared(first := context.new_page(), sites.url)
        one = open_app(context, sites.url + "/one/")
        two = open_app(context, sites.url + "/two/")
        first.evaluate(
            """() => {
              window.heard = { one: 0, two: 0 };
              window.channels = Object.keys(heard).map((site) => {
                const channel = new BroadcastChannel(`sumpside-windows@${site}`);
                channel.onmessage = () => { heard[site] += 1; };
                return channel;
              });
            }"""
        )
        thumb = Thumb(one)
        assert thumb.sees(NAME)
        assert Thumb(two).sees(NAME)
        figures = wait_published(one)
        before = journal(two, "sumpside-records@two")
        length = len(journal(one, "sumpside-records@one"))
        one.bring_to_front()
        thumb.place("Record")
        thumb.tap("Alkalinity")
        thumb.type("8.2")
        thumb.tap("Save")
        until(first, "heard.one > 0")
        assert len(journal(one, "sumpside-records@one")) > length
        assert first.evaluate("heard.two") == 0
        assert journal(two, "sumpside-records@two") == before
        until(one, f"({FIGURES})('one').then((text) => text !== {json.dumps(figures[0])})")
        assert one.evaluate(FIGURES, "two") == figures[1]


def test_figures_of_before_are_shown_until_the_next_save(chromium: Browser, sites: Network) -> None:
    with phone(chromium) as context:
        page = context.new_page()
        page.goto(sites.url + "/two/emergency.html")
        page.evaluate(
            """async (figures) => {
              const cache = await caches.open('sumpside-figures');
              await cache.put('/two/figures.json', new Response(JSON.stringify(figures)));
            }""",
            {
                "format": "sumpside-figures",
                "version": 2,
                "saved_at": datetime.now(UTC).isoformat(timespec="seconds"),
                "systems": [{"name": "Old reef", "net_volume_L": [405, 450, 495]}],
            },
        )
        page.reload()
        page.get_by_text("Old reef").wait_for()
        page.goto(sites.url + "/one/emergency.html")
        page.wait_for_timeout(500)
        assert page.get_by_text("Old reef").count() == 0


def erase_everything(thumb: Thumb) -> None:
    thumb.tap("Setup")
    thumb.tap("Erase records")
    thumb.tap("Everything:")
    thumb.tap("Erase for good")


def test_erasing_reaches_the_records_of_before_unless_another_site_may_use_them(
    chromium: Browser, sites: Network
) -> None:
    with phone(chromium) as context:
        laid = seed_shared(context.new_page(), sites.url)
        one = open_app(context, sites.url + "/one/")
        wait_installed(one)
        two = open_app(context, sites.url + "/two/")
        wait_installed(two)
        one.bring_to_front()
        thumb = Thumb(one)
        assert thumb.sees(NAME)
        erase_everything(thumb)
        assert thumb.sees("Older records were left on this phone"), thumb.text()
        assert journal(one, "sumpside-records") == laid
        assert NAME.encode() not in journal(one, "sumpside-records@one")
        assert NAME.encode() in journal(two, "sumpside-records@two")
        one.reload()
        assert thumb.sees("Set up my system")  # what was erased here does not come back
    with phone(chromium) as context:
        seed_shared(context.new_page(), sites.url)
        one = open_app(context, sites.url + "/one/")
        wait_installed(one)
        erase_everything(thumb := Thumb(one))
        assert thumb.sees("Everything was erased"), thumb.text()
        assert one.evaluate(FILES_OF, "sumpside-records") == []


@pytest.mark.parametrize("engine", engines.ALL, ids=str)
def test_every_store_is_taken_over_by_every_browser(
    engine: Engine, built_site: Site, tmp_path: Path
) -> None:
    engine.require()
    with (
        storage_page(built_site.path, tmp_path) as page,
        running(engine, tmp_path / "profile", page, job="moving"),
    ):
        assert page.next() == {"before": True}
        assert page.next() == {"waited": True}
        for base in ("/one/", "/a/two/"):
            assert page.next() == {
                "notes": ["0", "1", "2", "3", "4", base],
                "device": True,
                "problems": [],
            }
        assert page.next() == {"old": 5, "device": "shared0000000001"}
        assert page.next() == {"left": []}
