"""Powder and supplies: how long they last, what to weigh, when to order."""

import flet as ft

from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.components.plot import plot
from mobile.screens.plan import undecided
from mobile.state.powder import Line, PowderView, powder
from mobile.store import Store
from mobile.texts.plan_ahead import TEXTS as AHEAD
from mobile.texts.stock import TEXTS


@ft.component
@guarded
def PlanPowder() -> ft.Control:
    """Return the page on powder and supplies."""
    store = use_store()
    decision = store.snapshot.decision
    if decision is None:
        return undecided(store)
    view = powder(store.snapshot, decision)
    return basics.column(
        basics.heading(TEXTS["page_powder"]),
        basics.state_lead(view.tone, view.lead, key="powder-lead"),
        *_in_use(store, view),
        *_recharge(store, view),
        *basics.section(
            TEXTS["powder_shelf"],
            [*_lines(view.shelf), *_ways(store, "powder_stock", "pack_opened")],
        ),
        *basics.section(TEXTS["powder_supplies"], _supplies(store, view)),
        basics.paragraph(TEXTS["powder_practice"], quiet=True),
        _way(store, "setup", "/setup/powder"),
        basics.side_button(AHEAD["to_plan"], lambda _event: store.go("/plan"), key="back"),
        spacing=16,
    )


def _in_use(store: Store, view: PowderView) -> list[ft.Control]:
    shown: list[ft.Control] = [*_lines(view.in_use)]
    if view.plot is not None:
        shown.append(plot(view.plot, key="powder-plot"))
    return basics.section(TEXTS["powder_in_use"], [*shown, *_ways(store, "vessel_emptied")])


def _recharge(store: Store, view: PowderView) -> list[ft.Control]:
    if not view.recharge:
        return []
    guided = _way(store, "recharge", "/mix/recharge_vessel") if view.through_vessel else None
    return basics.section(
        TEXTS["powder_recharge"], [*_lines(view.recharge), *([guided] if guided else [])]
    )


def _supplies(store: Store, view: PowderView) -> list[ft.Control]:
    sheets: list[ft.Control] = [
        basics.sheet(*_lines(supply.lines), key=f"supply-{supply.key}") for supply in view.supplies
    ]
    if not sheets:
        sheets = [basics.paragraph(TEXTS["powder_no_supplies"])]
    return [*sheets, *_ways(store, "supply_solution", "supply_kit")]


def _lines(lines: tuple[Line, ...]) -> list[ft.Control]:
    return [
        basics.state_line(line.tone, line.text) if line.tone else basics.paragraph(line.text)
        for line in lines
    ]


def _ways(store: Store, *forms: str) -> list[ft.Control]:
    return [_way(store, form, f"/record/{form}") for form in forms]


def _way(store: Store, name: str, route: str) -> ft.Control:
    return basics.side_button(
        TEXTS[f"way_{name}"], lambda _event: store.go(route), key=f"way-{name}"
    )
