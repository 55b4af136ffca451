"""Plots of what was recorded: one quantity over time, and the limewater's litres below."""

import flet as ft

from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.components.places import use_kept
from mobile.components.plot import plot
from mobile.state.history_plot import SPANS, HistoryPlotView, history_plot
from mobile.store import Store
from mobile.texts.app import TEXTS as APP
from mobile.texts.history_plot import TEXTS


@ft.component
@guarded
def HistoryPlot() -> ft.Control:
    """Return the plots of one quantity."""
    store = use_store()
    span, set_span = use_kept("plot-span", SPANS[1])
    parameter = ft.use_route_params().get("parameter", "")
    view = history_plot(store.snapshot, parameter, span)
    if view is None:
        return basics.paragraph(APP["not_found"])
    return basics.column(
        basics.heading(view.title),
        basics.choices(view.spans, str(span), lambda days: set_span(int(days)), key="span"),
        *_readings(store, view, parameter),
        basics.heading(TEXTS["litres_title"], level=2),
        plot(view.litres, key="litres") if view.litres else None,
        basics.paragraph(view.no_litres) if view.no_litres else None,
        *_others(store, view, parameter),
        basics.side_button(TEXTS["back"], lambda _event: store.go("/history"), key="back"),
        spacing=16,
    )


def _readings(store: Store, view: HistoryPlotView, parameter: str) -> list[ft.Control]:
    if view.readings:
        return [plot(view.readings, key="readings")]
    return [
        basics.paragraph(view.empty, key="empty"),
        basics.side_button(
            TEXTS["record"], lambda _event: store.go(f"/record/{parameter}"), key="record-one"
        ),
    ]


def _others(store: Store, view: HistoryPlotView, parameter: str) -> list[ft.Control]:
    """Return the other quantities to look at, where there are any."""
    if len(view.parameters) == 1:
        return []
    return [
        basics.heading(TEXTS["parameter"], level=2),
        basics.choices(
            view.parameters,
            parameter,
            lambda code: store.go(f"/history/plot/{code}"),
            key="parameter",
        ),
    ]
