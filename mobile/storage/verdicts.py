"""The last verdict on each system, kept beside the journal for when no decision can be made.

It outlives a journal that cannot be read and an engine that fails: if the last word was "stop" or
"lower", that word must still stand then.
"""

import json
from collections.abc import Mapping
from typing import Any, Final, cast

from mobile.storage.backend import Folder, OpenFolder
from mobile.storage.batch import encode_text
from mobile.storage.errors import AppError
from mobile.storage.slots import SLOT_AT, TwoSlots

VERDICTS: Final = "verdicts"
MOST_SYSTEMS: Final = 20

Verdicts = dict[str, dict[str, Any]]


class VerdictFile:
    """The verdicts, by system, in each of the places that this device has; the best first."""

    def __init__(self, *folders: Folder) -> None:
        self._places = [TwoSlots(folder, VERDICTS, "V", SLOT_AT[1]) for folder in folders]
        self.known: Verdicts = {}

    async def load(self) -> None:
        """Read what is kept in the first place that has any; what cannot be read is not known."""
        for slots in self._places:
            try:
                found = _decode(await slots.read())
            except AppError as error:
                print(f"verdicts: {error}")  # for developers
                continue
            self.known = self.known or found

    async def keep(self, system: str, verdict: Mapping[str, Any]) -> None:
        """Keep a verdict on a system; a failure is printed, and it is known to this window."""
        others = {name: known for name, known in self.known.items() if name != system}
        await self._put(dict([*others.items(), (system, dict(verdict))][-MOST_SYSTEMS:]))

    async def forget(self, system: str | None) -> None:
        """Forget a system, or all; a failure is printed."""
        kept = {name: known for name, known in self.known.items() if system not in (None, name)}
        if kept != self.known:
            await self._put(kept)

    async def _put(self, newest: Verdicts) -> None:
        self.known = newest
        for slots in self._places:
            try:
                await slots.write(encode_text(newest).encode())
            except (AppError, ValueError) as error:
                print(f"verdicts: {error}")  # for developers


def _decode(value: bytes | None) -> Verdicts:
    if value is None:
        return {}
    try:
        found = json.loads(value.rstrip(b"\0"))
    except ValueError:
        return {}
    fields = cast("dict[Any, Any]", found) if isinstance(found, dict) else {}
    return {str(name): each for name, each in fields.items() if isinstance(each, dict)}


async def read_verdicts(*backends: OpenFolder) -> Verdicts:
    """Return the verdicts that any of these places keeps; for when the journal does not open."""
    for open_folder in backends:
        try:
            file = VerdictFile(await open_folder())
        except AppError:
            continue
        await file.load()
        if file.known:
            return file.known
    return {}
