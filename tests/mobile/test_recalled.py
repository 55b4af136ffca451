"""A recalled build: no dose anywhere, why, what still works, and how it ends."""

import re
from collections.abc import AsyncIterator
from dataclasses import replace

import pytest

from mobile.host import DesktopHost, HostError
from mobile.state.plan_pages import PLAN_PAGES
from mobile.texts.recalled import TEXTS
from tests.support.app import Phone, Running, scenario_records

WHY = "Litres were reckoned too high for small tanks."
LITRES = re.compile(r"\d\s?(?:mL|L)\b")
ROUTES = ("/", "/plan", *(page.route for page in PLAN_PAGES), "/minder", "/jobs")
NOT_OF_THE_DECISION = {"/plan/hazard"}  # what accidents do, and container sizes


@pytest.fixture
async def phone() -> AsyncIterator[Phone]:
    phone = Phone(None)
    yield phone
    await phone.close()


async def opened(phone: Phone, host: DesktopHost | None = None) -> Running:
    records = scenario_records("demo_system", phone.clock.now)
    return await phone.open(records=records, host=host or DesktopHost())


async def recall(app: Running, text: str) -> None:
    app.host.recall(text)
    await app.screen.settle()


def words(app: Running) -> str:
    return " / ".join(app.screen.texts())


async def test_every_page_with_a_dose_shows_none_and_says_why(phone: Phone) -> None:
    app = await opened(phone)
    shown_before = []
    for route in ROUTES:
        await app.go(route)
        shown_before.append(bool(LITRES.search(words(app))))
    assert shown_before.count(True) >= 4  # the test sees doses where there are some
    await recall(app, WHY)
    for route in ROUTES:
        await app.go(route)
        assert not app.failed
        if route not in NOT_OF_THE_DECISION:
            assert LITRES.findall(words(app)) == [], route
            for text in (TEXTS["lead"], WHY, TEXTS["works"], TEXTS["ends"]):
                assert app.says(text), (route, text)
    assert app.store.snapshot.decision is None


async def test_the_first_screen_of_a_recalled_build_shows_no_dose(phone: Phone) -> None:
    host = DesktopHost()
    host.recall(WHY)
    app = await opened(phone, host)
    assert app.text("decision") == TEXTS["lead"]
    assert not app.has("as-told")
    assert LITRES.findall(words(app)) == []


async def test_recording_export_and_card_work_and_the_card_holds_no_figure_of_a_plan(
    phone: Phone,
) -> None:
    app = await opened(phone)
    await app.record("total_alkalinity", "8.2")
    assert app.host.figures is not None
    assert app.host.figures["systems"][0]["stop_safe"] != []
    count = len(app.stored())
    await recall(app, WHY)
    assert app.host.figures["systems"][0]["stop_safe"] == []
    assert app.host.figures["systems"][0]["readings"] != []
    await app.record("total_alkalinity", "8.3")
    assert app.notice.startswith("Saved")
    assert len(app.stored()) == count + 1
    await app.store.transfer.export()
    assert len(app.files.saved) == 1
    assert app.store.snapshot.decision is None


def stop_safe(app: Running) -> list[bool]:
    assert app.host.figures is not None
    return [bool(system["stop_safe"]) for system in app.host.figures["systems"]]


async def test_another_system_of_the_keeper_gets_no_figure_either(phone: Phone) -> None:
    first = scenario_records("demo_system", phone.clock.now)
    second = tuple(replace(record, system="second") for record in first)
    app = await phone.open(records=(*first, *second), host=DesktopHost())
    await app.store.publish()
    assert stop_safe(app) == [True, True]
    await recall(app, WHY)
    assert stop_safe(app) == [False, False]


async def test_a_recall_that_is_lifted_gives_the_same_dose_again(phone: Phone) -> None:
    app = await opened(phone)
    before = app.text("decision")
    await recall(app, WHY)
    assert app.text("decision") == TEXTS["lead"]
    await recall(app, "")
    assert app.text("decision") == before


async def test_the_demo_gives_no_dose_either(phone: Phone) -> None:
    app = await phone.open(host=DesktopHost())
    await app.store.enter_demo()
    await recall(app, WHY)
    assert app.text("decision") == TEXTS["lead"]


@pytest.mark.parametrize("text", ["", WHY])
async def test_a_page_that_cannot_say_changes_nothing(phone: Phone, text: str) -> None:
    class Silent(DesktopHost):
        fails = False

        async def recalled(self) -> str:
            if self.fails:
                raise HostError("recalled: no answer")
            return await super().recalled()

    host = Silent()
    host.recall(text)
    app = await opened(phone, host)
    before = app.text("decision")
    host.fails = True
    await recall(app, "" if text else WHY)
    assert app.text("decision") == before
    assert (before == TEXTS["lead"]) is bool(text)
