"""Erasing for good, in an append-only store: a new journal without the records takes the place.

First the journal that shall be in force is written beside the old one, flushed and read back; then
a mark is written. From the mark on there is no way back, and before it nothing has happened: a
power cut at any moment leaves all that was there, or what was to be left, never a mix. Whoever
opens the store next goes on where a cut left off. All of it is done under the writer's lock.
"""

import asyncio
import hashlib
import json
from collections.abc import Sequence
from typing import Any, Final, cast

from mobile.storage.backend import ByteFile, Folder, keep_copy, read_file, rewrite, write_file
from mobile.storage.batch import Op, encode_batch, encode_text
from mobile.storage.errors import AppError, ErasureStands, StoreBusy
from mobile.storage.findings import PREFIX as FOUND
from mobile.storage.frames import Position
from mobile.storage.header import DATA_START, Header, first_block
from mobile.storage.journal import JOURNAL_NAME, chained
from mobile.storage.problems import Problem
from mobile.storage.slots import ACKNOWLEDGED
from mobile.storage.snapshot import PREFIX as SNAPSHOT
from mobile.storage.verdicts import VERDICTS

MARK: Final = "erasing"
NEXT: Final = "journal-next"
ERASE_DAMAGED: Final = "erase_damaged"
_FORMAT: Final = "sumpside-erasing"
# `second-copy` is here where the places of journal and copy were once the other way round.
_COPIES: Final = (SNAPSHOT, "quarantine-", ACKNOWLEDGED, "second-copy")
_NOTES: Final = (FOUND, VERDICTS)


def journal_of(
    ops: Sequence[Op], *, device: str, schema_version: int, epoch: int, lineage: int
) -> bytes:
    """Return the bytes of a journal that holds these changes under a device of its own."""
    frames = chained(encode_batch(ops), Position(end=DATA_START)) if ops else []
    header = Header(
        schema_version=schema_version, seq=0, device=device, epoch=epoch, lineage=lineage
    )
    return first_block(header) + b"".join(frames)


async def begin_erasing(folder: Folder, following: bytes, *, all_of_it: bool = True) -> None:
    """Make sure that `following` will be the journal; the caller has the old one open for writing.

    Without `all_of_it` what was found damaged stays noted, and so do the verdicts.

    Raises
    ------
    StorageFull, StorageFailed
        Nothing is erased.
    ErasureStands
        The mark could not be taken back: the journal must take no more.
    """
    mark = {
        "format": _FORMAT,
        "bytes": len(following),
        "sha256": _digest(following),
        "all": all_of_it,
    }
    try:
        await write_file(folder, NEXT, following)
        await write_file(folder, MARK, encode_text(mark).encode())
    except (Exception, asyncio.CancelledError) as error:
        await _call_off(folder, error)
        raise


async def _call_off(folder: Folder, reason: BaseException) -> None:
    try:
        await _void_mark(folder)
    except AppError as error:
        raise ErasureStands(cause=error.code) from reason
    try:
        await _remove(folder, NEXT, MARK)
    except AppError as error:
        print(f"erase: {error}")  # for developers; what is left says nothing


async def finish_erasing(folder: Folder) -> tuple[Problem, ...]:
    """Do what a mark asks for, or clear what was only begun; say what could not be done.

    While another window has the journal that one is at it, and nothing is done here.

    Returns
    -------
    tuple of Problem
        `erase_damaged` where nothing was erased, since what was to be left is damaged.

    Raises
    ------
    StorageFull, StorageFailed
        It is not done yet; the mark stands.
    """
    if not {MARK, NEXT} & set(await folder.names()):
        return ()
    try:
        journal = await folder.open(JOURNAL_NAME, writable=True)
    except StoreBusy:
        return ()
    try:
        mark = await _read_mark(folder)
        problems = () if mark is None else await _replace(folder, journal, mark)
        await _void_mark(folder)
        await _remove(folder, NEXT, MARK)
    finally:
        await journal.close()
    return problems


async def _replace(folder: Folder, journal: ByteFile, mark: dict[str, Any]) -> tuple[Problem, ...]:
    """Put the new journal in the old one's place, then clear every copy of the old records."""
    if NEXT in await folder.names():  # else it stands in its place already
        following = await read_file(folder, NEXT)
        if _digest(following) != mark["sha256"]:
            # The medium damaged it since it was read back: nothing is erased on such a basis.
            name, known = await keep_copy(folder, 0, following)
            return (Problem(code=ERASE_DAMAGED, detail=name, known=known),)
        await rewrite(journal, following)
    prefixes = (*_COPIES, *_NOTES) if mark["all"] else _COPIES
    for name in await folder.names():
        if name.startswith(prefixes):
            await _empty(folder, name)
            await folder.remove(name)
    return ()


async def _read_mark(folder: Folder) -> dict[str, Any] | None:
    """Return what the mark says; None where it is missing or was cut off while it was written."""
    if MARK not in await folder.names():
        return None
    try:
        found = json.loads(await read_file(folder, MARK))
    except ValueError:
        return None
    mark = cast("dict[str, Any]", found) if isinstance(found, dict) else {}
    is_sound = mark.get("format") == _FORMAT and isinstance(mark.get("sha256"), str)
    return {"all": True, **mark} if is_sound else None


async def _void_mark(folder: Folder) -> None:
    """Make the mark say nothing, on the medium: a removal may be forgotten by a power cut.

    A mark that came back would put the new journal over what was saved in it since.
    """
    if MARK in await folder.names():
        await _empty(folder, MARK)


async def _empty(folder: Folder, name: str) -> None:
    """Empty a file on the medium: a power cut may forget its removal, and bring back the name."""
    file = await folder.open(name, writable=True)
    try:
        await rewrite(file, b"")
    finally:
        await file.close()


async def _remove(folder: Folder, *names: str) -> None:
    there = await folder.names()
    for name in names:
        if name in there:
            await folder.remove(name)


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
