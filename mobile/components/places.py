"""What the frame remembers of its places while the app runs: how far each was scrolled.

A list is left for one of its entries and come back to: it stands where it was. Any other way to a
place starts at its top, and so does a turned page of one place (`use_top`).
"""

from collections.abc import Callable
from contextlib import suppress
from typing import Any, Final

import flet as ft

_SCROLL_EVERY_MS: Final = 200


class Places:
    """The memory of the frame; nothing in it is worth keeping when the app is closed."""

    def __init__(self) -> None:
        self.column: ft.Column | None = None  # that scrolls what is on the screen
        self._path = "/"
        self._offsets: dict[str, float] = {}
        self._kept: dict[str, Any] = {}

    def scrolling(self, content: ft.Control, path: str) -> ft.Column:
        """Return the column that scrolls a path's screen."""
        self.column = ft.Column(
            [content],
            scroll=ft.ScrollMode.AUTO,
            scroll_interval=_SCROLL_EVERY_MS,
            on_scroll=lambda event: self._scrolled(path, event.pixels),
            horizontal_alignment=ft.CrossAxisAlignment.CENTER,
            expand=True,
            key=f"scroll-{path}",
        )
        return self.column

    async def arrive(self, path: str) -> None:
        """Stand where the list was left, when one of its entries is left for it."""
        back = self._path.startswith(f"{path}/")
        self._path = path
        if not back:
            self._offsets.pop(path, None)
        elif self._offsets.get(path):
            await self.scroll_to(self._offsets[path])

    async def scroll_to(self, offset: float) -> None:
        """Scroll what is on the screen."""
        if self.column is not None:
            with suppress(RuntimeError, TimeoutError):  # the client has gone on meanwhile
                await self.column.scroll_to(offset=offset, duration=0)

    def keep(self, key: str, initial: Any) -> Any:
        """Return what was kept under a key."""
        return self._kept.get(key, initial)

    def put(self, key: str, value: Any) -> None:
        """Keep a value under a key."""
        self._kept[key] = value

    def _scrolled(self, path: str, pixels: float) -> None:
        if path == self._path:
            self._offsets[path] = pixels


PlacesContext: Any = ft.create_context(None)


def use_places() -> Places:
    """Return the frame's memory."""
    return ft.use_context(PlacesContext)


def use_top(page: str) -> None:
    """Scroll to the top whenever `page` changes: a turned page of one place, such as a step."""
    places = use_places()
    shown = ft.use_ref(page)

    async def turn() -> None:
        if shown.current != page:
            shown.current = page
            await places.scroll_to(0.0)

    ft.use_effect(turn, [page])


def use_kept(key: str, initial: Any) -> tuple[Any, Callable[[Any], None]]:
    """Return a value and its setter, as `use_state`, that outlives a visit to another place."""
    places = use_places()
    value, set_value = ft.use_state(places.keep(key, initial))

    def put(new: Any) -> None:
        places.put(key, new)
        set_value(new)

    return value, put
