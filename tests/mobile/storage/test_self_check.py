"""The self-check: says that all is well only when it is, and names what is not."""

import pytest

from mobile.storage.contents import RECORDS
from mobile.storage.header import DATA_START, SLOT_AT
from mobile.storage.memory import MemoryFolder
from mobile.texts.storage import problem_sentence
from tests.mobile.storage.support import open_in, record


async def _filled(folder, count=12):
    repository = await open_in(folder)
    for number in range(count):
        await repository.append([record(repository.next_id(), minutes=number, note=f"n{number}")])
    await repository.put_meta("alkalinity_unit", "dKH")
    return repository


async def test_a_sound_store_is_called_sound_with_its_figures():
    folder = MemoryFolder()
    repository = await _filled(folder)
    await repository.tidy(force=True)
    found = await repository.self_check()
    assert found.problems == ()
    assert (found.records, found.saves, found.size_bytes) == (12, 13, len(folder.files["journal"]))
    await repository.append([record(repository.next_id(), note="saving goes on")])
    assert (await repository.self_check()).records == 13


async def test_an_empty_store_is_sound():
    found = await (await open_in(MemoryFolder())).self_check()
    assert (found.problems, found.records) == ((), 0)


async def test_a_flipped_byte_anywhere_in_the_journal_is_found():
    folder = MemoryFolder()
    repository = await _filled(folder, count=4)
    await repository.put_meta("x", 1)
    size = len(folder.files["journal"])
    places = [*range(SLOT_AT[0], SLOT_AT[0] + 64), *range(DATA_START, size)]
    missed = []
    for place in places:
        folder.files["journal"][place] ^= 0x10
        found = await repository.self_check()
        if not found.problems:
            missed.append(place)
        folder.files["journal"][place] ^= 0x10
    assert missed == []
    assert (await repository.self_check()).problems == ()


async def test_a_flipped_byte_anywhere_in_the_snapshot_is_found():
    folder = MemoryFolder()
    repository = await _filled(folder, count=4)
    await repository.tidy(force=True)
    for place in range(len(folder.files["snapshot-1"])):
        folder.files["snapshot-1"][place] ^= 0x04
        found = await repository.self_check()
        assert [p.code for p in found.problems] == ["journal_snapshot_damaged"], place
        folder.files["snapshot-1"][place] ^= 0x04


def _cut(folder: MemoryFolder, _repository) -> None:
    del folder.files["journal"][-30:]


def _cleared(folder: MemoryFolder, _repository) -> None:
    folder.files.clear()


def _other_device(folder: MemoryFolder, _repository) -> None:
    folder.files["journal"][16:24] = b"intruder"


def _in_memory_changed(_folder, repository) -> None:
    repository.db.live.documents(RECORDS)["device0001:3"]["note"] = "not what was saved"


def _in_memory_lost(_folder, repository) -> None:
    del repository.db.live.documents(RECORDS)["device0001:3"]


FAULTS = {
    "cut off": (_cut, {"check_end", "check_differs"}),
    "cleared": (_cleared, {"check_unreadable"}),
    "header": (_other_device, {"check_header"}),
    "memory changed": (_in_memory_changed, {"check_differs"}),
    "memory lost": (_in_memory_lost, {"check_differs", "check_index"}),
}


@pytest.mark.parametrize(("fault", "codes"), FAULTS.values(), ids=FAULTS.keys())
async def test_a_fault_is_named_and_has_a_sentence(fault, codes):
    folder = MemoryFolder()
    repository = await _filled(folder)
    fault(folder, repository)
    found = await repository.self_check()
    assert codes <= {problem.code for problem in found.problems}
    for problem in found.problems:
        assert "unexpected" not in problem_sentence(problem)
