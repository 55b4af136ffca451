"""The service worker on a site of a few small files: installs, updates, versions, cleaning."""

import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright

from mobile.packaging import precache
from mobile.packaging.build import SOURCES
from tests.support.browser import (
    Served,
    phone,
    profile,
    served,
    until,
    wait_installed,
    wait_until,
)
from tests.support.small_site import BASE, drop, file_contents, stored_blobs, write_site

pytestmark = pytest.mark.browser


@pytest.fixture
def site(tmp_path: Path) -> Path:
    write_site(tmp_path / "site", "one")
    return tmp_path / "site"


@pytest.fixture
def server(site: Path) -> Iterator[Served]:
    with served(site, base=BASE) as result:
        yield result


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    with phone(chromium) as result:
        yield result


def open_page(context: BrowserContext, server: Served) -> Page:
    page = context.new_page()
    page.goto(server.url)
    wait_installed(page)
    until(page, "told !== undefined")
    return page


def text(page: Page, name: str) -> str:
    return page.evaluate("(name) => fetch(name).then((r) => r.text())", name)


def worker_text(page: Page, name: str) -> str:
    return page.evaluate(
        """(url) => new Promise((done) => {
          const worker = new Worker(`python_worker.js?v=${sumpside.build}`, { type: 'module' });
          worker.onmessage = ({ data }) => { worker.terminate(); done(data); };
          worker.postMessage(url);
        })""",
        BASE + name,
    )


def update(page: Page) -> None:
    """Look for an update and wait until it is stored."""
    page.evaluate(
        """async () => {
          const registration = await navigator.serviceWorker.ready;
          await registration.update();
          const worker = registration.installing || registration.waiting;
          while (worker && worker.state === 'installing')
            await new Promise((done) =>
              worker.addEventListener('statechange', done, { once: true }));
        }"""
    )


def waiting(page: Page) -> bool:
    return page.evaluate("navigator.serviceWorker.ready.then((r) => Boolean(r.waiting))")


def apply(page: Page) -> bool:
    return page.evaluate("sumpside.answers.apply_update()")


def wait_title(page: Page, version: str) -> None:
    until(page, f"document.title === 'version {version}'")
    until(page, "navigator.serviceWorker.controller !== null")


def wait_blobs(page: Page, number: int) -> None:
    deadline = time.monotonic() + 60
    while len(stored_blobs(page)) != number and time.monotonic() < deadline:
        page.wait_for_timeout(50)
    assert len(stored_blobs(page)) == number


def test_everything_is_stored_and_served_without_the_server(
    context: BrowserContext, server: Served, site: Path
) -> None:
    page = open_page(context, server)
    assert len(stored_blobs(page)) == file_contents(site)
    server.stop()
    page.reload()
    assert text(page, "version.txt") == "one"
    assert worker_text(page, "version.txt") == "one"


def test_a_navigation_gets_its_own_page_and_any_other_path_the_app(
    context: BrowserContext, server: Served
) -> None:
    page = open_page(context, server)
    server.stop()
    page.goto(server.url + "emergency.html")
    assert page.title() == "card"
    page.goto(server.url + "no/such/page")
    assert page.title() == "version one"


def test_pages_and_worker_carry_the_policy_from_the_store(
    context: BrowserContext, server: Served
) -> None:
    page = open_page(context, server)
    server.stop()
    for name in ("index.html", "emergency.html", "python_worker.js"):
        policy = page.evaluate(
            "(n) => fetch(n).then((r) => r.headers.get('Content-Security-Policy'))", name
        )
        assert "default-src 'none'" in policy
        assert "'unsafe-inline'" not in policy.split("style-src")[0]


def test_a_file_that_does_not_exist_is_404_and_noto_gets_the_box_font(
    context: BrowserContext, server: Served
) -> None:
    page = open_page(context, server)
    asked = len(server.requests)
    assert page.evaluate("fetch('absent.bin').then((r) => r.status)") == 404
    assert text(page, "assets/fonts/notosanssc/v37/x.117.woff2") == "boxes"
    assert len(server.requests) == asked


def test_off_origin_requests_are_refused(
    context: BrowserContext, server: Served, tmp_path: Path
) -> None:
    write_site(tmp_path / "other", "other")
    with served(tmp_path / "other", base=BASE) as other:
        page = open_page(context, server)
        page.evaluate("document.querySelector('base').remove()")
        refused = page.evaluate(
            "(url) => fetch(url, { mode: 'no-cors' }).then(() => 'answered', () => 'refused')",
            other.url + "version.txt",
        )
        assert refused == "refused"
        assert other.requests == []


def test_a_damaged_download_leaves_the_old_version_in_place(
    context: BrowserContext, server: Served, site: Path
) -> None:
    page = open_page(context, server)
    write_site(site, "two")
    (site / "version.txt").write_text("tow", encoding="utf-8")  # not what the list says
    update(page)
    assert not waiting(page)
    page.reload()
    assert page.title() == "version one"
    assert text(page, "version.txt") == "one"
    (site / "version.txt").write_text("two", encoding="utf-8")
    update(page)
    assert waiting(page)


def test_a_missing_file_leaves_nothing_half_installed(
    context: BrowserContext, server: Served, site: Path
) -> None:
    (site / "same.txt").unlink()
    page = context.new_page()
    page.goto(server.url)
    until(
        page,
        "navigator.serviceWorker.getRegistration().then((r) => !r || (!r.installing && !r.active))",
    )
    assert page.evaluate("navigator.serviceWorker.controller") is None
    assert text(page, "version.txt") == "one"


def test_an_update_waits_until_it_is_asked_for(
    context: BrowserContext, server: Served, site: Path
) -> None:
    page = open_page(context, server)
    write_site(site, "two")
    update(page)
    until(page, "told.includes('update_ready')")
    assert page.evaluate("told.filter((name) => name === 'update_ready').length") == 1
    page.reload()
    assert page.title() == "version one"
    until(page, "told.includes('update_ready')")  # offered again after a reload
    assert apply(page)
    wait_title(page, "two")
    assert text(page, "version.txt") == "two"
    assert not waiting(page)


def test_a_busy_page_is_not_reloaded(context: BrowserContext, server: Served, site: Path) -> None:
    page = open_page(context, server)
    write_site(site, "two")
    update(page)
    until(page, "told.includes('update_ready')")
    page.evaluate("sumpside.busy = true; sumpside.tell('busy')")
    assert not apply(page)
    page.wait_for_timeout(500)
    assert page.title() == "version one"
    assert waiting(page)
    page.evaluate("sumpside.busy = false; sumpside.tell('busy')")
    page.wait_for_timeout(300)
    assert page.title() == "version one", "a refused update must not come later by itself"
    assert apply(page)
    wait_title(page, "two")


def test_a_page_that_gets_busy_after_asking_reloads_when_it_is_done(
    context: BrowserContext, server: Served, site: Path
) -> None:
    page = open_page(context, server)
    write_site(site, "two")
    update(page)
    until(page, "told.includes('update_ready')")
    page.evaluate("sumpside.answers.apply_update(); sumpside.busy = true; sumpside.tell('busy')")
    until(
        page,
        "navigator.serviceWorker.ready.then((r) => !r.waiting && r.active.state === 'activated')",
    )
    page.wait_for_timeout(300)
    assert page.title() == "version one"
    page.evaluate("sumpside.busy = false; sumpside.tell('busy')")
    wait_title(page, "two")


def test_an_update_downloads_only_what_changed(
    context: BrowserContext, server: Served, site: Path
) -> None:
    page = open_page(context, server)
    write_site(site, "two")
    before = len(server.requests)
    update(page)
    assert waiting(page)
    asked = set(server.requests[before:])
    assert asked == {"service_worker.js", "index.html", "version.txt"}


def test_two_pages_on_two_versions_are_never_mixed(
    context: BrowserContext, server: Served, site: Path
) -> None:
    first = open_page(context, server)
    second = open_page(context, server)
    one = file_contents(site)
    write_site(site, "two")
    update(first)
    until(first, "told.includes('update_ready')")
    assert apply(first)
    wait_title(first, "two")
    server.stop()
    assert text(first, "version.txt") == "two"
    assert worker_text(first, "version.txt") == "two"
    assert second.title() == "version one"
    assert text(second, "version.txt") == "one"
    assert worker_text(second, "version.txt") == "one"
    assert text(second, "same.txt") == "never changes"
    # The worker script can be stopped at any time: what it knew must not be lost with it.
    session = context.browser.new_browser_cdp_session()
    for target in session.send("Target.getTargets")["targetInfos"]:
        if target["type"] == "service_worker":
            session.send("Target.closeTarget", {"targetId": target["targetId"]})
    assert text(second, "version.txt") == "one"
    assert worker_text(second, "version.txt") == "one"
    assert text(first, "version.txt") == "two"
    first.wait_for_timeout(500)
    assert len(stored_blobs(first)) == one + 2  # the old files stay while the old page runs
    second.reload()
    wait_title(second, "two")
    assert text(second, "version.txt") == "two"
    wait_blobs(first, file_contents(site))


def test_old_files_go_when_nothing_runs_them(
    context: BrowserContext, server: Served, site: Path
) -> None:
    page = open_page(context, server)
    for version in ("two", "three"):
        write_site(site, version)
        update(page)
        until(page, "told.includes('update_ready')")
        assert apply(page)
        wait_title(page, version)
    wait_blobs(page, file_contents(site))
    versions = page.evaluate(
        f"caches.open('sumpside-versions{BASE}').then((c) => c.keys())"
        ".then((k) => k.map(({ url }) => new URL(url).pathname))"
    )
    assert len([name for name in versions if ".version/" in name]) == 1


def test_a_waiting_update_starts_at_the_next_cold_start(
    playwright: Playwright, server: Served, site: Path, tmp_path: Path
) -> None:
    with profile(playwright, tmp_path / "profile") as context:
        page = open_page(context, server)
        write_site(site, "two")
        update(page)
        assert waiting(page)
    server.stop()
    with profile(playwright, tmp_path / "profile") as context:
        page = context.new_page()
        page.goto(server.url)

        def changed() -> bool:
            if page.title() == "version one":  # the browser may activate it after this first page
                page.goto("about:blank")
                page.goto(server.url)
            return page.title() == "version two"

        wait_until(page, changed)
        assert text(page, "version.txt") == "two"


def test_a_broken_off_download_goes_on_where_it_stopped(
    context: BrowserContext, server: Served, site: Path
) -> None:
    page = open_page(context, server)
    write_site(site, "two")
    (site / "version.txt").write_text("damaged", encoding="utf-8")
    update(page)
    assert not waiting(page)
    page.reload()  # a start cleans up, and must keep what was downloaded
    page.wait_for_timeout(500)
    (site / "version.txt").write_text("two", encoding="utf-8")
    before = len(server.requests)
    update(page)
    assert waiting(page)
    asked = set(server.requests[before:])
    assert "version.txt" in asked
    assert "index.html" not in asked


def test_a_file_that_the_browser_dropped_is_fetched_again_and_checked(
    context: BrowserContext, server: Served, site: Path
) -> None:
    page = open_page(context, server)
    names = [entry.name for entry in precache.list_files(site)]
    drop(page, site, *names)
    assert text(page, "version.txt") == "one"
    wait_blobs(page, file_contents(site))  # all of them came back with the one asked for
    drop(page, site, "version.txt")
    (site / "version.txt").write_text("forged", encoding="utf-8")
    failed = page.evaluate("fetch('version.txt').then(() => 'served', () => 'failed')")
    assert failed == "failed"


def test_registration_never_trusts_the_http_cache() -> None:
    source = (SOURCES / "update.js").read_text(encoding="utf-8")
    assert re.search(r"register\('service_worker\.js', \{ updateViaCache: 'none' \}\)", source)
