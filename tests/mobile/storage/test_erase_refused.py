"""An erasure that is refused: nothing saved afterwards may be taken by it."""

import asyncio

import pytest

from mobile.commands.books import Book
from mobile.storage.errors import EraseFailed, ErasureStands, StorageFailed
from mobile.storage.memory import MemoryFolder
from mobile.texts.app import TEXTS
from tests.mobile.storage.support import DeviceIds, codes, notes, open_in, record


class Stubborn(MemoryFolder):
    """Does not give the mark back, and does not let it go."""

    refused: frozenset[str] = frozenset()
    marks = 0
    fault: type[BaseException] = StorageFailed

    async def open(self, name, *, writable):
        if name == "erasing" and writable:
            type(self).marks += 1
        again = self.marks > 1
        if name == "erasing" and (
            (not writable and "read" in self.refused) or (again and "void" in self.refused)
        ):
            raise self.fault()
        return await super().open(name, writable=writable)

    async def remove(self, name):
        if "remove" in self.refused:
            raise StorageFailed(operation="remove", file=name)
        await super().remove(name)


async def _three(folder):
    repository = await open_in(folder, device_ids=DeviceIds())
    for number in range(3):
        made = record(repository.next_id(), minutes=number, note=f"old {number}")
        await repository.append([made])
    return repository


@pytest.mark.parametrize("fault", [StorageFailed, asyncio.CancelledError])
async def test_what_is_saved_after_a_refused_erasure_is_there_at_the_next_start(fault):
    Stubborn.marks = 0
    folder = Stubborn()
    repository = await _three(folder)
    folder.refused, folder.fault = frozenset({"read", "remove"}), fault
    with pytest.raises(fault):
        await repository.erase()
    assert repository.blocked is None
    folder.refused = frozenset()
    await repository.append([record(repository.next_id(), minutes=9, note="afterwards")])
    await repository.close()
    again = await open_in(folder)
    assert (notes(again), codes(again)) == (["old 0", "old 1", "old 2", "afterwards"], [])
    assert sorted(folder.files) == ["journal"]


async def test_where_the_mark_cannot_be_taken_back_nothing_more_is_acknowledged():
    Stubborn.marks = 0
    folder = Stubborn()
    repository = await _three(folder)
    folder.refused = frozenset({"read", "void", "remove"})
    with pytest.raises(ErasureStands):
        await repository.erase()
    with pytest.raises(ErasureStands):
        await repository.append([record(repository.next_id(), note="afterwards")])
    assert isinstance(repository.blocked, ErasureStands)
    assert "may be gone" in TEXTS["erasure_stands"]
    assert len(repository.records()) == 3, "still to be exported"


class Failing(MemoryFolder):
    """Fails at one of the openings of one file, counted from when it was told to."""

    def fail(self, name, opening):
        self.failing, self.left = name, opening
        return self

    async def open(self, name, *, writable):
        if name == getattr(self, "failing", None):
            self.left -= 1
            if self.left == 0:
                raise StorageFailed(operation="open", file=name)
        return await super().open(name, writable=writable)


@pytest.mark.parametrize(
    ("name", "opening"),
    [("journal", 1), ("journal", 2), ("erasing", 3), ("erasing", 4), ("snapshot-1", 1)],
    ids=["before it is replaced", "then loaded", "its mark read", "its mark voided", "a copy"],
)
async def test_what_fails_behind_the_mark_is_never_told_as_not_erased(name, opening):
    folder = Failing()
    repository = await _three(folder)
    await repository.tidy(force=True)
    folder.fail(name, opening)
    with pytest.raises(ErasureStands) as caught:
        await repository.erase()
    assert caught.value.context["cause"] == "storage_failed"
    with pytest.raises(ErasureStands):
        await repository.append([record(repository.next_id(), note="afterwards")])
    assert isinstance(repository.blocked, ErasureStands)
    assert len(repository.records()) == 3, "still to be exported"
    await repository.close()
    again = await open_in(folder)
    assert (len(again.records()), codes(again), again.blocked) == (0, [], None)
    assert sorted(folder.files) == ["journal"]


async def test_an_id_that_comes_back_after_erasing_is_read_anew():
    repository = await open_in(MemoryFolder(), device_ids=DeviceIds())
    book = Book(repository)
    await repository.append([record("another01:1", note="first content")])
    assert [each.note for each in book.records()] == ["first content"]
    await repository.erase()
    assert book.records() == ()
    await repository.append([record("another01:1", note="other content")])
    assert [each.note for each in book.records()] == ["other content"]


class Spoiling(MemoryFolder):
    """Changes one byte of what was to be left, once it was read back."""

    reads = 0

    async def open(self, name, *, writable):
        if name == "journal-next" and not writable:
            self.__class__.reads += 1
            if self.reads == 2:
                self.files[name][-5] ^= 1
        return await super().open(name, writable=writable)


async def test_an_erasure_that_was_not_done_is_not_told_as_done():
    Spoiling.reads = 0
    folder = Spoiling()
    repository = await _three(folder)
    before = repository.records()
    with pytest.raises(EraseFailed):
        await repository.erase()
    assert (repository.records(), repository.blocked) == (before, None)
    assert codes(repository) == ["erase_damaged"], "the copy that is kept is reported"
    assert "erasing" not in folder.files
    await repository.append([record(repository.next_id(), note="goes on")])
