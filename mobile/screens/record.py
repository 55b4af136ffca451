"""Record: what can be recorded, and the page of one new entry."""

import flet as ft

from engine.records import Record
from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.screens.entry_pad import EntryPad
from mobile.state import entry_draft
from mobile.state.form_parts import Form
from mobile.state.forms import FORMS, offered
from mobile.state.record import last_bottle, last_line, last_units
from mobile.store import Store
from mobile.texts.app import TEXTS as APP
from mobile.texts.forms import TEXTS


@ft.component
@guarded
def RecordList() -> ft.Control:
    """Return the list of what can be recorded, the usual first."""
    store = use_store()
    snapshot = store.snapshot
    return basics.column(
        basics.heading(APP["record"]),
        *(
            basics.list_button(
                form.title,
                last_line(snapshot, form) or TEXTS[f"about_{form.key}"],
                lambda _event, key=form.key: store.go(f"/record/{key}"),
                key=f"form-{form.key}",
            )
            for form in offered(snapshot.setup)
        ),
        spacing=theme.GAP,
    )


@ft.component
@guarded
def EntryPage() -> ft.Control:
    """Return the page of one new entry."""
    store = use_store()
    form = FORMS.get(ft.use_route_params().get("form", ""))
    if form is None:
        return basics.paragraph(APP["not_found"])

    async def write(record: Record, said: str) -> bool:
        return await store.save([record], said, then="/")

    start = entry_draft.opened(form, last_units(store.snapshot, form), *_bottle_of(store, form))
    return EntryPad(form, start, write, "/record", key=f"entry-{form.key}")


def _bottle_of(store: Store, form: Form) -> tuple[str, str]:
    return last_bottle(store.snapshot, form) if form.bottle else ("", "")
