"""An overdose on the real build: the card over the app, Back, a kill, Python broken."""

import re
import statistics
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright

from tests.browser.test_journey import doomed, first_run, kill_browser
from tests.support.browser import (
    Site,
    assert_large_enough,
    find,
    open_app,
    phone,
    profile,
    record,
    served,
    steady,
    tap,
    until,
    wait_installed,
    wait_until,
)
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser

ROUNDS = 6
# What Python and Flutter need: with these gone or damaged the app cannot start.
PYTHON_FILES = r"^(app\.zip|pyodide/|main\.dart|canvaskit/|python_worker\.js)"


def card_is_open(page: Page) -> bool:
    return page.evaluate("document.getElementById('card').open")


def settled(page: Page) -> str:
    """Return the address once neither it nor the browser's history changes any more."""
    entry = "[location.href, history.length, JSON.stringify(history.state)]"
    return steady(page, lambda: page.evaluate(entry), 0.4)[0]


def open_card(page: Page) -> None:
    tap(page, page.locator("#overdose"))
    page.frame_locator("#card iframe").locator("h1").wait_for()
    assert card_is_open(page)


def test_back_closes_the_card_and_nothing_else(built_site: Site, chromium: Browser) -> None:
    with served(built_site.path) as server, phone(chromium) as context:
        seen = record(context, server.url)
        page = open_app(context, server.url)
        page.evaluate("window.location.hash = '/help'")
        where = settled(page)
        open_card(page)
        page.frame_locator("#card iframe").get_by_role("link", name=re.compile("First aid")).click()
        page.go_back()
        until(page, "!document.getElementById('card').open")
        assert page.url == where
        open_card(page)  # and by the card's own button, with the way back as before
        tap(page, page.locator("#card-close"))
        until(page, "!document.getElementById('card').open")
        assert settled(page) == where
        assert page.locator("#card iframe").count() == 0
        page.go_back()
        wait_until(page, lambda: page.url != where)
        seen.assert_clean()


BIG_TEXT = """document.addEventListener('DOMContentLoaded', () => {
  document.documentElement.style.fontSize = '200%';
})"""


@pytest.mark.parametrize("width", [320, 390])
def test_the_red_button_grows_with_the_readers_text_and_covers_nothing(
    built_site: Site, chromium: Browser, width: int
) -> None:
    with served(built_site.path) as server, phone(chromium) as context:
        context.add_init_script(BIG_TEXT)
        page = open_app(context, server.url)
        page.set_viewport_size({"width": width, "height": 844})
        button = page.locator("#overdose")
        steady(page, button.bounding_box)
        assert button.evaluate("e => getComputedStyle(e).fontSize") == "32px"
        box = button.bounding_box()
        assert box
        assert box["x"] >= 0.0
        assert box["x"] + box["width"] <= width
        assert box["height"] >= 52
        assert button.evaluate("e => e.scrollWidth <= e.clientWidth")
        for name in ("Help", "Setup"):
            beside = find(page, "button", name).bounding_box()
            assert beside
            assert beside["width"] >= 48, name
            assert beside["x"] >= 0.0, name
            assert beside["x"] + beside["width"] <= box["x"], name
        until(page, "document.getElementById('overdose').getBoundingClientRect().bottom < 90")


def begin_from_the_card(page: Page, thumb: Thumb) -> None:
    open_card(page)
    button = page.frame_locator("#card iframe").locator("#record")
    button.scroll_into_view_if_needed()
    assert_large_enough(button, 56)
    button.click()
    until(page, "!document.getElementById('card').open")
    assert thumb.sees("First lift the lime line out of the sump.")
    thumb.tap("Start the clock")
    assert thumb.sees("Read next")


def enter(thumb: Thumb, button: str, digits: str) -> None:
    thumb.tap(button)
    thumb.type(digits)
    thumb.tap("Save")
    keep = find(thumb.page, "button", re.compile(f"^Keep {re.escape(digits)}"))
    back = thumb.page.get_by_text("Read next")
    wait_until(thumb.page, lambda: keep.count() or back.count())
    if keep.count():
        thumb.tap("Keep")
    assert thumb.sees("Read next")


def before_the_kill(context: BrowserContext, url: str, folder: Path) -> None:
    seen = record(context, url)
    page = open_app(context, url)
    wait_installed(page)
    thumb = Thumb(page)
    first_run(thumb)
    begin_from_the_card(page, thumb)
    thumb.tap("Put on gloves and goggles.")
    assert thumb.sees("Put on gloves and goggles. Done at")
    page.evaluate("window.location.hash = '/incident'")
    enter(thumb, "Enter alkalinity", "11.2")
    enter(thumb, "Enter pH", "8.9")
    seen.assert_clean()
    assert kill_browser(folder) > 1


def test_killed_in_the_middle_of_an_overdose_it_resumes_without_the_network(
    playwright: Playwright, built_site: Site, tmp_path: Path
) -> None:
    folder = tmp_path / "profile"
    with served(built_site.path) as site:
        with doomed(playwright, folder) as context:
            before_the_kill(context, site.url, folder)
        site.stop()
        with profile(playwright, folder) as context:
            seen = record(context, site.url)
            page = open_app(context, site.url)
            thumb = Thumb(page)
            assert thumb.sees("Overdose since")
            thumb.tap("Go on")
            assert thumb.sees("Read next")
            assert thumb.sees("Put on gloves and goggles. Done at"), thumb.text()
            assert thumb.sees(re.compile("alkalinity 11.2 dKH")), thumb.text()
            assert thumb.sees(re.compile("pH 8.90")), thumb.text()
            seen.assert_clean()


SPOIL = """async ([pattern, how]) => {
  const versions = await caches.open('sumpside-versions/');
  const keys = (await versions.keys()).filter(({ url }) => url.includes('.version/'));
  const files = await (await versions.match(keys[0])).json();
  const blobs = await caches.open('sumpside-blobs/');
  let spoiled = 0;
  for (const [name, [sha256]] of Object.entries(files)) {
    if (!new RegExp(pattern).test(name)) continue;
    const key = `/.blob/${sha256}`;
    if (how === 'removed') await blobs.delete(key);
    else await blobs.put(key, new Response('spoiled'));
    spoiled += 1;
  }
  return spoiled;
}"""


@pytest.mark.parametrize("how", ["removed", "corrupted"])
def test_the_card_opens_offline_with_its_figures_when_python_cannot_start(
    playwright: Playwright, built_site: Site, tmp_path: Path, how: str
) -> None:
    with served(built_site.path) as site:
        with profile(playwright, tmp_path / "profile") as context:
            page = open_app(context, site.url)
            wait_installed(page)
            first_run(Thumb(page))
            until(page, "caches.match('/figures.json', {cacheName: 'sumpside-figures'})")
            assert page.evaluate(SPOIL, [PYTHON_FILES, how]) >= 5
        site.stop()
        with profile(playwright, tmp_path / "profile") as context:
            page = context.new_page()
            page.goto(site.url)
            page.wait_for_selector("html[data-state=failed]", timeout=60_000, state="attached")
            tap(page, page.locator("#overdose"))
            page.wait_for_url("**/emergency.html")
            page.locator("#own").wait_for()
            own = page.locator("#own").inner_text().replace("\u00a0", " ")
            assert "Journey" in own
            assert "Net water about 450 L" in own
            assert page.get_by_text("Lift the lime line OUT of the sump.").is_visible()


def first_contentful_paint_ms(page: Page, url: str) -> float:
    page.goto(url)
    entry = "performance.getEntriesByName('first-contentful-paint')[0]"
    until(page, f"Boolean({entry})")
    return page.evaluate(f"{entry}.startTime")


def app_drawn_ms(page: Page, url: str) -> float:
    page.goto(url)
    until(page, "document.documentElement.dataset.state === 'running'", 60_000)
    return page.evaluate("performance.now()")


def test_the_card_is_painted_long_before_the_app(
    playwright: Playwright, built_site: Site, tmp_path: Path
) -> None:
    with served(built_site.path) as site:
        with profile(playwright, tmp_path / "profile") as context:
            wait_installed(open_app(context, site.url))
        site.stop()
        card, shell, app = [], [], []
        paints = [(card, site.url + "emergency.html"), (shell, site.url)]
        for number in range(ROUNDS):  # who comes first in a cold browser changes every round
            with profile(playwright, tmp_path / "profile") as context:
                page = context.new_page()
                for found, url in paints if number % 2 else reversed(paints):
                    found.append(first_contentful_paint_ms(page, url))
                app.append(app_drawn_ms(page, site.url))
    by_shell = statistics.median(c / s for c, s in zip(card, shell, strict=True))
    by_app = statistics.median(c / a for c, a in zip(card, app, strict=True))
    print(
        f"card's first paint: {by_shell:.2f} of the app's first paint, {by_app:.3f} of its screen"
    )
    assert by_app < 0.5
