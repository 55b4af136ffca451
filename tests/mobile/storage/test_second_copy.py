"""The second copy on the device: it heals what one store lost, and never what was erased."""

import pytest

from mobile.storage.errors import StorageFailed, StorageUnavailable, StoreElsewhere, StoreReadOnly
from mobile.storage.frames import scan
from mobile.storage.header import DATA_START
from mobile.storage.memory import MemoryFile, MemoryFolder
from mobile.storage.store import open_repository
from tests.mobile.storage.disk import Disk, DiskFile, PowerCut
from tests.mobile.storage.support import DeviceIds, codes, notes, plain_validate, record

COPY, COPY_MARK = "second-copy", "second-copy-mark"


class Place(MemoryFolder):
    """A folder of a kind, which may not open."""

    def __init__(self, kind: str, files: dict | None = None) -> None:
        super().__init__(files={name: bytearray(data) for name, data in (files or {}).items()})
        self.name = kind
        self.works = True

    @property
    def kind(self) -> str:
        return self.name

    async def __call__(self):
        if not self.works:
            raise StorageUnavailable(backend=self.name)
        return self


async def opened(places, **options):
    ids = options.pop("device_ids", None) or DeviceIds()
    return await open_repository(*places, validate=plain_validate, new_device_id=ids, **options)


async def save(repository, *texts: str) -> None:
    for text in texts:
        number = len(repository.records())
        await repository.append([record(repository.next_id(), minutes=number, note=text)])


async def ready(*texts: str, settled: bool = True):
    places = (Place("opfs"), Place("idb"))
    repository = await opened(places)
    await save(repository, *(texts or ("one", "two", "three")))
    if settled:
        assert await repository.settle()
    await repository.close()
    return places


def last_frame(place):
    return scan(bytes(place.files["journal"]), DATA_START).frames[-1]


async def test_the_copy_is_the_journal_byte_for_byte():
    first, second = await ready()
    assert second.files[COPY] == first.files["journal"]
    repository = await opened((first, second))
    assert repository.report.second == "idb"
    await save(repository, "four")
    assert second.files[COPY] != first.files["journal"]  # behind the acknowledgement
    await repository.settle()
    assert second.files[COPY] == first.files["journal"]


async def test_with_one_place_there_is_no_copy_and_that_is_said():
    place = Place("idb")
    repository = await opened((place,))
    await save(repository, "one")
    assert await repository.settle()
    assert repository.report.second == ""
    assert sorted(place.files) == ["acknowledged", "journal"]


async def test_a_store_that_was_cleared_is_healed_from_the_other_and_told():
    first, second = await ready()
    first.files.clear()
    repository = await opened((first, second), device_ids=lambda: "device7777")
    assert notes(repository) == ["one", "two", "three"]
    assert codes(repository) == ["copy_healed", "journal_restored"]
    assert repository.report.problems[0].detail == "3"
    # What was saved after the last copying may be gone, and nobody can tell.
    assert [problem.code for problem in repository.unseen] == ["journal_restored"]
    await repository.confirm_seen()
    assert repository.device == "device7777"
    await save(repository, "four")
    await repository.settle()
    await repository.close()
    again = await opened((first, second))
    assert (notes(again), codes(again)) == (["one", "two", "three", "four"], [])


@pytest.mark.parametrize("place", ["head", "all"])
async def test_a_journal_of_which_nothing_can_be_read_is_healed_without_asking(place):
    first, second = await ready()
    if place == "all":
        first.files["journal"][:] = b"\x93" * len(first.files["journal"])
    else:
        first.files["journal"][: DATA_START + 1] = bytes(DATA_START + 1)
    repository = await opened((first, second), device_ids=DeviceIds())
    assert notes(repository) == ["one", "two", "three"]
    assert repository.unseen == ()


async def test_each_damaged_frame_comes_back_and_nothing_is_left_to_confirm():
    first, second = await ready()
    for frame in scan(bytes(first.files["journal"]), DATA_START).frames:
        for at in (frame.start, frame.start + 9, frame.end - 2):
            wrong = Place("opfs", first.files)
            wrong.files["journal"][at] ^= 2
            repository = await opened((wrong, Place("idb", second.files)))
            assert notes(repository) == ["one", "two", "three"], at
            assert "copy_healed" in codes(repository)
            assert repository.unseen == ()


async def test_every_cut_of_the_journal_comes_back():
    first, second = await ready()
    whole = len(first.files["journal"])
    for left in (*range(0, DATA_START, 1500), *range(DATA_START, whole, 7)):
        cut = Place("opfs", first.files)
        del cut.files["journal"][left:]
        repository = await opened((cut, Place("idb", second.files)))
        assert notes(repository) == ["one", "two", "three"], left
        assert repository.unseen == (), left


async def test_a_rollback_of_one_store_with_its_mark_is_told_by_the_other():
    first, second = await ready("one")
    before = {name: bytes(data) for name, data in first.files.items()}
    repository = await opened((first, second))
    await save(repository, "two", "three")
    await repository.settle()
    await repository.close()
    repository = await opened((Place("opfs", before), second))
    assert (notes(repository), codes(repository)) == (["one", "two", "three"], ["copy_healed"])


async def test_what_the_copy_has_not_yet_is_lost_and_stays_to_be_confirmed():
    first, second = await ready("one", "two")
    repository = await opened((first, second))
    await save(repository, "three")  # acknowledged, and the power goes before the idle moment
    await repository.close()
    first.files["journal"][-1] ^= 1
    repository = await opened((first, second))
    assert notes(repository) == ["one", "two"]
    assert [problem.code for problem in repository.unseen] == ["journal_tail_perhaps"]


async def test_an_entry_under_an_id_that_is_taken_is_kept_aside():
    first, _second = await ready("one")
    others = await ready("another")  # the same device id and number
    repository = await opened((first, Place("idb", others[1].files)))
    assert notes(repository) == ["one"]
    assert [item["note"] for item in repository.conflicts()] == ["another"]


async def test_a_damaged_copy_is_told_and_made_anew():
    first, second = await ready()
    second.files[COPY][last_frame(first).start + 30] ^= 1
    first.files["journal"][DATA_START + 30] ^= 1  # what the copy is asked for
    repository = await opened((first, second))
    assert notes(repository) == ["one", "two", "three"]
    assert codes(repository)[-2:] == ["copy_healed", "copy_damaged"]
    assert repository.unseen  # the copy cannot vouch for all
    await repository.settle()
    assert second.files[COPY] == first.files["journal"]


async def test_no_flip_in_copy_or_its_mark_changes_what_is_shown():
    first, second = await ready()
    places = [(COPY, n) for n in range(DATA_START, len(second.files[COPY]), 3)]
    places += [(COPY_MARK, n) for n, byte in enumerate(second.files[COPY_MARK]) if byte]
    for name, at in places:
        wrong = Place("idb", second.files)
        wrong.files[name][at] ^= 0x21
        repository = await opened((Place("opfs", first.files), wrong))
        assert (notes(repository), repository.unseen) == (["one", "two", "three"], ()), (name, at)
        await repository.settle()
        await repository.close()
        follows = await opened((Place("opfs", first.files), wrong))
        assert notes(follows) == ["one", "two", "three"]


async def test_a_copy_that_cannot_be_taken_back_is_left_alone():
    first, second = await ready()

    class Full(Place):
        async def open(self, name, *, writable):
            file = await super().open(name, writable=writable)
            return _NoMore(self, name, writable) if name == "journal" else file

    full = Full("opfs", first.files)
    del full.files["journal"][scan(bytes(first.files["journal"]), DATA_START).frames[0].end :]
    before = bytes(second.files[COPY])
    repository = await opened((full, second))
    assert "copy_not_healed" in codes(repository)
    await repository.settle()
    assert bytes(second.files[COPY]) == before
    assert repository.unseen


class _NoMore(MemoryFile):
    async def write(self, at, data):
        if at >= DATA_START:
            raise StorageFailed(operation="write")
        return await super().write(at, data)


# ---- the place of the journal does not open


async def test_while_the_journals_place_does_not_open_the_copy_is_read_and_nothing_is_saved():
    first, second = await ready()
    first.works = False
    repository = await opened((first, second))
    assert notes(repository) == ["one", "two", "three"]
    assert isinstance(repository.blocked, StoreElsewhere)
    assert [problem.code for problem in repository.unseen] == ["copy_only_reading"]
    with pytest.raises(StoreReadOnly):
        await repository.append([record("another01:1")])
    assert not await repository.settle()
    await repository.close()
    first.works = True
    again = await opened((first, second))
    assert (notes(again), codes(again), again.unseen) == (["one", "two", "three"], [], ())


# ---- erasing


async def test_what_was_erased_does_not_come_back_from_an_older_copy():
    first, second = await ready()
    older = {name: bytes(data) for name, data in second.files.items()}
    repository = await opened((first, second))
    await repository.erase()
    assert b"two" not in b"".join(map(bytes, second.files.values()))
    await save(repository, "anew")
    await repository.settle()
    await repository.close()
    back = Place("idb", older)
    repository = await opened((first, back))
    assert (notes(repository), codes(repository)) == (["anew"], [])
    await repository.settle()
    assert b"two" not in b"".join(map(bytes, back.files.values()))


async def test_a_journal_from_before_an_erasing_gives_way_to_the_copy():
    first, second = await ready()
    older = {name: bytes(data) for name, data in first.files.items()}
    repository = await opened((first, second))
    await repository.erase()
    await save(repository, "anew")
    await repository.settle()
    await repository.close()
    back = Place("opfs", older)
    repository = await opened((back, second))
    assert (notes(repository), codes(repository)) == (["anew"], ["copy_took_over"])
    await repository.close()
    assert b"two" not in b"".join(map(bytes, back.files.values()))


async def test_a_copy_that_cannot_be_reached_hinders_no_erasing_and_never_heals_it():
    first, second = await ready()
    repository = await opened((first, second))

    async def unreachable(_name, *, writable):
        raise StorageFailed(operation="open")

    ordinary, second.open = second.open, unreachable
    await repository.erase()
    second.open = ordinary
    await repository.close()
    again = await opened((first, second))
    assert (notes(again), codes(again)) == ([], [])


class _Beside(Disk):
    """A second disk on the same power."""

    first: Disk

    def next_fault(self):
        return self.first.next_fault()


def _disks(**options) -> tuple[Disk, Disk]:
    first = Disk(kind="opfs", **options)
    second = _Beside(kind="idb", **{**options, "faults": {}})
    second.first = first
    return first, second


def _opener(folder):
    async def opener():
        return folder

    return opener


async def _on(disks):
    return await opened([_opener(disk) for disk in disks])


async def _erasing_story(disks, call: int | None):
    """Save, settle, erase, with the power going at a call; return what was erased of what."""
    first = disks[0]
    repository = await _on(disks)
    await save(repository, "gone one", "gone two")
    await repository.settle()
    begun = first.calls
    if call is not None:
        first.faults = {begun + call: "cut"}
    await repository.erase()
    await repository.settle()
    return first.calls - begun


async def test_a_power_cut_at_any_step_of_erasing_leaves_all_or_nothing_in_both_stores():
    calls = await _erasing_story(_disks(), None)
    assert calls > 12
    outcomes, states = set(), 0
    for call in range(calls):
        disks = _disks(most_tears=3, most_states=5)
        with pytest.raises(PowerCut):
            await _erasing_story(disks, call)
        second = list(disks[1].folders_after_power_loss())
        for files in disks[0].folders_after_power_loss():
            for other in (second[0], second[-1]):
                states += 1
                places = (Place("opfs", files), Place("idb", other))
                after = await opened(places, device_ids=lambda: "afterwards1")
                assert after.blocked is None
                assert notes(after) in (["gone one", "gone two"], [])
                erased = not notes(after)
                outcomes.add(erased)
                await after.settle()
                await after.close()
                again = await opened(places, device_ids=lambda: "afterwards2")
                assert notes(again) == notes(after)
                await again.close()
                if erased:
                    places[0].files.clear()  # and now the journal is lost as well
                    assert notes(await opened(places)) == []
    assert outcomes == {True, False}
    assert states > 100


async def test_a_power_cut_while_the_copy_is_brought_up_loses_nothing():
    async def story(disks, call):
        repository = await _on(disks)
        await save(repository, "one", "two")
        begun = disks[0].calls
        if call is not None:
            disks[0].faults = {begun + call: "cut"}
        await repository.settle()
        await save(repository, "three")
        await repository.settle()
        return disks[0].calls - begun

    states = 0
    for call in range(await story(_disks(), None)):
        disks = _disks(most_tears=4, most_states=8)
        with pytest.raises(PowerCut):
            await story(disks, call)
        second = list(disks[1].folders_after_power_loss())
        for files in disks[0].folders_after_power_loss():
            for other in (second[0], second[len(second) // 2], second[-1]):
                states += 1
                after = await opened((Place("opfs", files), Place("idb", other)))
                assert notes(after) in (["one", "two"], ["one", "two", "three"])
                assert {
                    "journal_acknowledged_lost",
                    "journal_damaged",
                    "copy_not_healed",
                }.isdisjoint(codes(after))
    assert states > 100


# ---- bounded work


async def test_what_an_idle_moment_writes_does_not_grow_with_the_log():
    written: dict[int, int] = {}
    for count in (10, 400):
        first, second = _disks()
        repository = await _on((first, second))
        for number in range(count):
            await repository.append([record(repository.next_id(), minutes=number, note="x")])
        await repository.settle()
        await save(repository, "one more")
        taken = 0
        ordinary = DiskFile.write

        async def counted(self, at, data, ordinary=ordinary):
            nonlocal taken
            taken += len(data)
            return await ordinary(self, at, data)

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(DiskFile, "write", counted)
            await repository.settle()
        written[count] = taken
    assert 0 < written[400] < written[10] + 50
