"""The large figure that the keypad fills, with the units it may be typed in."""

from collections.abc import Callable, Sequence

import flet as ft

from mobile import theme
from mobile.components import basics
from mobile.state.sentences import unit_label


def figure(
    *,
    key: str,
    label: str,
    typed: str,
    instead: str,
    units: Sequence[str],
    unit: str,
    active: bool,
    large: bool,
    activate: Callable[[], None],
    choose_unit: Callable[[str], None],
    hint: str = "",
) -> ft.Control:
    """Return one field: its words, what is typed (or `instead` in quiet ink), its units."""
    figures: list[ft.Control] = [
        ft.Text(
            typed or instead,
            size=theme.FIGURE if large else 30,
            weight=ft.FontWeight.W_600 if typed else ft.FontWeight.W_400,
            color=theme.INK if typed else theme.QUIET,
            key=f"figure-{key}",
        )
    ]
    if typed or instead == "–":
        figures.append(ft.Text(unit_label(unit), size=theme.LEAD, color=theme.QUIET))
    words: list[ft.Control] = [ft.Text(label, size=theme.SMALL, color=theme.QUIET)]
    if hint:
        words.append(ft.Text(hint, size=theme.SMALL, color=theme.QUIET))
    box = ft.Container(
        content=basics.column(
            *words,
            ft.Row(
                figures,
                spacing=10,
                vertical_alignment=ft.CrossAxisAlignment.END,
                wrap=True,
            ),
            spacing=2,
        ),
        bgcolor=theme.SHEET,
        border=ft.Border.all(2 if active else 1, theme.ACCENT if active else theme.LINE),
        border_radius=10,
        padding=ft.Padding.symmetric(horizontal=theme.PAD, vertical=10),
        on_click=lambda _event: activate(),
        key=f"field-{key}",
    )
    if len(units) == 1 or not active:
        return box
    choices = basics.choices(
        [(name, unit_label(name)) for name in units], unit, choose_unit, key=f"unit-{key}"
    )
    return basics.column(box, choices, spacing=theme.GAP)
