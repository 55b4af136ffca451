"""Mix: guided procedures, one act a page, resumed where they were left."""

import asyncio
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import flet as ft

from engine.procedure_answers import Answered, Held, RunDraft, answer_step, start, stop
from engine.procedure_schema import Procedure
from engine.procedures import Progress, RunState, progress
from engine.records import ProcedureRun
from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.components.keypad import keypad
from mobile.procedures import KEYS, all_procedures, load_procedure
from mobile.state.entry import press_text
from mobile.state.mix import START, MixOption, MixView, confirm_label, held_sentence, mix_view
from mobile.state.mix_facts import WEIGHED, mix_facts
from mobile.state.running import running
from mobile.state.snapshot import Snapshot
from mobile.store import Store
from mobile.texts.app import TEXTS as APP
from mobile.texts.mix_page import TEXTS
from mobile.texts.procedures import TEXTS as PROCEDURES

TICK_SECONDS: Final = 20


def where(procedure: Procedure, snapshot: Snapshot) -> Progress:
    """Return where the newest run of a procedure stands."""
    runs = (r for r in snapshot.standing if isinstance(r, ProcedureRun))
    return progress(procedure, runs, snapshot.now)


@ft.component
@guarded
def Mix() -> ft.Control:
    """Return the list of procedures."""
    store = use_store()
    snapshot = store.snapshot
    paused = running(snapshot)
    return basics.column(
        basics.heading(APP["mix"]),
        basics.paragraph(TEXTS["about"]),
        basics.state_line("warn", paused.paused) if paused and paused.paused else None,
        *(
            basics.list_button(
                PROCEDURES[procedure.key],
                _list_line(procedure, snapshot),
                lambda _event, key=procedure.key: store.go(f"/mix/{key}"),
                key=f"procedure-{procedure.key}",
            )
            for procedure in all_procedures()
        ),
        spacing=theme.GAP,
    )


def _list_line(procedure: Procedure, snapshot: Snapshot) -> str:
    at = where(procedure, snapshot)
    if at.state is RunState.OPEN and at.step is not None:
        place = procedure.position(at.step.key) + 1
        return TEXTS["under_way"].format(place=place, steps=len(procedure.steps))
    return PROCEDURES[f"{procedure.key}_about"]


@dataclass(frozen=True, slots=True)
class _Page:
    """The page's own state: a finding, an amount being typed, what is unfolded."""

    held: Held | None = None
    held_answer: str = ""
    typing: bool = False
    typed: str = ""
    asking_stop: bool = False
    ahead: bool = False


@dataclass(frozen=True, slots=True)
class _Acts:
    """What can be done on a procedure's page."""

    store: Store
    procedure: Procedure
    shown: str  # the step that is on the screen; empty where none is
    set_page: Callable[[Any], None]

    async def answer(self, answer: str, confirmed: bool = False) -> None:
        snapshot = self.store.snapshot
        at = where(self.procedure, snapshot)
        if self.shown != (at.step.key if at.step and at.state is RunState.OPEN else ""):
            return  # a second, quick tap: it was meant for the step before
        facts = mix_facts(snapshot, at.run)
        if answer == START:
            facts = mix_facts(snapshot)
            found = _with_powder(start(self.procedure, at, self.store.new_run_id(), facts), facts)
        else:
            found = answer_step(
                self.procedure, at, answer, facts=facts, now=self.store.now(), confirmed=confirmed
            )
        await self._put(found, answer)

    async def stop(self) -> None:
        await self._put(stop(self.procedure, where(self.procedure, self.store.snapshot)), "")

    async def _put(self, found: Answered | Held, answer: str) -> None:
        if isinstance(found, Held):
            self.set_page(_Page(held=found, held_answer=answer))
            return
        if await self.store.save_drafts(found.drafts):
            self.set_page(_Page())


def _with_powder(found: Answered | Held, facts: Mapping[str, float | str]) -> Answered | Held:
    """Let a start record the powder that its run will ask for."""
    if isinstance(found, Held) or WEIGHED not in facts:
        return found
    return Answered(
        tuple(
            replace(draft, answer=f"{facts[WEIGHED]:.6g}") if isinstance(draft, RunDraft) else draft
            for draft in found.drafts
        )
    )


@ft.component
@guarded
def MixRun() -> ft.Control:
    """Return the page of one procedure."""
    key = ft.use_route_params().get("procedure", "")
    if key not in KEYS:
        return basics.paragraph(APP["not_found"])
    return ProcedurePage(load_procedure(key), key=f"run-{key}")


@ft.component
@guarded
def ProcedurePage(procedure: Procedure) -> ft.Control:
    """Return the current step of a procedure, or how to begin it."""
    store = use_store()
    page, set_page = ft.use_state(_Page())
    snapshot = store.snapshot
    at = where(procedure, snapshot)
    run = at.run if at.state is RunState.OPEN else ""
    view = mix_view(procedure, at, mix_facts(snapshot, run), snapshot.now)
    acts = _Acts(store, procedure, view.step_key, set_page)
    _use_ticking(store, view)
    return basics.column(
        basics.paragraph(view.title + (f" – {view.place}" if view.place else ""), quiet=True),
        basics.state_line("warn", view.paused, key="paused") if view.paused else None,
        basics.lead(view.sentence, key="step"),
        *(basics.paragraph(text) for text in view.notes),
        basics.state_line("danger", " ".join(view.hazards)) if view.hazards else None,
        *(basics.state_line("warn", text) for text in view.warnings),
        basics.paragraph(view.countdown, key="countdown") if view.countdown else None,
        _held(acts, page) if page.held else None,
        *_answers(acts, view, page, set_page),
        *_stop(acts, view, page, set_page),
        *_ahead(view, page, set_page),
        basics.side_button(TEXTS["leave"], lambda _event: store.go("/mix"), key="leave-run"),
        key=f"step-{view.step_key or view.state}",
    )


def _use_ticking(store: Store, view: MixView) -> None:
    """Draw the countdown anew now and then while a wait runs."""

    async def tick() -> None:
        while True:
            await asyncio.sleep(TICK_SECONDS)
            store.refresh_if_ready()

    task = ft.use_ref(None)

    def begin() -> None:
        if view.tick_until is not None:
            task.current = asyncio.create_task(tick())

    def end() -> None:
        if task.current is not None:
            task.current.cancel()
            task.current = None

    ft.use_effect(begin, dependencies=[view.tick_until], cleanup=end)


def _button(option: MixOption, acts: _Acts) -> ft.Control:
    work = basics.does(acts.answer, option.answer)
    key = f"answer-{option.answer}"
    if option.weight == "primary":
        return basics.main_button(option.label, work, key=key, disabled=acts.store.snapshot.saving)
    return basics.side_button(option.label, work, key=key, danger=option.weight == "stop")


def _answers(
    acts: _Acts, view: MixView, page: _Page, set_page: Callable[[Any], None]
) -> list[ft.Control]:
    if page.typing and view.amount is not None:
        return [
            ft.Text(
                f"{page.typed or '–'} {view.amount.unit}", size=theme.FIGURE, key="figure-amount"
            ),
            keypad(lambda key: set_page(_Page(typing=True, typed=press_text(page.typed, key)))),
            basics.main_button(
                TEXTS["use_amount"], basics.does(acts.answer, page.typed), key="use-amount"
            ),
        ]
    buttons = [_button(option, acts) for option in view.options]
    if view.amount is not None:
        buttons.append(
            basics.side_button(
                view.amount.other_label,
                lambda _event: set_page(_Page(typing=True)),
                key="other-amount",
            )
        )
    return buttons


def _held(acts: _Acts, page: _Page) -> ft.Control:
    held = page.held
    if held is None:
        return basics.column()
    ways = []
    if held.may_confirm:
        ways.append(
            basics.side_button(
                confirm_label(held),
                basics.does(acts.answer, page.held_answer, confirmed=True),
                key="confirm-amount",
            )
        )
    said = basics.state_line("warn", held_sentence(held), key="held")
    return basics.sheet(said, *ways, edge=theme.WARN, key="held-sheet")


def _stop(
    acts: _Acts, view: MixView, page: _Page, set_page: Callable[[Any], None]
) -> list[ft.Control]:
    if not view.may_stop:
        return []
    if not page.asking_stop:
        return [
            basics.side_button(
                view.stop_label, lambda _event: set_page(_Page(asking_stop=True)), key="stop-run"
            )
        ]
    return [
        basics.sheet(
            basics.paragraph(view.stop_ask),
            basics.side_button(
                TEXTS["stop_yes"], basics.does(acts.stop), key="stop-yes", danger=True
            ),
            basics.side_button(TEXTS["stop_no"], lambda _event: set_page(_Page()), key="stop-no"),
            edge=theme.DANGER,
        )
    ]


def _ahead(view: MixView, page: _Page, set_page: Callable[[Any], None]) -> list[ft.Control]:
    if not view.read_ahead:
        return []
    label = TEXTS["ahead_hide" if page.ahead else "ahead_show"]
    button = basics.side_button(
        label, lambda _event: set_page(_Page(ahead=not page.ahead)), key="ahead"
    )
    steps = [basics.paragraph(f"{i}. {text}") for i, text in enumerate(view.read_ahead, start=1)]
    return [button, *(steps if page.ahead else [])]
