"""What was acknowledged is known beside the journal: a loss is told, and told as what it is."""

import pytest

from mobile.storage import batch
from mobile.storage.batch import Put, encode_batch, linked
from mobile.storage.findings import salvaged
from mobile.storage.frames import NO_DIGEST, digest_of, encode_frame, scan
from mobile.storage.header import DATA_START, Header, encode_slot
from mobile.storage.memory import MemoryFolder
from mobile.storage.migrations import SCHEMA_VERSION
from tests.mobile.storage.disk import Disk, PowerCut
from tests.mobile.storage.support import DeviceIds, codes, notes, open_in, record

LOST = "journal_acknowledged_lost"


async def _saved(count: int = 3, *, settled: bool = True, folder=None) -> MemoryFolder:
    folder = folder or MemoryFolder()
    repository = await open_in(folder)
    for number in range(count):
        made = record(repository.next_id(), minutes=number, note=f"note {number}")
        await repository.append([made])
    if settled:
        assert await repository.settle()
    await repository.close()
    return folder


def _frames(folder: MemoryFolder):
    return scan(bytes(folder.files["journal"]), DATA_START).frames


def _copy(folder: MemoryFolder) -> MemoryFolder:
    return MemoryFolder(files={name: bytearray(data) for name, data in folder.files.items()})


def _unseen(repository) -> list[str]:
    return [problem.code for problem in repository.unseen]


async def test_any_bit_of_the_last_frame_once_acknowledged_is_told_as_lost():
    folder = await _saved()
    last = _frames(folder)[-1]
    for place in range(last.start, last.end):
        damaged = _copy(folder)
        damaged.files["journal"][place] ^= 1 << (place % 8)
        repository = await open_in(damaged, device_ids=DeviceIds())
        assert codes(repository) == [LOST], place
        assert _unseen(repository) == [LOST]
        assert repository.unseen[0].detail.startswith("3-3-")
        assert notes(repository) == ["note 0", "note 1"]


async def test_a_last_frame_that_is_gone_without_a_trace_is_told_as_lost():
    folder = await _saved()
    del folder.files["journal"][_frames(folder)[0].end :]
    repository = await open_in(folder)
    assert (codes(repository), repository.unseen[0].detail[:4]) == ([LOST], "2-3-")


async def test_until_the_mark_stands_a_bad_end_is_perhaps_saved_and_held_back_too():
    folder = await _saved(settled=False)
    folder.files["journal"][-1] ^= 1
    repository = await open_in(folder)
    assert codes(repository) == ["journal_tail_perhaps"]
    assert _unseen(repository) == ["journal_tail_perhaps"]


async def test_a_loss_is_confirmed_once_and_only_then_forgotten():
    folder = await _saved()
    folder.files["journal"][-1] ^= 1
    for _ in range(3):
        repository = await open_in(folder, device_ids=DeviceIds())
        assert _unseen(repository) == [LOST]
        await repository.append([record(repository.next_id(), note="goes on")])
        await repository.tidy(force=True)
        await repository.settle()
        await repository.close()
    repository = await open_in(folder, device_ids=DeviceIds())
    await repository.confirm_seen()
    assert _unseen(repository) == []
    await repository.close()
    assert _unseen(await open_in(folder)) == []


async def test_the_number_of_a_lost_frame_is_not_given_again():
    folder = await _saved()
    del folder.files["journal"][_frames(folder)[-1].start :]
    repository = await open_in(folder, device_ids=DeviceIds())
    await repository.append([record("another01:1", minutes=9, note="after")])
    await repository.close()
    assert [frame.seq for frame in _frames(folder)] == [1, 2, 4]
    again = await open_in(folder)
    assert _unseen(again) == [LOST]  # the same finding, by the gap that it left
    assert len(again.unseen) == 1


async def test_what_the_lost_bytes_held_is_said_as_far_as_it_can_be_read():
    folder = await _saved()
    last = _frames(folder)[-1]
    at = bytes(folder.files["journal"]).index(b'"v":', last.start)
    folder.files["journal"][at + 4] ^= 1
    repository = await open_in(folder)
    assert repository.unseen[0].held == (("note", "2026-03-01T08:02:00+00:00"),)
    assert (await open_in(folder)).unseen[0].held == repository.unseen[0].held


@pytest.mark.parametrize(
    "data", [b"", b"\xff\xfe", b'["put","records","a:1",{"kind":7,"at":"soon"}]', b"\xf5SJ2" * 90]
)
def test_garbage_holds_nothing_or_the_unknown(data):
    assert set(salvaged(data)) <= {("", "")}


async def test_no_damage_of_the_mark_invents_a_loss():
    folder = await _saved()
    repository = await open_in(folder)
    await repository.append([record(repository.next_id(), minutes=5, note="one more")])
    await repository.settle()
    await repository.close()
    mark = bytes(folder.files["acknowledged"])
    for place in [n for n, byte in enumerate(mark) if byte]:
        wrong = _copy(folder)
        wrong.files["acknowledged"][place] ^= 0x11
        repository = await open_in(wrong)
        assert (codes(repository), _unseen(repository), len(notes(repository))) == ([], [], 4)
    for left in range(0, len(mark), 7):
        cut = _copy(folder)
        del cut.files["acknowledged"][left:]
        assert _unseen(await open_in(cut)) == []


async def test_a_power_cut_while_the_mark_is_written_invents_no_loss():
    whole = Disk()
    repository = await open_in(whole)
    await repository.append([record(repository.next_id(), note="one")])
    first = whole.calls
    await repository.settle()
    states = 0
    for call in range(first, whole.calls):
        disk = Disk(faults={call: "cut"})
        repository = await open_in(disk)
        await repository.append([record(repository.next_id(), note="one")])
        with pytest.raises(PowerCut):
            await repository.settle()
        for files in disk.folders_after_power_loss():
            states += 1
            after = await open_in(MemoryFolder(files={n: bytearray(d) for n, d in files.items()}))
            assert (notes(after), codes(after), _unseen(after)) == (["one"], [], [])
    assert states > 50


async def test_a_mark_of_before_an_erasing_says_nothing_of_the_new_journal():
    folder = await _saved(5)
    mark = bytes(folder.files["acknowledged"])
    repository = await open_in(folder)
    await repository.erase()
    await repository.close()
    folder.files["acknowledged"] = bytearray(mark)  # as after a power cut that forgot the removal
    again = await open_in(folder)
    assert (codes(again), _unseen(again), notes(again)) == ([], [], [])


# ---- a write in the middle that never arrived


def _journal(*payloads: bytes, device: str = "device0001") -> bytes:
    header = Header(schema_version=SCHEMA_VERSION, seq=0, device=device)
    return encode_slot(header).ljust(DATA_START, b"\0") + b"".join(payloads)


def _frame(seq: int, note: str, after: bytes) -> bytes:
    put = Put("records", f"device0001:{seq}", record(f"device0001:{seq}", minutes=seq, note=note))
    (payload,) = encode_batch([put])
    return encode_frame(seq, linked(payload, after))


async def test_an_old_frame_in_place_of_one_that_was_acknowledged_is_found_by_the_next():
    one = _frame(1, "one", NO_DIGEST)
    meant, stale = (_frame(2, note, digest_of(one)) for note in ("acknowledged", "taken back !!"))
    assert len(meant) != len(stale) or meant != stale
    three = _frame(3, "three", digest_of(meant))
    repository = await open_in(
        MemoryFolder(files={"journal": bytearray(_journal(one, stale, three))})
    )
    assert _unseen(repository) == ["journal_link_broken"]
    assert notes(repository) == ["one", "taken back !!", "three"]  # nothing is thrown away
    sound = await open_in(MemoryFolder(files={"journal": bytearray(_journal(one, meant, three))}))
    assert _unseen(sound) == []


async def test_a_frame_that_was_acknowledged_and_reads_otherwise_now_is_found_by_the_mark():
    folder = await _saved(2)
    one = bytes(folder.files["journal"])[DATA_START : _frames(folder)[0].end]
    other = _frame(2, "another history", digest_of(one))
    folder.files["journal"][_frames(folder)[1].start :] = other
    assert _unseen(await open_in(folder)) == ["journal_link_broken"]


async def test_frames_of_a_large_commit_are_linked_too(monkeypatch):
    monkeypatch.setattr(batch, "PART_BYTES", 400)
    folder = MemoryFolder()
    repository = await open_in(folder)
    await repository.append([record(repository.next_id(), minutes=n) for n in range(6)])
    await repository.append([record(repository.next_id(), minutes=9)])
    await repository.close()
    data = bytes(folder.files["journal"])
    frames = _frames(folder)
    assert len(frames) > 4
    digests = [NO_DIGEST, *(digest_of(data[frame.start : frame.end]) for frame in frames)]
    for frame, before in zip(frames, digests, strict=False):
        assert batch.decode_payload(frame.payload).after == before


# ---- journals of version 1


async def test_a_journal_of_version_1_opens_and_goes_on_linked():
    header = Header(format_version=1, schema_version=SCHEMA_VERSION, seq=0, device="device0001")
    (payload,) = encode_batch([Put("records", "device0001:1", record("device0001:1", note="old"))])
    old = encode_frame(1, payload, version=ord("1"))
    folder = MemoryFolder(
        files={"journal": bytearray(encode_slot(header).ljust(DATA_START, b"\0") + old)}
    )
    repository = await open_in(folder)
    assert (codes(repository), notes(repository)) == ([], ["old"])
    await repository.append([record(repository.next_id(), minutes=1, note="new")])
    await repository.close()
    first, second = _frames(folder)
    assert (first.version, second.version) == (ord("1"), ord("2"))
    assert batch.decode_payload(second.payload).after == digest_of(old)
    again = await open_in(folder)
    assert (codes(again), notes(again), again.device) == ([], ["old", "new"], "device0001")
    # An older app sees by the header that it must not write here.
    assert again._journal.header.format_version == 2
