"""History: the log itself, each entry to be amended or withdrawn, nothing ever rewritten."""

import flet as ft

from engine.records import Record
from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.components.once import use_once
from mobile.components.places import use_kept
from mobile.screens.entry_pad import EntryPad
from mobile.state.history import PAGE, Detail, Line, detail, lines
from mobile.state.history_plot import FIRST
from mobile.texts.app import TEXTS as APP
from mobile.texts.history import TEXTS
from mobile.texts.history_plot import TEXTS as PLOT


@ft.component
@guarded
def HistoryList() -> ft.Control:
    """Return the newest entries, and more on a tap."""
    store = use_store()
    count, set_count = use_kept("history-count", PAGE)
    shown = lines(store.snapshot, count)
    return basics.column(
        basics.heading(APP["history"]),
        basics.list_button(
            PLOT["title"],
            PLOT["about"],
            lambda _event: store.go(f"/history/plot/{FIRST}"),
            key="plots",
            icon=ft.Icons.SHOW_CHART,
        )
        if shown
        else None,
        *(_entry(line, lambda _event, key=line.id: store.go(f"/history/{key}")) for line in shown),
        basics.paragraph(TEXTS["empty"]) if not shown else None,
        basics.side_button(TEXTS["older"], lambda _event: set_count(count + PAGE), key="older")
        if len(shown) == count
        else None,
        spacing=theme.GAP,
    )


def _entry(line: Line, open_it: basics.Handler) -> ft.Control:
    detail_line = " · ".join(part for part in (line.time, line.mark) if part)
    said = f"{line.title}: {line.summary}" if line.summary else line.title
    return basics.list_button(
        said, detail_line, open_it, key=f"line-{line.id}", struck=bool(line.mark)
    )


@ft.component
@guarded
def HistoryEntry() -> ft.Control:
    """Return one entry, with the ways to supersede it."""
    store = use_store()
    mode, set_mode = ft.use_state("read")
    once = use_once()
    found = detail(store.snapshot, ft.use_route_params().get("record", ""))
    if found is None:
        return basics.paragraph(APP["not_found"])

    async def supersede(record: Record, _said: str) -> bool:
        return await store.amend(found.line.id, record, then="/history")

    async def withdraw() -> bool:
        return await store.withdraw(found.withdraws, then="/history")

    if mode == "amend" and found.original:
        start = found.original
        return EntryPad(
            start.form, start.start, supersede, "/history", start, key=f"amend-{found.line.id}"
        )
    return basics.column(
        basics.heading(found.line.title),
        basics.lead(found.line.summary) if found.line.summary else None,
        *(basics.paragraph(text, quiet=True) for text in found.sentences),
        basics.state_line("note", found.line.mark) if found.line.mark else None,
        *_ways(found, mode, set_mode, basics.does(once, withdraw)),
        basics.side_button(TEXTS["back"], lambda _event: store.go("/history"), key="back"),
    )


def _ways(
    found: Detail, mode: str, set_mode: basics.Handler, withdraw: basics.Handler
) -> list[ft.Control]:
    if not found.stands or set_mode is None:
        return []
    if mode == "withdraw":
        return [
            basics.paragraph(found.about_withdrawal),
            basics.side_button(TEXTS["withdraw_sure"], withdraw, key="withdraw-sure", danger=True),
        ]
    ways: list[ft.Control] = []
    if found.original is None or not found.original.form.fields:
        ways.append(basics.paragraph(TEXTS["not_amendable"], quiet=True))
    if found.original is not None:
        label = TEXTS["amend" if found.original.form.fields else "amend_time"]
        ways.append(basics.main_button(label, lambda _event: set_mode("amend"), key="amend"))
    if not found.withdraws:
        return [*ways, basics.paragraph(found.about_withdrawal, quiet=True)]
    start = basics.side_button(
        TEXTS["withdraw"], lambda _event: set_mode("withdraw"), key="withdraw"
    )
    return [*ways, start]
