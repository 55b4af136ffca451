"""Drive the app's component tree without Flutter: render, find controls, fire events, read texts.

It touches Flet's internals, which is one reason why pyproject.toml pins Flet exactly.
"""

import asyncio
import dataclasses
import enum
import functools
from collections.abc import Iterator
from typing import Any

import flet as ft
from flet.controls.base_control import BaseControl
from flet.controls.context import _context_page
from flet.messaging.connection import Connection
from flet.messaging.session import Session
from flet.pubsub.pubsub_hub import PubSubHub


class RecordingConnection(Connection):
    """A client that only remembers what it was sent."""

    def __init__(self) -> None:
        super().__init__()
        self.messages: list[Any] = []
        self.pubsubhub = PubSubHub()
        self.page_url = "http://test"

    def send_message(self, message: Any) -> None:
        self.messages.append(message)


_LEAVES = (str, int, float, type(None), enum.Enum, type(lambda: None))


@functools.cache
def _names(kind: type) -> tuple[str, ...]:
    fields = dataclasses.fields(kind)
    return tuple(f.name for f in fields if not f.metadata.get("skip") and f.name != "_parent")


def walk(value: Any, seen: set[int] | None = None) -> Iterator[BaseControl]:
    """Yield every control below a value, once."""
    seen = set() if seen is None else seen
    if id(value) in seen:
        return
    seen.add(id(value))
    if isinstance(value, BaseControl):
        yield value
    if dataclasses.is_dataclass(value):
        for name in _names(type(value)):
            below = getattr(value, name, None)
            if not isinstance(below, _LEAVES):
                yield from walk(below, seen)
    elif isinstance(value, (list, tuple)):
        for item in value:
            yield from walk(item, seen)
    elif isinstance(value, dict):
        for item in value.values():
            yield from walk(item, seen)


class Screen:
    """The app as a client would hold it."""

    def __init__(self) -> None:
        self.connection = RecordingConnection()
        self.session = Session(self.connection)
        self.page = self.session.page
        self.page.route = "/"
        self.path = "/"
        _context_page.set(self.page)

    def navigate(self, path: str) -> None:
        """Stand in for the client's answer to a navigation: the route changes."""
        self.path = path
        event = ft.RouteChangeEvent(name="route_change", control=self.page, data=path, route=path)
        self.page.route = path
        handler = self.page.on_route_change
        if handler is not None:
            handler(event)

    def render(self, app: Any, *arguments: Any) -> None:
        """Draw the app for the first time."""
        self.page.render_views(app, *arguments)
        self.session.get_page_patch()

    def close(self) -> None:
        """End the session's update loop."""
        self.session._Session__updates_task.cancel()

    async def settle(self, turns: int = 60) -> None:
        """Let pending work of the event loop run."""
        for _ in range(turns):
            await asyncio.sleep(0)

    def controls(self, kind: type[BaseControl] = BaseControl) -> list[Any]:
        """Return every control of a type on the screen."""
        return [control for control in walk(self.page.views) if isinstance(control, kind)]

    def texts(self) -> list[str]:
        """Return every text on the screen."""
        return [control.value for control in self.controls(ft.Text)]

    def says(self, words: str) -> bool:
        """Return whether some text on the screen holds these words."""
        return any(words in (text or "") for text in self.texts())

    def find(self, key: str) -> Any:
        """Return the control with a key."""
        for control in self.controls():
            if getattr(control, "key", None) == key:
                return control
        keys = sorted(str(c.key) for c in self.controls() if getattr(c, "key", None))
        raise AssertionError(f"no control {key!r}; there are {keys}")

    def has(self, key: str) -> bool:
        """Return whether a control with a key is on the screen."""
        return any(getattr(control, "key", None) == key for control in self.controls())

    async def tap(self, key: str) -> None:
        """Tap a control."""
        await self.fire(key, "click")

    async def fire(self, key: str, event: str, data: Any = None) -> None:
        """Send an event of a control."""
        control = self.find(key)
        await self.session.dispatch_event(control._i, event, data)
        await self.settle()
        assert not self.crashes(), self.crashes()

    async def write(self, key: str, text: str) -> None:
        """Type into a text field."""
        control = self.find(key)
        self.session.apply_patch(control._i, {"value": text})
        await self.fire(key, "change", text)

    async def type(self, digits: str) -> None:
        """Press the keypad's keys."""
        for digit in digits:
            await self.tap("key-point" if digit in ".," else f"key-{digit}")

    def crashes(self) -> list[Any]:
        """Return what the client would show as a crashed session."""
        return [m for m in self.connection.messages if "CRASH" in str(m.action)]
