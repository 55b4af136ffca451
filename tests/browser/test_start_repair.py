"""A start that misses a file names it within 15 s and repairs it; a slow one is no failure."""

import re
import time
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from mobile.packaging import precache
from tests.support.browser import (
    Site,
    START_ms,
    assert_large_enough,
    open_app,
    phone,
    served,
    tap,
    until,
    wait_installed,
    wait_running,
    wait_until,
)
from tests.support.portal import Gate, Network, network
from tests.support.small_site import drop, stored_blobs

pytestmark = pytest.mark.browser

PROMISED_s = 15.0
STATE = "document.documentElement.dataset.state"
# What a start cannot do without, beside what the worker replaces by its own short page.
NEEDED = [
    "app.zip",
    "assets/FontManifest.json",
    "canvaskit/canvaskit.js",
    "canvaskit/canvaskit.wasm",
    "flutter_bootstrap.js",
    "main.dart.js",
    "pyodide/pyodide-lock.json",
    "pyodide/pyodide.asm.mjs",
    "pyodide/pyodide.asm.wasm",
    "pyodide/pyodide.mjs",
    "pyodide/python_stdlib.zip",
    "python_worker.js",
]

MOVE = """async ([from, to, key]) => {
  const [source, target] = await Promise.all([from, to].map((name) => caches.open(name)));
  await target.put(key, await source.match(key));
  await source.delete(key);
}"""


@pytest.fixture
def way(built_site: Site) -> Iterator[tuple[Network, Gate]]:
    with network({"/": built_site.path}) as made:
        yield made


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    with phone(chromium) as result:
        yield result


def installed(context: BrowserContext, way: Network) -> Page:
    """Open the app until it is stored, then leave it for the card."""
    page = open_app(context, way.url + "/")
    wait_installed(page)
    page.goto(way.url + "/emergency.html")
    return page


def started(page: Page, url: str) -> float:
    """Open the app; return the seconds until it ran, or said why not."""
    began = time.monotonic()
    page.goto(url)
    while page.evaluate(f"{STATE} === 'starting'"):
        assert time.monotonic() - began < START_ms / 1000
        page.wait_for_timeout(50)
    return time.monotonic() - began


def words_of_failure(page: Page) -> str:
    until(page, "!document.getElementById('absent').hidden")
    return page.get_by_role("alert").inner_text()


@pytest.mark.parametrize("mode", ["gone", "silent"])
def test_each_needed_file_is_named_in_time_when_it_is_missing(
    context: BrowserContext, way: tuple[Network, Gate], built_site: Site, mode: str
) -> None:
    page = installed(context, way[0])
    way[1].close()
    if mode == "silent":
        way[1].open()
        way[0].mode = "silent"
    missing = NEEDED if mode == "gone" else ["app.zip", "pyodide/pyodide.asm.wasm"]
    for name in missing:
        sha = next(e.sha256 for e in precache.list_files(built_site.path) if e.name == name)
        page.evaluate(MOVE, ["sumpside-blobs/", "kept", f"/.blob/{sha}"])
        took = started(page, way[0].url + "/")
        assert page.evaluate(STATE) == "failed", name
        assert took < PROMISED_s, name
        assert name in words_of_failure(page)
        page.goto(way[0].url + "/emergency.html")
        page.evaluate(MOVE, ["kept", "sumpside-blobs/", f"/.blob/{sha}"])


def test_the_program_missing_without_a_server_is_named_and_repaired_when_it_is_back(
    context: BrowserContext, way: tuple[Network, Gate], built_site: Site
) -> None:
    page = installed(context, way[0])
    whole = stored_blobs(page, "/")
    way[1].close()
    drop(page, built_site.path, "app.zip", base="/")
    assert started(page, way[0].url + "/") < PROMISED_s
    words = words_of_failure(page)
    assert "Missing on this device: the program (app.zip)." in words
    assert "this failure did not touch them" in words
    link = page.get_by_role("link", name="See and save your records")
    assert link.is_visible()
    assert link.get_attribute("href") == "recovery.html"
    repair = page.get_by_role("button", name="Repair")
    assert_large_enough(repair, 56)
    tap(page, repair)
    page.get_by_text("Not repaired. The site could not be reached.").wait_for()
    assert_large_enough(page.locator("#overdose"), 48)
    way[1].open()
    way[0].mode = "portal"
    tap(page, repair)
    page.get_by_text("Not repaired. What answers is not Sumpside’s file.").wait_for()
    way[0].mode = "site"
    tap(page, repair)
    page.get_by_text("Repaired: no file is missing any more.").wait_for()
    assert repair.is_hidden()
    assert stored_blobs(page, "/") == whole
    way[1].close()
    tap(page, page.get_by_role("button", name="Try again"))
    until(page, f"{STATE} === 'starting'")
    wait_running(page)


def test_every_third_file_dropped_behind_a_portal(
    context: BrowserContext, way: tuple[Network, Gate], built_site: Site
) -> None:
    page = installed(context, way[0])
    whole = stored_blobs(page, "/")
    names = [entry.name for entry in precache.list_files(built_site.path)]
    for third in range(3):
        way[0].mode = "portal"
        dropped = names[third::3]
        drop(page, built_site.path, *dropped, base="/")
        began = time.monotonic()
        page.goto(way[0].url + "/")
        told = page.locator(".told, #absent:not([hidden])").first
        told.wait_for(timeout=PROMISED_s * 1000)
        assert time.monotonic() - began < PROMISED_s
        named = told.inner_text()
        assert any(name in named for name in dropped), named
        assert "harbour" not in page.inner_text("body")
        tap(page, page.get_by_role("link", name="Overdose"))
        page.get_by_text("Lift the lime line OUT of the sump.").wait_for()
        page.wait_for_url("**/emergency.html")
        way[0].mode = "site"
        page.goto(way[0].url + "/")
        wait_running(page)
        wait_until(page, lambda: stored_blobs(page, "/") == whole)
        page.goto(way[0].url + "/emergency.html")
        assert re.search("Your own figures|Do now", page.inner_text("body"))


def test_a_slow_start_with_nothing_missing_is_no_failure(
    built_site: Site, chromium: Browser
) -> None:
    with served(built_site.path) as server, phone(chromium) as context:
        page = context.new_page()
        page.clock.install(time=0)
        page.clock.pause_at(1000)  # only what is said below passes, however busy this machine is
        page.route("**/app.zip", lambda _route: None)  # never answered
        page.goto(server.url)
        until(page, "sumpside.answers.publish_figures && sumpside.findUpdate")
        assert page.locator("#records").is_hidden()
        page.clock.fast_forward(16_000)
        assert page.get_by_text("This takes longer than usual").is_visible()
        assert page.locator("#records").is_hidden()
        page.clock.fast_forward(16_000)
        assert page.get_by_role("link", name="See and save your records").is_visible()
        page.clock.fast_forward(120_000)
        assert page.evaluate(STATE) == "starting"
        assert page.locator("#failure").is_hidden()
        assert page.locator("#coming").count() == 1
        assert page.locator("#coming").is_hidden()
