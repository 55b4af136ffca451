"""The component at the top: the store for all below, and the table of routes."""

import flet as ft

from mobile.components import basics
from mobile.components.context import StoreContext
from mobile.components.guarded import guarded
from mobile.components.places import Places, PlacesContext
from mobile.screens.additions import Additions
from mobile.screens.air import MeasureAir
from mobile.screens.hazard import HazardPage
from mobile.screens.help import Help
from mobile.screens.history import HistoryEntry, HistoryList
from mobile.screens.history_plot import HistoryPlot
from mobile.screens.incident import IncidentEntry, IncidentPage
from mobile.screens.jobs import JobPage, Jobs
from mobile.screens.minder import Minder
from mobile.screens.mix import Mix, MixRun
from mobile.screens.plan import Plan
from mobile.screens.plan_pages import PlanDay, PlanDrift, PlanWater, PlanYear
from mobile.screens.powder import PlanPowder
from mobile.screens.record import EntryPage, RecordList
from mobile.screens.setup import NewSystemPage, Setup, SetupPage
from mobile.screens.sheet import TablesPage
from mobile.screens.storage import ErasePage, StoragePage
from mobile.screens.today import Today
from mobile.shell import Shell
from mobile.store import Store
from mobile.texts.app import TEXTS


@ft.component
@guarded
def NotFound() -> ft.Control:
    """Return what an unknown path shows."""
    return basics.paragraph(TEXTS["not_found"])


ROUTES = [
    ft.Route(
        component=Shell,
        outlet=True,
        children=[
            ft.Route(index=True, component=Today),
            ft.Route(path="record", component=RecordList),
            ft.Route(path="record/:form", component=EntryPage),
            ft.Route(path="mix", component=Mix),
            ft.Route(path="mix/:procedure", component=MixRun),
            ft.Route(path="plan", component=Plan),
            ft.Route(path="plan/hazard", component=HazardPage),
            ft.Route(path="incident", component=IncidentPage),
            ft.Route(path="incident/:form", component=IncidentEntry),
            ft.Route(path="plan/day", component=PlanDay),
            ft.Route(path="plan/year", component=PlanYear),
            ft.Route(path="plan/water", component=PlanWater),
            ft.Route(path="plan/drift", component=PlanDrift),
            ft.Route(path="plan/powder", component=PlanPowder),
            ft.Route(path="jobs", component=Jobs),
            ft.Route(path="jobs/:job", component=JobPage),
            ft.Route(path="minder", component=Minder),
            ft.Route(path="plan/additions", component=Additions),
            ft.Route(path="history", component=HistoryList),
            ft.Route(path="history/:record", component=HistoryEntry),
            ft.Route(path="history/plot/:parameter", component=HistoryPlot),
            ft.Route(path="setup", component=Setup),
            ft.Route(path="setup/air/measure", component=MeasureAir),
            ft.Route(path="setup/storage", component=StoragePage),
            ft.Route(path="setup/erase", component=ErasePage),
            ft.Route(path="setup/tables", component=TablesPage),
            ft.Route(path="setup/:page", component=SetupPage),
            ft.Route(path="new/:page", component=NewSystemPage),
            ft.Route(path="help", component=Help),
            ft.Route(path=":rest*", component=NotFound),
        ],
    ),
]


@ft.component
def App(store: Store) -> ft.Control:
    """Return the whole app for a store."""
    places = ft.use_ref(Places).current
    return StoreContext(
        store,
        lambda: PlacesContext(
            places, lambda: ft.Router(ROUTES, not_found=NotFound, manage_views=True)
        ),
    )
