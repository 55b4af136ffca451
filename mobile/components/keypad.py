"""Our own number keys: large, for gloves, without the phone's keyboard."""

from collections.abc import Callable
from typing import Final

import flet as ft

from mobile import theme
from mobile.state.entry_draft import ERASE

_ROWS: Final = (("1", "2", "3"), ("4", "5", "6"), ("7", "8", "9"), (".", "0", ERASE))


def keypad(press: Callable[[str], None], decimal_sign: str = ".") -> ft.Control:
    """Return the keys; `press` gets a digit, "." or ERASE."""
    return ft.Column(
        [
            ft.Row([_key(name, press, decimal_sign) for name in names], spacing=theme.GAP)
            for names in _ROWS
        ],
        spacing=theme.GAP,
        key="keypad",
    )


def _key(name: str, press: Callable[[str], None], decimal_sign: str) -> ft.Control:
    if name == ERASE:
        face: ft.Control = ft.Icon(
            ft.Icons.BACKSPACE_OUTLINED, color=theme.INK, size=26, semantics_label="Erase"
        )
    else:
        face = ft.Text(
            decimal_sign if name == "." else name,
            size=26,
            weight=ft.FontWeight.W_600,
            color=theme.INK,
        )
    return ft.OutlinedButton(
        content=face,
        on_click=lambda _event: press(name),
        key=f"key-{'point' if name == '.' else name}",
        height=theme.KEY,
        expand=True,
        style=ft.ButtonStyle(
            shape=ft.RoundedRectangleBorder(radius=10),
            padding=0,
            bgcolor=theme.SHEET,
            side=ft.BorderSide(1, theme.LINE),
        ),
    )
