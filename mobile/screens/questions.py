"""A page of set-up questions, with the keypad for its numbers."""

from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from typing import Any

import flet as ft

from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.figure import figure
from mobile.components.guarded import guarded
from mobile.components.keypad import keypad
from mobile.components.once import use_once
from mobile.state import setup_draft, setup_pages
from mobile.state.setup_asks import Ask, Page
from mobile.state.setup_draft import Answers
from mobile.texts.setup import TEXTS


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """How a page of questions is reached and left."""

    page: Page
    before: Mapping[str, Any]
    finish: Callable[[Mapping[str, Any]], Awaitable[bool]]
    leave: Callable[[Mapping[str, Any]], Awaitable[None]]
    button: str
    progress: str = ""


_MOST_IN_A_COLUMN = 8  # more options are short ones, such as months

Change = Callable[[Answers], None]


@ft.component
@guarded
def Questions(walk: Walk) -> ft.Control:
    """Return a page's questions with the keypad for its numbers."""
    store = use_store()
    answers, set_answers = ft.use_state(setup_draft.opened(walk.page, walk.before))

    once = use_once()

    def change(new: Answers) -> None:
        store.version.hold(held=True)
        set_answers(new)

    async def go_on() -> bool:
        read = setup_draft.taken(walk.page, answers, store.snapshot.alkalinity_unit)
        set_answers(read)
        return not read.faults and await walk.finish(read.before)

    async def go_back() -> None:
        await walk.leave(setup_draft.left(walk.page, answers))

    asks = [ask for ask in walk.page.asks if ask.matters(answers.before)]
    return basics.column(
        basics.paragraph(walk.progress, quiet=True) if walk.progress else None,
        basics.heading(walk.page.title),
        basics.paragraph(walk.page.about),
        *(
            control
            for ask in asks
            for control in _with_keys(ask, answers, change, store.snapshot.alkalinity_unit)
        ),
        *(basics.state_line("danger", fault, key="fault") for fault in answers.faults),
        basics.main_button(walk.button, basics.does(once, go_on), key="go-on"),
        basics.side_button(
            TEXTS[f"tool_{walk.page.key}"], lambda _event: store.go(walk.page.tool), key="tool"
        )
        if walk.page.tool
        else None,
        basics.side_button(TEXTS["previous"], basics.does(go_back), key="go-back"),
    )


def _with_keys(
    ask: Ask, answers: Answers, change: Change, alkalinity_unit: str
) -> list[ft.Control]:
    """Return a question, with the keypad right below the number that it fills."""
    controls = [_ask(ask, answers, change, alkalinity_unit)]
    if ask.may_clear and answers.before.get(ask.key) is not None:
        controls.append(
            basics.quiet_button(
                TEXTS["clear"].format(what=ask.label),
                lambda _event: change(setup_draft.cleared(answers, ask)),
                key=f"clear-{ask.key}",
            )
        )
    if ask.key == answers.active:
        sign = ":" if ask.is_clock else "."
        controls.append(
            keypad(
                lambda key: change(setup_draft.pressed(answers, sign if key == "." else key)), sign
            )
        )
    return controls


def _ask(ask: Ask, answers: Answers, change: Change, alkalinity_unit: str) -> ft.Control:
    if ask.options:
        return _options(ask, answers, change)
    if ask.words:
        return ft.TextField(
            label=ask.label,
            helper=ask.hint or None,
            value=answers.texts.get(ask.key, str(answers.before.get(ask.key) or "")),
            text_size=theme.BODY,
            on_change=lambda event: change(
                setup_draft.with_words(answers, ask, event.control.value or "")
            ),
            key=f"words-{ask.key}",
        )
    value = setup_pages.shown(ask, answers.before, alkalinity_unit)
    return figure(
        key=ask.key,
        label=ask.label,
        hint=ask.hint,
        typed=answers.texts.get(ask.key, ""),
        instead="–" if answers.before.get(ask.key) is None else value,
        units=ask.units,
        unit=answers.unit(ask),
        active=answers.active == ask.key,
        large=False,
        activate=lambda: change(setup_draft.activated(answers, ask)),
        choose_unit=lambda unit: change(setup_draft.with_unit(answers, ask, unit)),
    )


def _options(ask: Ask, answers: Answers, change: Change) -> ft.Control:
    buttons = [
        basics.choice_button(
            TEXTS[f"option_{option}"],
            taken=answers.before.get(ask.key) == option,
            on_click=lambda _event, option=option: change(
                setup_draft.with_option(answers, ask, option)
            ),
            key=f"{ask.key}-{option}",
        )
        for option in ask.options
    ]
    short = len(buttons) == 2 or len(buttons) > _MOST_IN_A_COLUMN
    layout = basics.row(*buttons) if short else basics.column(*buttons, spacing=8)
    return basics.column(
        basics.paragraph(ask.label, quiet=True),
        basics.paragraph(ask.hint, quiet=True) if ask.hint else None,
        layout,
        spacing=6,
    )
