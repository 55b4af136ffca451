"""A piece of work that a second, quick tap must not do again."""

from collections.abc import Awaitable, Callable
from typing import Any, cast

import flet as ft


class Once:
    """Does one piece of work at a time, and none after one that was done."""

    def __init__(self) -> None:
        self._closed = False

    async def __call__(self, work: Callable[..., Awaitable[bool]], *values: Any) -> None:
        """Do the work, which returns whether it is done; what comes meanwhile is left out."""
        if self._closed:
            return
        self._closed = True
        done = False
        try:
            done = await work(*values)
        finally:
            self._closed = done


def use_once() -> Once:
    """Return the calling component's own `Once`."""
    return cast("Once", ft.use_ref(Once).current)
