"""The pages behind Plan: the day's doses, the year, the water, what drifts."""

import flet as ft

from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.components.plot import plot
from mobile.screens.plan import undecided
from mobile.state.plan_day import DayView, day
from mobile.state.plan_drift import CauseView, drift
from mobile.state.plan_water import water
from mobile.state.plan_year import MonthLines, year
from mobile.state.snapshot import Tone
from mobile.store import Store
from mobile.texts.plan_ahead import TEXTS


@ft.component
@guarded
def PlanDay() -> ft.Control:
    """Return the day's doses and what pH does."""
    store = use_store()
    decision = store.snapshot.decision
    if decision is None:
        return undecided(store)
    view = day(store.snapshot, decision)
    return basics.column(
        basics.heading(TEXTS["page_day"]),
        basics.state_lead(view.tone, view.lead, key="plan-lead"),
        *basics.section(TEXTS["day_title"], [basics.paragraph(text) for text in view.doses]),
        *basics.section(
            TEXTS["day_times_title"], [basics.paragraph(view.times)] if view.times else []
        ),
        *basics.section(TEXTS["day_pH_title"], _pH(store, view)),
        _back(store),
        spacing=16,
    )


def _pH(store: Store, view: DayView) -> list[ft.Control]:
    ways = [
        _way(store, "day_set_lights", view.lights_route),
        _way(store, "day_record_pH", "/record/pH_nbs" if view.asks_pH else ""),
    ]
    return [
        *([plot(view.plot, key="day-plot")] if view.plot else []),
        *(basics.paragraph(text) for text in view.about_pH),
        *(way for way in ways if way),
    ]


@ft.component
@guarded
def PlanYear() -> ft.Control:
    """Return the year, month by month."""
    store = use_store()
    if store.snapshot.decision is None:
        return undecided(store)
    view = year(store.snapshot)
    return basics.column(
        basics.heading(TEXTS["page_year"]),
        basics.state_lead(view.tone, view.lead, key="year-lead"),
        *(basics.paragraph(text) for text in view.sentences),
        _way(store, "year_set_months", view.months_route),
        _way(store, "year_record_refill", "/record/refill" if view.is_unknown else ""),
        plot(view.plot, key="year-plot") if view.plot else None,
        *basics.section(TEXTS["year_months_title"], [_month(month) for month in view.months]),
        _back(store),
        spacing=16,
    )


def _month(month: MonthLines) -> ft.Control:
    return basics.sheet(
        basics.heading(month.title, level=3),
        basics.state_line("warn", month.warning) if month.warning else None,
        *(basics.paragraph(text) for text in month.lines),
        key=f"month-{month.key}",
    )


@ft.component
@guarded
def PlanWater() -> ft.Control:
    """Return level and salinity ahead."""
    store = use_store()
    if store.snapshot.decision is None:
        return undecided(store)
    view = water(store.snapshot)
    return basics.column(
        basics.heading(TEXTS["page_water"]),
        *basics.section(TEXTS["water_as_set"], _lines(view.as_set)),
        *basics.section(TEXTS["water_by_plan"], _lines(view.by_plan)),
        _way(store, "water_set_evaporation", view.evaporation_route),
        _way(store, "water_set_room", view.room_route),
        _way(store, "water_record_salinity", "/record/salinity" if view.asks_salinity else ""),
        _back(store),
        spacing=16,
    )


def _lines(lines: tuple[tuple[Tone, str], ...]) -> list[ft.Control]:
    return [basics.state_line(tone, text) for tone, text in lines]


@ft.component
@guarded
def PlanDrift() -> ft.Control:
    """Return what drifts and what may be behind it."""
    store = use_store()
    if store.snapshot.decision is None:
        return undecided(store)
    view = drift(store.snapshot)
    causes = [_cause(store, number, cause) for number, cause in enumerate(view.causes, start=1)]
    return basics.column(
        basics.heading(TEXTS["page_drift"]),
        basics.state_lead(view.tone, view.lead, key="drift-lead"),
        *(basics.paragraph(text) for text in view.sentences),
        _way(store, "drift_record_test", "/record/total_alkalinity" if view.asks_test else ""),
        *basics.section(
            TEXTS["drift_causes"],
            [basics.paragraph(TEXTS["drift_rank"], quiet=True), *causes] if causes else [],
        ),
        _back(store),
        spacing=16,
    )


def _cause(store: Store, number: int, cause: CauseView) -> ft.Control:
    way = cause.way
    return basics.sheet(
        basics.heading(f"{number}. {cause.likelihood}", level=3),
        basics.paragraph(cause.cause),
        basics.paragraph(cause.explains) if cause.explains else None,
        basics.paragraph(cause.settles),
        basics.side_button(way.label, lambda _event: store.go(way.route), key=f"measure-{number}")
        if way
        else None,
        key=f"cause-{number}",
    )


def _way(store: Store, label: str, route: str) -> ft.Control | None:
    if not route:
        return None
    key = f"way-{label.replace('_', '-')}"
    return basics.side_button(TEXTS[label], lambda _event: store.go(route), key=key)


def _back(store: Store) -> ft.Control:
    return basics.side_button(TEXTS["to_plan"], lambda _event: store.go("/plan"), key="back")
