"""Files handed out to the keeper, and files picked by the keeper."""

from collections.abc import Awaitable, Callable, Mapping
from typing import Any, Protocol

import flet as ft


class Files(Protocol):
    """What the store needs of the device's file dialogs."""

    async def save(self, name: str, data: bytes) -> None:
        """Offer a file under a name."""
        ...

    def pick_action(self, purpose: str) -> Any:
        """Return the action of a button that opens a purpose's picker, or None."""
        ...


class PickerFiles:
    """The dialogs of Flet: the picker opens inside the tap, as iOS demands."""

    def __init__(self) -> None:
        self._pickers: dict[str, ft.FilePicker] = {}

    def attach(
        self, page: ft.Page, picked: Mapping[str, Callable[[bytes], Awaitable[None]]]
    ) -> None:
        """Put a picker for each purpose on the page; it gets the content of a chosen file."""
        for purpose, receive in picked.items():
            self._pickers[purpose] = ft.FilePicker(on_result=_handing_to(receive))
        page.services.extend(self._pickers.values())

    async def save(self, name: str, data: bytes) -> None:
        """Offer a file under a name; in a browser that is a download."""
        picker = next(iter(self._pickers.values()), None)
        if picker is not None:
            await picker.save_file(file_name=name, src_bytes=data)

    def pick_action(self, purpose: str) -> Any:
        """Return the action that opens a purpose's picker."""
        picker = self._pickers.get(purpose)
        return ft.PickFiles(picker, with_data=True) if picker else None


def _handing_to(receive: Callable[[bytes], Awaitable[None]]) -> Callable[[Any], Awaitable[None]]:
    async def on_result(event: Any) -> None:
        for file in event.files or []:
            if file.bytes is not None:
                await receive(bytes(file.bytes))

    return on_result


class MemoryFiles:
    """Files that stay in memory, for tests."""

    def __init__(self) -> None:
        self.saved: dict[str, bytes] = {}

    async def save(self, name: str, data: bytes) -> None:
        """Keep the file."""
        self.saved[name] = data

    def pick_action(self, purpose: str) -> Any:  # noqa: ARG002 - the contract's
        """Return no action: a test hands the bytes over itself."""
        return None
