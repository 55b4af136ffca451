"""Retake the screenshots of the web app manifest: run by hand (dev extra).

`.venv/bin/python -m mobile.packaging.capture [--tap NAME ...] [LABEL=ROUTE ...]`

Builds and serves the site, opens it on a narrow and a wide screen, touches the controls named by
--tap in turn (to enter the demo, say), then takes one picture of each route. Without routes it
takes one picture, called "first-screen". Old pictures go.
"""

import argparse
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from mobile.packaging.build import ROOT, build
from mobile.packaging.server import serving

SCREENSHOTS = ROOT / "assets" / "screenshots"
SCREENS = {"narrow": (390, 844), "wide": (1280, 800)}
FLAGS = ["--no-sandbox", "--enable-unsafe-swiftshader"]


def main() -> None:
    """Build, open, and write assets/screenshots/."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tap", action="append", default=[], metavar="NAME")
    parser.add_argument("--chromium", default="/usr/bin/chromium")
    parser.add_argument("routes", nargs="*", metavar="LABEL=ROUTE")
    options = parser.parse_args()
    routes = [route.split("=", 1) for route in options.routes] or [["first-screen", ""]]
    for old in SCREENSHOTS.glob("*.png"):
        old.unlink()
    with (
        tempfile.TemporaryDirectory() as folder,
        sync_playwright() as playwright,
    ):
        site = Path(folder) / "site"
        build(site)
        browser = playwright.chromium.launch(executable_path=options.chromium, args=FLAGS)
        with serving(site) as url:
            for screen in SCREENS:
                _capture(browser, url, screen, options.tap, routes)
        browser.close()


def _capture(
    browser: Browser, url: str, screen: str, taps: list[str], routes: list[list[str]]
) -> None:
    width, height = SCREENS[screen]
    context = browser.new_context(
        viewport={"width": width, "height": height},
        device_scale_factor=2 if screen == "narrow" else 1,
        has_touch=True,
    )
    page = context.new_page()
    page.goto(url)
    page.wait_for_selector("html[data-state=running]", timeout=60_000, state="attached")
    for name in taps:
        _touch(page, name)
    for label, route in routes:
        if route:
            page.evaluate("(route) => { location.hash = route }", route)
        page.wait_for_timeout(1500)  # page transitions end, images settle
        page.screenshot(path=SCREENSHOTS / f"{screen}-{label}.png")
    context.close()


def _touch(page: Page, name: str) -> None:
    control = page.get_by_role("button", name=name).first
    control.wait_for(state="attached", timeout=15_000)
    box = control.bounding_box()
    if box:
        page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.wait_for_timeout(1000)


if __name__ == "__main__":
    main()
