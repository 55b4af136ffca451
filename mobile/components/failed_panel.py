"""What stands in for a page, or a decision, that could not be had."""

from typing import Any

import flet as ft

from mobile.components import basics
from mobile.components.context import use_store
from mobile.state.boundary import tried
from mobile.state.failed import FailedView, failed
from mobile.texts.failed import TEXTS


@ft.component
def FailedPanel() -> ft.Control:
    """Return the last verdict, the last readings, and the ways that do not need the engine."""
    store = use_store()
    plain = basics.column(basics.heading(TEXTS["title"]), basics.paragraph(TEXTS["verdict_none"]))
    return tried("panel", lambda: _panel(store), plain)


def _panel(store: Any) -> ft.Control:
    view: FailedView = failed(store.snapshot)
    return basics.column(
        basics.heading(TEXTS["title"]),
        basics.state_lead(view.tone, view.lead, key="failed-lead"),
        *(basics.paragraph(text) for text in view.why),
        basics.paragraph(TEXTS["about"]),
        *basics.section(
            TEXTS["readings_title"], [basics.paragraph(text) for text in view.readings]
        ),
        basics.main_button(
            TEXTS["record"], lambda _event: store.go("/record"), key="failed-record"
        ),
        basics.side_button(TEXTS["card"], store.open_emergency, key="failed-card", danger=True),
        basics.side_button(
            TEXTS["history"], lambda _event: store.go("/history"), key="failed-history"
        ),
        basics.side_button(
            TEXTS["export"], basics.does(store.transfer.export), key="failed-export"
        ),
        *copy_report(store),
        key="failed",
        spacing=14,
    )


def copy_report(store: Any) -> list[ft.Control]:
    """Return the button that copies the report, inside its own tap as iOS demands."""
    text = store.report()
    if not text:
        return [basics.paragraph(TEXTS["report_failed"])]
    return [
        basics.side_button(
            TEXTS["copy"],
            lambda _event: store.say("note", TEXTS["copied"]),
            action=ft.CopyToClipboard(text),
            key="copy-report",
        ),
        basics.paragraph(TEXTS["copy_about"], quiet=True),
    ]


def could_not_be_shown() -> ft.Control:
    """Return what stands for a line or a bar around the screens."""
    return basics.state_line("warn", TEXTS["bar_failed"])
