"""notices.json in a real browser: what recalls a build, what lifts that, and what does neither."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from mobile.packaging import precache
from mobile.packaging.build import SOURCES
from mobile.texts.plan_page import TEXTS as PLAN
from mobile.texts.recalled import TEXTS
from tests.support.app import scenario_records
from tests.support.browser import (
    Site,
    open_app,
    phone,
    served,
    until,
    wait_installed,
    wait_running,
    wait_until,
)
from tests.support.seeded import copy_of, seed
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser

WHY = "Litres were reckoned too high."
PORTAL = "<!DOCTYPE html><title>Sign in</title><p>Welcome to the guest network"


def recalling(*builds: str, text: dict[str, str] | None = None) -> dict[str, Any]:
    return {"kind": "no-dose", "builds": list(builds), "text": text or {"en": WHY}}


def notices(*found: dict[str, Any], **changes: Any) -> str:
    return json.dumps(
        {"format": "sumpside-notices", "version": 1, "notices": list(found), **changes}
    )


# --- the reader alone, on a page without Python

PAGE = """<!DOCTYPE html><meta charset="utf-8"><base href="/">
<meta name="sumpside-build" content="this0build00"><title>notices</title>
<script src="start.js"></script><script src="stub.js"></script>
<script src="notices.js" defer></script>"""
STUB = """
window.told = 0; window.asked = 0; window.settled = 0;
sumpside.answers = {};
sumpside.toPython = (name) => { told += name === 'recalled'; };
const network = window.fetch;
window.fetch = async (...request) => {
  asked += 1;
  try {
    const response = await network(...request);
    const body = await response.text();
    return new Response(body, { status: response.status });
  } finally {
    setTimeout(() => { settled += 1; }, 20);
  }
};"""
# A look of the browser's own accord may be under way: all that were begun must have ended.
ENDED = "asked > 0 && settled === asked"
THIS = "this0build00"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("start.js", "notices.js"):
        (tmp_path / name).write_bytes((SOURCES / name).read_bytes())
    (tmp_path / "index.html").write_text(PAGE, encoding="utf-8")
    (tmp_path / "stub.js").write_text(STUB, encoding="utf-8")
    return tmp_path


@pytest.fixture
def reader(chromium: Browser, folder: Path) -> Iterator[Page]:
    with served(folder) as site, phone(chromium) as context:
        page = context.new_page()
        page.goto(site.url)
        until(page, ENDED)
        yield page


def answer(page: Page, folder: Path, content: str | bytes | None) -> str:
    """Let the host answer with this, look once, and return why this build gives no dose."""
    file = folder / precache.NOTICES
    until(page, ENDED)  # nothing reads the file while it is changed
    file.unlink(missing_ok=True)
    if content is not None:
        new = folder / "new"
        new.write_bytes(content.encode() if isinstance(content, str) else content)
        new.replace(file)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    until(page, ENDED)
    return page.evaluate("sumpside.answers.recalled()")


UNSOUND = {
    "missing": None,
    "empty": "",
    "a portal's page": PORTAL,
    "cut off": notices(recalling(THIS))[:-9],
    "another format": notices(recalling(THIS), format="other"),
    "another version": notices(recalling(THIS), version=2),
    "version as text": notices(recalling(THIS), version="1"),
    "a list": "[]",
    "null": "null",
    "no list": notices(notices={}),
    "no builds": notices({"kind": "no-dose", "text": {"en": WHY}}),
    "builds as text": notices({**recalling(), "builds": THIS}),
    "a build that is no text": notices({**recalling(), "builds": [THIS, 7]}),
    "no words": notices({"kind": "no-dose", "builds": [THIS]}),
    "no English": notices(recalling(THIS, text={"de": WHY})),
    "blank words": notices(recalling(THIS, text={"en": "  "})),
    "too many words": notices(recalling(THIS, text={"en": "x" * 601})),
    "one sound, one not": notices(recalling(THIS), {"kind": 7}),
    "too large": notices(recalling(THIS), padding="x" * 100_001),
    "not UTF-8": b"\xff\xfe" + notices(recalling(THIS)).encode(),
}


@pytest.mark.parametrize("content", UNSOUND.values(), ids=UNSOUND)
def test_what_is_not_a_sound_file_neither_recalls_nor_lifts(
    reader: Page, folder: Path, content: str | bytes | None
) -> None:
    assert answer(reader, folder, content) == ""
    assert answer(reader, folder, notices(recalling(THIS))) == WHY
    assert answer(reader, folder, content) == WHY
    reader.reload()  # what was kept holds from the start, and the answer is still unsound
    until(reader, ENDED)
    assert reader.evaluate("sumpside.answers.recalled()") == WHY


LIFTING = {
    "empty list": notices(),
    "another build": notices(recalling("other0build0")),
    "a kind of later": notices({"kind": "read-this", "anything": [1]}),
}


@pytest.mark.parametrize("content", LIFTING.values(), ids=LIFTING)
def test_a_sound_file_that_does_not_name_this_build_lifts_the_recall(
    reader: Page, folder: Path, content: str
) -> None:
    assert answer(reader, folder, notices(recalling("other0build0", THIS))) == WHY
    assert reader.evaluate("told") == 1
    assert answer(reader, folder, notices(recalling(THIS))) == WHY
    assert reader.evaluate("told") == 1  # nothing new is told
    assert answer(reader, folder, content) == ""
    assert reader.evaluate("told") == 2
    reader.reload()
    until(reader, ENDED)
    assert reader.evaluate("sumpside.answers.recalled()") == ""


def test_the_words_are_in_the_users_language_where_they_are_given(
    chromium: Browser, folder: Path
) -> None:
    words = {"en": WHY, "de": "Die Liter\u0007waren zu hoch.", "__proto__": "no"}
    with served(folder) as site, phone(chromium, locale="de-AT") as context:
        page = context.new_page()
        page.goto(site.url)
        until(page, "settled > 0")
        recalled = answer(page, folder, notices(recalling(THIS, text=words)))
        assert recalled == "Die Liter waren zu hoch."


# --- the whole app


def test_a_recalled_build_gives_no_dose_until_a_sound_file_lifts_it(
    chromium: Browser, built_site: Site, tmp_path: Path
) -> None:
    folder = copy_of(built_site, tmp_path)
    file = folder / precache.NOTICES
    assert json.loads(file.read_text(encoding="utf-8"))["notices"] == []
    look = "window.dispatchEvent(new Event('online'))"
    with served(folder) as site, phone(chromium) as context:
        seed(context, site.url, scenario_records("demo_system", datetime.now(UTC)))
        page = open_app(context, site.url)
        thumb = Thumb(page)
        wait_installed(page)
        thumb.place("Plan")
        assert thumb.sees(PLAN["caps_title"])
        file.write_text(notices(recalling(built_site.report.build_id)), encoding="utf-8")
        page.evaluate(look)
        assert thumb.sees(TEXTS["lead"])
        assert thumb.sees(WHY)
        assert PLAN["caps_title"] not in thumb.text()
        asked = site.requests.count(precache.NOTICES)
        file.write_text(PORTAL, encoding="utf-8")
        page.evaluate(look)
        wait_until(page, lambda: site.requests.count(precache.NOTICES) > asked)
        context.set_offline(True)
        page.reload()
        wait_running(page)
        thumb = Thumb(page)
        thumb.place("Plan")
        assert thumb.sees(TEXTS["lead"])
        assert thumb.sees(WHY)
        thumb.place("Record")  # recording works
        thumb.tap("Alkalinity")
        thumb.type("8.2")
        thumb.tap("Save")
        assert thumb.sees("Saved: Alkalinity 8.2 dKH")
        context.set_offline(False)
        file.write_text(notices(), encoding="utf-8")
        page.evaluate(look)
        thumb.place("Plan")
        until(page, "sumpside.answers.recalled() === ''")
        assert thumb.sees(PLAN["caps_title"])
        assert TEXTS["lead"] not in thumb.text()


def test_the_service_worker_keeps_no_notices_and_no_build_is_named_by_them(
    built_site: Site, tmp_path: Path
) -> None:
    folder = copy_of(built_site, tmp_path)
    before = precache.list_files(folder)
    (folder / precache.NOTICES).write_text(notices(recalling("x")), encoding="utf-8")
    assert precache.list_files(folder) == before
    assert precache.NOTICES not in {entry.name for entry in before}


def test_a_host_without_the_file_starts_the_app_and_is_asked_no_more_than_it_must(
    built_site: Site, chromium: Browser, tmp_path: Path
) -> None:
    site = copy_of(built_site, tmp_path)
    (site / precache.NOTICES).unlink()
    with served(site) as server, phone(chromium) as context:
        page = open_app(context, server.url)
        assert page.evaluate("document.documentElement.dataset.state") == "running"
        assert server.requests.count(precache.NOTICES) < 5
