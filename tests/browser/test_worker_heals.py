"""The service worker puts back what the browser dropped, whatever the network answers meanwhile."""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from mobile.packaging import precache
from tests.support.browser import phone, until, wait_installed, wait_until
from tests.support.portal import Gate, Mode, Network, network
from tests.support.small_site import BASE, ask, drop, file_contents, stored_blobs, write_site

pytestmark = pytest.mark.browser

PROMISED_s = 15.0
FETCH = "(name) => fetch(name).then((r) => r.text(), () => 'failed')"
WHY = {"gone": "unreachable", "portal": "other", "silent": "silent", "error": "other"}


@pytest.fixture
def site(tmp_path: Path) -> Path:
    write_site(tmp_path / "site", "one")
    return tmp_path / "site"


@pytest.fixture
def way(site: Path) -> Iterator[tuple[Network, Gate]]:
    with network({BASE: site}) as made:
        yield made


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    with phone(chromium) as result:
        yield result


def open_page(context: BrowserContext, way: Network) -> Page:
    page = context.new_page()
    page.goto(way.url + BASE)
    wait_installed(page)
    until(page, "told !== undefined")
    return page


def turn(way: tuple[Network, Gate], mode: Mode) -> None:
    net, gate = way
    if mode == "gone":
        gate.close()
    else:
        net.mode = mode


def every_third(site: Path) -> list[str]:
    return [entry.name for entry in precache.list_files(site)][::3]


def sha_of(site: Path, name: str) -> str:
    return next(entry.sha256 for entry in precache.list_files(site) if entry.name == name)


@pytest.mark.parametrize("mode", ["gone", "portal", "silent", "error"])
def test_whatever_the_network_does_nothing_false_is_served_or_kept_and_all_comes_back(
    context: BrowserContext, way: tuple[Network, Gate], site: Path, mode: Mode
) -> None:
    page = open_page(context, way[0])
    whole = stored_blobs(page)
    turn(way, mode)
    drop(page, site, "version.txt", "same.txt")
    began = time.monotonic()
    assert page.evaluate(FETCH, "version.txt") == "failed"
    assert time.monotonic() - began < PROMISED_s
    assert page.evaluate(FETCH, "stub.js") != "failed"
    [*_, last] = ask(page, "repair")
    assert {(left["name"], left["why"]) for left in last["left"]} == {
        ("version.txt", WHY[mode]),
        ("same.txt", WHY[mode]),
    }
    [found] = ask(page, "missing")
    assert set(found["found"]["names"]) == {"version.txt", "same.txt"}
    assert stored_blobs(page) < whole
    way[1].close()
    way[1].open()
    page.evaluate("dispatchEvent(new Event('online'))")  # as the browser says it
    wait_until(page, lambda: stored_blobs(page) == whole)
    assert page.evaluate(FETCH, "version.txt") == "one"


def test_a_stored_file_never_waits_for_a_silent_network(
    context: BrowserContext, way: tuple[Network, Gate], site: Path
) -> None:
    page = open_page(context, way[0])
    drop(page, site, "same.txt")
    way[0].mode = "silent"
    page.evaluate("fetch('same.txt').catch(() => 0); 1")
    asked = [name for name in way[0].asked if name.endswith("version.txt")]
    began = time.monotonic()
    assert page.evaluate(FETCH, "version.txt") == "one"
    assert time.monotonic() - began < 5  # the silent one is given up after 8 s only
    assert [name for name in way[0].asked if name.endswith("version.txt")] == asked


def test_a_file_is_fetched_once_for_all_who_want_it(
    context: BrowserContext, way: tuple[Network, Gate], site: Path
) -> None:
    page = open_page(context, way[0])
    drop(page, site, "same.txt")
    before = len(way[0].asked)
    both = page.evaluate(
        "Promise.all([1, 2, 3].map(() => fetch('same.txt').then((r) => r.text())))"
    )
    assert both == ["never changes"] * 3
    assert way[0].asked[before:].count(BASE + "same.txt") == 1


def test_every_third_file_comes_back_with_the_first_that_is_asked_for(
    context: BrowserContext, way: tuple[Network, Gate], site: Path
) -> None:
    page = open_page(context, way[0])
    names = every_third(site)
    assert len(names) >= 3
    drop(page, site, *names)
    page.evaluate(FETCH, names[-1])
    wait_until(page, lambda: len(stored_blobs(page)) == file_contents(site))


def test_a_portal_does_not_become_an_update(
    context: BrowserContext, way: tuple[Network, Gate]
) -> None:
    page = open_page(context, way[0])
    way[0].mode = "portal"
    page.evaluate("navigator.serviceWorker.ready.then((r) => r.update()).catch(() => 0)")
    assert page.evaluate("sumpside.findUpdate()") is False
    page.reload()
    assert page.title() == "version one"
    assert page.evaluate(FETCH, "version.txt") == "one"


def test_repair_tells_how_far_it_is(
    context: BrowserContext, way: tuple[Network, Gate], site: Path
) -> None:
    page = open_page(context, way[0])
    drop(page, site, "version.txt", "same.txt", "emergency.html")
    said = ask(page, "repair")
    assert said[-1] == {"left": []}
    assert said[-2] == {"done": 3, "of": 3}


def test_an_old_version_that_is_open_is_healed_and_never_mixed(
    context: BrowserContext, way: tuple[Network, Gate], site: Path
) -> None:
    old = open_page(context, way[0])
    old_version = sha_of(site, "version.txt")
    new = open_page(context, way[0])
    write_site(site, "two")
    assert new.evaluate("sumpside.findUpdate()")
    until(new, "told.includes('update_ready')")
    assert new.evaluate("sumpside.answers.apply_update()")
    until(new, "document.title === 'version two'")
    until(new, "navigator.serviceWorker.controller !== null")
    # The site has only the new content under this name: the old one cannot come back.
    drop_old = (
        "(sha) => caches.open('sumpside-blobs/reef/').then((c) => c.delete(`/reef/.blob/${sha}`))"
    )
    assert new.evaluate(drop_old, old_version)
    drop(new, site, "same.txt")
    assert old.evaluate(FETCH, "version.txt") == "failed"
    assert old.evaluate(FETCH, "same.txt") == "never changes"
    assert new.evaluate(FETCH, "version.txt") == "two"
    [found] = ask(old, "missing")
    assert found["found"]["names"] == ["version.txt"]
    # What only the old page uses is put back and stays while that page is open.
    old_page = [
        sha
        for sha in stored_blobs(new)
        if sha not in {entry.sha256 for entry in precache.list_files(site)}
    ]
    assert len(old_page) == 1  # its index.html
    new.reload()  # says hello: cleans and heals
    until(new, "navigator.serviceWorker.controller !== null")
    new.wait_for_timeout(500)
    assert set(old_page) <= stored_blobs(new)
    old.close()
    new.reload()
    wait_until(new, lambda: len(stored_blobs(new)) == file_contents(site))


@pytest.mark.parametrize("mode", ["gone", "portal", "silent"])
def test_the_short_card_stands_in_for_a_card_that_cannot_be_had(
    context: BrowserContext, way: tuple[Network, Gate], site: Path, mode: Mode
) -> None:
    page = open_page(context, way[0])
    turn(way, mode)
    drop(page, site, "emergency.html")
    began = time.monotonic()
    page.goto(way[0].url + BASE + "emergency.html")
    assert time.monotonic() - began < PROMISED_s
    assert page.get_by_text("Lift the lime line OUT of the sump.").is_visible()
    assert page.get_by_text("The full card could not be loaded").is_visible()
    way[1].close()
    way[1].open()
    page.get_by_role("link", name="Load the full card").click()
    until(page, "document.title === 'card'")
    drop(page, site, "start.js")
    way[1].close()
    page.goto(way[0].url + BASE)
    assert page.get_by_text("not loaded from the network: start.js").is_visible()
    assert page.get_by_role("link", name="records").get_attribute("href") == BASE + "recovery.html"
    page.get_by_role("link", name="Overdose").click()
    until(page, "document.title === 'card'")
    page.go_back()
    way[1].open()
    page.get_by_role("link", name="Try again").click()
    until(page, "document.title === 'version one'")
