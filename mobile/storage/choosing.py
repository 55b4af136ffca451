"""Which of the places that work here holds the records, or shall hold them.

A browser may learn OPFS with an update, or lose it for a day. So records that lie anywhere come
before the better empty place; and each place that lasts knows by an empty file where records are
kept, so that they are never taken for none while their own place cannot be opened. The next best
place holds a second copy (second_copy.py).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from mobile.storage.backend import Folder, OpenFolder
from mobile.storage.errors import AppError, StorageUnavailable, StoreElsewhere
from mobile.storage.journal import JOURNAL_NAME
from mobile.storage.problems import Problem
from mobile.storage.second_copy import SECOND_COPY

MARK: Final = "kept-in-"
MEMORY: Final = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Where the records are, or shall be.

    Attributes
    ----------
    folder : Folder
        The place of the journal; where that does not open now, the one of the second copy.
    second : Folder or None
        The other place that lasts, for a second copy; None where there is none.
    problems : tuple of Problem
        One for each better place that does not work here.
    elsewhere : StoreElsewhere or None
        The journal is in a place that does not open now, and `folder` has a copy of it.
    """

    folder: Folder
    second: Folder | None
    problems: tuple[Problem, ...]
    elsewhere: StoreElsewhere | None = None


async def choose_places(backends: Sequence[OpenFolder], *, anew: bool = False) -> Places:
    """Open every backend and choose; with `anew` a place that does not open is given up.

    Raises
    ------
    StorageUnavailable
        None works.
    StoreElsewhere
        Records are kept in a place that cannot be opened now, and there is no copy of them.
    """
    folders, unavailable = await _open_all(backends)
    if not folders:
        raise StorageUnavailable(reason="; ".join(str(error) for error in unavailable))
    problems = tuple(Problem(code="backend_unavailable", detail=str(e)) for e in unavailable)
    names = [await folder.names() for folder in folders]
    holding = [n for n, found in enumerate(names) if JOURNAL_NAME in found]
    if not holding and not anew and (missing := _marked(folders, names)):
        elsewhere = StoreElsewhere(", ".join(sorted(missing)))
        for folder, found in zip(folders, names, strict=True):
            if SECOND_COPY in found:
                return Places(folder=folder, second=None, problems=problems, elsewhere=elsewhere)
        raise elsewhere
    chosen = folders[holding[0] if holding else 0]
    others = [f for f in folders if f is not chosen and MEMORY not in (f.kind, chosen.kind)]
    for folder in others:
        await _leave_mark(folder, names[folders.index(folder)], MARK + chosen.kind)
    return Places(folder=chosen, second=others[0] if others else None, problems=problems)


async def _open_all(
    backends: Sequence[OpenFolder],
) -> tuple[list[Folder], list[StorageUnavailable]]:
    folders: list[Folder] = []
    unavailable: list[StorageUnavailable] = []
    for open_folder in backends:
        try:
            folders.append(await open_folder())
        except StorageUnavailable as error:
            unavailable.append(error)
    return folders, unavailable


def _marked(folders: Sequence[Folder], names: Sequence[Sequence[str]]) -> set[str]:
    """Return the kinds of places that hold records by the marks of the others, and are not open."""
    opened = {folder.kind for folder in folders}
    kinds = {name.removeprefix(MARK) for found in names for name in found if name.startswith(MARK)}
    return kinds - opened


async def _leave_mark(folder: Folder, names: Sequence[str], mark: str) -> None:
    if mark in names:
        return
    try:
        await (await folder.open(mark, writable=True)).close()
    except AppError as error:
        print(f"mark: {error}")  # for developers; the records themselves are not touched
