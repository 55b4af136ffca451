"""The first run and Setup: the same pages of questions, walked through or opened one by one."""

from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Final

import flet as ft

from engine.records import DeliverySetting, Record, SecondSourceSetting
from engine.records import Setup as SetupRecord
from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.figure import figure
from mobile.components.guarded import guarded
from mobile.components.keypad import keypad
from mobile.components.once import use_once
from mobile.screens.records_care import RecordsCare
from mobile.state import setup_draft, setup_pages
from mobile.state.sentences import ALKALINITY_UNITS
from mobile.state.setup_draft import Answers
from mobile.state.setup_pages import BY_KEY, FIRST_RUN, PAGES, Ask, Page
from mobile.store import Store
from mobile.texts.app import TEXTS as APP
from mobile.texts.setup import TEXTS


@ft.component
@guarded
def Welcome() -> ft.Control:
    """Return what a first visit shows."""
    store = use_store()
    draft = store.setup_draft()
    begun = draft.get("page") in {page.key for page in FIRST_RUN}
    first = draft["page"] if begun else FIRST_RUN[0].key
    return basics.column(
        basics.heading(TEXTS["welcome_title"]),
        basics.lead(TEXTS["welcome"]),
        basics.state_line("danger", TEXTS["welcome_caution"]),
        basics.main_button(
            TEXTS["welcome_resume" if begun else "welcome_start"],
            lambda _event: store.go(f"/new/{first}"),
            key="start-setup",
        ),
        basics.side_button(TEXTS["welcome_demo"], store.enter_demo, key="enter-demo"),
        basics.side_button(
            TEXTS["welcome_import"], lambda _event: store.go("/setup"), key="bring-records"
        ),
        spacing=20,
    )


@ft.component
@guarded
def Setup() -> ft.Control:
    """Return the list of set-up pages, and the care of the records."""
    store = use_store()
    snapshot = store.snapshot
    if snapshot.setup is None:
        back = basics.side_button(APP["back"], lambda _event: store.go("/"), key="to-welcome")
        return basics.column(basics.heading(APP["setup"]), RecordsCare(), back)
    draft = setup_pages.draft_of(snapshot.setup)
    unit = snapshot.alkalinity_unit
    return basics.column(
        basics.heading(APP["setup"]),
        *_systems(store),
        *(
            basics.list_button(
                page.title,
                _answers_line(page, draft, unit),
                lambda _event, key=page.key: store.go(f"/setup/{key}"),
                key=f"page-{page.key}",
            )
            for page in PAGES
            if page.key != "start"
        ),
        basics.paragraph(TEXTS["unit"], quiet=True),
        basics.row(
            *(
                basics.choice_button(
                    name,
                    taken=name == unit,
                    on_click=basics.does(store.choose_unit, name),
                    key=f"unit-{index}",
                )
                for index, name in enumerate(ALKALINITY_UNITS)
            )
        ),
        basics.list_button(
            TEXTS["another_system"],
            "",
            lambda _event: store.go(f"/new/{FIRST_RUN[0].key}"),
            key="another-system",
            icon=ft.Icons.ADD,
        ),
        RecordsCare(),
        spacing=theme.GAP,
    )


def _systems(store: Store) -> list[ft.Control]:
    snapshot = store.snapshot
    if len(snapshot.systems) < 2:
        return []
    return [
        basics.paragraph(TEXTS["systems"], quiet=True),
        basics.row(
            *(
                basics.choice_button(
                    name,
                    taken=system == snapshot.system,
                    on_click=basics.does(store.choose_system, system),
                    key=f"system-{system}",
                )
                for system, name in snapshot.systems
            )
        ),
    ]


def _answers_line(page: Page, draft: Mapping[str, Any], unit: str) -> str:
    said = [setup_pages.shown(ask, draft, unit) for ask in page.asks if ask.matters(draft)]
    return " · ".join(said)


@ft.component
@guarded
def SetupPage() -> ft.Control:
    """Return one page of the current set-up, opened from Setup."""
    store = use_store()
    page = BY_KEY.get(ft.use_route_params().get("page", ""))
    if page is None or store.snapshot.setup is None:
        return basics.paragraph(APP["not_found"])

    async def finish(draft: Mapping[str, Any]) -> bool:
        record = store.make(SetupRecord, setup_pages.setup_fields(draft))
        saved = await store.save_setup([record])
        if saved:
            store.go_on("/setup")
        return saved

    async def leave(_draft: Mapping[str, Any]) -> None:
        store.go("/setup")

    before = setup_pages.draft_of(store.snapshot.setup)
    return Questions(
        _Walk(page=page, before=before, finish=finish, leave=leave, button=TEXTS["use"]),
        key=f"questions-{page.key}",
    )


@ft.component
@guarded
def NewSystemPage() -> ft.Control:
    """Return one page of the first run, or of another system's."""
    store = use_store()
    page = BY_KEY.get(ft.use_route_params().get("page", ""))
    if page is None or page not in FIRST_RUN:
        return basics.paragraph(APP["not_found"])
    step = FIRST_RUN.index(page)
    last = step == len(FIRST_RUN) - 1
    before = {**setup_pages.OFFERED, **store.setup_draft().get("answers", {})}

    async def finish(draft: Mapping[str, Any]) -> bool:
        if last:
            return await _save_new(store, draft)
        following = FIRST_RUN[step + 1].key
        kept = await store.keep_setup_draft({"page": following, "answers": dict(draft)})
        if kept:
            store.go(f"/new/{following}")
        return kept

    async def leave(draft: Mapping[str, Any]) -> None:
        if draft == before or await store.keep_setup_draft({"page": page.key, "answers": draft}):
            store.go(back)
        else:
            store.go_on(back)

    back = f"/new/{FIRST_RUN[step - 1].key}" if step else "/"

    return Questions(
        _Walk(
            page=page,
            before=before,
            finish=finish,
            leave=leave,
            button=TEXTS["finish" if last else "next"],
            progress=TEXTS["step_of"].format(step=step + 1, steps=len(FIRST_RUN)),
        ),
        key=f"questions-{page.key}",
    )


async def _save_new(store: Store, draft: Mapping[str, Any]) -> bool:
    system = store.new_system_id()
    made: list[Record] = [store.make(SetupRecord, setup_pages.setup_fields(draft), system=system)]
    since = store.now() - timedelta(days=setup_pages.SINCE_DAYS[draft["set_since"]])
    for field_name, record_class in _SET_NOW.items():
        if draft.get(field_name) is not None:
            fields = {field_name: draft[field_name]}
            made.append(store.make(record_class, fields, at=since, system=system))
    saved = await store.save_setup(made)
    if saved:
        store.go_on("/")
    return saved


_SET_NOW: Final[dict[str, type[Record]]] = {
    "limewater_L_per_day": DeliverySetting,
    "alkalinity_meq_per_day": SecondSourceSetting,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Walk:
    """How a page of questions is reached and left."""

    page: Page
    before: Mapping[str, Any]
    finish: Callable[[Mapping[str, Any]], Awaitable[bool]]
    leave: Callable[[Mapping[str, Any]], Awaitable[None]]
    button: str
    progress: str = ""


Change = Callable[[Answers], None]
_DRAWN_FIRST: Final = "name"


@ft.component
@guarded
def Questions(walk: _Walk) -> ft.Control:
    """Return a page's questions with the keypad for its numbers."""
    store = use_store()
    answers, set_answers = ft.use_state(setup_draft.opened(walk.page, walk.before))

    once = use_once()

    def change(new: Answers) -> None:
        store.hold_updates(held=True)
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
        *(basics.state_line("danger", fault, key="fault") for fault in answers.faults),
        *(
            control
            for ask in asks
            for control in _with_keys(ask, answers, change, store.snapshot.alkalinity_unit)
        ),
        basics.main_button(walk.button, basics.does(once, go_on), key="go-on"),
        basics.side_button(TEXTS["previous"], basics.does(go_back), key="go-back"),
    )


def _with_keys(
    ask: Ask, answers: Answers, change: Change, alkalinity_unit: str
) -> list[ft.Control]:
    """Return a question, with the keypad right below the number that it fills."""
    controls = [_ask(ask, answers, change, alkalinity_unit)]
    if ask.key == answers.active:
        controls.append(keypad(lambda key: change(setup_draft.pressed(answers, key))))
    return controls


def _ask(ask: Ask, answers: Answers, change: Change, alkalinity_unit: str) -> ft.Control:
    if ask.options:
        return _options(ask, answers, change)
    if ask.words:
        return ft.TextField(
            label=ask.label,
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
    layout = basics.row(*buttons) if len(buttons) == 2 else basics.column(*buttons, spacing=8)
    return basics.column(
        basics.paragraph(ask.label, quiet=True),
        basics.paragraph(ask.hint, quiet=True) if ask.hint else None,
        layout,
        spacing=6,
    )
