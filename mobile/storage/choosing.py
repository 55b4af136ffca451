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
COPY_MARK: Final = "copied-in-"  # in the journal's place: where a second copy was ever kept
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
    troubled: bool = False  # a place that has a copy did not open


async def choose_places(backends: Sequence[OpenFolder], *, anew: bool = False) -> Places:
    """Open every backend and choose; with `anew` a place that does not open is given up.

    Raises
    ------
    StorageUnavailable
        None works.
    StoreElsewhere
        Records are kept in a place that cannot be opened now, and there is no copy of them.
    """
    folders, errors = await _open_all(backends)
    if not folders:
        raise StorageUnavailable(reason="; ".join(str(error) for error in errors))
    problems = tuple(Problem(code="backend_unavailable", detail=str(e)) for e in errors)
    names = [await folder.names() for folder in folders]
    holding = [n for n, found in enumerate(names) if JOURNAL_NAME in found]
    if not holding:
        _check_errors(errors)
    copies = [f for f, found in zip(folders, names, strict=True) if SECOND_COPY in found]
    lasting = [folder for folder in folders if folder.kind != MEMORY]
    missing = _marked(folders, names)
    if copies and len(lasting) == 1:
        missing = missing or {"another place"}
    if not holding and not anew and missing:
        elsewhere = StoreElsewhere(", ".join(sorted(missing)))
        if not copies:
            raise elsewhere
        return Places(folder=copies[0], second=None, problems=problems, elsewhere=elsewhere)
    chosen = folders[holding[0]] if holding else _new_place(folders, lasting, copies)
    others = [folder for folder in lasting if folder is not chosen and chosen.kind != MEMORY]
    for folder in others:
        await _leave_mark(folder, names[folders.index(folder)], MARK + chosen.kind)
    known = names[folders.index(chosen)]
    for folder in others[:1]:
        await _leave_mark(chosen, known, COPY_MARK + folder.kind)
    opened = {folder.kind for folder in folders}
    copied = {name.removeprefix(COPY_MARK) for name in known if name.startswith(COPY_MARK)}
    return Places(
        folder=chosen,
        second=others[0] if others else None,
        problems=problems,
        troubled=bool(copied - opened),
    )


def _new_place(
    folders: Sequence[Folder], lasting: Sequence[Folder], copies: Sequence[Folder]
) -> Folder:
    """Return where a journal is begun: not where the copy of a lost one lies, if there is a choice.

    A journal heals from the copy in the other place, and from no copy beside itself.
    """
    free = [folder for folder in lasting if folder not in copies]
    return free[0] if copies and free else folders[0]


def _check_errors(errors: Sequence[AppError]) -> None:
    """Raise what is more than "it does not work here", where no journal was found elsewhere."""
    for error in errors:
        if not isinstance(error, StorageUnavailable):
            raise error


async def _open_all(backends: Sequence[OpenFolder]) -> tuple[list[Folder], list[AppError]]:
    folders: list[Folder] = []
    errors: list[AppError] = []
    for open_folder in backends:
        try:
            folders.append(await open_folder())
        except AppError as error:
            errors.append(error)
    return folders, errors


def _marked(folders: Sequence[Folder], names: Sequence[Sequence[str]]) -> set[str]:
    """Return the kinds of places that hold records by the marks of the others, and are not open."""
    opened = {folder.kind for folder in folders}
    kinds = {name.removeprefix(MARK) for found in names for name in found if name.startswith(MARK)}
    return kinds - opened


async def _leave_mark(folder: Folder, names: Sequence[str], mark: str) -> None:
    if mark in names:
        return
    try:
        file = await folder.open(mark, writable=True)
        try:
            await file.flush()
        finally:
            await file.close()
    except AppError as error:
        print(f"mark: {error}")  # for developers; the records themselves are not touched
