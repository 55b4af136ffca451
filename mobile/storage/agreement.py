"""What is done where the journal and its second copy do not agree, when a store is opened.

Of one lineage (the same journal from its birth on) the later epoch counts: what was erased in one
place never comes back from the other. Within one epoch, and between journals of different
lineages, all that either has is kept, since only what was acknowledged is ever copied.
"""

from typing import Final

from mobile.storage.backend import Folder
from mobile.storage.batch import Put
from mobile.storage.contents import META, Contents
from mobile.storage.erasing import begin_erasing, journal_of
from mobile.storage.errors import AppError, ErasureStands
from mobile.storage.findings import RESTORED, name_of, note
from mobile.storage.healing import folded, heal
from mobile.storage.journal import Journal, NewDeviceId
from mobile.storage.opening import Opened
from mobile.storage.problems import Problem
from mobile.storage.restore import Door
from mobile.storage.second_copy import CopyContents, SecondCopy

SEEN: Final = "seen_findings"
"""The piece of app state with the names of the findings that the keeper has read."""
COMPARED: Final = "compared_findings"
"""The names of the findings for which the copy was asked."""
NOT_HEALED: Final = "copy_not_healed"


async def give_way(
    journal: Journal, second: SecondCopy, folder: Folder, new_device_id: NewDeviceId
) -> bool:
    """Let the copy's content take the place of the same journal from before an erasing.

    Returns
    -------
    bool
        Whether it shall: the journal is closed then, and the store is to be loaded again. A
        failure changes nothing, and the copy is left alone.
    """
    mark, header = second.mark, journal.header
    if mark is None or mark.lineage != header.lineage or mark.epoch <= header.epoch:
        return False
    try:
        if not mark.at.seq:  # an erasing was begun in the copy, and never in the journal
            await journal.replace_header(epoch=mark.epoch)
            return False
        copy = await second.contents()
        if not copy.is_whole:
            second.leave_alone("damaged, and of a later epoch")
            return False
        tables = folded(copy.found.ops)
        ops = [Put(name, key, doc) for name, docs in tables.items() for key, doc in docs.items()]
        following = journal_of(
            ops,
            device=new_device_id(),
            schema_version=header.schema_version,
            epoch=mark.epoch,
            lineage=mark.lineage,
        )
        await begin_erasing(folder, following)
    except ErasureStands:
        raise
    except AppError as error:
        second.leave_alone(str(error))
        return False
    await journal.block(ErasureStands(cause="under way"))
    return True


async def take_back(
    opened: Opened, contents: Contents, second: SecondCopy, door: Door, folder: Folder
) -> tuple[Problem, ...]:
    """Take back from the copy what the journal has lost; raises nothing.

    Returns
    -------
    tuple of Problem
        `copy_healed` with the number of entries that came back, `copy_damaged`, a finding that
        entries after the copy may be missing, or `copy_not_healed`: the copy is then left alone.
    """
    journal = opened.journal
    if second.failed:
        return (Problem(code=NOT_HEALED, detail=second.failed),)
    follows = await second.compare(journal)
    if follows and not _unnamed(opened.findings, contents, COMPARED):
        return ()
    try:
        copy = await second.contents()
        if not copy.counts or not _may_heal(copy, journal):
            return () if not copy.counts else _left_alone(copy, journal, second)
        count = await heal(journal, contents, copy, door)
        behind = _what_is_behind(opened, copy, count)
        await note(folder, behind)
        await _put_names(COMPARED, opened.findings, journal, contents)
        if _has_all(copy, opened):
            await confirm(opened.findings, journal, contents)
    except AppError as error:
        second.leave_alone(str(error))
        return (Problem(code=NOT_HEALED, detail=error.code),)
    healed = (Problem(code="copy_healed", detail=str(count)),) if count else ()
    return (*healed, *behind, *await damage_of(second, copy))


def _may_heal(copy: CopyContents, journal: Journal) -> bool:
    header = journal.header
    if copy.lineage == header.lineage:
        return copy.epoch >= header.epoch
    return header.epoch == 0  # nothing was erased here that another journal's copy may have


def _left_alone(copy: CopyContents, journal: Journal, second: SecondCopy) -> tuple[Problem, ...]:
    """Leave the copy of another journal alone; an older epoch of this very one is written over."""
    if copy.lineage == journal.header.lineage:
        return ()
    second.leave_alone("another journal's")
    return (Problem(code="copy_of_another"),)


def _what_is_behind(opened: Opened, copy: CopyContents, count: int) -> tuple[Problem, ...]:
    """Return the finding of a journal that was begun anew: how far it went nobody knows."""
    if opened.knows_end or not count:
        return ()
    detail = f"{copy.found.at.seq}-{opened.journal.header.lineage:08x}"
    return (Problem(code=RESTORED, detail=detail),)


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
    if not copy.is_whole or copy.found.at.end < opened.needed.end:
        return False
    numbers = {frame.seq for frame in copy.frames}
    return all(map(copy.has, opened.anchors)) and all(
        set(range(gap.first, gap.last + 1)) <= numbers for gap in opened.gaps
    )


def unseen(findings: tuple[Problem, ...], contents: Contents) -> tuple[Problem, ...]:
    """Return the findings that the keeper has not confirmed."""
    return _unnamed(findings, contents, SEEN)


async def confirm(findings: tuple[Problem, ...], journal: Journal, contents: Contents) -> None:
    """Save that findings are read; raises as a commit does."""
    await _put_names(SEEN, findings, journal, contents)


def _unnamed(findings: tuple[Problem, ...], contents: Contents, key: str) -> tuple[Problem, ...]:
    named = _names(contents, key)
    return tuple(problem for problem in findings if name_of(problem) not in named)


def _names(contents: Contents, key: str) -> set[str]:
    found: list[str] = contents.meta(key) or []
    return set(found)


async def _put_names(
    key: str, findings: tuple[Problem, ...], journal: Journal, contents: Contents
) -> None:
    if _unnamed(findings, contents, key):
        names = sorted({*_names(contents, key), *map(name_of, findings)})
        contents.apply(await journal.commit([Put(META, key, {"value": names})]))
