"""A running overdose: the clock, what is due, the acts, the readings, and how it ends."""

import asyncio
from typing import Final

import flet as ft

from engine.records import Incident, IncidentEvent, Record
from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.components.once import use_once
from mobile.components.plot import plot
from mobile.screens.entry_pad import EntryPad
from mobile.screens.incident_parts import Acts, End, Notes
from mobile.state import entry_draft
from mobile.state.forms import FORMS
from mobile.state.incident import IncidentView, incident
from mobile.state.record import last_units
from mobile.store import Store
from mobile.texts.app import TEXTS as APP
from mobile.texts.incident import ANIMALS, NEVER, TEXTS

PAGE: Final = "/incident"
CLOCK_SIZE: Final = 56
TICK_SECONDS: Final = 20
# form -> the words of its button
ENTRIES: Final = {
    "pH_nbs": "record_pH",
    "total_alkalinity": "record_alkalinity",
    "salinity": "record_salinity",
    "water_change": "record_change",
}


@ft.component
@guarded
def IncidentPage() -> ft.Control:
    """Return the page of the running overdose, or how to begin one."""
    store = use_store()
    view = incident(store.snapshot)
    _use_ticking(store, runs=view is not None)
    if view is None:
        return Idle(key="idle")
    return basics.column(
        _clock(view),
        *basics.section(
            TEXTS["due_title"],
            [
                ft.Semantics(live_region=True, content=basics.state_line(line.tone, line.text))
                for line in view.due
            ],
        ),
        *_entries(store),
        Acts(view, key="acts"),
        *basics.section(TEXTS["readings_title"], [basics.paragraph(text) for text in view.read]),
        *basics.section(
            TEXTS["recovery_title"],
            [
                *(basics.paragraph(text) for text in view.recovery),
                *([plot(view.plot, key="recovery")] if view.plot else []),
            ],
        ),
        *basics.section(
            TEXTS["helps_title"],
            [
                *(basics.paragraph(text) for text in view.helps),
                basics.paragraph(TEXTS["practice"], quiet=True),
            ],
        ),
        *basics.section(
            TEXTS["animals_title"],
            [basics.paragraph(text) for text in (TEXTS["animals_vet"], *ANIMALS)],
        ),
        *basics.section(
            TEXTS["never_title"], [basics.state_line("danger", text) for text in NEVER]
        ),
        Notes(view, key="notes"),
        End(view, key="end"),
        basics.side_button(TEXTS["card"], store.open_emergency, key="open-card"),
        spacing=20,
    )


@ft.component
@guarded
def Idle() -> ft.Control:
    """Return how to begin."""
    store = use_store()
    once = use_once()
    return basics.column(
        basics.heading(TEXTS["title"]),
        basics.state_lead("danger", TEXTS["idle_first"]),
        basics.paragraph(TEXTS["idle"]),
        basics.main_button(
            TEXTS["start"],
            basics.does(once, _begin, store),
            key="start-incident",
            disabled=store.snapshot.saving or store.snapshot.setup is None,
        ),
        basics.side_button(TEXTS["card"], store.open_emergency, key="open-card"),
        basics.side_button(APP["back"], lambda _event: store.go("/"), key="to-today"),
        spacing=18,
    )


async def _begin(store: Store) -> bool:
    fields = {"run": store.new_run_id(), "event": IncidentEvent.STARTED}
    return await store.save([store.make(Incident, fields)], TEXTS["started"])


def _clock(view: IncidentView) -> ft.Control:
    return basics.column(
        basics.heading(TEXTS["title"]),
        ft.Text(
            view.clock,
            size=CLOCK_SIZE,
            weight=ft.FontWeight.W_700,
            color=theme.DANGER,
            key="clock",
        ),
        basics.paragraph(view.begun, quiet=True),
        spacing=2,
    )


def _entries(store: Store) -> list[ft.Control]:
    return [
        basics.column(
            *(
                (basics.main_button if form == "pH_nbs" else basics.side_button)(
                    TEXTS[words],
                    lambda _event, form=form: store.go(f"{PAGE}/{form}"),
                    key=f"enter-{form}",
                )
                for form, words in ENTRIES.items()
            ),
            spacing=theme.GAP,
        )
    ]


@ft.component
@guarded
def IncidentEntry() -> ft.Control:
    """Return the page of one reading or water change, which leads back to the incident."""
    store = use_store()
    name = ft.use_route_params().get("form", "")
    if name not in ENTRIES:
        return basics.paragraph(APP["not_found"])
    form = FORMS[name]

    async def write(record: Record, said: str) -> bool:
        return await store.save([record], said, then=PAGE)

    start = entry_draft.opened(form, last_units(store.snapshot, form))
    return EntryPad(form, start, write, PAGE, key=f"incident-entry-{form.key}")


def _use_ticking(store: Store, *, runs: bool) -> None:
    """Draw the clock anew now and then while an incident runs."""

    async def tick() -> None:
        while True:
            await asyncio.sleep(TICK_SECONDS)
            store.refresh_if_ready()

    task = ft.use_ref(None)

    def begin() -> None:
        if runs:
            task.current = asyncio.create_task(tick())

    def end() -> None:
        if task.current is not None:
            task.current.cancel()
            task.current = None

    ft.use_effect(begin, dependencies=[runs], cleanup=end)
