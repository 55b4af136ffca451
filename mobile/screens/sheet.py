"""Readings as a table: out for a spreadsheet, in from the keeper's own, looked at first."""

import flet as ft

from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.components.once import use_once
from mobile.state.sentences import counted
from mobile.state.sheet import page
from mobile.state.sheet.dates import Order
from mobile.state.sheet.page import Sheet
from mobile.store import Store
from mobile.texts.setup import TEXTS as SETUP
from mobile.texts.sheet import TEXTS
from mobile.texts.storage_page import TEXTS as PAGE


@ft.component
@guarded
def TablesPage() -> ft.Control:
    """Return the ways of readings out and in, or the table that was picked."""
    store = use_store()
    snapshot = store.snapshot
    once = use_once()
    back = basics.side_button(PAGE["back"], lambda _event: store.go("/setup"), key="back")
    if snapshot.demo or snapshot.setup is None:
        return basics.column(basics.paragraph(SETUP["records_in_demo"]), back)
    sheet = snapshot.sheet
    if sheet is not None and sheet.table is not None:
        if sheet.open_column is not None:
            return _column(store, sheet, sheet.open_column)
        return _picked(store, sheet, basics.does(once, store.tables.apply))
    return basics.column(
        basics.heading(TEXTS["title"]),
        basics.heading(TEXTS["out_title"], level=2),
        basics.paragraph(TEXTS["out_about"].format(system=snapshot.setup.name)),
        basics.row(
            basics.side_button(
                TEXTS["out_point"], basics.does(store.tables.export, "."), key="table-out-point"
            ),
            basics.side_button(
                TEXTS["out_comma"], basics.does(store.tables.export, ","), key="table-out-comma"
            ),
        ),
        basics.heading(TEXTS["in_title"], level=2),
        basics.paragraph(TEXTS["in_about"].format(system=snapshot.setup.name)),
        basics.state_line("danger", TEXTS[sheet.fault], key="table-fault")
        if sheet is not None and sheet.fault
        else None,
        basics.paragraph(TEXTS["in_read_only"])
        if snapshot.storage.blocked
        else basics.main_button(
            TEXTS["in_pick"], None, action=store.tables.pick_action(), key="table-pick"
        ),
        back,
    )


def _picked(store: Store, sheet: Sheet, apply: basics.Handler) -> ft.Control:
    """Return the columns, the open questions and what would come in."""
    asked = page.question(sheet)
    return basics.column(
        basics.heading(TEXTS["preview_title"]),
        *_preview(store, sheet, apply),
        basics.state_line("warn", asked, key="table-question") if asked else None,
        *_order(store, sheet),
        *_sign(store, sheet),
        basics.side_button(TEXTS["leave"], lambda _event: store.tables.drop(), key="table-leave"),
        basics.heading(TEXTS["columns_title"], level=2),
        basics.paragraph(TEXTS["columns_about"], quiet=True),
        *(_column_line(store, sheet, index) for index in range(len(sheet.choices.roles))),
    )


def _column_line(store: Store, sheet: Sheet, index: int) -> ft.Control:
    name, about = page.column_line(sheet, index)
    return basics.list_button(
        name, about, lambda _event: store.tables.open_column(index), key=f"column-{index}"
    )


def _order(store: Store, sheet: Sheet) -> list[ft.Control]:
    if not sheet.choices.needs_order:
        return []
    taken = sheet.choices.order
    title = TEXTS["order_title"].format(sample=page.date_sample(sheet) or "–")
    return [
        basics.paragraph(title, quiet=True),
        basics.row(
            *(
                basics.choice_button(
                    TEXTS[f"order_{order}"],
                    taken=order == taken,
                    on_click=basics.does(store.tables.choose_order, order),
                    key=f"order-{order}",
                )
                for order in Order
            )
        ),
    ]


def _sign(store: Store, sheet: Sheet) -> list[ft.Control]:
    signs = (("point", "."), ("comma", ","))
    return [
        basics.paragraph(TEXTS["sign_title"], quiet=True),
        basics.row(
            *(
                basics.choice_button(
                    TEXTS[f"sign_{name}"],
                    taken=sheet.choices.sign == sign,
                    on_click=basics.does(store.tables.choose_sign, sign),
                    key=f"sign-{name}",
                )
                for name, sign in signs
            )
        ),
    ]


def _preview(store: Store, sheet: Sheet, apply: basics.Handler) -> list[ft.Control]:
    found = sheet.preview
    if found is None:
        return [] if sheet.choices.open_question else [basics.paragraph(TEXTS["working"])]
    said = [
        basics.state_line("note", line, key="table-line")
        for line in page.preview_lines(sheet, store.snapshot.now)
    ]
    why = [
        basics.paragraph(line, quiet=True, key="table-finding")
        for line in page.finding_lines(sheet)
    ]
    ways: list[ft.Control] = []
    if found.new:
        label = TEXTS["apply"].format(readings=counted(found.new, "reading"))
        ways.append(basics.main_button(label, apply, key="table-apply"))
    if found.unusual:
        ways.append(_unusual(store, sheet, found.unusual))
    return [basics.sheet(*said, *why, *ways, edge=theme.ACCENT, key="table-preview")]


def _unusual(store: Store, sheet: Sheet, count: int) -> ft.Control:
    taken = sheet.choices.unusual
    label = TEXTS["leave_unusual" if taken else "take_unusual"].format(count=count)
    button = basics.side_button(
        label, basics.does(store.tables.take_unusual, taken=not taken), key="table-unusual"
    )
    if not taken:
        return button
    said = TEXTS["unusual_taken"].format(count=count)
    return basics.column(basics.state_line("warn", said), button)


def _column(store: Store, sheet: Sheet, index: int) -> ft.Control:
    """Return what a column may hold, and its unit."""
    taken = sheet.choices.roles[index]
    name, about = page.column_line(sheet, index)
    units = page.units_of(sheet, index)
    return basics.column(
        basics.heading(TEXTS["column_choose"].format(column=name)),
        basics.paragraph(about, quiet=True),
        basics.paragraph(TEXTS["column_unit"]) if units else None,
        basics.row(
            *(
                basics.choice_button(
                    label,
                    taken=role == taken,
                    on_click=basics.does(store.tables.choose, index, role),
                    key=f"unit-{number}",
                )
                for number, (role, label) in enumerate(units)
            )
        ),
        *(
            basics.choice_button(
                label,
                taken=role.partition("|")[0] == taken.partition("|")[0],
                on_click=basics.does(store.tables.choose, index, role),
                key=f"role-{role.partition('|')[0]}",
            )
            for role, label in page.roles_of(sheet, index)
        ),
        basics.side_button(
            TEXTS["column_back"], lambda _event: store.tables.open_column(None), key="column-back"
        ),
    )
