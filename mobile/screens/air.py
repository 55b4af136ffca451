"""Measure how fast the air works: two moments in the log, a rate with its reason, or none."""

import flet as ft

from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.components.once import use_once
from mobile.state.air import AirView, air
from mobile.store import Store
from mobile.texts.air import TEXTS
from mobile.texts.app import TEXTS as APP

PAGE = "/setup/pH_limits"


@ft.component
@guarded
def MeasureAir() -> ft.Control:
    """Return the guided page; the readings themselves are recorded as any test is."""
    store = use_store()
    sure, set_sure = ft.use_state("")
    once = use_once()
    if store.snapshot.setup is None:
        return basics.paragraph(APP["not_found"])
    view = air(store.snapshot, sure)
    return basics.column(
        basics.heading(TEXTS["title"]),
        basics.paragraph(TEXTS["about"]),
        *(basics.paragraph(TEXTS[step]) for step in ("step_1", "step_2", "step_3")),
        basics.row(
            *(
                basics.choice_button(
                    TEXTS[name],
                    taken=False,
                    on_click=lambda _event, form=form: store.go(f"/record/{form}"),
                    key=name,
                )
                for name, form in (
                    ("record_pH", "pH_nbs"),
                    ("record_alkalinity", "total_alkalinity"),
                    ("record_room", "room_co2"),
                )
            )
        ),
        *_pair(view, sure, set_sure),
        *(basics.state_line("note", text, key="air-said") for text in view.sentences),
        basics.main_button(view.use, basics.does(once, _use, store, view), key="use-rate")
        if view.use
        else None,
        basics.side_button(TEXTS["back"], lambda _event: store.go(PAGE), key="back"),
    )


def _pair(view: AirView, sure: str, set_sure: basics.Handler) -> list[ft.Control]:
    if not view.pair or set_sure is None:
        return [basics.state_line("note", TEXTS["none"], key="air-none")]
    options = [(name, TEXTS[f"sure_{name}"]) for name in ("yes", "no")]
    return [
        *(basics.lead(text) for text in view.pair),
        basics.paragraph(TEXTS["sure_ask"]),
        basics.choices(options, sure, set_sure, key="sure"),
    ]


async def _use(store: Store, view: AirView) -> bool:
    """Save the rate as the keeper's own."""
    before = store.snapshot.setup
    if before is None or view.rate_per_day is None:
        return False
    fields = {"gas_exchange_per_day": view.rate_per_day, "typed": view.typed}
    record = store.remake(before, fields, store.now())
    return await store.save_setup([record], then=PAGE)
