"""Plan: the daily dose and what holds it down, stopping, the rest, every reason one tap away."""

import flet as ft

from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.failed_panel import FailedPanel
from mobile.components.guarded import guarded
from mobile.state import recalled
from mobile.state.plan import CapLine, PlanView, plan
from mobile.store import Store
from mobile.texts.app import TEXTS as APP
from mobile.texts.plan_ahead import TEXTS as AHEAD
from mobile.texts.plan_page import TEXTS


@ft.component
@guarded
def Plan() -> ft.Control:
    """Return the plan's page."""
    store = use_store()
    shown, set_shown = ft.use_state(False)
    decision = store.snapshot.decision
    if decision is None:
        return undecided(store)
    view = plan(store.snapshot, decision)
    return basics.column(
        basics.state_lead(view.tone, view.lead, key="plan-lead"),
        *(basics.paragraph(text) for text in view.why_first),
        _dose(view) if view.dose else None,
        *_section("mind_title", view.mind),
        *_section("rest_title", view.rest),
        *_section("stop_title", view.stopping),
        *_section("setting_title", view.setting),
        *_section("powder_title", view.powder),
        _caps(view.caps) if view.caps else None,
        _closer(store, view),
        basics.side_button(
            TEXTS["why_hide" if shown else "why_show"],
            lambda _event: set_shown(not shown),
            key="why",
        ),
        *(_section("why_title", view.why) if shown else []),
        spacing=18,
    )


def undecided(store: Store) -> ft.Control:
    """Return what stands where there is no decision."""
    if store.snapshot.recalled:
        return basics.column(
            basics.state_lead("danger", recalled.LEAD, key="plan-lead"),
            *(basics.paragraph(text) for text in recalled.why(store.snapshot)),
        )
    if store.snapshot.is_elsewhere:
        return basics.state_lead("warn", APP["plan_elsewhere"], key="plan-lead")
    if store.snapshot.failure is not None:
        return FailedPanel()
    return basics.paragraph(TEXTS["no_setup"])


def _closer(store: Store, view: PlanView) -> ft.Control:
    return basics.column(
        basics.heading(AHEAD["pages_title"], level=2),
        *(
            basics.list_button(
                page.title,
                page.line,
                lambda _event, route=page.route: store.go(route),
                key=f"page-{page.key}",
            )
            for page in view.closer
        ),
        spacing=theme.GAP,
    )


def _dose(view: PlanView) -> ft.Control:
    return basics.sheet(
        basics.paragraph(view.dose_title, quiet=True),
        ft.Text(
            view.dose,
            size=theme.FIGURE,
            weight=ft.FontWeight.W_700,
            color=theme.INK,
            key="plan-dose",
        ),
        basics.paragraph(view.doses),
        basics.paragraph(view.demand, quiet=True, key="plan-demand") if view.demand else None,
    )


def _section(title: str, texts: tuple[str, ...]) -> list[ft.Control]:
    return basics.section(TEXTS[title], [basics.paragraph(text) for text in texts])


def _caps(caps: tuple[CapLine, ...]) -> ft.Control:
    return basics.column(
        basics.heading(TEXTS["caps_title"], level=2),
        basics.paragraph(TEXTS["caps_about"], quiet=True),
        *(_cap(cap) for cap in caps),
        spacing=8,
    )


def _cap(cap: CapLine) -> ft.Control:
    mark = f" – {TEXTS['binds']}" if cap.binds else ""
    return ft.MergeSemantics(
        content=ft.Row(
            [
                ft.Text(
                    cap.name + mark,
                    size=theme.BODY,
                    weight=ft.FontWeight.W_700 if cap.binds else ft.FontWeight.W_400,
                    color=theme.INK,
                    expand=True,
                ),
                ft.Text(cap.allows, size=theme.BODY, color=theme.INK),
            ],
            spacing=12,
        )
    )
