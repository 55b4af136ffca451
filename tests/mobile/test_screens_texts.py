"""Every screen with every log of demo_data: its words are for people, drawable, and tappable."""

from collections import Counter
from typing import Any

import flet as ft
import pytest
from fontTools.ttLib import TTFont

from engine.jobs.codes import Job
from mobile.bootstrap import ROOT
from mobile.state.forms import FORMS
from mobile.state.setup_pages import FIRST_RUN, PAGES
from tests.support.app import SCENARIOS, START, Phone, Running, not_for_people, scenario_records
from tests.support.screen import walk

WEIGHTS = ("sumpside-sans-400.woff2", "sumpside-sans-700.woff2")
# Where else a control carries words, read by eye or by a screen reader.
WORDED = ("value", "label", "tooltip", "semantics_label", "hint_text", "error", "helper", "text")
TAPPED = ("on_click", "on_change", "action")


@pytest.fixture(scope="module")
def signs() -> set[int]:
    fonts = [TTFont(ROOT / "assets" / "fonts" / weight) for weight in WEIGHTS]
    return set.intersection(*(set(font.getBestCmap()) for font in fonts))


def words(app: Running) -> list[str]:
    """Return every text that the screen shows or reads out."""
    found = []
    for control in app.screen.controls():
        for name in WORDED:
            value = getattr(control, name, None)
            if isinstance(value, str) and not isinstance(control, ft.Icon):
                found.append(value)
    return found


def tapped(app: Running) -> list[Any]:
    return [
        control
        for control in walk(app.screen.page.views)
        if any(getattr(control, name, None) is not None for name in TAPPED)
    ]


def assert_sound(app: Running, signs: set[int]) -> None:
    path = app.path
    assert not app.failed, path
    shown = words(app)
    assert len(shown) > 5, path
    raw = [text for text in shown if not_for_people(text)]
    assert raw == [], path
    missing = {sign for text in shown for sign in text if ord(sign) not in signs and sign != "\n"}
    assert missing == set(), path
    keys = Counter(str(getattr(control, "key", None)) for control in tapped(app))
    assert keys["None"] == 0, [type(c) for c in tapped(app) if not c.key]
    assert [key for key, count in keys.items() if count > 1] == [], path


PLACES = (
    "/",
    "/record",
    "/mix",
    "/mix/recharge_vessel",
    "/plan",
    "/plan/powder",
    "/jobs",
    *(f"/jobs/{job}" for job in Job),
    "/minder",
    "/plan/hazard",
    "/incident",
    "/history",
    "/setup",
    "/setup/storage",
    "/setup/erase",
    "/setup/tables",
)
PAGES_OF_FORMS = (
    *(f"/record/{form}" for form in FORMS),
    *(f"/setup/{page.key}" for page in PAGES),
    *(f"/new/{page.key}" for page in FIRST_RUN),
    "/help",
    "/nowhere",
)


def entries(app: Running) -> list[str]:
    """Return the pages of one entry of each kind."""
    one_of_each = {type(record): record.id for record in app.store.snapshot.records}
    return [f"/history/{record}" for record in one_of_each.values()]


async def visit_all(app: Running, signs: set[int], *paths: str) -> int:
    visited = 0
    for path in (*PLACES, *entries(app), *paths):
        await app.go(path)
        assert_sound(app, signs)
        for key in ("why", "ahead", "amend", "withdraw"):
            if app.has(key):
                await app.tap(key)
                assert_sound(app, signs)
                if key == "amend":
                    await app.go("/help")
                    await app.go(path)
        visited += 1
    return visited


@pytest.mark.parametrize("name", SCENARIOS)
async def test_every_screen_is_for_people_with_every_log(phone: Phone, signs: set[int], name: str):
    app = await phone.open(records=scenario_records(name, START))
    assert await visit_all(app, signs) >= 10


async def test_every_screen_is_for_people_in_the_demo(phone: Phone, signs: set[int]):
    app = await phone.open()
    assert_sound(app, signs)
    await app.tap("enter-demo")
    assert await visit_all(app, signs, *PAGES_OF_FORMS) > 50


@pytest.mark.parametrize("unit", ["meq/L", "mg/L CaCO3"])
async def test_every_screen_is_for_people_in_every_unit(phone: Phone, signs: set[int], unit: str):
    app = await phone.open(records=scenario_records("demo_system", START))
    await app.store.choices.choose_unit(unit)
    assert await visit_all(app, signs, *PAGES_OF_FORMS) > 50


async def test_findings_and_faults_are_for_people(app: Running, signs: set[int]):
    typed = {
        key: form
        for key, form in FORMS.items()
        if form.fields or form.words or not all(choice.preset for choice in form.choices)
    }
    assert len(typed) >= len(FORMS) - 1, "all but the empty-out, which is one choice"
    for key, form in typed.items():
        await app.go(f"/record/{key}")
        await app.tap("save")
        assert_sound(app, signs)
        assert app.has("finding")
        for field in form.fields:
            for digits in (".01", "999999"):
                await app.go("/help")
                await app.go(f"/record/{key}")
                await app.type(digits, field.key)
                await app.tap("save")
                assert_sound(app, signs)
    for page in (page for page in PAGES if page.in_setup):
        await app.go(f"/setup/{page.key}")
        for ask in page.asks:
            if not ask.options and not ask.words and app.has(f"field-{ask.key}"):
                await app.type("9999999", ask.key)
        await app.tap("go-on")
        assert_sound(app, signs)


async def test_mix_is_for_people_at_every_step(app: Running, signs: set[int]):
    await app.go("/mix/recharge_vessel")
    await app.tap("answer-start")
    seen = set()
    while not app.says("Finished."):
        assert_sound(app, signs)
        seen.add(app.text("step"))
        app.clock.move(hours=5)
        app.store.refresh_if_ready()
        await app.screen.settle()
        first = next(c.key for c in tapped(app) if c.key and str(c.key).startswith("answer-"))
        await app.tap(first)
    assert len(seen) > 40
    for path in ("/", "/history", "/plan"):
        await app.go(path)
        assert_sound(app, signs)
