"""What was found damaged or missing in a journal, noted beside it until the keeper has read it.

A journal is repaired as it is opened, and then shows nothing of what happened. So each finding that
may have cost an acknowledged entry is first noted, in a file of its own: `found-<code>-<detail>`
with one JSON object `{"code", "detail", "held"}`. The name alone tells the finding, should the
content be lost. `held` is what the lost bytes may have held: kind of record and time of each.
"""

import json
import re
from collections.abc import Iterable
from typing import Any, Final, cast

from mobile.storage.backend import Folder, copy_name, read_whole, write_all
from mobile.storage.batch import encode_text
from mobile.storage.errors import AppError
from mobile.storage.frames import is_written_out
from mobile.storage.problems import Problem
from mobile.storage.reading import Found
from mobile.storage.restore import instant_us

PREFIX: Final = "found-"
COPY_ONLY: Final = "copy_only_reading"
RESTORED: Final = "journal_restored"
OF_THE_TAIL: Final = frozenset({"journal_tail_perhaps", "journal_tail_torn"})
# Findings that may have cost an entry of which "Saved" was shown.
MAY_HAVE_COST: Final = frozenset(
    {
        "journal_acknowledged_lost",
        "journal_damaged",
        "journal_link_broken",
        RESTORED,
        *OF_THE_TAIL,
    }
)
MOST_HELD: Final = 12
_RECORD: Final = re.compile(r'\["put","(?:records|conflicts)",')
_KIND: Final = re.compile(r'"kind":"([a-z_]{1,40})"')
_AT: Final = re.compile(r'"at":"([0-9T:.+Z-]{16,40})"')


def name_of(problem: Problem) -> str:
    """Return the name under which a finding is noted, and confirmed."""
    return f"{PREFIX}{problem.code}-{problem.detail}"


def findings_of(contents: Found) -> tuple[Problem, ...]:
    """Return what may have cost an entry, told apart.

    A damaged place, frames that were acknowledged and are gone, a write that never arrived, and a
    bad end of which nobody knows whether "Saved" was shown: one that was cut off while it was
    written, or one that was written out.
    """
    found = [
        Problem(
            code="journal_damaged",
            detail=copy_name(span.start, data := contents.bytes_of(span)),
            held=salvaged(data),
        )
        for span in contents.damaged
    ]
    found += [
        Problem(code="journal_link_broken", detail=f"{seq}-{contents.name}")
        for seq in contents.broken
    ]
    at_end = contents.bytes_of(contents.tail) if contents.tail else b""
    position = contents.position
    for gap in contents.gaps:
        is_at_end = gap.first == position.seq + 1
        if not gap.has_bytes:
            found.append(
                Problem(
                    code="journal_acknowledged_lost",
                    detail=f"{gap.first}-{gap.last}-{contents.name}",
                    held=salvaged(at_end) if is_at_end else (),
                )
            )
    if contents.tail and not position.skipped:
        code = "journal_tail_perhaps" if is_written_out(at_end) else "journal_tail_torn"
        name = copy_name(contents.tail.start, at_end)
        found.append(Problem(code=code, detail=name, held=salvaged(at_end)))
    return tuple(found)


def salvaged(data: bytes) -> tuple[tuple[str, str], ...]:
    """Return kind and time of the records that damaged bytes seem to hold; "" where unknown."""
    held: list[tuple[str, str]] = []
    for text in _RECORD.split(data.decode("utf-8", "replace"))[1 : MOST_HELD + 1]:
        kind, at = _KIND.search(text), _AT.search(text)
        held.append((kind[1] if kind else "", at[1] if at and _is_time(at[1]) else ""))
    return tuple(dict.fromkeys(held))


def _is_time(text: str) -> bool:
    try:
        instant_us(text)
    except ValueError:
        return False
    return True


async def note(folder: Folder, problems: Iterable[Problem]) -> None:
    """Note findings that are not noted yet; raises StorageFull, StorageFailed, StoreBusy."""
    names = await folder.names()
    for problem in problems:
        if problem.code not in MAY_HAVE_COST or name_of(problem) in names:
            continue
        fields = {"code": problem.code, "detail": problem.detail, "held": problem.held}
        file = await folder.open(name_of(problem), writable=True)
        try:
            await write_all(file, 0, encode_text(fields).encode())
            await file.flush()
        finally:
            await file.close()


async def noted(folder: Folder) -> tuple[Problem, ...]:
    """Return what is noted in a folder, in the order of the names; raises StorageFailed."""
    return tuple(
        [await _read(folder, name) for name in await folder.names() if name.startswith(PREFIX)]
    )


async def _read(folder: Folder, name: str) -> Problem:
    code, _, detail = name.removeprefix(PREFIX).partition("-")
    try:
        file = await folder.open(name, writable=False)
        try:
            found: Any = json.loads(await read_whole(file))
        finally:
            await file.close()
        held = tuple((str(kind), str(at)) for kind, at in cast("dict[str, Any]", found)["held"])
    except (AppError, ValueError, TypeError, KeyError):
        held = ()  # cut off while it was written, or damaged: the name says what it was
    return Problem(code=code, detail=detail, held=held, known=True)
