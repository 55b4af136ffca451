"""Keep one failing screen or tap from freezing the app on stale numbers.

An exception while re-rendering would end Flet's update loop silently and leave the *old* numbers
on the screen; one in a handler would end the session for the client. A guarded screen shows a
panel without a dose instead, and a failed tap is told.
"""

import functools
import sys
from collections.abc import Callable
from typing import Any

import flet as ft

from mobile.components.failed_panel import FailedPanel
from mobile.state.boundary import caught, is_strict, tried


def guarded(render: Callable[..., Any]) -> Callable[..., Any]:
    """Wrap a component's body; apply it *under* `@ft.component`."""
    return _guarded(render, failure_panel)


def guarded_view(render: Callable[..., Any]) -> Callable[..., Any]:
    """Wrap the body of a component that returns a whole view."""
    return _guarded(render, failure_view)


def _guarded(render: Callable[..., Any], instead: Callable[[], Any]) -> Callable[..., Any]:
    @functools.wraps(render)
    def safe(*arguments: Any, **options: Any) -> Any:
        try:
            return render(*arguments, **options)
        except Exception as error:  # noqa: BLE001 - a boundary: nothing behind it could report
            caught("page", error)
            return instead()

    return safe


def failure_panel() -> ft.Control:
    """Return what stands in for a screen that could not be drawn."""
    return ft.Container(content=FailedPanel(), key="screen-failed")


def failure_view() -> ft.View:
    """Return what stands in for the whole frame."""
    page = ft.Column([failure_panel()], scroll=ft.ScrollMode.AUTO, expand=True)
    return ft.View(route="/", can_pop=False, controls=[ft.SafeArea(expand=True, content=page)])


def contain_events(session: Any, tell: Callable[[], None]) -> None:
    """Make a boundary of every handler: what fails behind a tap is told, the app goes on.

    Flet hands whatever a handler or an effect raises to the session's `error`, which ends the
    session for the client.

    Parameters
    ----------
    session : flet.messaging.session.Session
        Of the page.
    tell : callable
        Says that the tap failed.
    """
    ends = session.error

    def error(message: str) -> None:
        found = sys.exc_info()[1]
        if is_strict() or not isinstance(found, Exception):
            ends(message)
            return
        caught("tap", found)
        tried("tap", tell, None)

    session.error = error
