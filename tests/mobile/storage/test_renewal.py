"""A failed commit is tried once more on the file opened afresh, never over what others wrote."""

import pytest

from mobile.storage.errors import StorageFailed, StorageFull, StorageLost, StoreBusy
from mobile.storage.frames import encode_frame
from mobile.storage.memory import MemoryFolder
from tests.mobile.storage.disk import Disk
from tests.mobile.storage.support import notes, open_in, record


async def _ready() -> tuple[Disk, object]:
    disk = Disk(renewable=True)
    repository = await open_in(disk)
    await repository.append([record(repository.next_id(), note="kept")])
    return disk, repository


@pytest.mark.parametrize("fault", ["short", "full", "fail"])
@pytest.mark.parametrize("offset", [0, 1], ids=["write", "flush"])
async def test_a_passing_failure_costs_the_keeper_nothing(fault, offset):
    disk, repository = await _ready()
    disk.faults = {disk.calls + offset: fault}
    await repository.append([record(repository.next_id(), minutes=1, note="second")])
    folder = MemoryFolder(files={"journal": bytearray(disk.durable["journal"])})
    assert notes(await open_in(folder)) == ["kept", "second"]


@pytest.mark.parametrize(("fault", "error"), [("full", StorageFull), ("fail", StorageFailed)])
async def test_a_lasting_failure_is_told_by_its_kind(fault, error):
    disk, repository = await _ready()
    disk.faults = {disk.calls: fault, disk.calls + 1: fault}
    with pytest.raises(StorageFailed) as caught:
        await repository.append([record(repository.next_id(), minutes=1)])
    assert type(caught.value) is error
    assert repository.blocked is None
    await repository.append([record(repository.next_id(), minutes=2, note="later")])
    assert notes(await open_in(disk)) == ["kept", "later"]


async def test_storage_cleared_under_the_app_is_told_and_memory_keeps_everything():
    disk, repository = await _ready()
    disk.faults = {disk.calls: "fail"}
    disk.files["journal"].clear()
    with pytest.raises(StorageLost):
        await repository.append([record(repository.next_id(), minutes=1)])
    assert isinstance(repository.blocked, StorageLost)
    assert notes(repository) == ["kept"]
    assert disk.files["journal"] == b""


async def test_a_file_that_is_gone_is_told_as_cleared_storage_not_as_a_failed_write():
    disk, repository = await _ready()
    disk.faults = {disk.calls: "fail"}

    async def gone():
        raise StorageLost(operation="open", file="journal")

    repository._journal._file.renew = gone
    with pytest.raises(StorageLost):
        await repository.append([record(repository.next_id(), minutes=1)])
    assert isinstance(repository.blocked, StorageLost)
    assert notes(repository) == ["kept"]


@pytest.mark.parametrize("what", ["frame", "header"])
async def test_what_another_window_wrote_meanwhile_is_not_written_over(what):
    disk, repository = await _ready()
    journal = disk.files["journal"]
    if what == "frame":
        journal += encode_frame(2, b'{"ops":[["put","meta","x",{"value":1}]]}')
    else:
        journal[:64] = bytes(64)
    before = bytes(journal)
    disk.faults = {disk.calls: "fail"}
    with pytest.raises(StoreBusy):
        await repository.append([record(repository.next_id(), minutes=1)])
    assert bytes(journal) == before
    assert isinstance(repository.blocked, StoreBusy)
