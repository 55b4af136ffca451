"""What is done where the journal and its second copy do not agree, when a store is opened.

The later epoch counts: what was erased in one place never comes back from the other. Within one
epoch all that either has is kept, since only what was acknowledged is ever copied.
"""

from typing import Final

from mobile.storage.backend import Folder
from mobile.storage.batch import Put
from mobile.storage.contents import META, Contents
from mobile.storage.erasing import begin_erasing, journal_of
from mobile.storage.errors import AppError, ErasureStands
from mobile.storage.findings import name_of
from mobile.storage.healing import folded, heal
from mobile.storage.journal import Journal, NewDeviceId
from mobile.storage.opening import Opened
from mobile.storage.problems import Problem
from mobile.storage.restore import Door
from mobile.storage.second_copy import CopyContents, SecondCopy

SEEN: Final = "seen_findings"
"""The piece of app state with the names of the findings that the keeper has read."""


async def give_way(
    journal: Journal, second: SecondCopy, folder: Folder, new_device_id: NewDeviceId
) -> bool:
    """Let the copy's content take the place of a journal that is older than an erasing.

    Returns
    -------
    bool
        Whether it shall: the journal is closed then, and the store is to be loaded again.

    Raises
    ------
    StorageFull, StorageFailed
        It could not be begun.
    """
    mark = second.mark
    if mark is None or mark.epoch <= journal.header.epoch:
        return False
    if not mark.at.seq:  # an erasing was begun in the copy, and never in the journal
        await journal.replace_header(epoch=mark.epoch)
        return False
    tables = folded((await second.contents()).found.ops)
    ops = [Put(name, key, doc) for name, docs in tables.items() for key, doc in docs.items()]
    following = journal_of(
        ops,
        device=new_device_id(),
        schema_version=journal.header.schema_version,
        epoch=mark.epoch,
    )
    await begin_erasing(folder, following)
    await journal.block(ErasureStands(cause="under way"))
    return True


async def take_back(
    opened: Opened, contents: Contents, second: SecondCopy, door: Door
) -> tuple[Problem, ...]:
    """Take back from the copy what the journal has lost; raises nothing.

    Returns
    -------
    tuple of Problem
        `copy_healed` with the number of entries that came back, `copy_damaged`, or
        `copy_not_healed`: then the copy is left as it is.
    """
    journal, mark = opened.journal, second.mark
    if mark is None or not mark.at.seq or mark.epoch != journal.header.epoch:
        return ()
    follows = await second.compare(journal)
    if follows and not unseen(opened.findings, contents):
        return ()
    try:
        copy = await second.contents()
        count = await heal(journal, contents, copy, door)
        if _has_all(copy, opened):
            await confirm(opened.findings, journal, contents)
    except AppError as error:
        second.leave_alone(str(error))
        return (Problem(code="copy_not_healed", detail=error.code),)
    told = (Problem(code="copy_healed", detail=str(count)),) if count else ()
    return (*told, *await damage_of(second, copy))


async def damage_of(second: SecondCopy, copy: CopyContents | None = None) -> tuple[Problem, ...]:
    """Return that a copy is damaged, and have it made anew; raises nothing."""
    if second.mark is None or not second.mark.at.seq:
        return ()
    try:
        copy = copy or await second.contents()
    except AppError as error:
        return (Problem(code="copy_unreadable", detail=error.code),)
    if copy.is_whole:
        return ()
    second.begin_anew()
    return (Problem(code="copy_damaged"),)


def _has_all(copy: CopyContents, opened: Opened) -> bool:
    """Whether all that the journal may have lost stands in the copy, which is its bytes."""
    at, needed = copy.found.at, opened.needed
    return copy.is_whole and at.end >= needed.end and at.seq >= needed.seq


def unseen(findings: tuple[Problem, ...], contents: Contents) -> tuple[Problem, ...]:
    """Return the findings that the keeper has not confirmed."""
    seen = _seen(contents)
    return tuple(problem for problem in findings if name_of(problem) not in seen)


def _seen(contents: Contents) -> set[str]:
    found: list[str] = contents.meta(SEEN) or []
    return set(found)


async def confirm(findings: tuple[Problem, ...], journal: Journal, contents: Contents) -> None:
    """Save that findings are read; raises as a commit does."""
    if not unseen(findings, contents):
        return
    names = sorted({*_seen(contents), *map(name_of, findings)})
    contents.apply(await journal.commit([Put(META, SEEN, {"value": names})]))
