"""No way round a gate: deep links, going back, a reload, a second window, a run of version 1."""

import asyncio
from datetime import timedelta

import pytest

from engine.procedures.schema import StepKind
from engine.records import ProcedureEvent, ProcedureRun
from mobile.host import DesktopHost
from mobile.procedures import load_procedure
from mobile.storage.migrations import migrate
from mobile.texts.procedures import TEXTS
from tests.mobile.test_screens_mix import PATH, STEPS, begun, go_on, step
from tests.support.app import START, Phone, Running, first_records

GATES = [key for key, each in STEPS.items() if each.kind is StepKind.GATE]


def answered(app: Running) -> list[str]:
    return [r["step"] for r in app.stored("procedure_run") if r["event"] == "step_done"]


@pytest.mark.parametrize("link", ["weigh", "rest", "pour?answer=done", "step/look", "weigh/done"])
async def test_a_link_to_a_later_step_leads_to_no_step(app: Running, link: str):
    await begun(app, "goggles")
    before = app.stored()
    await app.go(f"{PATH}/{link}")
    assert app.stored() == before
    assert not app.has("step-weigh")
    await app.go(PATH)
    assert step(app) == "goggles"


async def test_leaving_and_coming_back_passes_no_gate(phone: Phone, app: Running):
    for key in GATES[:6]:
        await begun(app, key) if not app.stored("procedure_run") else await _to(app, key)
        before = answered(app)
        for path in ("/", "/mix", "/history", "/mix/dispose", PATH):
            await app.go(path)
        assert step(app) == key
        app = await phone.reopen(app)  # a reload: only what was saved is there
        await app.go(PATH)
        assert (step(app), answered(app)) == (key, before)


async def _to(app: Running, key: str) -> None:
    while step(app) != key:
        await go_on(app)


async def test_a_second_window_neither_answers_nor_falls_behind(phone: Phone, app: Running):
    await begun(app, "goggles")
    host = DesktopHost()
    host.join(app.host)
    second = await phone.open(host=host)
    await second.go(PATH)
    assert step(second) == "goggles"
    await second.tap("answer-on")
    assert second.notice.startswith("NOT saved")
    assert (step(second), answered(app)[-1]) == ("goggles", "phone")
    await app.tap("answer-on")
    for _ in range(3):
        for window in (app, second):
            await window.screen.settle()
            await asyncio.sleep(0)
    assert step(second) == step(app) == "mask"
    await second.tap("use-here")
    await second.tap("answer-on")  # the mask's own act, in the window that writes now
    assert answered(second)[-2:] == ["goggles", "mask"]


async def test_a_wait_outlives_a_kill_and_tells_when_it_ended(phone: Phone, app: Running):
    await begun(app, "rest")
    ends = app.clock() + timedelta(hours=4)
    app.clock.move(hours=6)
    app = await phone.reopen(app)
    await app.go(PATH)
    assert step(app) == "rest"
    assert app.says(f"The wait ended at {ends:%H:%M}, 2 h ago.")
    assert app.has("answer-continue")


async def test_a_wait_that_is_not_over_still_holds_after_a_kill(phone: Phone, app: Running):
    await begun(app, "rest")
    app.clock.move(hours=1)
    app = await phone.reopen(app)
    await app.go(PATH)
    assert not app.has("answer-continue")
    assert not app.has("answer-continue_early")
    assert app.says("until you may go on")


# ---- a recharge begun under data version 1


def run_of_version_1(until: str) -> tuple[ProcedureRun, ...]:
    """Return a run as version 1 kept it: no way of delivery, the grams as the start's answer."""
    frame = {"v": 1, "kind": "procedure_run", "system": "reef", "note": "", "typed": ""}
    times = {"at": START.isoformat(), "recorded_at": START.isoformat()}
    run = {"run": "old", "procedure": "recharge_vessel"}
    kept = [{"event": "started", "step": "", "answer": "97"}]
    for key, each in STEPS.items():
        if key == until:
            break
        answer = "97" if each.amount else "continue" if each.timer else each.options[0].answer
        kept.append({"event": "step_done", "step": key, "answer": answer})
    found, rest = [], list(STEPS).index("rest")
    for number, part in enumerate(kept):
        old = {**frame, **times, **run, **part, "id": f"reef:{number + 3}"}
        assert "delivery" not in old
        assert "facts" not in old
        new = {k: v for k, v in migrate(old).items() if k not in ("v", "kind")}
        # a step every six minutes, so that the stirring was over; five hours for the rest
        at = START - timedelta(days=1) + timedelta(minutes=6 * number)
        at += timedelta(hours=5) if number > rest else timedelta(0)
        new |= {"at": at, "recorded_at": at, "event": ProcedureEvent(new["event"])}
        found.append(ProcedureRun(**new))
    return tuple(found)


@pytest.mark.parametrize("until", ["label", "weigh", "leak", "rest", "gloves_again"])
async def test_a_recharge_of_version_1_goes_on_where_it_stood(phone: Phone, until: str):
    runs = run_of_version_1(until)
    app = await phone.open(records=(*first_records(), *runs))
    await app.go(PATH)
    assert step(app) == until
    if until == "weigh":
        assert app.text("step") == "Weigh 97 g of powder into the jar, on the scale."
    while step(app) in STEPS:
        await go_on(app)
    assert app.text("step") == TEXTS["recharge_vessel_finished"]
    made = app.stored("recharge")
    order = list(STEPS)
    expected = [97.0] if order.index(until) <= order.index("pour") else []
    assert [r["powder_g"] for r in made] == expected


def test_the_steps_of_version_1_are_still_those_of_now():
    """Its first file is in the history; a run on disk names these keys."""
    assert load_procedure("recharge_vessel").position("look") == len(STEPS) - 1
