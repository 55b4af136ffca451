"""What could go wrong: the verdict, every accident, what would settle it, and a what-if."""

from collections.abc import Callable, Mapping
from typing import Any

import flet as ft

from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.failed_panel import FailedPanel
from mobile.components.guarded import guarded
from mobile.components.plot import plot
from mobile.state.hazard import CaseView, ChangeView, HazardView, hazard
from mobile.state.hazard_plots import plots
from mobile.state.hazard_what_if import Stepper, what_if
from mobile.state.plot_view import PlotView
from mobile.store import Store
from mobile.texts.app import TEXTS as APP
from mobile.texts.hazard_page import TEXTS


@ft.component
@guarded
def HazardPage() -> ft.Control:
    """Return the page."""
    store = use_store()
    snapshot = store.snapshot
    if snapshot.is_elsewhere:
        return basics.state_lead("warn", APP["plan_elsewhere"])
    dangers = snapshot.dangers
    if dangers is None and snapshot.ahead is not None and "dangers" in snapshot.ahead.failed:
        return FailedPanel()
    if dangers is None:
        return basics.column(
            basics.heading(TEXTS["title"]), basics.paragraph(TEXTS["working"], key="working")
        )
    view = hazard(snapshot, dangers)
    return basics.column(
        basics.heading(TEXTS["title"]),
        *_verdict(store, view),
        WhatIfSheet(key="what-if") if view.is_known else None,
        *basics.section(TEXTS["scale_title"], [basics.paragraph(text) for text in view.scale]),
        *_plots(plots(snapshot, dangers)),
        *_safe(view),
        *basics.section(
            TEXTS["cases_title"], [Case(each, key=f"case-{each.key}") for each in view.cases]
        ),
        *basics.section(
            TEXTS["unknown_title"], [basics.state_line("warn", text) for text in view.unknown]
        ),
        *basics.section(
            TEXTS["basis_title"], [basics.paragraph(text, quiet=True) for text in view.basis]
        ),
        basics.side_button(APP["back"], lambda _event: store.go("/plan"), key="back"),
        spacing=20,
    )


def _verdict(store: Store, view: HazardView) -> list[ft.Control]:
    first, *rest = view.verdict
    return [
        ft.Semantics(
            header=True,
            heading_level=2,
            content=basics.state_lead(view.tone, first, key="verdict"),
        ),
        *(basics.paragraph(text) for text in rest),
        basics.paragraph(view.band, quiet=True),
        basics.paragraph(view.ready, key="ready") if view.ready else basics.column(),
        *_test_button(store, view),
        basics.side_button(
            TEXTS["guard_button"], lambda _event: store.go("/setup/guards"), key="to-guards"
        ),
    ]


def _test_button(store: Store, view: HazardView) -> list[ft.Control]:
    if not view.wants_test:
        return []
    return [
        basics.main_button(
            TEXTS["test_button"],
            lambda _event: store.go("/record/total_alkalinity"),
            key="to-test",
        )
    ]


def _plots(views: tuple[PlotView, ...]) -> list[ft.Control]:
    if not views:
        return []
    *course, last = views
    has_after = any(curve.name == TEXTS["plot_after"] for curve in last.curves)
    shown = course if has_after else list(views)
    found = basics.section(
        TEXTS["plot_title"],
        [plot(view, key=f"course-{number}") for number, view in enumerate(shown)],
    )
    return [
        *found,
        *(basics.section(TEXTS["after_title"], [plot(last, key="after")]) if has_after else []),
    ]


def _safe(view: HazardView) -> list[ft.Control]:
    sizes = [basics.paragraph(text) for text in (*view.sizes, *view.size_bands, *view.advice)]
    return [
        *basics.section(TEXTS["safe_title"], [_change(each) for each in view.changes]),
        *basics.section(TEXTS["sizes_title"], sizes),
    ]


def _change(each: ChangeView) -> ft.Control:
    return basics.column(
        basics.state_line("good" if each.enough else "note", each.text),
        basics.paragraph(each.settles, quiet=True),
        spacing=2,
    )


@ft.component
@guarded
def Case(view: CaseView) -> ft.Control:
    """Return one accident; its figures unfold."""
    shown, set_shown = ft.use_state(False)
    return basics.sheet(
        ft.Semantics(
            header=True,
            heading_level=3,
            content=basics.state_line(view.tone, f"{view.title}: {view.band}"),
        ),
        basics.paragraph(view.lead),
        *(basics.paragraph(text, quiet=True) for text in view.times),
        *(basics.paragraph(text) for text in (view.figures if shown else ())),
        basics.side_button(
            TEXTS["details_hide" if shown else "details_show"],
            lambda _event: set_shown(not shown),
            key=f"figures-{view.key}",
        ),
    )


@ft.component
@guarded
def WhatIfSheet() -> ft.Control:
    """Return the what-if: steppers and the verdict on them."""
    store = use_store()
    tried, set_tried = ft.use_state({})
    found = what_if(store.snapshot, tried)
    if found is None:
        return basics.column()
    first, *rest = found.verdict
    return basics.sheet(
        basics.heading(TEXTS["what_if_title"], level=2),
        basics.paragraph(TEXTS["what_if_about"], quiet=True),
        *(_stepper(each, tried, set_tried) for each in found.steppers),
        ft.Semantics(
            live_region=True, content=basics.state_line(found.tone, first, key="what-if-verdict")
        ),
        *(basics.paragraph(text) for text in rest),
        basics.side_button(
            TEXTS["what_if_reset"], lambda _event: set_tried({}), key="what-if-reset"
        )
        if found.changed
        else None,
    )


def _stepper(
    each: Stepper, tried: Mapping[str, Any], set_tried: Callable[[Any], None]
) -> ft.Control:
    def to(value: float | None) -> basics.Handler:
        return lambda _event: set_tried({**tried, each.part: value})

    return basics.column(
        basics.paragraph(each.label, quiet=True),
        ft.Row(
            [
                _step_button(each, "less", to(each.less), disabled=each.less is None),
                ft.Container(
                    ft.Text(
                        each.value,
                        size=theme.LEAD,
                        weight=ft.FontWeight.W_600,
                        color=theme.INK,
                        text_align=ft.TextAlign.CENTER,
                        key=f"value-{each.part}",
                    ),
                    expand=True,
                ),
                _step_button(each, "more", to(each.more), disabled=each.more is None),
            ],
            spacing=theme.GAP,
            vertical_alignment=ft.CrossAxisAlignment.CENTER,
        ),
        spacing=4,
    )


def _step_button(
    each: Stepper, way: str, on_click: basics.Handler, *, disabled: bool
) -> ft.Control:
    sign = "−" if way == "less" else "+"
    name = TEXTS[way].format(what=each.label)
    return ft.OutlinedButton(
        content=ft.Text(
            sign,
            size=26,
            weight=ft.FontWeight.W_700,
            color=theme.QUIET if disabled else theme.ACCENT,
            semantics_label=name,
        ),
        on_click=on_click,
        disabled=disabled,
        width=theme.KEY,
        height=theme.KEY,
        key=f"{way}-{each.part}",
        style=ft.ButtonStyle(
            shape=ft.RoundedRectangleBorder(radius=10),
            padding=0,
            side=ft.BorderSide(1.5, theme.LINE if disabled else theme.ACCENT),
        ),
    )
