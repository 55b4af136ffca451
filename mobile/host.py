"""What the app asks of the page or machine that it runs on.

`Host` is the contract; `DesktopHost` serves runs with Python on this machine and tests, and
`mobile.browser.host.BrowserHost` the installed app. `host.kind` tells them apart.
"""

from collections.abc import Callable
from typing import Any, Literal, Protocol

FIGURES_FORMAT = "sumpside-figures"
FIGURES_VERSION = 2


class Host(Protocol):
    """The page around the app, or its stand-in."""

    base_url: str
    """Path that the app is served below, with slashes at both ends."""
    build_id: str
    """Name of the running build; changes with every changed file."""
    kind: Literal["browser", "desktop"]
    locale: str
    """Language tag of the user, such as "en-GB"."""

    async def request_persistence(self) -> bool | None:
        """Ask that storage is never evicted; None where the browser cannot say."""
        ...

    async def persisted(self) -> bool | None:
        """Tell whether storage is safe from eviction; None where the browser cannot say."""
        ...

    async def storage_estimate(self) -> tuple[int, int] | None:
        """Return bytes in use and bytes allowed; None where the browser cannot say."""
        ...

    async def publish_figures(self, figures: dict[str, Any]) -> None:
        """Store the figures that the emergency card shows.

        Parameters
        ----------
        figures : dict
            JSON-ready, with `format` FIGURES_FORMAT and `version` FIGURES_VERSION.

        Raises
        ------
        HostError
            When they could not be stored; the card keeps what it had.
        """
        ...

    async def clear_shared_records(self) -> bool:
        """Erase what sites of this origin shared before each had a place of its own.

        Returns
        -------
        bool
            False where it was left, since another site may use it.

        Raises
        ------
        mobile.storage.errors.AppError
            Something of it may be left.
        """
        ...

    def set_busy(self, busy: bool) -> None:
        """Tell that a form is open or a save is under way: no update is applied meanwhile."""
        ...

    def on_update_ready(self, callback: Callable[[], None]) -> None:
        """Call back when a new version is stored and waits, now or later."""
        ...

    async def recalled(self) -> str:
        """Return why this build must give no dose, as its publisher says; empty: nothing does.

        Raises
        ------
        HostError
            When the page cannot say; what was known stands.
        """
        ...

    def on_recalled(self, callback: Callable[[], None]) -> None:
        """Call back when the answer of `recalled` has changed."""
        ...

    async def apply_update(self) -> bool:
        """Start the waiting version by one reload; False, and nothing happens, while busy."""
        ...

    def on_visible(self, callback: Callable[[], None]) -> None:
        """Call back each time the app comes back to the front."""
        ...

    def on_incident(self, callback: Callable[[], None]) -> None:
        """Call back when the card's "Record what is happening" was pressed over the app."""
        ...

    def open_emergency(self) -> None:
        """Show the emergency card over the running app."""
        ...

    def tell_windows(self, word: str) -> None:
        """Send a word to every other window of the app on this machine."""
        ...

    def on_window(self, callback: Callable[[str], None]) -> None:
        """Call back with each word that another window sends."""
        ...

    def hour12(self) -> bool:
        """Tell whether the user's clock has twelve hours."""
        ...


class HostError(Exception):
    """The page could not do what was asked; `str()` is its message, for developers."""


class DesktopHost:
    """A host without a page: nothing to install, update or evict. Keeps what it was told."""

    base_url = "/"
    build_id = "desktop"
    kind: Literal["browser", "desktop"] = "desktop"

    def __init__(self, *, locale: str = "en", hour12: bool = False) -> None:
        self.locale = locale
        self.figures: dict[str, Any] | None = None
        self.busy = False
        self.emergency_opened = 0
        self._hour12 = hour12
        self.windows: list[DesktopHost] = [self]  # tests put several together
        self.heard: list[Callable[[str], None]] = []
        self._incident: list[Callable[[], None]] = []
        self._visible: list[Callable[[], None]] = []
        self._recall = ""
        self._recalled: list[Callable[[], None]] = []

    async def request_persistence(self) -> bool | None:
        """Return None: a file on a desktop is not evicted."""
        return None

    async def persisted(self) -> bool | None:
        """Return None: a file on a desktop is not evicted."""
        return None

    async def storage_estimate(self) -> tuple[int, int] | None:
        """Return None: the desktop's disk is not ours to judge."""
        return None

    async def publish_figures(self, figures: dict[str, Any]) -> None:
        """Keep the figures in `figures`, for tests to read."""
        self.figures = figures

    async def clear_shared_records(self) -> bool:
        """Return True: there are none."""
        return True

    def set_busy(self, busy: bool) -> None:
        """Keep the flag in `busy`."""
        self.busy = busy

    def on_update_ready(self, callback: Callable[[], None]) -> None:
        """Never call back: a desktop run has no waiting version."""

    async def recalled(self) -> str:
        """Return what `recall` was given."""
        return self._recall

    def on_recalled(self, callback: Callable[[], None]) -> None:
        """Keep the callback; `recall` calls it."""
        self._recalled.append(callback)

    def recall(self, text: str) -> None:
        """Act as if the publisher recalled this build, or with an empty text no longer did."""
        self._recall = text
        for callback in self._recalled:
            callback()

    async def apply_update(self) -> bool:
        """Return False: there is nothing to apply."""
        return False

    def on_visible(self, callback: Callable[[], None]) -> None:
        """Keep the callback; `show` calls it."""
        self._visible.append(callback)

    def show(self) -> None:
        """Act as if the app came back to the front."""
        for callback in self._visible:
            callback()

    def on_incident(self, callback: Callable[[], None]) -> None:
        """Keep the callback; `press_incident` calls it."""
        self._incident.append(callback)

    def press_incident(self) -> None:
        """Act as if the card's button had been pressed."""
        for callback in self._incident:
            callback()

    def open_emergency(self) -> None:
        """Count the calls: there is no page to show the card over."""
        self.emergency_opened += 1

    def join(self, other: "DesktopHost") -> None:
        """Be a window beside another one."""
        self.windows = other.windows
        self.windows.append(self)

    def tell_windows(self, word: str) -> None:
        """Send a word to the windows beside this one."""
        for window in self.windows:
            if window is not self:
                for callback in window.heard:
                    callback(word)

    def on_window(self, callback: Callable[[str], None]) -> None:
        """Keep the callback; `tell_windows` of another window calls it."""
        self.heard.append(callback)

    def hour12(self) -> bool:
        """Return what the constructor was given."""
        return self._hour12
