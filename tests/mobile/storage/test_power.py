"""Power cuts, full disks and failing flushes: what was acknowledged is there, and nothing else."""

import pytest

from mobile.storage import batch
from mobile.storage.errors import JournalStopped, StorageFailed, StorageFull
from mobile.storage.header import DATA_START
from tests.mobile.storage.disk import Disk, PowerCut
from tests.mobile.storage.support import DeviceIds, folder_with, notes, open_in, record

SMALL_PARTS = 500  # two records a part
# A new journal costs two changing calls (write, flush), a commit of one frame two more.
CREATION_CALLS = 2
COMMIT_CALLS = 2


async def _history(disk: Disk, batches: list[int]) -> list[list[str]]:
    """Save batches until the power goes; return the acknowledged notes and the last try's."""
    acknowledged: list[str] = []
    trying: list[str] = []
    try:
        repository = await open_in(disk)
        for number, size in enumerate(batches):
            trying = [f"{number}.{index}" for index in range(size)]
            await repository.append(
                [
                    record(repository.next_id(), minutes=number * 100 + index, note=note)
                    for index, note in enumerate(trying)
                ]
            )
            acknowledged += trying
            trying = []
    except PowerCut:
        pass
    return [acknowledged, trying]


async def _check_every_state(batches: list[int]) -> int:
    """Cut the power at each call, and try every content that the disk may then have."""
    whole = Disk()
    await _history(whole, batches)
    seen = 0
    for call in range(whole.calls):
        disk = Disk(faults={call: "cut"})
        acknowledged, trying = await _history(disk, batches)
        for state in set(disk.states_after_power_loss()):
            seen += 1
            folder = folder_with(state)
            repository = await open_in(folder, device_ids=DeviceIds())
            assert notes(repository) in (acknowledged, acknowledged + trying)
            await repository.append([record("another01:1", minutes=9_999, note="after")])
            expected = notes(repository)
            await repository.close()
            assert notes(await open_in(folder)) == expected
    return seen


async def test_power_loss_at_every_call_with_every_subset_and_tear():
    assert await _check_every_state([1, 2, 1]) > 500


async def test_power_loss_in_a_commit_of_several_frames(monkeypatch):
    monkeypatch.setattr(batch, "PART_BYTES", SMALL_PARTS)
    assert await _check_every_state([5]) > 1_000


@pytest.mark.long
async def test_power_loss_in_a_commit_of_several_frames_among_others(monkeypatch):
    monkeypatch.setattr(batch, "PART_BYTES", SMALL_PARTS)
    assert await _check_every_state([1, 6, 1]) > 10_000


@pytest.mark.parametrize(
    ("fault", "offset", "error"),
    [
        ("short", 0, StorageFull),
        ("full", 0, StorageFull),
        ("fail", 0, StorageFailed),
        ("fail", 1, StorageFailed),
    ],
    ids=["short write", "quota", "write", "flush"],
)
async def test_a_failed_commit_leaves_nothing_and_the_next_one_works(fault, offset, error):
    disk = Disk(faults={CREATION_CALLS + COMMIT_CALLS + offset: fault})
    repository = await open_in(disk)
    await repository.append([record(repository.next_id(), note="kept")])
    before = bytes(disk.files["journal"])
    lost = record(repository.next_id(), minutes=1, note="not saved")
    with pytest.raises(error) as caught:
        await repository.append([lost], meta={"draft": 1})
    assert not isinstance(caught.value, JournalStopped)
    assert bytes(disk.files["journal"]) == disk.durable["journal"] == before
    assert (notes(repository), repository.meta("draft")) == (["kept"], None)
    assert repository.blocked is None
    await repository.append([{**lost, "note": "saved at last"}])
    again = await open_in(folder_with(disk.durable["journal"]))
    assert notes(again) == ["kept", "saved at last"]


async def test_a_failure_between_the_parts_of_a_commit_leaves_nothing(monkeypatch):
    monkeypatch.setattr(batch, "PART_BYTES", SMALL_PARTS)
    calls = 6  # three parts, their flush, the closing batch, its flush
    for call in range(calls):
        disk = Disk(faults={CREATION_CALLS + call: "fail"})
        repository = await open_in(disk)
        with pytest.raises(StorageFailed):
            await repository.append(
                [record(repository.next_id(), minutes=n, note=str(n)) for n in range(6)]
            )
        assert len(disk.durable["journal"]) == DATA_START
        assert disk.calls == CREATION_CALLS + call + 3  # the cut and its flush follow
        assert repository.records() == ()


@pytest.mark.parametrize("then", [1, 2], ids=["truncate", "flush after it"])
async def test_when_a_failed_write_cannot_be_taken_back_nothing_more_is_written(then):
    disk = Disk(faults={CREATION_CALLS + 1: "fail", CREATION_CALLS + 1 + then: "fail"})
    repository = await open_in(disk)
    with pytest.raises(JournalStopped) as caught:
        await repository.append([record(repository.next_id(), note="not saved")])
    assert caught.value.context["cause"] == "storage_failed"
    calls = disk.calls
    with pytest.raises(JournalStopped):
        await repository.append([record(repository.next_id(), note="neither")])
    assert disk.calls == calls
    assert isinstance(repository.blocked, JournalStopped)
    assert repository.records() == ()


async def test_a_new_store_on_a_full_disk_is_read_only_and_says_why():
    repository = await open_in(Disk(faults={0: "full"}))
    assert isinstance(repository.report.blocked, StorageFull)
    assert not repository.report.writable


async def test_a_header_change_survives_a_power_cut_at_any_byte():
    disk = Disk()
    repository = await open_in(disk)
    await repository.append([record(repository.next_id(), note="kept")])
    disk.faults = {disk.calls + 1: "cut"}
    with pytest.raises(PowerCut):
        await repository._become_new_device()
    devices = set()
    for state in set(disk.states_after_power_loss()):
        again = await open_in(folder_with(state))
        assert notes(again) == ["kept"]
        assert again.report.problems == ()
        devices.add(again.device)
    assert devices == {"device0001", "device0002"}
