"""Which of the places that work here holds the records, or shall hold them.

A browser may learn OPFS with an update, or lose it for a day. So records that lie anywhere come
before the better empty place; and each place that lasts knows by an empty file where records are
kept, so that they are never taken for none while their own place cannot be opened.
"""

from collections.abc import Sequence
from typing import Final

from mobile.storage.backend import Folder, OpenFolder
from mobile.storage.errors import AppError, StorageUnavailable, StoreElsewhere
from mobile.storage.journal import JOURNAL_NAME
from mobile.storage.problems import Problem

MARK: Final = "kept-in-"
MEMORY: Final = "memory"


async def choose_folder(
    backends: Sequence[OpenFolder], *, anew: bool = False
) -> tuple[Folder, list[Problem]]:
    """Open every backend and choose; with `anew` a place that does not open is given up.

    Returns
    -------
    tuple of Folder and list of Problem
        The place, and one problem for each better place that does not work here.

    Raises
    ------
    StorageUnavailable
        None works.
    StoreElsewhere
        Records are kept in a place that cannot be opened now.
    """
    folders, unavailable = await _open_all(backends)
    if not folders:
        raise StorageUnavailable(reason="; ".join(str(error) for error in unavailable))
    names = [await folder.names() for folder in folders]
    holding = [n for n, found in enumerate(names) if JOURNAL_NAME in found]
    if not holding and not anew:
        _check_marks(folders, names)
    chosen = folders[holding[0] if holding else 0]
    for folder, found in zip(folders, names, strict=True):
        if folder is not chosen and MEMORY not in (folder.kind, chosen.kind):
            await _leave_mark(folder, found, MARK + chosen.kind)
    problems = [Problem(code="backend_unavailable", detail=str(error)) for error in unavailable]
    return chosen, problems


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


def _check_marks(folders: Sequence[Folder], names: Sequence[Sequence[str]]) -> None:
    opened = {folder.kind for folder in folders}
    kinds = {name.removeprefix(MARK) for found in names for name in found if name.startswith(MARK)}
    if missing := kinds - opened:
        raise StoreElsewhere(", ".join(sorted(missing)))


async def _leave_mark(folder: Folder, names: Sequence[str], mark: str) -> None:
    if mark in names:
        return
    try:
        await (await folder.open(mark, writable=True)).close()
    except AppError as error:
        print(f"mark: {error}")  # for developers; the records themselves are not touched
