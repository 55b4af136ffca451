"""Records move to a place of the site's own: whole or not at all, at every cut and fault."""

import pytest

from mobile.storage.errors import DataNewerThanApp, StorageFailed, StoreBusy
from mobile.storage.header import DATA_START, FORMAT_VERSION, Header, choose, encode_slot
from mobile.storage.journal import JOURNAL_NAME
from mobile.storage.memory import MemoryFolder
from mobile.storage.moving import MARK, clear, take_over, taking_over
from mobile.storage.repository import Repository
from tests.mobile.storage.disk import Disk, PowerCut
from tests.mobile.storage.support import DeviceIds, codes, folder_with, notes, open_in, record

OURS = "movedhere0000001"


def ours() -> str:
    return OURS


async def _filled(folder, count: int = 4, *, tidy: bool = True) -> Repository:
    repository = await open_in(folder)
    for number in range(count):
        await repository.append([record(repository.next_id(), minutes=number, note=str(number))])
        if tidy and number == 1:
            await repository.tidy(force=True)
    return repository


async def _old(count: int = 4) -> MemoryFolder:
    folder = MemoryFolder()
    await (await _filled(folder, count)).close()
    folder.files["quarantine-9-1-00000000"] = bytearray(b"x")
    return folder


def _bytes(folder: MemoryFolder) -> dict[str, bytes]:
    return {name: bytes(content) for name, content in folder.files.items()}


async def test_records_come_along_as_another_device_and_the_old_place_is_as_it_was():
    old, new = await _old(), MemoryFolder()
    before = _bytes(old)
    await take_over(old, new, ours)
    assert _bytes(old) == before
    assert new.files.keys() == old.files.keys()
    assert any(name.startswith("snapshot") for name in new.files)
    repository = await open_in(new)
    assert (notes(repository), codes(repository)) == (["0", "1", "2", "3"], [])
    assert repository.device == OURS
    assert repository.next_id() == f"{OURS}:1"
    again = await open_in(old)
    assert again.device == "device0001"


async def test_two_sites_take_a_copy_each_and_never_make_the_same_id():
    old, one, two = await _old(), MemoryFolder(), MemoryFolder()
    ids = DeviceIds()
    await take_over(old, one, lambda: f"one{ids()}")
    await take_over(old, two, lambda: f"two{ids()}")
    made = {(await open_in(folder)).next_id() for folder in (old, one, two)}
    assert len(made) == 3


async def test_a_place_that_has_records_takes_none():
    old, new = await _old(), MemoryFolder()
    await (await _filled(new, 1)).close()
    before = _bytes(new)
    await take_over(old, new, ours)
    assert _bytes(new) == before


async def test_what_was_erased_in_the_new_place_does_not_come_back():
    old, new = await _old(), MemoryFolder()
    await take_over(old, new, ours)
    repository = await open_in(new)
    await repository.erase()
    await repository.close()
    await take_over(old, new, ours)
    assert notes(await open_in(new)) == []


async def test_a_page_that_writes_to_the_old_place_is_waited_for():
    old, new = MemoryFolder(), MemoryFolder()
    writing = await _filled(old)
    with pytest.raises(StoreBusy):
        await take_over(old, new, ours)
    assert new.files == {}
    await writing.close()
    await take_over(old, new, ours)
    assert len(notes(await open_in(new))) == 4


async def test_nothing_is_copied_that_a_newer_app_wrote():
    newer = Header(format_version=FORMAT_VERSION + 1, schema_version=1, seq=0, device="device0009")
    old, new = folder_with(encode_slot(newer).ljust(DATA_START, b"\0")), MemoryFolder()
    with pytest.raises(DataNewerThanApp):
        await take_over(old, new, ours)
    assert new.files == {}


async def test_damage_comes_along_and_is_told_by_the_opening():
    old, new = await _old(), MemoryFolder()
    old.files[JOURNAL_NAME][-3] ^= 0xFF
    await take_over(old, new, ours)
    repository = await open_in(new)
    assert notes(repository) == ["0", "1", "2"]
    assert codes(repository)


async def test_a_journal_without_a_header_comes_along():
    old, new = await _old(), MemoryFolder()
    for name in [name for name in old.files if name.startswith("snapshot")]:
        del old.files[name]
    old.files[JOURNAL_NAME][:DATA_START] = bytes(DATA_START)
    await take_over(old, new, ours)
    repository = await open_in(new)
    assert notes(repository) == ["0", "1", "2", "3"]
    assert repository.device != choose(bytes(DATA_START))
    assert "journal_header_damaged" in codes(repository)


async def test_an_erasing_that_was_cut_is_ended_before_the_copy():
    old, new = await _old(), MemoryFolder()
    repository = await open_in(old)
    whole = _bytes(old)
    await repository.erase()
    await repository.close()
    following = _bytes(old)[JOURNAL_NAME]
    cut = Disk(
        files={name: bytearray(content) for name, content in whole.items()}, faults={6: "cut"}
    )
    with pytest.raises(PowerCut):
        await (await open_in(cut)).erase()
    left = MemoryFolder(files={name: bytearray(c) for name, c in cut.files.items()})
    assert {"erasing", "journal-next"} <= left.files.keys()
    await take_over(left, new, ours)
    assert notes(await open_in(new)) == []
    assert len(new.files[JOURNAL_NAME]) == len(following)


async def test_where_records_are_kept_is_known_in_the_new_place_too():
    old, new = MemoryFolder(files={"kept-in-opfs": bytearray()}), MemoryFolder()
    await take_over(old, new, ours)
    assert new.files.keys() == {"kept-in-opfs"}


async def _opened(old: MemoryFolder, files: dict[str, bytes]) -> Repository:
    new = MemoryFolder(files={name: bytearray(content) for name, content in files.items()})

    async def open_new() -> MemoryFolder:
        return new

    async def open_old() -> MemoryFolder:
        return old

    await taking_over(open_new, open_old, ours)()
    assert not new.files.get(MARK)
    return await open_in(new)


async def test_at_every_cut_the_next_start_has_all_records_once():
    old = await _old(3)
    cuts = states = 0
    while True:
        new = Disk(faults={cuts: "cut"}, most_tears=40)
        try:
            await take_over(old, new, ours)
        except PowerCut:
            old.writers.clear()  # the process is gone, and its locks
        else:
            break
        for files in new.folders_after_power_loss():
            repository = await _opened(old, files)
            assert (notes(repository), repository.device) == (["0", "1", "2"], OURS)
            assert codes(repository) == []
            states += 1
        cuts += 1
    assert cuts >= 12
    assert states > 300


@pytest.mark.parametrize("fault", ["fail", "full", "none", "torn", "late"])
async def test_at_every_fault_the_copy_does_not_count_and_the_next_one_is_whole(fault: str):
    old = await _old(3)
    before = _bytes(old)
    failed = 0
    for call in range(40):
        new = Disk(faults={call: fault})
        try:
            await take_over(old, new, ours)
        except StorageFailed:
            failed += 1
        assert _bytes(old) == before
        repository = await _opened(old, {name: bytes(c) for name, c in new.files.items()})
        assert (notes(repository), repository.device) == (["0", "1", "2"], OURS)
    assert failed >= 4


async def test_a_cut_copy_whose_old_place_is_gone_is_opened_as_it_is():
    old = await _old(3)
    new = MemoryFolder()
    await take_over(old, new, ours)
    new.files[MARK] = bytearray(b"stands")

    async def open_new() -> MemoryFolder:
        return new

    async def none() -> None:
        return None

    await taking_over(open_new, none, ours)()
    assert MARK not in new.files
    assert notes(await open_in(new)) == ["0", "1", "2"]


async def test_a_cleared_place_holds_nothing():
    old = await _old()
    await clear(old)
    assert old.files == {}


async def test_a_place_in_use_is_not_cleared():
    old = MemoryFolder()
    writing = await _filled(old)
    before = _bytes(old)
    with pytest.raises(StoreBusy):
        await clear(old)
    assert _bytes(old) == before
    await writing.close()
