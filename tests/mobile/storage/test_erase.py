"""Erasing: gone from every file, nothing else touched, whole or not at all at every power cut."""

import pytest

from mobile.storage.backend import keep_copy
from mobile.storage.erasing import MARK, NEXT, finish_erasing
from mobile.storage.errors import AppError, StorageFailed, StoreReadOnly
from mobile.storage.memory import MemoryFolder
from tests.mobile.storage.disk import Disk, PowerCut
from tests.mobile.storage.support import DeviceIds, codes, notes, open_in, record

GONE = "the garden pond"


async def _two_systems(folder, device_ids=None, *, count=3):
    repository = await open_in(folder, device_ids=device_ids or DeviceIds())
    for number in range(count):
        for system, text in (("main", f"reef {number}"), ("pond", f"{GONE} {number}")):
            made = record(repository.next_id(), minutes=number, system=system, note=text)
            await repository.append([made])
    await repository.put_meta("alkalinity_unit", "meq/L")
    return repository


def _left(folder: MemoryFolder) -> bytes:
    return b"".join(bytes(content) for content in folder.files.values())


async def test_a_system_is_gone_from_every_file_and_the_other_one_is_whole():
    folder = MemoryFolder()
    repository = await _two_systems(folder)
    await repository.tidy(force=True)
    folder.files["quarantine-0-9-00000000"] = bytearray(GONE.encode())
    before = repository.records("main")
    assert GONE.encode() in _left(folder)
    await repository.erase("pond")
    assert GONE.encode() not in _left(folder)
    assert sorted(folder.files) == ["journal"]
    assert (repository.systems(), repository.records()) == (("main",), before)
    assert (repository.device, repository.meta("alkalinity_unit")) == ("device0002", "meq/L")
    await repository.append([record(repository.next_id(), note="after")])
    await repository.close()
    again = await open_in(folder)
    assert (codes(again), len(again.records()), again.device) == ([], 4, "device0002")


async def test_everything_is_gone_and_the_store_is_a_new_one():
    folder = MemoryFolder()
    repository = await _two_systems(folder)
    old = repository.device
    await repository.erase()
    assert (repository.records(), repository.meta("alkalinity_unit")) == ((), None)
    assert repository.device != old
    assert repository.next_id().endswith(":1")
    assert b"reef" not in _left(folder)
    await repository.close()
    again = await open_in(folder)
    assert (again.records(), codes(again), again.blocked) == ((), [], None)


async def test_what_could_not_be_read_and_conflicts_stay_with_their_system():
    def strict(raw):
        if "unreadable" in raw["note"]:
            raise ValueError("no")
        return raw

    folder = MemoryFolder()
    repository = await open_in(folder)
    for system in ("main", "pond"):
        made = record(repository.next_id(), system=system, note=f"unreadable {system}")
        await repository.append([made, record(repository.next_id(), system=system, note="good")])
    await repository.close()
    repository = await open_in(folder, validate=strict)
    assert len(repository.refused()) == 2
    await repository.erase("pond")
    assert [item.raw["note"] for item in repository.refused()] == ["unreadable main"]
    assert notes(repository) == ["good"]


async def test_a_large_log_is_erased_in_several_frames():
    folder = MemoryFolder()
    repository = await open_in(folder)
    batch = [
        record(repository.next_id(), system=("main", "pond")[n % 2], note="x" * 900)
        for n in range(300)
    ]
    await repository.append(batch)
    await repository.erase("pond")
    await repository.close()
    again = await open_in(folder)
    assert (len(again.records()), again.systems(), codes(again)) == (150, ("main",), [])


@pytest.mark.parametrize("system", ["pond", None])
async def test_a_power_cut_at_any_moment_leaves_all_or_what_was_to_be_left(system):
    whole = Disk()
    repository = await _two_systems(whole)
    first = whole.calls
    everything, rest = repository.records(), repository.records("main") if system else ()
    await repository.erase(system)
    outcomes, states = set(), 0
    for call in range(first, whole.calls):
        disk = Disk(faults={call: "cut"}, most_tears=6, most_states=16)
        repository = await _two_systems(disk)
        with pytest.raises(PowerCut):
            await repository.erase(system)
        for files in disk.folders_after_power_loss():
            states += 1
            folder = MemoryFolder(files={name: bytearray(data) for name, data in files.items()})
            after = await open_in(folder, device_ids=lambda: "afterwards1")
            assert after.blocked is None
            assert after.records() in (everything, rest), "all, or what was to be left"
            assert after.meta("alkalinity_unit") in ("meq/L", None)
            assert {MARK, NEXT}.isdisjoint(folder.files)
            outcomes.add(after.records() == everything)
            await after.append([record(after.next_id(), note="goes on")])
    assert outcomes == {True, False}
    assert states > 60


@pytest.mark.parametrize("fault", ["full", "fail"])
async def test_an_erasure_that_cannot_be_written_leaves_everything(fault):
    probe = Disk()
    repository = await _two_systems(probe)
    first = probe.calls
    disk = Disk(faults={first + 1: fault})
    repository = await _two_systems(disk)
    before = repository.records()
    with pytest.raises(StorageFailed):
        await repository.erase("pond")
    assert repository.records() == before
    assert {MARK, NEXT}.isdisjoint(disk.files)
    await repository.append([record(repository.next_id(), note="still saved")])
    assert len((await open_in(disk)).records()) == len(before) + 1


async def test_a_cut_while_the_journal_is_replaced_is_gone_on_with_at_the_next_start():
    folder = MemoryFolder()
    repository = await _two_systems(folder)
    await repository.tidy(force=True)
    rest = repository.records("main")
    await repository.close()
    following = MemoryFolder(files={k: bytearray(v) for k, v in folder.files.items()})
    eraser = await open_in(following)
    await eraser.erase("pond")
    await eraser.close()
    target = bytes(following.files["journal"])
    for length in range(0, len(target), 97):  # the new journal lies there in part
        torn = MemoryFolder(files={k: bytearray(v) for k, v in folder.files.items()})
        torn.files["journal"] = bytearray(target[:length])
        torn.files[NEXT] = bytearray(target)
        torn.files[MARK] = bytearray(_mark(target))
        after = await open_in(torn)
        assert (after.records(), codes(after)) == (rest, [])
        assert sorted(torn.files) == ["journal"]


def _mark(following: bytes) -> bytes:
    import hashlib
    import json

    digest = hashlib.sha256(following).hexdigest()
    fields = {"format": "sumpside-erasing", "bytes": len(following), "sha256": digest}
    return json.dumps(fields).encode()


@pytest.mark.parametrize(
    "mark", [b"", b"{", b"[]", b"null", b"\x00" * 80, b'{"format":"other"}', _mark(b"x")[:-1]]
)
async def test_a_mark_that_was_cut_off_erases_nothing(mark):
    folder = MemoryFolder()
    repository = await _two_systems(folder)
    before = repository.records()
    await repository.close()
    folder.files[MARK] = bytearray(mark)
    folder.files[NEXT] = bytearray(b"half")
    again = await open_in(folder)
    assert (again.records(), codes(again)) == (before, [])
    assert {MARK, NEXT}.isdisjoint(folder.files)


async def test_a_new_journal_that_was_damaged_meanwhile_does_not_replace_the_old_one():
    folder = MemoryFolder()
    repository = await _two_systems(folder)
    before = repository.records()
    await repository.close()
    folder.files[MARK] = bytearray(_mark(b"as it was read back"))
    folder.files[NEXT] = bytearray(b"as it WAS read back")
    again = await open_in(folder)
    assert (again.records(), MARK in folder.files) == (before, False)
    assert codes(again) == ["erase_damaged"]


async def test_only_the_window_that_writes_may_erase_and_another_one_does_not_finish_for_it():
    folder = MemoryFolder()
    writer = await _two_systems(folder)
    reader = await open_in(folder)
    with pytest.raises(StoreReadOnly):
        await reader.erase("pond")
    folder.files[NEXT] = bytearray(b"under way")
    assert await finish_erasing(folder) == ()
    assert NEXT in folder.files
    del folder.files[NEXT]
    await writer.erase("pond")
    with pytest.raises(AppError):  # what it knew is no more: it must open again
        await reader.follow()


class Forgetful(Disk):
    """A disk that remembers what it held of a file when it was told to remove it."""

    async def remove(self, name: str) -> None:
        forgotten[name] = self.durable[name]
        await super().remove(name)


forgotten: dict[str, bytes] = {}


@pytest.mark.parametrize("system", ["pond", None])
async def test_what_is_saved_after_erasing_survives_a_cut_that_forgets_the_removals(system):
    disk = Forgetful(renewable=True)
    repository = await _two_systems(disk)
    await repository.tidy(force=True)
    await repository.append([record(repository.next_id(), system="pond", note=GONE)])
    await repository.tidy(force=True)
    await keep_copy(disk, 9, GONE.encode())
    assert sum(GONE.encode() in data for data in disk.durable.values()) == 4
    forgotten.clear()
    await repository.erase(system)
    assert {MARK, NEXT, "snapshot-1", "snapshot-2"} < forgotten.keys()
    assert not any(GONE.encode() in data for data in forgotten.values()), "emptied before"
    await repository.append([record(repository.next_id(), note="saved afterwards")])
    files = {**disk.durable, **forgotten}
    folder = MemoryFolder(files={name: bytearray(data) for name, data in files.items()})
    after = await open_in(folder)
    assert "saved afterwards" in notes(after)
    assert GONE not in " ".join(notes(after))
    assert {MARK, NEXT}.isdisjoint(folder.files)
