"""The emergency card: complete without JavaScript, and safe with whatever figures are stored."""

import copy
import json
import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from engine.scenario import load
from mobile.state.dangers import DangerBook
from mobile.state.figures import for_card
from mobile.state.snapshot import Snapshot
from mobile.state.updates import decided, with_records
from tests.support.browser import (
    Record,
    Served,
    Site,
    assert_large_enough,
    phone,
    record,
    served,
)

pytestmark = pytest.mark.browser

DEMO = Path(__file__).parents[2] / "demo_data" / "demo_system.json"

STEPS_IN_ORDER = [
    "Put on gloves and goggles.",
    "Lift the lime line OUT of the sump.",
    "Put its end into a bucket.",
    "Raise or pinch the line",
    "Unplug the lime pump.",
    "Unplug the stirrer.",
    "Unplug the top-off.",
    "Leave return, flow pumps, skimmer, heater and air running.",
    "Switch the lights off",
]


def figures(*, age_days: float = 1) -> dict:
    saved = datetime.now(UTC) - timedelta(days=age_days)
    return {
        "format": "sumpside-figures",
        "version": 2,
        "saved_at": saved.isoformat(timespec="seconds"),
        "systems": [
            {
                "name": "Kettle House",
                "net_volume_L": [405, 450, 495],
                "limewater_L_per_day": 5.3,
                "pump_L_per_h": 3.0,
                "lime_container_L": 5.3,
                "fresh_water_container_L": 25.0,
                "salt_water_ready_L": 100,
                "phones": [{"label": "Vet", "number": "+49 (30) 123-456"}],
                "worst": [
                    "If the lime pump sticks on, pH passes 9.00 after 2.4 h to 5.9 h.",
                    "The lime container empties at once: pH passes 9.50 at once.",
                ],
                "stop_safe": ["Without limewater: below 7.5 dKH in 6 h to 21 h."],
                "readings": [
                    {"label": "pH", "value": "8.31", "at": saved.isoformat(timespec="seconds")}
                ],
                "rescue": {
                    "from": "If limewater brought pH to 9.00 and alkalinity to 11.2 dKH:",
                    "alkalinity_unit": "dKH",
                    "changes": [
                        {
                            "percent": 10,
                            "pH": [8.9, 8.92, 8.95],
                            "alkalinity": [10.7, 11.1],
                            "calcium_mg_per_L": 441.4,
                        },
                        {"percent": 25, "pH": [8.75, 8.8, 8.86], "alkalinity": [10.0, 11.0]},
                        {"percent": 50, "pH": [8.5, 8.6, 8.7], "alkalinity": [9.0, 9.6]},
                    ],
                    "said": ["Salt water ready: 100 L, 22 % of the tank."],
                },
                "something_newer": {"ignored": True},
            }
        ],
    }


@pytest.fixture(scope="module")
def server(built_site: Site) -> Iterator[Served]:
    with served(built_site.path) as result:
        yield result


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    with phone(chromium) as result:
        yield result


def store(page: Page, text: str) -> None:
    page.evaluate(
        """async (text) => {
          const cache = await caches.open('sumpside-figures');
          await cache.put(new URL('figures.json', document.baseURI).href, new Response(text));
        }""",
        text,
    )


def card_with(context: BrowserContext, server: Served, text: str) -> Page:
    page = context.new_page()
    page.goto(server.url + "emergency.html")
    store(page, text)
    page.reload()
    return page


def assert_general_card(page: Page) -> None:
    words = page.locator("main").inner_text()
    places = [words.index(step) for step in STEPS_IN_ORDER]
    assert places == sorted(places)
    for never in ("acid", "vinegar", "carbonated", "cylinder", "dry ice", "second chemical"):
        assert never in page.locator(".never").inner_text()
    for limit in ("8.6", "8.8", "9.0", "9.5", "1.5 dKH", "3 dKH"):
        assert limit in words
    for aid in ("Eyes", "Skin", "Breathed in", "Swallowed"):
        assert aid in page.locator("#first-aid").inner_text()


def test_the_card_is_complete_without_javascript(chromium: Browser, server: Served) -> None:
    with phone(chromium, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(server.url + "emergency.html")
        assert_general_card(page)
        assert not page.locator("#own").is_visible()
        assert_large_enough(page.locator(".people a"), 56)


def test_the_first_page_links_to_it_without_javascript(chromium: Browser, server: Served) -> None:
    with phone(chromium, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(server.url)
        page.get_by_role("link", name="Overdose").click()
        assert_general_card(page)


def test_stored_figures_are_shown_with_volumes_and_phones(
    context: BrowserContext, server: Served
) -> None:
    seen = record(context, server.url)
    page = card_with(context, server, json.dumps(figures()))
    page.locator("#own").wait_for()
    own = page.locator("#own").inner_text().replace("\u00a0", " ")
    assert "Kettle House" in own
    assert "Net water about 450 L, between 405 L and 495 L." in own
    for row in (
        r"10 %\s+45 L \(41 L to 50 L\)\s+pH about 8.92 \(8.90 to 8.95\)",
        r"alkalinity 10.7 to 11.1 dKH, calcium 441 mg/L",
        r"50 %\s+225 L \(203 L to 248 L\)\s+pH about 8.60",
        r"Last readings\s+pH 8.31, \d+ \w+ \d{4}",
    ):
        assert re.search(row, own), own
    for equipment in (
        "Limewater set: 5.3 L a day.",
        "Lime pump: 3 L an hour at full rate.",
        "Lime container: 5.3 L when full.",
        "Fresh-water container that feeds the lime: 25 L when full.",
    ):
        assert equipment in own
    assert "If limewater brought pH to 9.00" in own
    assert "Salt water ready: 100 L, 22 % of the tank." in own
    assert "If the lime pump sticks on, pH passes 9.00" in own
    assert "Without limewater: below 7.5 dKH" in own
    assert "OLD" not in own
    call = page.get_by_role("link", name=re.compile("Vet"))
    assert call.get_attribute("href") == "tel:+4930123456"
    assert call.get_attribute("target") == "_top"
    assert_large_enough(call, 56)
    assert_general_card(page)
    seen.assert_clean()


def test_salt_water_is_told_where_nothing_else_could_be_worked_out(
    context: BrowserContext, server: Served
) -> None:
    text = changed(rescue=None, worst=[], stop_safe=[], readings=[])
    page = card_with(context, server, text)
    page.locator("#own").wait_for()
    own = page.locator("#own").inner_text().replace("\u00a0", " ")
    assert re.search(r"10 %\s+45 L \(41 L to 50 L\)", own)
    assert "Salt water ready: 100 L, about 22 % of the tank." in own
    for nothing in ("left out", "undefined", "NaN", "Last readings", "pH about"):
        assert nothing not in own
    assert_general_card(page)


def test_without_stored_figures_it_is_the_general_card_and_no_error(
    context: BrowserContext, server: Served
) -> None:
    seen = record(context, server.url)
    page = context.new_page()
    page.goto(server.url + "emergency.html")
    page.wait_for_timeout(500)
    assert_general_card(page)
    assert not page.locator("#own").is_visible()
    assert seen.console == []
    seen.assert_clean()


@pytest.mark.parametrize(("age_days", "is_old"), [(29, False), (31.5, True)])
def test_figures_older_than_thirty_days_are_marked(
    context: BrowserContext, server: Served, age_days: float, is_old: bool
) -> None:
    page = card_with(context, server, json.dumps(figures(age_days=age_days)))
    page.locator("#own").wait_for()
    assert ("OLD" in page.locator("#own-date").inner_text()) is is_old


def test_figures_from_the_future_are_marked(context: BrowserContext, server: Served) -> None:
    page = card_with(context, server, json.dumps(figures(age_days=-3)))
    page.locator("#own").wait_for()
    assert "in the future" in page.locator("#own-date").inner_text()


def test_markup_in_a_name_is_shown_as_text(context: BrowserContext, server: Served) -> None:
    hostile = figures()
    name = "<img src=x onerror=alert(1)>"
    hostile["systems"][0]["name"] = name
    page = card_with(context, server, json.dumps(hostile))
    page.locator("#own").wait_for()
    assert page.locator("#own-systems h3").inner_text() == name
    assert page.locator("#own img").count() == 0


def changed(**changes: object) -> str:
    value = copy.deepcopy(figures())
    system = value["systems"][0]
    for key, content in changes.items():
        target = value if key in value else system
        target[key] = content
    return json.dumps(value)


def rescued(instead: object = None, **changes: object) -> str:
    """Return figures whose rescue is changed."""
    rescue = copy.deepcopy(figures()["systems"][0]["rescue"])
    return changed(rescue=instead if instead is not None else rescue | changes)


def rescued_change(**changes: object) -> str:
    """Return figures whose first water change is changed."""
    rows = copy.deepcopy(figures()["systems"][0]["rescue"]["changes"])
    return rescued(changes=[rows[0] | changes, *rows[1:]])


HOSTILE = {
    "not json": "{",
    "empty": "",
    "null": "null",
    "a list": "[]",
    "a number": "3",
    "other format": changed(format="other"),
    "newer version": changed(version=3),
    "older version": changed(version=1),
    "no version": changed(version=None),
    "version is text": changed(version="2"),
    "half written": json.dumps(figures())[:700],
    "no zone": changed(saved_at="2026-11-01T10:00:00"),
    "no date": changed(saved_at="2026-13-45T99:00:00Z"),
    "date is a number": changed(saved_at=1),
    "no systems": changed(systems=[]),
    "systems is text": changed(systems="Kettle"),
    "system is null": changed(systems=[None]),
    "a thousand systems": changed(systems=[figures()["systems"][0]] * 1000),
    "nothing of the system is in order": changed(net_volume_L=None, phones=[None]),
    "volume alone is there and wrong": changed(net_volume_L=[495, 450, 405], phones=[]),
}


# What is odd in them, and words of the rest, which must stay.
ODD_PARTS = {
    "no name": (changed(name=""), "Your system"),
    "name is an object": (changed(name={"toString": "x"}), "Your system"),
    "endless name": (changed(name="x" * 10_000), "450 L"),
    "volume is text": (changed(net_volume_L=["405", "450", "495"]), "+49 (30) 123-456"),
    "volume zero": (changed(net_volume_L=[0, 0, 0]), "+49 (30) 123-456"),
    "volume negative": (changed(net_volume_L=[-1, 450, 495]), "+49 (30) 123-456"),
    "volume upside down": (changed(net_volume_L=[495, 450, 405]), "+49 (30) 123-456"),
    "volume too large": (changed(net_volume_L=[1, 2, 1e9]), "+49 (30) 123-456"),
    "volume infinite": (
        changed(net_volume_L=[1, 2, 3]).replace("[1, 2, 3]", "[1, 2, 1e999]"),
        "+49 (30) 123-456",
    ),
    "volume short": (changed(net_volume_L=[450]), "+49 (30) 123-456"),
    "limewater negative": (changed(limewater_L_per_day=-1), "450 L"),
    "pump is text": (changed(pump_L_per_h="fast"), "450 L"),
    "fresh water is endless": (changed(fresh_water_container_L=1e300), "450 L"),
    "calcium is text": (rescued_change(calcium_mg_per_L="421"), "45 L"),
    "calcium is huge": (rescued_change(calcium_mg_per_L=1e300), "45 L"),
    "salt water is text": (changed(salt_water_ready_L="lots"), "450 L"),
    "phones is an object": (changed(phones={}), "450 L"),
    "phone is a script": (
        changed(phones=[{"label": "Vet", "number": "javascript:alert(1)"}]),
        "450 L",
    ),
    "phone without label": (changed(phones=[{"number": "112"}]), "450 L"),
    "phone is null": (changed(phones=[None]), "450 L"),
    "phone of 41 signs": (changed(phones=[{"label": "Vet", "number": "1" * 41}]), "450 L"),
    "worst is text": (changed(worst="pH 9"), "450 L"),
    "worst holds a number": (changed(worst=[9.5]), "450 L"),
    "worst is endless": (changed(worst=["x" * 10_000]), "450 L"),
    "worst holds a thousand": (changed(worst=["pH 9."] * 1000), "450 L"),
    "stop safe is null inside": (changed(stop_safe=[None]), "450 L"),
    "readings is an object": (changed(readings={"pH": 8}), "450 L"),
    "reading without time": (changed(readings=[{"label": "pH", "value": "8.3"}]), "450 L"),
    "reading of a wrong time": (
        changed(readings=[{"label": "pH", "value": "8.3", "at": "yesterday"}]),
        "450 L",
    ),
    "rescue is text": (rescued("50 %"), "45 L"),
    "rescue in another unit": (rescued(alkalinity_unit="toString"), "45 L"),
    "rescue of a huge pH": (rescued_change(pH=[8.9, 9.0, 1e300]), "45 L"),
    "rescue of a pH as text": (rescued_change(pH=["8.9", "9.0", "9.1"]), "45 L"),
    "rescue upside down": (rescued_change(pH=[9.1, 9.0, 8.9]), "45 L"),
    "rescue of an infinite alkalinity": (
        rescued_change(alkalinity=[9.0, 123456.5]).replace("123456.5", "1e999"),
        "45 L",
    ),
    "rescue of a negative alkalinity": (rescued_change(alkalinity=[-1, 9.0]), "45 L"),
    "rescue of a share that nobody asked": (rescued_change(percent=90), "45 L"),
    "rescue without its start": (rescued(**{"from": ""}), "45 L"),
    "one bad system of two": (
        json.dumps(figures() | {"systems": [{"name": "Second"}, figures()["systems"][0]]}),
        "450 L",
    ),
}
WORDS_FOR_NUMBERS = ("112 or 999", "0123 456 ext. 4", "Tel. 0123/456-78, ask for Ms Lindqvist")


def test_one_odd_part_leaves_the_rest_of_the_own_figures(
    context: BrowserContext, server: Served
) -> None:
    seen = record(context, server.url)
    page = context.new_page()
    page.goto(server.url + "emergency.html")
    for what, (text, kept) in ODD_PARTS.items():
        store(page, text)
        page.reload()
        page.locator("#own").wait_for()
        own = page.locator("#own-systems").inner_text().replace("\u00a0", " ")
        assert kept in own, what
        assert "could not be read and is left out" in own, what
        for wrong in ("javascript", "1e999", "NaN", "undefined", "null", "-1", "x" * 61):
            assert wrong not in own, what
    assert_general_card(page)
    seen.assert_clean()


def test_number_in_words_is_shown_beside_the_figures_and_not_dialled(
    context: BrowserContext, server: Served
) -> None:
    phones = [{"label": f"Phone {i}", "number": n} for i, n in enumerate(WORDS_FOR_NUMBERS)]
    dialled = {"label": "Vet", "number": "+49 (30) 123-456"}
    page = card_with(context, server, changed(phones=[*phones, dialled]))
    page.locator("#own").wait_for()
    own = page.locator("#own-systems").inner_text()
    for phone_of in phones:
        assert f"{phone_of['label']}: {phone_of['number']}" in own
    links = page.locator("#own-systems a")
    assert [link.get_attribute("href") for link in links.all()] == ["tel:+4930123456"]
    assert "left out" not in own


def test_largest_system_that_can_be_set_up_keeps_its_figures(
    context: BrowserContext, server: Served
) -> None:
    # engine/records.py: 200,000 L, uncertain by one half; containers of 50,000 L
    large = changed(
        net_volume_L=[100_000, 200_000, 300_000],
        limewater_L_per_day=20_000,
        lime_container_L=50_000,
        salt_water_ready_L=200_000,
        name="N" * 60,
    )
    page = card_with(context, server, large)
    page.locator("#own").wait_for()
    own = page.locator("#own-systems").inner_text().replace("\u00a0", " ")
    for shown in ("200,000 L", "300,000 L", "20,000 L", "50,000 L", "N" * 60):
        assert shown in own
    assert "left out" not in own


def says_general_card_only(page: Page, seen: Record) -> bool:
    for _ in range(1200):
        if any(line.startswith("General card only") for line in seen.console):
            return True
        page.wait_for_timeout(50)
    return False


def test_anything_malformed_leaves_the_general_card(
    context: BrowserContext, server: Served
) -> None:
    seen = record(context, server.url)
    page = context.new_page()
    page.goto(server.url + "emergency.html")
    for what, text in HOSTILE.items():
        seen.console.clear()
        store(page, text)
        page.reload()
        assert says_general_card_only(page, seen), what
        assert not page.locator("#own").is_visible(), what
        assert page.locator("#own-systems").inner_text() == "", what
        assert page.locator("#own-date").text_content() == "", what
        assert page.locator(".now li").count() >= 9, what
    assert_general_card(page)
    seen.assert_clean()


def demo_figures() -> dict[str, Any]:
    """Return what the app itself writes for the demo's log, with three numbers to call."""
    demo = load(DEMO.read_text(encoding="utf-8"))
    log = with_records(Snapshot(now=demo.now), demo.records, demo.records[0].system, demo.now)
    found = for_card(demo.records, decided(log), demo.now, DangerBook())
    found["saved_at"] = datetime.now(UTC).isoformat()
    found["systems"][0]["phones"] = [
        {"label": label, "number": "030 555 0101"}
        for label in ("Vet", "Poison centre", "Emergency")
    ]
    return found


@pytest.mark.parametrize("kept", [None, figures, demo_figures])
def test_the_card_prints_on_one_page(
    context: BrowserContext, server: Served, kept: Callable[[], dict[str, Any]] | None
) -> None:
    page = card_with(context, server, json.dumps(kept()) if kept else "null")
    if kept:
        page.locator("#own").wait_for()
    printed = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1


@pytest.mark.parametrize("percent", [100, 200])
def test_no_number_of_the_water_changes_is_torn_in_large_text(
    context: BrowserContext, server: Served, percent: int
) -> None:
    page = card_with(context, server, json.dumps(demo_figures()))
    page.locator("#own table").wait_for()
    page.evaluate("(p) => { document.documentElement.style.fontSize = `${p}%`; }", percent)
    for cell in page.locator("#own td").all():
        wide = cell.bounding_box()["width"]
        size = cell.evaluate("(e) => parseFloat(getComputedStyle(e).fontSize)")
        assert wide > 6.5 * size, (wide, size)  # "13.5 dKH, " beside nothing else


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_large_text_does_not_run_off_the_screen(
    context: BrowserContext, server: Served, width: int
) -> None:
    page = card_with(context, server, json.dumps(figures()))
    page.locator("#own").wait_for()
    page.set_viewport_size({"width": width, "height": 844})
    page.evaluate("document.documentElement.style.fontSize = '32px'")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
