"""Copies that are behind, unreadable, cleared, another journal's: none is destroyed unseen."""

import asyncio

import pytest

from mobile.storage.errors import StorageFailed, StorageFull, StoreElsewhere
from mobile.storage.frames import scan
from mobile.storage.header import DATA_START
from tests.mobile.storage.support import codes, notes
from tests.mobile.storage.test_second_copy import (
    COPY,
    COPY_MARK,
    Place,
    last_frame,
    opened,
    save,
)

ALL = ["one", "two", "three"]
STOP = {"action": "stop", "at": "2026-01-01T00:00:00+00:00"}


class Flaky(Place):
    """A place in which opening some files fails, for reading or for writing."""

    def __init__(self, kind: str) -> None:
        super().__init__(kind)
        self.fails: set[tuple[str, bool]] = set()

    async def open(self, name, *, writable):
        if (name, writable) in self.fails:
            raise StorageFailed(operation="open", file=name)
        return await super().open(name, writable=writable)


async def two_stores(*texts: str) -> tuple[Flaky, Flaky]:
    places = Flaky("opfs"), Flaky("idb")
    repository = await opened(places)
    await save(repository, *(texts or ALL))
    assert await repository.settle()
    await repository.close()
    return places


def unseen(repository) -> list[str]:
    return [problem.code for problem in repository.unseen]


async def test_a_mark_that_cannot_be_read_is_not_taken_for_no_copy():
    first, second = await two_stores()
    first.files.clear()
    second.fails = {(COPY_MARK, False)}
    repository = await opened((first, second))
    assert codes(repository) == ["copy_not_healed"]
    await repository.settle()
    await repository.close()
    second.fails.clear()
    assert sorted(notes(await opened((first, second)))) == sorted(ALL)


async def test_a_copy_with_a_damaged_mark_heals_a_journal_that_cannot_be_read():
    first, second = await two_stores()
    first.files["journal"][:] = b"\x93" * len(first.files["journal"])
    del first.files["acknowledged"]
    second.files[COPY_MARK][:] = bytes(len(second.files[COPY_MARK]))
    repository = await opened((first, second))
    assert notes(repository) == ALL
    await repository.settle()
    await repository.close()
    assert notes(await opened((first, second))) == ALL


async def test_a_copy_that_is_behind_leaves_a_finding():
    first, second = await two_stores()
    repository = await opened((first, second))
    second.fails = {(COPY, True)}
    await save(repository, "four")
    assert not await repository.settle()
    await repository.keep_verdict("main", STOP)
    await repository.close()
    second.fails.clear()
    first.files.clear()
    again = await opened((first, second))
    assert notes(again) == ALL
    assert unseen(again) == ["journal_restored"]
    assert again.verdicts == {"main": STOP}  # kept beside the copy, too


@pytest.mark.parametrize("call", ["flush", "write", "truncate"])
async def test_a_copy_that_cannot_be_brought_up_keeps_what_it_had(call):
    first, second = await two_stores()
    repository = await opened((first, second))
    await repository.settle()
    await save(repository, "four")
    file = await repository._store.second._opened()

    async def full(*_arguments):
        raise StorageFull(operation=call)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(type(file), call, full)
        assert not await repository.settle()
    await repository.close()
    first.files.clear()
    assert notes(await opened((first, second))) == ALL


async def test_an_idle_moment_that_is_called_off_costs_no_whole_copy():
    first, second = await two_stores(*(f"note {n} " * 40 for n in range(60)))
    repository = await opened((first, second))
    await repository.settle()
    await save(repository, "more")
    settling = asyncio.create_task(repository.settle())
    await asyncio.sleep(0)
    settling.cancel()
    with pytest.raises(asyncio.CancelledError):
        await settling
    for _ in range(50):
        await asyncio.sleep(0)
    assert bytes(second.files[COPY][:DATA_START]).strip(b"\0")
    assert len(second.files[COPY]) > len(first.files["journal"]) - 1_000


async def test_a_verdict_being_written_does_not_drop_the_idle_work():
    first, second = await two_stores()
    repository = await opened((first, second))
    await save(repository, "four")
    keeping = asyncio.create_task(repository.keep_verdict("main", STOP))
    await asyncio.sleep(0)
    assert await repository.settle()
    await keeping
    assert second.files[COPY] == first.files["journal"]


async def test_a_journal_begun_while_the_copy_was_away_loses_nothing_to_it():
    first, second = await two_stores()
    repository = await opened((first, second))
    await repository.erase()
    await save(repository, "after")
    await repository.settle()
    await repository.close()
    first.files.clear()
    second.works = False
    repository = await opened((first, second), device_ids=lambda: "device7777")
    await save(repository, "new one", "new two")
    await repository.close()
    second.works = True
    again = await opened((first, second))
    assert sorted(notes(again)) == ["after", "new one", "new two"]
    assert "copy_took_over" not in codes(again)


async def test_what_was_erased_since_does_not_come_from_another_journals_copy():
    first, second = await two_stores()
    first.files.clear()
    second.works = False
    repository = await opened((first, second), device_ids=lambda: "device7777")
    await save(repository, "new")
    await repository.erase()
    await save(repository, "newest")
    await repository.close()
    second.works = True
    before = bytes(second.files[COPY])
    again = await opened((first, second), device_ids=lambda: "device8888")
    assert (notes(again), codes(again)) == (["newest"], ["copy_of_another"])
    await again.settle()
    assert bytes(second.files[COPY]) == before  # it may be all that is left of them


async def test_a_later_epoch_that_cannot_be_read_locks_nobody_out():
    first, second = await two_stores()
    before = {name: bytes(data) for name, data in first.files.items()}
    repository = await opened((first, second))
    await repository.erase()
    await save(repository, "anew")
    await repository.settle()
    await repository.close()
    back = Place("opfs", before)
    second.fails = {(COPY, False)}
    repository = await opened((back, second))
    assert codes(repository) == ["copy_not_healed"]
    assert repository.blocked is None
    await repository.settle()
    second.fails.clear()
    assert b"anew" in bytes(second.files[COPY])


async def test_a_copy_is_asked_again_once_it_is_there_although_the_loss_was_read():
    first, second = await two_stores()
    frame = scan(bytes(first.files["journal"]), DATA_START).frames[1]
    first.files["journal"][frame.end - 3] ^= 1
    second.works = False
    repository = await opened((first, second))
    await repository.confirm_seen()
    await repository.close()
    second.works = True
    assert notes(await opened((first, second))) == ALL


async def test_the_journals_own_gap_is_no_damage_of_the_copy():
    first, second = Place("opfs"), Place("idb")
    repository = await opened((first,))
    await save(repository, *ALL)
    await repository.settle()
    await repository.close()
    del first.files["journal"][last_frame(first).start :]
    repository = await opened((first, second))
    await repository.confirm_seen()
    await save(repository, "four")
    await repository.settle()
    assert (await repository.self_check()).problems[1:] == ()
    assert first.files["journal"] == second.files[COPY]


async def test_a_copy_with_the_number_given_again_does_not_vouch_for_the_lost_one():
    first, second = await two_stores()
    repository = await opened((first, second))
    await save(repository, "lost")
    await repository._mark.write(repository_mark(repository))
    await repository.close()
    del first.files["journal"][last_frame(first).start :]
    again = await opened((first, second))
    assert unseen(again) == ["journal_acknowledged_lost"]


def repository_mark(repository):
    from mobile.storage.slots import Mark

    header = repository._journal.header
    at = repository._journal.position
    return Mark(lineage=header.lineage, epoch=header.epoch, at=at)


async def test_another_journals_longer_copy_confirms_no_loss():
    first, _ = await two_stores("mine one", "mine two")
    _, others = await two_stores(*(f"other {n}" for n in range(9)))
    del first.files["journal"][last_frame(first).start :]
    again = await opened((first, others), device_ids=lambda: "device9999")
    assert "journal_acknowledged_lost" in unseen(again)


async def test_roles_the_other_way_round_heal_as_well():
    first, second = Place("opfs"), Place("idb")
    first.works = False
    repository = await opened((first, second))
    await save(repository, *ALL)
    await repository.close()
    first.works = True
    repository = await opened((first, second))
    assert (repository.report.backend, repository.report.second) == ("idb", "opfs")
    await repository.settle()
    await repository.close()
    second.files.clear()
    again = await opened((first, second), device_ids=lambda: "device5555")
    assert notes(again) == ALL
    assert (again.report.backend, again.report.second) == ("idb", "opfs")


async def test_a_copy_alone_is_read_although_nothing_says_where_the_journal_is():
    first, second = await two_stores()
    del second.files["kept-in-opfs"]
    first.works = False
    repository = await opened((first, second))
    assert isinstance(repository.blocked, StoreElsewhere)
    assert notes(repository) == ALL


async def test_a_cleared_copy_is_not_read_while_the_journals_place_is_shut():
    first, second = await two_stores()
    repository = await opened((first, second))
    file = await repository._store.second._opened()

    async def refused(_size):
        raise StorageFailed(operation="truncate")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(type(file), "truncate", refused)
        await repository._store.second._write_mark(cleared_mark(repository))
    await repository.close()
    first.works = False
    with pytest.raises(StoreElsewhere):
        await opened((first, second))


def cleared_mark(repository):
    from mobile.storage.frames import Position
    from mobile.storage.slots import Mark

    header = repository._journal.header
    return Mark(lineage=header.lineage, epoch=header.epoch + 1, at=Position(end=0))


async def test_an_erasing_that_cannot_reach_the_copy_says_so():
    first, second = await two_stores()
    second.works = False
    repository = await opened((first, second))
    assert not await repository.erase()
    await repository.close()
    second.works = True
    repository = await opened((first, second))
    assert notes(repository) == []
    assert await repository.erase()


# ---- notes and numbers


async def test_erasing_one_system_forgets_no_loss_and_no_stop_of_another():
    place = Place("opfs")
    repository = await opened((place,))
    await save(repository, *ALL)
    await repository.keep_verdict("main", STOP)
    await repository.keep_verdict("pond", STOP)
    await repository.settle()
    await repository.close()
    place.files["journal"][last_frame(place).end - 3] ^= 1
    repository = await opened((place,))
    assert unseen(repository) == ["journal_acknowledged_lost"]
    await repository.erase("pond")
    assert unseen(repository) == ["journal_acknowledged_lost"]
    assert repository.verdicts == {"main": STOP}
    await repository.erase()
    assert (unseen(repository), repository.verdicts) == ([], {})


async def test_a_loss_after_an_erasing_is_another_one_than_the_one_that_was_read():
    place = Place("opfs")
    repository = await opened((place,))
    await save(repository, *ALL)
    await repository.settle()
    await repository.close()
    del place.files["journal"][last_frame(place).start :]
    repository = await opened((place,))
    await repository.confirm_seen()
    await repository.erase("pond")
    while repository._journal.position.seq < 3:
        await save(repository, "more")
    await repository.settle()
    await repository.close()
    del place.files["journal"][last_frame(place).start :]
    assert unseen(await opened((place,))) == ["journal_acknowledged_lost"]


async def test_a_lost_number_is_not_given_again_after_an_idle_moment_either():
    place = Place("opfs")
    repository = await opened((place,))
    await save(repository, *ALL)
    await repository.settle()
    await repository.close()
    del place.files["journal"][last_frame(place).start :]
    for _ in range(2):
        repository = await opened((place,))
        assert repository._journal.position.next_seq == 4
        await repository.settle()
        await repository.close()


async def test_a_stop_is_kept_although_the_verdicts_could_not_be_read_at_first():
    place = Flaky("opfs")
    repository = await opened((place,))
    for number in range(4):
        await repository.keep_verdict("main", {"action": "other", "at": str(number)})
    await repository.close()
    place.fails = {("verdicts", False)}
    repository = await opened((place,))
    place.fails.clear()
    await repository.keep_verdict("main", STOP)
    await repository.close()
    assert (await opened((place,))).verdicts == {"main": STOP}


async def test_a_place_in_trouble_locks_no_sound_journal_out():
    first, _ = await two_stores()

    async def troubled():
        raise StorageFailed(operation="copy")

    again = await opened((first, troubled))
    assert notes(again) == ALL
    first.files.clear()
    with pytest.raises(StorageFailed):
        await opened((troubled, first))
