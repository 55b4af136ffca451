"""Files handed out to the keeper, and files picked by the keeper."""

from collections.abc import Awaitable, Callable
from typing import Any, Protocol

import flet as ft


class Files(Protocol):
    """What the store needs of the device's file dialogs."""

    async def save(self, name: str, data: bytes) -> None:
        """Offer a file under a name."""
        ...

    def pick_action(self) -> Any:
        """Return the action of a button that opens the picker, or None."""
        ...


class PickerFiles:
    """The dialogs of Flet: the picker opens inside the tap, as iOS demands."""

    def __init__(self) -> None:
        self._picker: ft.FilePicker | None = None

    def attach(self, page: ft.Page, picked: Callable[[bytes], Awaitable[None]]) -> None:
        """Put the picker on the page; `picked` gets the content of a chosen file."""

        async def on_result(event: Any) -> None:
            for file in event.files or []:
                if file.bytes is not None:
                    await picked(bytes(file.bytes))

        self._picker = ft.FilePicker(on_result=on_result)
        page.services.append(self._picker)

    async def save(self, name: str, data: bytes) -> None:
        """Offer a file under a name; in a browser that is a download."""
        if self._picker is not None:
            await self._picker.save_file(file_name=name, src_bytes=data)

    def pick_action(self) -> Any:
        """Return the action that opens the picker."""
        return ft.PickFiles(self._picker, with_data=True) if self._picker else None


class MemoryFiles:
    """Files that stay in memory, for tests."""

    def __init__(self) -> None:
        self.saved: dict[str, bytes] = {}

    async def save(self, name: str, data: bytes) -> None:
        """Keep the file."""
        self.saved[name] = data

    def pick_action(self) -> Any:
        """Return no action: a test hands the bytes over itself."""
        return None
