"""Fixtures and helpers for tests that drive the built site in Chromium.

Import what you need into a folder's conftest.py: `built_site`, `playwright`, `chromium`, `served`.
The site is built once for a whole run. Sizes, flags and waiting are the same for every test.
"""

import contextlib
import re
import shutil
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Locator,
    Page,
    Playwright,
    Request,
    sync_playwright,
)
from playwright.sync_api import Error as PlaywrightError

from mobile.packaging.build import BuildReport, build
from mobile.packaging.server import serving

FLAGS = [
    "--no-sandbox",
    "--enable-unsafe-swiftshader",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "locale": "en-GB"}
START_ms = 60_000

T = TypeVar("T")


@dataclass(frozen=True)
class Site:
    """A built site on disk."""

    path: Path
    report: BuildReport


@dataclass
class Served:
    """A site being served; `requests` are the names asked for, oldest first."""

    url: str
    requests: list[str] = field(default_factory=list)
    stop: Callable[[], None] = lambda: None


@dataclass
class Record:
    """What a context did: see `record`."""

    origin: str
    requests: list[str] = field(default_factory=list)
    off_origin: list[str] = field(default_factory=list)
    console_errors: list[str] = field(default_factory=list)
    policy_violations: list[str] = field(default_factory=list)
    page_errors: list[str] = field(default_factory=list)
    console: list[str] = field(default_factory=list)

    def assert_clean(self) -> None:
        """Fail on any off-origin request, policy violation, console or page error."""
        assert self.off_origin == []
        assert self.policy_violations == []
        assert self.page_errors == []
        assert self.console_errors == []


def chromium_path() -> str:
    """Return the installed Chromium."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    assert found, "Chromium is not installed: run .ci/run, or install it"
    return found


@pytest.fixture(scope="session")
def built_site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    """Return the site at base "/", built once for the run."""
    return build_once(tmp_path_factory, "/")


_built: dict[str, Site] = {}


def build_once(tmp_path_factory: pytest.TempPathFactory, base: str) -> Site:
    """Build the site for a base, once for the run however many folders import the fixture."""
    if base not in _built:
        out = tmp_path_factory.mktemp("site") / "site"
        _built[base] = Site(out, build(out, base=base))
    return _built[base]


@pytest.fixture(scope="module")
def playwright() -> Iterator[Playwright]:
    """Return Playwright, for one module: its event loop must not outlive the module's tests."""
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="module")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    """Return a running Chromium."""
    browser = playwright.chromium.launch(executable_path=chromium_path(), args=FLAGS)
    yield browser
    browser.close()


@contextlib.contextmanager
def served(site: Path, *, base: str = "/", port: int = 0) -> Iterator[Served]:
    """Serve a site; `stop()` ends the server early, as a lost network would."""
    result = Served("")
    with contextlib.ExitStack() as stack:
        result.url = stack.enter_context(
            serving(site, base=base, port=port, watch=result.requests.append)
        )
        result.stop = stack.close
        yield result


@contextlib.contextmanager
def phone(browser: Browser, **options: object) -> Iterator[BrowserContext]:
    """Open a fresh profile with a phone's screen and touch."""
    context = browser.new_context(**(PHONE | options))  # pyright: ignore[reportArgumentType]
    try:
        yield context
    finally:
        context.close()


@contextlib.contextmanager
def profile(playwright: Playwright, folder: Path, **options: object) -> Iterator[BrowserContext]:
    """Start a whole browser on a stored profile: what a restart of the phone sees."""
    context = playwright.chromium.launch_persistent_context(
        folder,
        executable_path=chromium_path(),
        args=FLAGS,
        **(PHONE | options),  # pyright: ignore[reportArgumentType]
    )
    try:
        yield context
    finally:
        context.close()


def record(context: BrowserContext, origin: str) -> Record:
    """Note every request, console error, policy violation and page error from now on."""
    result = Record(origin.rstrip("/"))
    host = re.match(r"https?://[^/]+", origin)
    assert host
    prefix = f"{host.group()}/"

    def on_request(request: Request) -> None:
        result.requests.append(request.url)
        if not request.url.startswith((prefix, "data:", "blob:")):
            result.off_origin.append(request.url)

    def on_console(message: ConsoleMessage) -> None:
        result.console.append(message.text)
        if "Content Security Policy" in message.text:
            result.policy_violations.append(message.text)
        if message.type == "error":
            result.console_errors.append(message.text)

    context.on("request", on_request)
    context.on("console", on_console)
    context.on("weberror", lambda error: result.page_errors.append(str(error.error)))
    return result


def open_app(context: BrowserContext, url: str) -> Page:
    """Open the app and wait until Python has drawn its first screen."""
    page = context.new_page()
    page.goto(url)
    wait_running(page)
    return page


def wait_running(page: Page) -> None:
    """Wait for the first screen; a failed start fails the test with its own words."""
    page.wait_for_selector(
        "html[data-state=running], html[data-state=failed]", timeout=START_ms, state="attached"
    )
    assert page.evaluate("document.documentElement.dataset.state") == "running", page.inner_text(
        "body"
    )


def wait_installed(page: Page) -> None:
    """Wait until the service worker holds the whole app and answers this page."""
    until(
        page,
        "navigator.serviceWorker.controller"
        " && navigator.serviceWorker.controller.state === 'activated'",
        START_ms,
    )


def until(page: Page, expression: str, timeout_ms: float = 60_000) -> None:
    """Wait until a JavaScript expression is true (a page's policy forbids Playwright's own way)."""
    deadline = time.monotonic() + timeout_ms / 1000
    while not _holds(page, expression):
        assert time.monotonic() < deadline, f"still not true: {expression}"
        page.wait_for_timeout(50)


def _holds(page: Page, expression: str) -> bool:
    try:
        return page.evaluate(f"Promise.resolve({expression}).then(Boolean)")
    except PlaywrightError as error:
        if "context was destroyed" in str(error):  # the page is being reloaded
            return False
        raise


def wait_until(page: Page, check: Callable[[], object], timeout_s: float = 60.0) -> None:
    """Wait until something that the test itself can see is true, while the page goes on."""
    deadline = time.monotonic() + timeout_s
    while not check():
        assert time.monotonic() < deadline, "still not true"
        page.wait_for_timeout(50)


def steady(page: Page, read: Callable[[], T], quiet_s: float = 1.0, limit_s: float = 60.0) -> T:
    """Return what is read once it has not changed for a while."""
    value, since = read(), time.monotonic()
    deadline = since + limit_s
    while time.monotonic() < since + quiet_s:
        assert time.monotonic() < deadline, f"it goes on changing: {value}"
        page.wait_for_timeout(50)
        if (now := read()) != value:
            value, since = now, time.monotonic()
    return value


def find(page: Page, role: str, name: str | re.Pattern[str]) -> Locator:
    """Return the one control of Flutter's semantics tree with a role and a name."""
    return page.get_by_role(role, name=name)  # pyright: ignore[reportArgumentType]


def tap(page: Page, target: Locator) -> None:
    """Touch the middle of a control, as a finger would, whatever lies above it."""
    target.wait_for(state="attached")
    box = target.bounding_box()
    assert box, f"{target} has no place on the screen"
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)


def assert_large_enough(target: Locator, least_px: float = 48) -> None:
    """Fail when a control is smaller than a gloved finger needs."""
    box = target.bounding_box()
    assert box
    assert min(box["width"], box["height"]) >= least_px, (target, box)
