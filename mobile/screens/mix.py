"""Mix: guided procedures, one act a page, resumed where they were left."""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import flet as ft

from engine.procedures.answers import Answered, Held, answer_step, start, stop
from engine.procedures.runs import RunState
from engine.procedures.schema import Procedure
from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.components.keypad import keypad
from mobile.components.places import use_top
from mobile.procedures import KEYS, load_procedure
from mobile.state.entry_draft import press_text
from mobile.state.mix import START, MixOption, MixView, confirm_label, held_sentence, mix_view
from mobile.state.mix_facts import mix_facts
from mobile.state.mix_list import MixEntry, mix_list, where
from mobile.state.running import running
from mobile.state.snapshot import Snapshot
from mobile.store import Store
from mobile.texts.app import TEXTS as APP
from mobile.texts.mix_page import TEXTS

TICK_SECONDS: Final = 20


@ft.component
@guarded
def Mix() -> ft.Control:
    """Return the list of procedures."""
    store = use_store()
    snapshot = store.snapshot
    paused = running(snapshot)
    view = mix_list(snapshot)
    return basics.column(
        basics.heading(APP["mix"]),
        basics.paragraph(TEXTS["about"]),
        basics.state_line("warn", paused.paused) if paused and paused.paused else None,
        *(_group(store, TEXTS["open"], view.open) if view.open else ()),
        *(
            control
            for group in view.groups
            for control in _group(store, group.title, group.entries)
        ),
        spacing=theme.GAP,
    )


def _group(store: Store, title: str, entries: tuple[MixEntry, ...]) -> list[ft.Control]:
    return [
        basics.heading(title, level=2),
        *(
            basics.list_button(
                entry.title,
                entry.detail,
                lambda _event, key=entry.key: store.go(f"/mix/{key}"),
                key=f"procedure-{entry.key}",
            )
            for entry in entries
        ),
    ]


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
        facts = mix_facts(snapshot, self.procedure, at)
        if answer == START:
            run, delivery = self.store.new_run_id(), _delivery(snapshot)
            found = start(self.procedure, at, run, facts, delivery)
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
        if await self.store.runs.save(found.drafts):
            self.set_page(_Page())


def _delivery(snapshot: Snapshot) -> str:
    return str(snapshot.setup.delivery) if snapshot.setup else ""


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
    facts = mix_facts(snapshot, procedure, at)
    view = mix_view(procedure, at, facts, snapshot.now, _delivery(snapshot))
    acts = _Acts(store, procedure, view.step_key, set_page)
    _use_ticking(store, view)
    use_top(f"{view.state} {view.step_key}")
    is_over = view.state in (RunState.FINISHED, RunState.STOPPED)

    def leave(button: Callable[..., ft.Control]) -> ft.Control:
        return button(TEXTS["leave"], lambda _event: store.go("/mix"), key="leave-run")

    return basics.column(
        basics.paragraph(" – ".join(filter(None, (view.place, view.title))), quiet=True),
        basics.state_line("warn", view.paused, key="paused") if view.paused else None,
        basics.lead(view.sentence, key="step"),
        *(basics.paragraph(text) for text in view.notes),
        *([leave(basics.main_button)] if is_over else []),
        basics.heading(TEXTS["once_more"], level=2) if is_over else None,
        basics.state_line("danger", " ".join(view.hazards)) if view.hazards else None,
        *_listed(TEXTS["tools"], view.tools),
        *_listed(TEXTS["risks"], view.risks),
        *_listed(TEXTS["first_aid"], view.first_aid),
        *(basics.state_line("warn", text) for text in view.warnings),
        basics.paragraph(view.countdown, key="countdown") if view.countdown else None,
        _held(acts, page) if page.held else None,
        *_answers(acts, view, page, set_page),
        *_stop(acts, view, page, set_page),
        *_ahead(view, page, set_page),
        None if is_over else leave(basics.side_button),
        key=f"step-{view.step_key or view.state}",
    )


def _listed(title: str, lines: tuple[str, ...]) -> list[ft.Control]:
    if not lines:
        return []
    return [basics.heading(title, level=2), *(basics.paragraph(f"• {line}") for line in lines)]


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
    if view.amount is not None and (page.typing or not view.options):
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
    if view.amount is not None and view.amount.other_label:
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
