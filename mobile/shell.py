"""The frame of every screen: top bar, banners and notice, the screen, the bottom bar."""

from collections.abc import Callable
from typing import Final

import flet as ft

from mobile import theme
from mobile.components.context import use_store
from mobile.components.failed_panel import could_not_be_shown
from mobile.components.guarded import failure_panel, guarded_view
from mobile.components.places import use_places
from mobile.screens.banners import banners, notice
from mobile.screens.not_opened import NotOpened
from mobile.screens.setup import Welcome
from mobile.screens.today import Starting
from mobile.state.boundary import tried
from mobile.state.snapshot import Snapshot
from mobile.store import Store
from mobile.texts.app import TEXTS

PLACES: Final = (
    ("today", "/", ft.Icons.WATER_DROP_OUTLINED),
    ("record", "/record", ft.Icons.EDIT_NOTE),
    ("mix", "/mix", ft.Icons.SCIENCE_OUTLINED),
    ("plan", "/plan", ft.Icons.TUNE),
    ("history", "/history", ft.Icons.SHOW_CHART),
)
# The page draws the red button over the bar's right end, so that it works without Python, too.
# Its sizes are those of #overdose in mobile/web/page.css, with 8 px around it.
BAR_HEIGHT: Final = 64
CORNER_LEAST: Final = 148
CORNER_TEXT: Final = 16
CORNER_PADDING: Final = ft.Padding.symmetric(vertical=12, horizontal=20)
WITHOUT_SYSTEM: Final = ("/new", "/help", "/setup")
BEHIND: Final = ("/new", "/help", "/setup", "/jobs", "/minder", "/incident")  # no place's own


def place_of(path: str) -> int | None:
    """Return the index of the place in the bottom bar that a path belongs to, None for none."""
    if any(path == route or path.startswith(route + "/") for route in BEHIND):
        return None
    for index, (_name, route, _icon) in enumerate(PLACES):
        if route != "/" and (path == route or path.startswith(route + "/")):
            return index
    return 0


@ft.component
@guarded_view
def Shell() -> ft.View:
    """Return the view: the outlet of the route within the frame."""
    store = use_store()
    places = use_places()
    outlet = ft.use_route_outlet()
    path = ft.use_route_location()

    async def arrive() -> None:
        await places.arrive(path)

    ft.use_effect(arrive, [path])
    snapshot = store.snapshot
    return ft.View(
        route="/",
        can_pop=False,
        padding=0,
        spacing=0,
        bgcolor=theme.GROUND,
        controls=[
            ft.SafeArea(
                expand=True,
                content=ft.Column(
                    [
                        *_part(lambda: [_top_bar(store, snapshot, path)]),
                        # One place for all: a banner that comes or goes must not move the
                        # screen below it, which would lose an entry being typed.
                        ft.Column(
                            _part(lambda: banners(store, snapshot, path)),
                            spacing=0,
                            horizontal_alignment=ft.CrossAxisAlignment.STRETCH,
                        ),
                        ft.Container(
                            expand=True,
                            alignment=ft.Alignment.TOP_CENTER,
                            content=places.scrolling(
                                _measured(
                                    tried("shell", lambda: _content(snapshot, path, outlet), None)
                                    or failure_panel()
                                ),
                                path,
                            ),
                        ),
                        *_part(lambda: notice(store, snapshot)),
                        *_part(lambda: _bottom_bar(store, snapshot, path)),
                    ],
                    spacing=0,
                    horizontal_alignment=ft.CrossAxisAlignment.STRETCH,
                ),
            )
        ],
    )


def _part(make: Callable[[], list[ft.Control]]) -> list[ft.Control]:
    """Return a part of the frame; the others stand without it."""
    made = tried("shell", make, None)
    return [could_not_be_shown()] if made is None else made


def _content(snapshot: Snapshot, path: str, outlet: ft.Control) -> ft.Control:
    """Return the route's screen, or what stands in for it before there is a system."""
    if not snapshot.ready:
        return Starting(key="starting")
    if snapshot.not_opened and not path.startswith("/help"):
        return NotOpened(key="records-not-opened")
    if snapshot.setup is None and snapshot.failure is not None:
        return outlet if path.startswith(WITHOUT_SYSTEM) else failure_panel()
    if snapshot.setup is None and not path.startswith(WITHOUT_SYSTEM):
        return Welcome(key="welcome")
    return outlet


def _measured(outlet: ft.Control) -> ft.Control:
    return ft.Container(
        content=outlet,
        padding=ft.Padding.only(left=theme.PAD, right=theme.PAD, top=8, bottom=28),
        width=theme.WIDEST,
    )


def _top_bar(store: Store, snapshot: Snapshot, path: str) -> ft.Control:
    name = snapshot.setup.name if snapshot.setup else "Sumpside"
    return ft.Container(
        padding=ft.Padding.only(left=theme.PAD),
        content=ft.Row(
            [
                ft.Container(height=BAR_HEIGHT),
                ft.Text(
                    name,
                    size=theme.BODY,
                    weight=ft.FontWeight.W_600,
                    color=theme.QUIET,
                    expand=True,
                    max_lines=1,
                    overflow=ft.TextOverflow.ELLIPSIS,
                ),
                _corner_icon(store, "setup", "/setup", ft.Icons.SETTINGS_OUTLINED, path),
                _corner_icon(store, "help", "/help", ft.Icons.HELP_OUTLINE, path),
                _overdose_corner(),
            ],
            spacing=0,
            vertical_alignment=ft.CrossAxisAlignment.CENTER,
        ),
    )


def _overdose_corner() -> ft.Control:
    """Return the room of the red button: its own word, unseen, grows with the reader's text."""
    word = ft.Text(
        TEXTS["overdose"],
        size=CORNER_TEXT,
        weight=ft.FontWeight.W_700,
        color=ft.Colors.TRANSPARENT,
        no_wrap=True,
        max_lines=1,
    )
    return ft.Semantics(
        exclude_semantics=True,
        content=ft.Column(
            [ft.Container(width=CORNER_LEAST), ft.Container(word, padding=CORNER_PADDING)],
            spacing=0,
            tight=True,
        ),
    )


def _corner_icon(store: Store, name: str, route: str, icon: ft.IconData, path: str) -> ft.Control:
    colour = theme.ACCENT if path.startswith(route) else theme.QUIET
    # The icon carries the name: a tooltip alone leaves the button nameless on the web.
    return ft.TextButton(
        content=ft.Icon(icon, color=colour, size=26, semantics_label=TEXTS[name]),
        width=theme.TARGET,
        height=theme.TARGET,
        style=ft.ButtonStyle(padding=0),
        key=f"go-{name}",
        on_click=lambda _event: store.go(route),
    )


def _bottom_bar(store: Store, snapshot: Snapshot, path: str) -> list[ft.Control]:
    """Return the places; with large text they take a second row instead of small labels."""
    if snapshot.setup is None:
        return []
    here = place_of(path)
    buttons: list[ft.Control] = [
        _place(store, name, route, icon, here=index == here)
        for index, (name, route, icon) in enumerate(PLACES)
    ]
    bar = ft.Container(
        bgcolor=theme.SHEET,
        border=ft.Border(top=ft.BorderSide(1, ft.Colors.with_opacity(0.35, theme.LINE))),
        padding=ft.Padding.symmetric(vertical=4, horizontal=2),
        content=ft.Row(
            buttons,
            wrap=True,
            spacing=2,
            run_spacing=0,
            alignment=ft.MainAxisAlignment.SPACE_AROUND,
        ),
        key="bottom-bar",
    )
    return [bar]


def _place(store: Store, name: str, route: str, icon: ft.IconData, *, here: bool) -> ft.Control:
    colour = theme.ON_SOFT if here else theme.QUIET
    return ft.TextButton(
        content=ft.Column(
            [
                ft.Container(
                    content=ft.Icon(
                        icon,
                        color=colour,
                        size=26,
                        semantics_label=TEXTS["place_here"] if here else None,
                    ),
                    bgcolor=theme.SOFT if here else None,
                    border_radius=16,
                    padding=ft.Padding.symmetric(horizontal=14, vertical=3),
                ),
                ft.Text(
                    TEXTS[name],
                    size=theme.PLACE,
                    weight=ft.FontWeight.W_700 if here else ft.FontWeight.W_600,
                    color=theme.INK if here else theme.QUIET,
                    no_wrap=True,
                ),
            ],
            spacing=1,
            tight=True,
            horizontal_alignment=ft.CrossAxisAlignment.CENTER,
        ),
        key=f"place-{name}",
        on_click=lambda _event: store.go(route),
        style=ft.ButtonStyle(
            padding=ft.Padding.symmetric(horizontal=4, vertical=4),
            shape=ft.RoundedRectangleBorder(radius=10),
        ),
    )
