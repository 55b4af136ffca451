"""Snapshots: what the journal amounted to at one byte, in a file of its own: a quick start.

A snapshot is only a shortcut. The journal is never cut below one: when a snapshot is missing or a
single byte of it is wrong, the one before it is taken, and without that the whole journal.

The file `snapshot-<generation>` is lines of UTF-8 JSON, each ending in one line feed. The first::

    {"format":"sumpside-snapshot","version":2,"generation":n,"replay_from":n,"replay_after_seq":n,
     "after":"...","checked_by":"...","checked":n,"unread":n,"sha256":"..."}

`after` is the digest of the last frame that it stands for (batch.py). Then
`checked` lines `[table, id, document]` that passed the door of the build `checked_by`, and
`unread` lines of the same form that did not pass. `sha256` is over `after` as it
stands there and all bytes after the first line. Version 1 has no `after`.
A header slot names the generation in force; the other slot still names the one before.
"""

import asyncio
import hashlib
import json
from collections.abc import Awaitable, Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, cast

from mobile.storage.backend import Folder, read_whole, write_all
from mobile.storage.batch import Put, encode_text
from mobile.storage.errors import AppError, StorageFailed
from mobile.storage.frames import NO_DIGEST
from mobile.storage.header import Header
from mobile.storage.problems import Problem

FORMAT: Final = "sumpside-snapshot"
VERSION: Final = 2
_WITHOUT_AFTER: Final = 1
# A new one is taken in place of these; not of one that a newer app left.
LOST_SNAPSHOT: Final = ("journal_snapshot_damaged", "journal_snapshot_unread")
_PLACE: Final = ("generation", "replay_from", "replay_after_seq")
PREFIX: Final = "snapshot-"
CHUNK_BYTES: Final = 1 << 18
_LINES_AT_ONCE: Final = 500
_MOST_DIGITS: Final = 9  # a generation is 32 bits in the header


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """A verified snapshot: what passed the door when it was written, and what did not."""

    checked: tuple[Put, ...] = ()
    unread: tuple[Put, ...] = ()
    checked_by: str = ""
    after: bytes = NO_DIGEST


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """What a snapshot stands for: the journal's frames up to a byte, and who checked them."""

    generation: int
    replay_from: int
    replay_after_seq: int
    checked_by: str = ""
    after: bytes = NO_DIGEST


Pause = Callable[[], Awaitable[None]]
"""Lets other tasks run; raises an AppError when the work is not wanted any more."""


async def plain_pause() -> None:
    """Let other tasks run."""
    await asyncio.sleep(0)


def name_of(generation: int) -> str:
    """Return the name of a snapshot's file."""
    return f"{PREFIX}{generation}"


def generation_of(name: str) -> int | None:
    """Return the generation that a file's name says, None for other files and other numbers."""
    number = name.removeprefix(PREFIX)
    is_one = name.startswith(PREFIX) and number.isascii() and number.isdecimal()
    return int(number) if is_one and len(number) <= _MOST_DIGITS else None


async def write_snapshot(
    folder: Folder,
    basis: Basis,
    checked: Sequence[Put],
    unread: Sequence[Put],
    *,
    pause: Pause = plain_pause,
) -> None:
    """Write a snapshot, flush it, read it back from a fresh handle and verify it.

    `pause` comes between its parts: `checked` and `unread` must not change meanwhile.

    Raises
    ------
    StorageFull, StorageFailed, StoreBusy
        There is no such snapshot; a file of its name may be left over and means nothing.
    """
    after = basis.after.hex()
    body, digest = await _encode([*checked, *unread], after, pause)
    fields = {
        "format": FORMAT,
        "version": VERSION,
        "generation": basis.generation,
        "replay_from": basis.replay_from,
        "replay_after_seq": basis.replay_after_seq,
        "after": after,
        "checked_by": basis.checked_by,
        "checked": len(checked),
        "unread": len(unread),
        "sha256": digest,
    }
    parts = [encode_text(fields).encode() + b"\n", *body]
    file = await folder.open(name_of(basis.generation), writable=True)
    try:
        await file.truncate(0)
        end = 0
        for part in parts:
            await write_all(file, end, part)
            end += len(part)
            await pause()
        await file.flush()
        await file.renew()
        if await read_whole(file) != b"".join(parts):
            raise StorageFailed(operation="verify", file=name_of(basis.generation))
    finally:
        await file.close()


async def _encode(puts: Sequence[Put], after: str, pause: Pause) -> tuple[list[bytes], str]:
    """Return the lines in parts of about CHUNK_BYTES, and the digest of `after` and them."""
    parts: list[bytes] = []
    lines: list[bytes] = []
    filled = 0
    digest = hashlib.sha256(after.encode())
    for number, put in enumerate(puts, start=1):
        lines.append(encode_text([put.table, put.id, put.doc]).encode() + b"\n")
        filled += len(lines[-1])
        if filled >= CHUNK_BYTES or number == len(puts):
            parts.append(b"".join(lines))
            digest.update(parts[-1])
            lines, filled = [], 0
        if number % _LINES_AT_ONCE == 0:
            await pause()
    return parts, digest.hexdigest()


def basis_of(header: Header) -> Basis:
    """Return what a header slot says of its snapshot."""
    return Basis(
        generation=header.snapshot_generation,
        replay_from=header.replay_from,
        replay_after_seq=header.replay_after_seq,
    )


async def read_snapshot(folder: Folder, basis: Basis) -> Snapshot | None:
    """Return a snapshot that is named, or None when any byte of it is not as written."""
    try:
        file = await folder.open(name_of(basis.generation), writable=False)
        try:
            data = await read_whole(file)
        finally:
            await file.close()
        return _decode(data, basis)
    except (AppError, ValueError, TypeError, KeyError, RecursionError):
        return None


async def why_not(folder: Folder, generation: int) -> Problem:
    """Return what is to be said of a snapshot that could not be used."""
    code = "journal_snapshot_damaged"
    try:
        fields = json.loads((await _start_of(folder, name_of(generation))).partition(b"\n")[0])
        if fields["format"] == FORMAT and int(fields["version"]) > VERSION:
            code = "journal_snapshot_newer"
    except AppError:
        code = "journal_snapshot_unread"
    except (ValueError, TypeError, KeyError, RecursionError):
        pass
    return Problem(code=code, detail=str(generation))


async def snapshots_left(folder: Folder) -> tuple[Basis, ...]:
    """Return what the snapshots in a folder say of themselves, newest first.

    For a journal whose header is gone: what they say must still be verified by `read_snapshot`.
    """
    found: list[Basis] = []
    for name in await folder.names():
        if not name.startswith(PREFIX):
            continue
        try:
            fields = json.loads((await _start_of(folder, name)).partition(b"\n")[0])
            numbers = [int(fields[key]) for key in _PLACE]
        except (AppError, ValueError, TypeError, KeyError, RecursionError):
            continue
        if all(0 <= number < 2**53 for number in numbers):
            generation, start, after = numbers
            found.append(Basis(generation=generation, replay_from=start, replay_after_seq=after))
    return tuple(sorted(found, key=lambda basis: basis.generation, reverse=True))


async def _start_of(folder: Folder, name: str) -> bytes:
    file = await folder.open(name, writable=False)
    try:
        return await file.read(0, 1000)
    finally:
        await file.close()


def _decode(data: bytes, basis: Basis) -> Snapshot | None:
    first, _, body = data.partition(b"\n")
    if len(first) > 1000:
        return None
    fields = cast("dict[str, Any]", json.loads(first))
    version = fields["version"]
    after = "" if version == _WITHOUT_AFTER else str(fields["after"])
    wanted = {
        "format": FORMAT,
        "version": version if version == _WITHOUT_AFTER else VERSION,
        "generation": basis.generation,
        "replay_from": basis.replay_from,
        "replay_after_seq": basis.replay_after_seq,
        "sha256": hashlib.sha256(after.encode() + body).hexdigest(),
    }
    if any(fields[key] != value for key, value in wanted.items()):
        return None
    puts = tuple(_puts(body.splitlines()))
    checked = int(fields["checked"])
    if len(puts) != checked + int(fields["unread"]):
        return None
    return Snapshot(
        checked=puts[:checked],
        unread=puts[checked:],
        checked_by=str(fields["checked_by"]),
        after=bytes.fromhex(after) if after else NO_DIGEST,
    )


def _puts(lines: Iterable[bytes]) -> Iterator[Put]:
    for line in lines:
        table, key, doc = json.loads(line)
        yield Put(table, key, doc)
