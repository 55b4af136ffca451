"""Keep one failing screen from freezing the app on stale numbers.

An exception while re-rendering would end Flet's update loop silently and leave the *old* numbers
on the screen. A guarded screen shows a panel without any number instead.
"""

import functools
import traceback
from collections.abc import Callable
from typing import Any

import flet as ft

from mobile.components import basics
from mobile.texts.app import TEXTS


def guarded(render: Callable[..., Any]) -> Callable[..., Any]:
    """Wrap a component's body; apply it *under* `@ft.component`."""

    @functools.wraps(render)
    def safe(*arguments: Any, **options: Any) -> Any:
        try:
            return render(*arguments, **options)
        except Exception:  # noqa: BLE001 - the edge of the UI: nothing behind it could report
            traceback.print_exc()
            return failure_panel()

    return safe


def failure_panel() -> ft.Control:
    """Return what stands in for a screen that could not be drawn."""
    return basics.column(
        basics.heading(TEXTS["screen_failed_title"]),
        basics.paragraph(TEXTS["screen_failed"]),
        key="screen-failed",
    )
