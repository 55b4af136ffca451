"""The first run and Setup: the same pages of questions, walked through or opened one by one."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

import flet as ft

from engine.records import DeliverySetting, Record, SecondSourceSetting
from engine.records import Setup as SetupRecord
from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.screens.questions import Questions, Walk
from mobile.screens.records_care import RecordsCare
from mobile.state import second_source, setup_pages
from mobile.state.sentences import ALKALINITY_UNITS
from mobile.state.setup_asks import Page
from mobile.state.setup_pages import BY_KEY, FIRST_RUN, PAGES
from mobile.store import Store
from mobile.texts.app import TEXTS as APP
from mobile.texts.setup import TEXTS


@ft.component
@guarded
def Welcome() -> ft.Control:
    """Return what a first visit shows."""
    store = use_store()
    draft = store.choices.setup_draft()
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
            if page.in_setup
        ),
        basics.paragraph(TEXTS["unit"], quiet=True),
        basics.row(
            *(
                basics.choice_button(
                    name,
                    taken=name == unit,
                    on_click=basics.does(store.choices.choose_unit, name),
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
                    on_click=basics.does(store.choices.choose_system, system),
                    key=f"system-{system}",
                )
                for system, name in snapshot.systems
            )
        ),
    ]


def _answers_line(page: Page, draft: Mapping[str, Any], unit: str) -> str:
    """Return what is set on a page, one answer a line, each with its question."""
    given = [
        ask for ask in page.asks if ask.matters(draft) and draft.get(ask.key) not in (None, "")
    ]
    lines = (
        f"{ask.label}{'' if ask.label.endswith('?') else ':'} {setup_pages.shown(ask, draft, unit)}"
        for ask in given
    )
    return "\n".join(lines) or TEXTS["unset"]


@ft.component
@guarded
def SetupPage() -> ft.Control:
    """Return one page of the current set-up, opened from Setup."""
    store = use_store()
    page = BY_KEY.get(ft.use_route_params().get("page", ""))
    if page is None or not page.in_setup or store.snapshot.setup is None:
        return basics.paragraph(APP["not_found"])

    async def finish(draft: Mapping[str, Any]) -> bool:
        changed = setup_pages.corrected(before, draft)
        record = store.make(SetupRecord, setup_pages.setup_fields(changed))
        return await store.save_setup([record, *_restated(store, record)], then="/setup")

    async def leave(_draft: Mapping[str, Any]) -> None:
        store.go("/setup")

    before = setup_pages.draft_of(store.snapshot.setup)
    return Questions(
        Walk(page=page, before=before, finish=finish, leave=leave, button=TEXTS["use"]),
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
    before = {**setup_pages.OFFERED, **store.choices.setup_draft().get("answers", {})}
    if page.key == "limits":
        before = setup_pages.offered_ceiling(before)

    async def finish(draft: Mapping[str, Any]) -> bool:
        if last:
            return await _save_new(store, draft)
        following = FIRST_RUN[step + 1].key
        kept = await store.choices.keep_setup_draft({"page": following, "answers": dict(draft)})
        if kept:
            store.go(f"/new/{following}")
        return kept

    async def leave(draft: Mapping[str, Any]) -> None:
        if draft == before or await store.choices.keep_setup_draft(
            {"page": page.key, "answers": draft}
        ):
            store.go(back)
        else:
            store.go_on(back)

    back = f"/new/{FIRST_RUN[step - 1].key}" if step else "/"

    return Questions(
        Walk(
            page=page,
            before=before,
            finish=finish,
            leave=leave,
            button=TEXTS["finish" if last else "next"],
            progress=TEXTS["step_of"].format(step=step + 1, steps=len(FIRST_RUN)),
        ),
        key=f"questions-{page.key}",
    )


def _restated(store: Store, record: Record) -> list[Record]:
    """Return the second source's setting anew, where its strength was changed."""
    before, standing = store.snapshot.setup, store.snapshot.standing
    if before is None or not isinstance(record, SetupRecord):
        return []
    fields = second_source.restated(before, record, standing)
    return [] if fields is None else [store.make(SecondSourceSetting, fields)]


async def _save_new(store: Store, draft: Mapping[str, Any]) -> bool:
    system = store.new_system_id()
    made: list[Record] = [store.make(SetupRecord, setup_pages.setup_fields(draft), system=system)]
    since = store.now() - timedelta(days=setup_pages.SINCE_DAYS[draft["set_since"]])
    lime = draft.get("limewater_L_per_day")
    if lime is not None:
        fields = {"limewater_L_per_day": lime}
        made.append(store.make(DeliverySetting, fields, at=since, system=system))
    if second := second_source.set_now(draft):
        made.append(store.make(SecondSourceSetting, second, at=since, system=system))
    return await store.save_setup(made, then="/")
