"""Text, buttons and layout in the app's own measure."""

from collections.abc import Awaitable, Callable, Sequence
from typing import Any

import flet as ft

from mobile import theme

Handler = Callable[..., Any] | None


def does(work: Callable[..., Awaitable[Any]], *values: Any, **options: Any) -> Handler:
    """Return an event handler that awaits `work` with these values.

    Flet awaits only handlers that are coroutine functions themselves: a lambda around one would
    never run.
    """

    async def handler(_event: Any) -> None:
        await work(*values, **options)

    return handler


def column(*controls: ft.Control | None, key: str | None = None, spacing: int = 14) -> ft.Column:
    """Return the controls one below the other, as wide as there is room."""
    return ft.Column(
        [control for control in controls if control is not None],
        spacing=spacing,
        horizontal_alignment=ft.CrossAxisAlignment.STRETCH,
        tight=True,
        key=key,
    )


def row(*controls: ft.Control | None, spacing: int = theme.GAP) -> ft.Row:
    """Return the controls side by side, going on to a next line where they do not fit."""
    return ft.Row(
        [control for control in controls if control is not None],
        spacing=spacing,
        run_spacing=theme.GAP,
        wrap=True,
    )


def heading(text: str, *, level: int = 1) -> ft.Control:
    """Return a title that screen readers find as one."""
    size = theme.TITLE if level == 1 else 19
    return ft.Semantics(
        header=True,
        heading_level=level,
        content=ft.Text(text, size=size, weight=ft.FontWeight.W_700, color=theme.INK),
    )


def section(title: str, controls: Sequence[ft.Control], *, level: int = 2) -> list[ft.Control]:
    """Return a part of a page under its title; nothing where the part is empty."""
    if not controls:
        return []
    return [column(heading(title, level=level), *controls, spacing=theme.GAP)]


def lead(text: str, *, key: str | None = None) -> ft.Text:
    """Return the sentence that a screen is about."""
    return ft.Text(text, size=theme.LEAD, weight=ft.FontWeight.W_600, color=theme.INK, key=key)


def paragraph(text: str, *, quiet: bool = False, key: str | None = None) -> ft.Text:
    """Return running text; `quiet` for what is read second."""
    return ft.Text(
        text,
        size=theme.SMALL if quiet else theme.BODY,
        color=theme.QUIET if quiet else theme.INK,
        key=key,
    )


_STATES = {
    "good": (ft.Icons.CHECK_CIRCLE_OUTLINE, theme.GOOD),
    "note": (ft.Icons.INFO_OUTLINE, theme.ACCENT),
    "warn": (ft.Icons.WARNING_AMBER_ROUNDED, theme.WARN),
    "danger": (ft.Icons.DANGEROUS_OUTLINED, theme.DANGER),
}


def state_line(state: str, text: str, *, key: str | None = None) -> ft.Row:
    """Return a sentence with its state as icon and colour; the words carry it alone, too."""
    icon, colour = _STATES[state]
    return ft.Row(
        [
            ft.Icon(icon, color=colour, size=24),
            ft.Text(text, size=theme.BODY, color=theme.INK, expand=True, key=key),
        ],
        spacing=10,
        vertical_alignment=ft.CrossAxisAlignment.START,
    )


def state_lead(state: str, text: str, *, key: str | None = None) -> ft.Row:
    """Return the sentence that a screen is about, with its state as icon and colour."""
    icon, colour = _STATES[state]
    return ft.Row(
        [ft.Icon(icon, color=colour, size=32), ft.Container(lead(text, key=key), expand=True)],
        spacing=12,
        vertical_alignment=ft.CrossAxisAlignment.START,
    )


def sheet(*controls: ft.Control | None, key: str | None = None, edge: str | None = None) -> Any:
    """Return the controls on a raised sheet; `edge` names a colour for its left border."""
    border = (
        ft.Border(left=ft.BorderSide(5, edge))
        if edge
        else ft.Border.all(1, ft.Colors.with_opacity(0.35, theme.LINE))
    )
    return ft.Container(
        content=column(*controls, spacing=10),
        bgcolor=theme.SHEET,
        border=border,
        border_radius=4 if edge else 10,
        padding=theme.PAD,
        key=key,
    )


def _shape() -> ft.RoundedRectangleBorder:
    return ft.RoundedRectangleBorder(radius=10)


def _label(text: str, colour: str, *, strong: bool = True) -> ft.Text:
    return ft.Text(
        text,
        size=theme.BODY + 1,
        weight=ft.FontWeight.W_600 if strong else ft.FontWeight.W_400,
        color=colour,
        text_align=ft.TextAlign.CENTER,
    )


def main_button(
    text: str, on_click: Handler, *, key: str, disabled: bool = False, action: Any = None
) -> ft.Control:
    """Return the one thing to do on a screen."""
    return ft.FilledButton(
        content=_label(text, theme.ON_ACCENT),
        on_click=on_click,
        action=action,
        disabled=disabled,
        key=key,
        style=ft.ButtonStyle(
            shape=_shape(),
            padding=ft.Padding.symmetric(vertical=18, horizontal=16),
            bgcolor={
                ft.ControlState.DISABLED: theme.LINE,
                ft.ControlState.DEFAULT: theme.ACCENT,
            },
        ),
    )


def side_button(
    text: str, on_click: Handler, *, key: str, action: Any = None, danger: bool = False
) -> ft.Control:
    """Return a second choice: outlined."""
    colour = theme.DANGER if danger else theme.ACCENT
    return ft.OutlinedButton(
        content=_label(text, colour),
        on_click=on_click,
        action=action,
        key=key,
        style=ft.ButtonStyle(
            shape=_shape(),
            padding=ft.Padding.symmetric(vertical=18, horizontal=14),
            side=ft.BorderSide(1.5, colour),
        ),
    )


def quiet_button(text: str, on_click: Handler, *, key: str) -> ft.Control:
    """Return a choice that is rarely taken: quiet words without a frame, as tall as any other."""
    return ft.TextButton(
        content=ft.Text(text, size=theme.SMALL, color=theme.QUIET),
        on_click=on_click,
        key=key,
        style=ft.ButtonStyle(
            shape=_shape(),
            padding=ft.Padding.symmetric(vertical=20, horizontal=14),
            alignment=ft.Alignment.CENTER_LEFT,
        ),
    )


def choice_button(text: str, *, taken: bool, on_click: Handler, key: str) -> ft.Control:
    """Return one of several choices; the taken one has a tick as well as a colour."""
    label = f"✓ {text}" if taken else text
    return ft.OutlinedButton(
        content=_label(label, theme.ON_SOFT if taken else theme.INK, strong=taken),
        on_click=on_click,
        key=key,
        style=ft.ButtonStyle(
            shape=_shape(),
            padding=ft.Padding.symmetric(vertical=18, horizontal=14),
            side=ft.BorderSide(2 if taken else 1, theme.ACCENT if taken else theme.LINE),
            bgcolor=theme.SOFT if taken else theme.SHEET,
        ),
    )


def _ring() -> ft.Control:
    return ft.Container(width=24, height=24, border_radius=12, border=ft.Border.all(2, theme.QUIET))


def list_button(
    title: str,
    detail: str,
    on_click: Handler,
    *,
    key: str,
    icon: Any = ft.Icons.CHEVRON_RIGHT,
    struck: bool = False,
    to_tick: bool = False,
) -> ft.Control:
    """Return a full-width entry of a list: what it is, and a second line.

    `to_tick` shows an empty ring in place of the icon: a tap ticks it off.
    """
    strike = ft.TextStyle(decoration=ft.TextDecoration.LINE_THROUGH) if struck else None
    words: list[ft.Control] = [
        ft.Text(
            title,
            size=theme.BODY + 1,
            weight=ft.FontWeight.W_400 if struck else ft.FontWeight.W_600,
            color=theme.QUIET if struck else theme.INK,
            style=strike,
        )
    ]
    if detail:
        words.append(ft.Text(detail, size=theme.SMALL, color=theme.QUIET))
    return ft.OutlinedButton(
        content=ft.Row(
            [
                ft.Column(words, spacing=2, expand=True, tight=True),
                _ring() if to_tick else ft.Icon(icon, color=theme.QUIET, size=24),
            ],
            spacing=8,
        ),
        on_click=on_click,
        key=key,
        style=ft.ButtonStyle(
            shape=_shape(),
            padding=ft.Padding.symmetric(vertical=14, horizontal=16),
            side=ft.BorderSide(1, ft.Colors.with_opacity(0.55, theme.LINE)),
            bgcolor=theme.SHEET,
        ),
    )


def choices(
    options: Sequence[tuple[str, str]], taken: str, choose: Callable[[str], Any], *, key: str
) -> ft.Control:
    """Return a set of choices, one of them taken; `choose` gets the value."""
    return row(
        *(
            choice_button(
                label,
                taken=value == taken,
                on_click=lambda _event, value=value: choose(value),
                key=f"{key}-{value}",
            )
            for value, label in options
        )
    )
