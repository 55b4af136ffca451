"""One-off additions: what should rise, by which salt; grams a day, order, today's part in a tap."""

from collections.abc import Callable

import flet as ft

from engine.plan.additions import What
from engine.records import Addition
from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.figure import figure
from mobile.components.guarded import guarded
from mobile.components.keypad import keypad
from mobile.components.once import use_once
from mobile.screens.plan import undecided
from mobile.state import additions, additions_draft
from mobile.state.additions import Figure, Result
from mobile.state.additions_draft import Draft
from mobile.state.sentences import number
from mobile.store import Store
from mobile.texts.additions_page import TEXTS

Change = Callable[[Draft], None]


@ft.component
@guarded
def Additions() -> ft.Control:
    """Return the page of one-off additions."""
    store = use_store()
    draft, set_draft = ft.use_state(Draft())
    shown, set_shown = ft.use_state(False)
    once = use_once()
    if store.snapshot.recalled:
        return undecided(store)

    def change(new: Draft) -> None:
        store.version.hold(held=True)
        set_shown(False)
        set_draft(new)

    found = additions.result(store.snapshot, draft) if shown else None
    return basics.column(
        basics.heading(TEXTS["title"]),
        basics.paragraph(TEXTS["lead"]),
        basics.row(
            *(
                basics.choice_button(
                    TEXTS[what],
                    taken=what in draft.chosen,
                    on_click=lambda _event, what=what: change(additions_draft.toggled(draft, what)),
                    key=f"raise-{what}",
                )
                for what in additions_draft.ORDER
            )
        ),
        *(control for what in draft.chosen for control in _value(store, draft, what, change)),
        basics.main_button(TEXTS["work_out"], lambda _event: set_shown(True), key="work-out"),
        *(_answer(found, basics.does(once, _record, store, found, draft)) if found else []),
        basics.side_button(TEXTS["back"], lambda _event: store.go("/plan"), key="back"),
    )


def _value(store: Store, draft: Draft, what: What, change: Change) -> list[ft.Control]:
    """Return the questions of one value to raise."""
    salts = [(salt, additions.salt_name(salt)) for salt in additions_draft.salts_for(what)]
    return [
        basics.heading(TEXTS[what], level=2),
        *(
            control
            for item in additions.figures(store.snapshot, draft, what)
            for control in _with_keys(draft, item, change)
        ),
        basics.paragraph(TEXTS["salt"], quiet=True),
        basics.choices(
            salts,
            draft.salts[what],
            lambda salt: change(additions_draft.with_salt(draft, what, salt)),
            key=f"{what}-salt",
        ),
    ]


def _with_keys(draft: Draft, item: Figure, change: Change) -> list[ft.Control]:
    control = figure(
        key=item.key,
        label=item.label,
        hint=item.hint,
        typed=draft.texts.get(item.key, ""),
        instead=item.offered or "–",
        units=item.units,
        unit=item.unit,
        active=draft.active == item.key,
        large=False,
        activate=lambda: change(additions_draft.activated(draft, item.key)),
        choose_unit=lambda unit: change(additions_draft.with_unit(draft, item.key, unit)),
    )
    if draft.active != item.key:
        return [control]
    return [control, keypad(lambda key: change(additions_draft.pressed(draft, key)))]


def _answer(found: Result, record: basics.Handler) -> list[ft.Control]:
    """Return faults, or the parts with what to mind and today's part."""
    if found.faults:
        return [basics.state_line("danger", fault, key="fault") for fault in found.faults]
    parts = [
        basics.sheet(
            basics.paragraph(part.title, quiet=True), basics.lead(part.text), edge=theme.ACCENT
        )
        for part in found.parts
    ]
    tone = "note" if found.parts else "warn"
    said: list[ft.Control] = [
        basics.state_line(tone, text, key="addition-said") for text in found.sentences
    ]
    if found.today is None:
        return said
    if found.wait:
        return [*parts, *said, basics.state_line("warn", found.wait, key="addition-wait")]
    return [
        *parts,
        *said,
        basics.lead(found.today_text, key="addition-today"),
        basics.main_button(TEXTS["record"], record, key="record-part"),
    ]


async def _record(store: Store, found: Result, draft: Draft) -> bool:
    """Record today's part as weighed and given."""
    day = found.today
    if day is None or found.wait:
        return False
    fields = additions.today_fields(day, additions.assay_of(draft, day.what))
    told = TEXTS["recorded"].format(grams=number("each_g", day.grams))
    return await store.save([store.make(Addition, fields)], told)
