"""Snapshots: the same records with them, without them, and with any byte of them wrong."""

import json

import pytest

from mobile.storage.errors import DataDamaged, StorageFailed
from mobile.storage.frames import scan
from mobile.storage.header import DATA_START
from mobile.storage.memory import MemoryFolder
from mobile.storage.restore import canonical
from mobile.texts.storage import problem_sentence
from tests.mobile.storage.disk import Disk, PowerCut
from tests.mobile.storage.support import DeviceIds, codes, notes, open_in, plain_validate, record

ALL = ["a", "b", "c", "d"]


async def small_store(folder=None) -> MemoryFolder:
    """Two generations of snapshots, and one record after each; app state that changed."""
    folder = folder or MemoryFolder()
    repository = await open_in(folder)
    for number, note in enumerate(ALL):
        await repository.append(
            [record(repository.next_id(), minutes=number, note=note)], meta={"last": note}
        )
        if note in "bc":
            assert await repository.tidy(force=True)
    await repository.close()
    return folder


def copy_of(folder, **changed) -> MemoryFolder:
    files = {name: bytearray(data) for name, data in folder.files.items()}
    return MemoryFolder(files=files | {name: bytearray(data) for name, data in changed.items()})


async def check_whole(folder) -> list[str]:
    repository = await open_in(folder, device_ids=DeviceIds())
    assert (notes(repository), repository.meta("last")) == (ALL, "d")
    found = codes(repository)
    await repository.append([record("another01:1", minutes=99, note="after")])
    await repository.close()
    again = await open_in(folder)
    assert notes(again) == [*ALL, "after"]
    await again.close()
    return found


async def test_a_snapshot_and_what_follows_give_everything():
    folder = await small_store()
    assert sorted(folder.files) == ["journal", "snapshot-1", "snapshot-2"]
    assert await check_whole(folder) == []


@pytest.mark.parametrize("lost", [("snapshot-2",), ("snapshot-1",), ("snapshot-1", "snapshot-2")])
async def test_without_snapshots_the_journal_gives_everything(lost):
    folder = copy_of(await small_store())
    for name in lost:
        del folder.files[name]
    found = await check_whole(folder)
    assert found == ["journal_snapshot_unread"] * ("snapshot-2" in lost) * len(lost)


@pytest.mark.parametrize("name", ["snapshot-1", "snapshot-2"])
async def test_a_snapshot_with_any_byte_wrong_is_not_used(name):
    folder = await small_store()
    data = bytes(folder.files[name])
    for at in range(len(data)):
        wrong = bytearray(data)
        wrong[at] ^= 1 << (at % 8)
        found = await check_whole(copy_of(folder, **{name: wrong}))
        # One digit says that a newer app wrote it, and nothing in the file can deny that.
        is_newer = wrong.startswith(b'{"format":"sumpside-snapshot","version":3,')
        code = "journal_snapshot_newer" if is_newer else "journal_snapshot_damaged"
        assert found == [code] * (name == "snapshot-2"), at
    print(f"{len(data)} flips in {name}")


def _as_by_a_newer_app(data: bytes) -> bytearray:
    head, _, body = data.partition(b"\n")
    fields = {**json.loads(head), "version": 3, "packed": "in a way not heard of yet"}
    return bytearray(json.dumps(fields).encode() + b"\n" + body[::-1])


async def test_a_snapshot_of_a_newer_app_is_passed_over_and_told():
    folder = await small_store()
    newer = _as_by_a_newer_app(bytes(folder.files["snapshot-2"]))
    folder = copy_of(folder, **{"snapshot-2": newer})
    repository = await open_in(folder)
    assert codes(repository) == ["journal_snapshot_newer"]
    assert "newer version" in problem_sentence(repository.report.problems[0])
    assert not repository.wants_tidying  # it is not replaced at once
    await repository.close()
    assert bytes(folder.files["snapshot-2"]) == newer
    assert await check_whole(folder) == ["journal_snapshot_newer"]


@pytest.mark.parametrize("what", ["newer", "damaged"])
@pytest.mark.parametrize("journal", [b"", b"\xf5SH", bytes(DATA_START)])
async def test_a_snapshot_that_cannot_be_read_and_no_journal_is_not_taken_for_empty(what, journal):
    folder = await small_store()
    data = bytes(folder.files["snapshot-2"])
    left = _as_by_a_newer_app(data) if what == "newer" else data[:-3]
    lone = MemoryFolder(files={"journal": bytearray(journal), "snapshot-2": bytearray(left)})
    with pytest.raises(DataDamaged):
        await open_in(lone)
    assert lone.files == {"journal": journal, "snapshot-2": left}
    repository = await open_in(lone, discard_unreadable=True)
    assert repository.report.writable
    await repository.append([record(repository.next_id(), note="anew")])
    assert await repository.tidy(force=True)
    await repository.close()
    assert notes(await open_in(lone)) == ["anew"]
    assert left in lone.files.values()  # still kept, as a copy


async def test_a_header_flush_that_fails_late_leaves_the_snapshot_it_names_alone():
    disk = Disk(renewable=True)
    repository = await open_in(disk)
    await repository.append([record(repository.next_id(), note="kept")])
    calls_of_one = 6  # the snapshot cut, head, body, flush; the header, its flush
    disk.faults = {disk.calls + calls_of_one - 1: "late"}
    assert not await repository.tidy(force=True)
    named = disk.durable["snapshot-1"]
    await repository.append([record(repository.next_id(), minutes=1, note="second")])
    disk.faults = {disk.calls: "fail"}  # the file is ours still, whichever header is found
    await repository.append([record(repository.next_id(), minutes=2, note="third")])
    disk.faults = {disk.calls + 3: "fail"}
    assert not await repository.tidy(force=True)
    assert disk.durable["snapshot-1"] == named
    for files in disk.folders_after_power_loss():
        folder = MemoryFolder(files={name: bytearray(data) for name, data in files.items()})
        again = await open_in(folder)
        assert (codes(again), notes(again)) == ([], ["kept", "second", "third"])


async def test_a_snapshot_cut_anywhere_is_not_used():
    folder = await small_store()
    data = bytes(folder.files["snapshot-2"])
    for size in range(len(data)):
        found = await check_whole(copy_of(folder, **{"snapshot-2": data[:size]}))
        assert found == ["journal_snapshot_damaged"], size


async def test_a_journal_with_any_byte_wrong_loses_at_most_what_no_snapshot_has():
    folder = await small_store()
    data = bytes(folder.files["journal"])
    for at in [*range(64), *range(4096, 4160), *range(DATA_START, len(data))]:
        wrong = bytearray(data)
        wrong[at] ^= 1 << (at % 8)
        changed = copy_of(folder, journal=wrong)
        repository = await open_in(changed, device_ids=DeviceIds())
        found = notes(repository)
        assert found in (ALL, ALL[:3]), at
        assert found == ALL or repository.report.problems, at
        await repository.close()


async def test_a_journal_cut_anywhere_never_loses_what_a_snapshot_has():
    folder = await small_store()
    data = bytes(folder.files["journal"])
    last = scan(data, DATA_START).frames[-1]
    for size in [*range(0, DATA_START, 97), *range(DATA_START, len(data))]:
        changed = copy_of(folder, journal=data[:size])
        repository = await open_in(changed, device_ids=lambda: "devicenew1")
        assert notes(repository) == ALL[:3], size
        # Cut between two commits nothing tells that there was another one.
        assert repository.report.problems or size == last.start, size
        assert repository.device == "devicenew1" or size == last.start, size
        await repository.append([record(repository.next_id(), minutes=50, note="after")])
        await repository.close()
        again = await open_in(changed)
        assert notes(again) == [*ALL[:3], "after"], size
        assert codes(again) == [] or {"journal_damaged"} <= set(codes(again)), size
        await again.close()


async def test_a_lost_header_does_not_lose_the_snapshot():
    folder = await small_store()
    changed = copy_of(folder, journal=b"")
    repository = await open_in(changed, device_ids=lambda: "devicenew1")
    assert notes(repository) == ALL[:3]
    assert repository.device == "devicenew1"


async def test_a_snapshot_of_this_build_is_not_checked_again_and_of_another_is():
    folder = MemoryFolder()
    checked = []

    def validate(raw):
        checked.append(raw["id"])
        return plain_validate(raw)

    repository = await open_in(folder, validate=validate, checked_by="build 1")
    await repository.append([record(repository.next_id(), note="kept")])
    await repository.tidy(force=True)
    await repository.close()
    checked.clear()
    for build, times in (("build 1", 0), ("build 2", 1), ("", 1)):
        again = await open_in(folder, validate=validate, checked_by=build)
        assert (notes(again), len(checked)) == (["kept"], times)
        checked.clear()
        await again.close()


async def test_what_could_not_be_read_stays_in_a_snapshot():
    folder = MemoryFolder()
    repository = await open_in(folder, validate=lambda raw: raw)
    await repository.append([{**record(repository.next_id()), "note": 7}])
    await repository.close()
    strict = await open_in(folder)
    assert codes(strict) == ["record_invalid"]
    assert await strict.tidy(force=True)
    await strict.close()
    again = await open_in(folder)
    assert codes(again) == ["record_invalid"]
    assert again.refused() == strict.refused()
    again = await open_in(folder, validate=lambda raw: raw)
    assert [item["note"] for item in again.records()] == [7]


async def test_no_snapshot_before_enough_was_saved():
    repository = await open_in(MemoryFolder())
    await repository.append([record(repository.next_id())])
    assert not await repository.tidy()


async def test_a_snapshot_that_cannot_be_written_changes_nothing():
    disk = Disk(renewable=True)
    repository = await open_in(disk)
    await repository.append([record(repository.next_id(), note="kept")])
    before = dict(disk.durable)
    for call in range(3):
        disk.faults = {disk.calls + call: "full" if call < 2 else "fail"}
        assert not await repository.tidy(force=True)
        assert disk.durable["journal"] == before["journal"]
    disk.faults = {}
    assert await repository.tidy(force=True)
    assert notes(await open_in(disk)) == ["kept"]


async def test_power_loss_at_every_call_of_taking_snapshots():
    async def history(disk):
        acknowledged = []
        try:
            repository = await open_in(disk, device_ids=DeviceIds())
            for number in range(3):
                note = f"note {number}"
                await repository.append([record(repository.next_id(), minutes=number, note=note)])
                acknowledged.append(note)
                await repository.tidy(force=True)
        except PowerCut:
            pass
        return acknowledged

    whole = Disk(renewable=True)
    await history(whole)
    seen = 0
    for call in range(whole.calls):
        disk = Disk(faults={call: "cut"}, renewable=True)
        acknowledged = await history(disk)
        for files in disk.folders_after_power_loss():
            seen += 1
            folder = MemoryFolder(files={name: bytearray(data) for name, data in files.items()})
            repository = await open_in(folder, device_ids=DeviceIds())
            found = notes(repository)
            extra = f"note {len(acknowledged)}"
            assert found in (acknowledged, [*acknowledged, extra]), (call, found)
            await repository.tidy(force=True)
            await repository.close()
            assert notes(await open_in(folder)) == found
    print(f"{seen} states after a power cut while a snapshot is taken")
    assert seen > 1_000


async def test_saves_go_on_while_a_snapshot_is_taken():
    folder = MemoryFolder()
    repository = await open_in(folder)
    await repository.append([record(repository.next_id(), note="before")])
    original = folder.open

    async def open_and_save(name, *, writable):
        if name.startswith("snapshot") and writable:
            await repository.append([record(repository.next_id(), minutes=5, note="during")])
        return await original(name, writable=writable)

    class Folder(MemoryFolder):
        open = staticmethod(open_and_save)

    repository._folder = Folder(files=folder.files, writers=folder.writers)
    assert await repository.tidy(force=True)
    await repository.close()
    again = await open_in(folder)
    assert notes(again) == ["before", "during"]
    assert canonical(again.records()[0])
    assert b"during" not in folder.files["snapshot-1"]


async def test_a_stopped_journal_takes_no_snapshot():
    disk = Disk()
    repository = await open_in(disk)
    disk.faults = {disk.calls + n: "fail" for n in range(9)}
    with pytest.raises(StorageFailed):
        await repository.append([record(repository.next_id())])
    assert not await repository.tidy(force=True)
