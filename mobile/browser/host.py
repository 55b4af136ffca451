"""`BrowserHost`: the page around the app, reached through the worker script's messages."""

import json
from collections.abc import Callable
from typing import Any, Final, Literal, cast

import js  # pyright: ignore[reportMissingImports]
import sumpside_host  # pyright: ignore[reportMissingImports]  # registered by python_worker.js
from pyodide.ffi import (  # pyright: ignore[reportMissingImports]
    JsException,
    create_proxy,
)

from mobile.browser.names import own_name
from mobile.browser.shared_place import clear_shared
from mobile.host import HostError

CHANNEL: Final = "sumpside-windows"


class BrowserHost:
    """Implements `mobile.host.Host`; make one for the life of the worker."""

    kind: Literal["browser", "desktop"] = "browser"

    def __init__(self) -> None:
        self.base_url = str(sumpside_host.base)
        self.build_id = str(sumpside_host.build)
        self.locale = str(sumpside_host.locale)
        self._callbacks: dict[str, list[Callable[[], None]]] = {}
        self._update_is_ready = False
        # The page calls for as long as the worker lives: the proxy is never destroyed.
        self._receiver = create_proxy(self._receive)
        sumpside_host.listen(self._receiver)
        self._channel: Any = None

    async def request_persistence(self) -> bool | None:
        """Ask that storage is never evicted; None where the browser cannot say."""
        return cast("bool | None", await self._request("request_persistence"))

    async def persisted(self) -> bool | None:
        """Tell whether storage is safe from eviction; None where the browser cannot say."""
        return cast("bool | None", await self._request("persisted"))

    async def storage_estimate(self) -> tuple[int, int] | None:
        """Return bytes in use and bytes allowed; None where the browser cannot say."""
        answer = await self._request("storage_estimate")
        return None if answer is None else (int(answer[0]), int(answer[1]))

    async def publish_figures(self, figures: dict[str, Any]) -> None:
        """Store the figures that the emergency card shows; HostError when that failed."""
        await self._request("publish_figures", figures)

    async def clear_shared_records(self) -> bool:
        """Erase what sites shared before; False where another site may use it."""
        return await clear_shared(self.base_url)

    def set_busy(self, busy: bool) -> None:
        """Tell that a form is open or a save is under way: no update is applied meanwhile."""
        sumpside_host.post("busy", json.dumps(busy))

    def on_update_ready(self, callback: Callable[[], None]) -> None:
        """Call back when a new version is stored and waits, now or later."""
        self._callbacks.setdefault("update_ready", []).append(callback)
        if self._update_is_ready:
            callback()

    async def recalled(self) -> str:
        """Return why this build must give no dose; empty while nothing recalls it."""
        return str(await self._request("recalled"))

    def on_recalled(self, callback: Callable[[], None]) -> None:
        """Call back when the answer of `recalled` has changed."""
        self._callbacks.setdefault("recalled", []).append(callback)

    async def apply_update(self) -> bool:
        """Start the waiting version by one reload; False, and nothing happens, while busy."""
        return bool(await self._request("apply_update"))

    def on_visible(self, callback: Callable[[], None]) -> None:
        """Call back each time the app comes back to the front."""
        self._callbacks.setdefault("visible", []).append(callback)

    def on_incident(self, callback: Callable[[], None]) -> None:
        """Call back when the card's "Record what is happening" was pressed over the app."""
        self._callbacks.setdefault("incident", []).append(callback)

    def open_emergency(self) -> None:
        """Show the emergency card over the running app."""
        sumpside_host.post("open_emergency", "null")

    def tell_windows(self, word: str) -> None:
        """Send a word to every other window of the app on this machine."""
        if self._channel is not None:
            self._channel.postMessage(word)

    def on_window(self, callback: Callable[[str], None]) -> None:
        """Call back with each word that another window sends."""
        if hasattr(js, "BroadcastChannel"):
            self._channel = js.BroadcastChannel.new(own_name(CHANNEL, self.base_url))
            # For the life of the worker, as the receiver above.
            self._channel.onmessage = create_proxy(lambda event: callback(str(event.data)))

    def hour12(self) -> bool:
        """Tell whether the user's clock has twelve hours."""
        return bool(sumpside_host.hour12)

    async def _request(self, name: str, value: object = None) -> Any:
        try:
            return json.loads(await sumpside_host.request(name, json.dumps(value)))
        except JsException as error:
            raise HostError(f"{name}: {error}") from error

    def _receive(self, name: str, _text: str) -> None:
        if name == "update_ready":
            self._update_is_ready = True
        for callback in self._callbacks.get(name, []):
            callback()
