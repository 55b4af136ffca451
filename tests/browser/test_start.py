"""The built site starts, offline too, and keeps every platform trap shut."""

import json
import shutil
import zipfile
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Playwright, Route

from mobile.packaging import precache
from mobile.packaging.build import SOURCES
from tests.support.browser import (
    Site,
    assert_large_enough,
    build_once,
    open_app,
    phone,
    profile,
    record,
    served,
    steady,
    tap,
    until,
    wait_installed,
    wait_running,
    wait_until,
)

pytestmark = pytest.mark.browser


def with_main(site: Site, folder: Path, source: str) -> Path:
    """Copy a site with another mobile/main.py, and list its files anew."""
    copy = folder / "changed"
    shutil.copytree(site.path, copy)
    members = {}
    with zipfile.ZipFile(copy / "app.zip") as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    members["mobile/main.py"] = source.encode()
    with zipfile.ZipFile(copy / "app.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    template = (SOURCES / precache.SERVICE_WORKER).read_text(encoding="utf-8")
    precache.write_service_worker(copy, template, base="/", build=site.report.build_id)
    return copy


def test_starts_clean_installs_and_starts_again_without_the_server(
    built_site: Site, playwright: Playwright, tmp_path: Path
) -> None:
    with served(built_site.path) as server:
        with profile(playwright, tmp_path / "profile") as context:
            seen = record(context, server.url)
            page = open_app(context, server.url)
            wait_installed(page)
            seen.assert_clean()
            session = context.new_cdp_session(page)
            errors = session.send("Page.getInstallabilityErrors")
            assert errors["installabilityErrors"] == []
            manifest = session.send("Page.getAppManifest")
            assert manifest["errors"] == []
            assert page.locator("flt-semantics").count() > 0
        server.stop()
        with profile(playwright, tmp_path / "profile") as context:
            seen = record(context, server.url)
            page = open_app(context, server.url)
            assert page.evaluate("Boolean(navigator.serviceWorker.controller)")
            card = context.new_page()
            card.goto(server.url + "emergency.html")
            assert card.get_by_text("Lift the lime line OUT of the sump.").is_visible()
            seen.assert_clean()
            asked = [name for name in server.requests if name == "service_worker.js"]
            assert len(asked) <= 2, "the page reloads itself"


def test_starts_below_a_sub_folder(
    tmp_path_factory: pytest.TempPathFactory, playwright: Playwright, tmp_path: Path
) -> None:
    site = build_once(tmp_path_factory, "/sumpside/")
    with (
        served(site.path, base="/sumpside/") as server,
        profile(playwright, tmp_path / "profile") as context,
    ):
        seen = record(context, server.url)
        page = open_app(context, server.url)
        wait_installed(page)
        scope = page.evaluate("navigator.serviceWorker.ready.then(({ scope }) => scope)")
        assert scope == server.url
        errors = context.new_cdp_session(page).send("Page.getInstallabilityErrors")
        assert errors["installabilityErrors"] == []
        server.stop()
        page.reload()
        wait_running(page)
        seen.assert_clean()
        assert all("/sumpside/" in url for url in seen.requests if url.startswith("http"))


def test_overdose_link_works_by_touch_while_python_is_missing(
    built_site: Site, chromium: Browser
) -> None:
    with served(built_site.path) as server, phone(chromium) as context:
        page = context.new_page()
        page.route("**/app.zip", lambda _route: None)  # never answered
        page.goto(server.url)
        until(page, "document.getElementById('step').textContent.includes('step 2 of 4')")
        assert page.evaluate("document.documentElement.dataset.state") == "starting"
        assert_large_enough(page.locator("#overdose"), 48)
        tap(page, page.locator("#overdose"))
        page.wait_for_url("**/emergency.html")
        assert page.get_by_text("Lift the lime line OUT of the sump.").is_visible()


def test_overdose_opens_by_touch_over_the_running_app(built_site: Site, chromium: Browser) -> None:
    with served(built_site.path) as server, phone(chromium) as context:
        seen = record(context, server.url)
        page = open_app(context, server.url)
        box = page.locator("#overdose").bounding_box()
        assert box
        assert 48 <= box["height"] <= 56
        assert 390 - box["x"] <= 148
        tap(page, page.locator("#overdose"))
        card = page.frame_locator("#card iframe")
        card.get_by_text("Lift the lime line OUT of the sump.").wait_for()
        card.locator("#leave").wait_for(state="hidden")
        close = page.get_by_role("button", name="Close")
        assert_large_enough(close, 56)
        tap(page, close)
        page.locator("#card").wait_for(state="hidden")
        assert page.evaluate("document.documentElement.dataset.state") == "running"
        assert page.locator("flt-semantics").count() > 0
        seen.assert_clean()


def test_failed_start_says_what_was_kept_and_what_to_do(
    built_site: Site, chromium: Browser
) -> None:
    with served(built_site.path) as server, phone(chromium) as context:
        page = context.new_page()
        broken = {"value": True}

        def answer(route: Route) -> None:
            if broken["value"]:
                route.fulfill(status=500, body="no")
            else:
                route.continue_()

        page.route("**/app.zip", answer)
        page.goto(server.url)
        failure = page.get_by_role("alert")
        failure.wait_for()
        words = failure.inner_text()
        assert "could not start" in words
        assert "this failure did not touch them" in words
        assert "app.zip: HTTP 500" in page.locator("#failure-detail").text_content()
        broken["value"] = False
        tap(page, page.get_by_role("button", name="Try again"))
        wait_running(page)


def test_python_that_draws_nothing_is_a_failed_start(
    built_site: Site, chromium: Browser, tmp_path: Path
) -> None:
    site = with_main(built_site, tmp_path, "raise ValueError('broken on purpose')\n")
    with served(site) as server, phone(chromium) as context:
        page = context.new_page()
        page.goto(server.url)
        page.get_by_role("alert").wait_for(timeout=60_000)
        assert "broken on purpose" in page.locator("#failure-detail").text_content()


@pytest.mark.parametrize("language", ["C", "", "en_US.UTF-8"])
def test_invalid_language_does_not_stop_the_start(
    built_site: Site, chromium: Browser, language: str
) -> None:
    with served(built_site.path) as server, phone(chromium) as context:
        context.add_init_script(
            f"""for (const [name, value] of [['language', {json.dumps(language)}],
                                             ['languages', [{json.dumps(language)}]]])
                  Object.defineProperty(navigator, name, {{ value, configurable: true }});"""
        )
        seen = record(context, server.url)
        page = context.new_page()
        page.goto(server.url)
        if language == "C":
            wait_running(page)
            seen.assert_clean()
        assert page.evaluate("[navigator.language, ...navigator.languages]") == ["en", "en"]


EMOJI = """
import flet as ft

def main(page):
    page.add(ft.Text("pasted: \\U0001f41f \\U0001f980 \\u6c34 \\u0939"))

if __name__ == "__main__":
    ft.run(main)
"""


@pytest.mark.parametrize("service_workers", ["allow", "block"])
def test_missing_glyphs_are_asked_for_once(
    built_site: Site, chromium: Browser, tmp_path: Path, service_workers: str
) -> None:
    site = with_main(built_site, tmp_path, EMOJI)
    with served(site) as server, phone(chromium, service_workers=service_workers) as context:
        seen = record(context, server.url)
        page = open_app(context, server.url)
        if service_workers == "allow":
            wait_installed(page)
            steady(page, lambda: len(seen.requests))
            seen.requests.clear()
            page.reload()
            wait_running(page)

        def asked() -> list[str]:
            return [url for url in seen.requests if "fallback.ttf?for=" in url]

        wait_until(page, asked)  # else no glyph was missing, and the test shows nothing
        before = steady(page, asked)
        page.wait_for_timeout(2000)  # the claim: silence
        assert asked() == before
        assert len(before) == len(set(before))
        seen.assert_clean()


HOST = """
import asyncio, json
import flet as ft
from mobile.browser.host import BrowserHost
from mobile.host import Host, HostError

host: Host = BrowserHost()

async def main(page):
    told = {
        "kind": host.kind, "base": host.base_url, "build": host.build_id,
        "locale": host.locale, "hour12": host.hour12(),
        "persisted": await host.persisted(),
        "estimate": await host.storage_estimate(),
        "asked": await host.request_persistence(),
        "applied": await host.apply_update(),
    }
    host.on_visible(lambda: print("HOST visible"))
    host.on_update_ready(lambda: print("HOST update"))
    await host.publish_figures({"format": "sumpside-figures", "version": 2})
    host.set_busy(True)
    host.open_emergency()
    print("HOST " + json.dumps(told))
    page.add(ft.Text("asked the host"))

if __name__ == "__main__":
    ft.run(main)
"""


def test_python_reaches_the_page_through_the_host(
    built_site: Site, chromium: Browser, tmp_path: Path
) -> None:
    site = with_main(built_site, tmp_path, HOST)
    with served(site) as server, phone(chromium) as context:
        seen = record(context, server.url)
        page = open_app(context, server.url)
        page.frame_locator("#card iframe").locator("h1").wait_for()
        line = next(text for text in seen.console if text.startswith("HOST {"))
        told = json.loads(line.removeprefix("HOST "))
        used, allowed = told.pop("estimate")
        assert 0 <= used < allowed
        assert told.pop("asked") in (True, False)
        assert told == {
            "kind": "browser",
            "base": "/",
            "build": built_site.report.build_id,
            "locale": "en-GB",
            "hour12": False,
            "persisted": False,
            "applied": False,
        }
        assert page.evaluate("sumpside.busy") is True
        stored = page.evaluate(
            "caches.open('sumpside-figures').then((c) => c.match('figures.json'))"
            ".then((r) => r.json())"
        )
        assert stored == {"format": "sumpside-figures", "version": 2}
        page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        wait_until(page, lambda: "HOST visible" in seen.console)
        seen.assert_clean()


def test_the_recorder_sees_what_it_is_for(built_site: Site, chromium: Browser) -> None:
    with served(built_site.path) as server, phone(chromium) as context:
        seen = record(context, server.url)
        page = context.new_page()
        page.goto(server.url + "emergency.html")
        page.evaluate("const image = new Image(); image.src = 'http://127.0.0.2/x.png'; 1")
        wait_until(page, lambda: any("img-src" in text for text in seen.policy_violations))
        with pytest.raises(AssertionError):
            seen.assert_clean()
