"""A damaged, cut or foreign journal: nothing wrong is read, nothing is lost in silence."""

import struct
import zlib
from datetime import UTC, datetime

import pytest

from mobile.storage import batch
from mobile.storage.batch import Put, encode_batch
from mobile.storage.errors import DataDamaged, DataNewerThanApp, StorageFailed, StoreReadOnly
from mobile.storage.frames import encode_frame, scan
from mobile.storage.header import DATA_START, SLOT_AT, SLOT_BYTES, Header, first_block
from mobile.storage.memory import MemoryFile, MemoryFolder
from mobile.storage.migrations import SCHEMA_VERSION
from tests.mobile.storage.support import (
    DeviceIds,
    codes,
    folder_with,
    notes,
    open_in,
    plain_validate,
    record,
)

COMMITS = 4


async def _small_journal() -> bytes:
    folder = MemoryFolder()
    repository = await open_in(folder)
    for number in range(COMMITS):
        await repository.append(
            [record(repository.next_id(), minutes=number, note=f"note {number}")]
        )
    await repository.close()
    return bytes(folder.files["journal"])


def _is_news(repository, code: str) -> bool:
    return any(problem.code == code and not problem.known for problem in repository.report.problems)


async def test_a_journal_cut_at_any_byte_keeps_every_whole_commit():
    journal = await _small_journal()
    ends = [frame.end for frame in scan(journal, DATA_START).frames]
    assert len(ends) == COMMITS
    for cut in range(len(journal) + 1):
        folder = folder_with(journal[:cut])
        repository = await open_in(folder, device_ids=DeviceIds())
        whole = sum(end <= cut for end in ends)
        assert notes(repository) == [f"note {number}" for number in range(whole)]
        if 0 < cut < DATA_START:
            assert _is_news(repository, "journal_header_damaged")
        at_an_end = cut in {0, DATA_START, *ends}
        assert _is_news(repository, "journal_tail_torn") == (cut > DATA_START and not at_an_end)
        await repository.append([record("another01:1", minutes=99, note="after")])
        await repository.close()
        again = await open_in(folder)
        assert notes(again) == [*(f"note {number}" for number in range(whole)), "after"]
        assert codes(again) == []


async def test_the_bytes_of_a_torn_tail_are_kept():
    journal = await _small_journal()
    folder = folder_with(journal[:-5])
    repository = await open_in(folder)
    (name,) = [name for name in folder.files if name.startswith("quarantine")]
    start = scan(journal, DATA_START).frames[-1].start
    assert bytes(folder.files[name]) == journal[start:-5]
    assert bytes(folder.files["journal"][start:]) == b""
    await repository.close()


async def test_a_flip_of_any_bit_loses_at_most_its_commit_and_is_reported():
    journal = await _small_journal()
    frames = scan(journal, DATA_START).frames
    slots = [n for at in SLOT_AT for n in range(at, at + SLOT_BYTES)]
    for place in [*slots, *range(DATA_START, len(journal))]:
        for bit in range(8):
            flipped = bytearray(journal)
            flipped[place] ^= 1 << bit
            repository = await open_in(folder_with(bytes(flipped)))
            hit = [n for n, frame in enumerate(frames) if frame.start <= place < frame.end]
            kept = [f"note {number}" for number in range(COMMITS) if number not in hit]
            assert notes(repository) == kept
            if hit == [COMMITS - 1]:
                # Only a length that was made larger looks as if the end had been cut off.
                is_longer = frames[-1].start + 4 <= place < frames[-1].start + 8
                torn = codes(repository) == ["journal_tail_torn"]
                assert torn or codes(repository) == ["journal_tail_perhaps"]
                assert is_longer or not torn
                assert repository.unseen
            elif hit:
                assert codes(repository) == ["journal_damaged", "journal_commits_lost"]
            elif place < SLOT_BYTES:
                assert codes(repository) == ["journal_header_damaged"]
            else:
                assert codes(repository) == []


async def test_a_large_commit_loses_only_its_damaged_part(monkeypatch):
    monkeypatch.setattr(batch, "PART_BYTES", 500)
    folder = MemoryFolder()
    repository = await open_in(folder)
    texts = [f"note {number}" for number in range(8)]
    await repository.append(
        [
            record(repository.next_id(), minutes=number, note=text)
            for number, text in enumerate(texts)
        ]
    )
    await repository.close()
    journal = bytes(folder.files["journal"])
    frames = scan(journal, DATA_START).frames
    assert len(frames) == 5  # four parts and what closes them
    for number, frame in enumerate(frames):
        flipped = bytearray(journal)
        flipped[frame.end - 1] ^= 1
        again = await open_in(folder_with(bytes(flipped)))
        assert notes(again) == [text for n, text in enumerate(texts) if n // 2 != number]
        is_last = number == len(frames) - 1
        assert codes(again) == (
            ["journal_tail_perhaps"] if is_last else ["journal_damaged", "journal_commits_lost"]
        )


async def test_bytes_between_the_slots_do_not_matter():
    journal = bytearray(await _small_journal())
    journal[SLOT_BYTES : SLOT_AT[1]] = b"\xff" * (SLOT_AT[1] - SLOT_BYTES)
    repository = await open_in(folder_with(bytes(journal)))
    assert (codes(repository), len(notes(repository))) == ([], COMMITS)


async def test_known_damage_is_kept_once_and_reported_as_known():
    journal = bytearray(await _small_journal())
    journal[DATA_START + 30] ^= 1
    folder = folder_with(bytes(journal))
    first = await open_in(folder, device_ids=DeviceIds())
    assert _is_news(first, "journal_damaged")
    await first.close()
    second = await open_in(folder)
    assert [problem.known for problem in second.report.problems] == [True, True]
    assert codes(second) == ["journal_damaged", "journal_commits_lost"]
    assert sum(name.startswith("quarantine") for name in folder.files) == 1


async def test_a_store_that_lost_something_goes_on_as_a_new_device():
    journal = await _small_journal()
    device_ids = DeviceIds()
    device_ids()  # the one that made the journal
    folder = folder_with(journal[:-1])
    repository = await open_in(folder, device_ids=device_ids)
    assert repository.device == "device0002"
    assert repository.next_id() == "device0002:1"
    await repository.close()
    again = await open_in(folder, device_ids=device_ids)
    assert again.device == "device0002"


async def test_a_file_in_which_nothing_makes_sense_is_not_taken_for_empty():
    garbage = b"\x93" * (DATA_START + 500)
    folder = folder_with(garbage)
    with pytest.raises(DataDamaged) as caught:
        await open_in(folder)
    assert [problem.code for problem in caught.value.problems] == ["journal_unreadable"]
    assert bytes(folder.files["journal"]) == garbage
    repository = await open_in(folder, discard_unreadable=True)
    assert codes(repository) == ["journal_tail_perhaps", "journal_header_damaged"]
    kept = b"".join(
        bytes(folder.files[name]) for name in sorted(folder.files) if name[:4] == "quar"
    )
    assert kept == garbage
    await repository.append([record(repository.next_id(), note="anew")])
    await repository.close()
    assert notes(await open_in(folder)) == ["anew"]


async def test_a_file_that_cannot_be_read_is_not_taken_for_empty():
    class UnreadableFile(MemoryFile):
        async def read(self, at, count):
            raise StorageFailed(operation="read")

    class Unreadable(MemoryFolder):
        async def open(self, name, *, writable):
            return UnreadableFile(self, name, writable)

    folder = Unreadable(files={"journal": bytearray(b"something")})
    with pytest.raises(StorageFailed):
        await open_in(folder)
    assert folder.files == {"journal": bytearray(b"something")}


async def test_when_no_copy_can_be_made_nothing_is_cut():
    journal = (await _small_journal())[:-3]

    class FullForCopies(MemoryFolder):
        async def open(self, name, *, writable):
            if name.startswith("quarantine"):
                raise StorageFailed(operation="open")
            return await super().open(name, writable=writable)

    folder = FullForCopies(files={"journal": bytearray(journal)})
    repository = await open_in(folder)
    assert bytes(folder.files["journal"])[DATA_START:] == journal[DATA_START:]
    assert codes(repository) == ["journal_repair_failed", "journal_tail_torn"]
    assert isinstance(repository.report.blocked, StorageFailed)
    assert len(notes(repository)) == COMMITS - 1
    with pytest.raises(StoreReadOnly):
        await repository.append([record(repository.next_id())])


@pytest.mark.parametrize(
    "header",
    [
        Header(format_version=3, schema_version=SCHEMA_VERSION, seq=1, device="newerdevice"),
        Header(schema_version=SCHEMA_VERSION + 1, seq=1, device="newerdevice"),
    ],
    ids=["format", "schema"],
)
async def test_a_journal_of_a_newer_app_is_read_and_never_written(header):
    journal = await _small_journal()
    newer = first_block(header) + journal[DATA_START:] + b"what a newer app may put here"
    folder = folder_with(newer)
    repository = await open_in(folder)
    assert isinstance(repository.report.blocked, DataNewerThanApp)
    assert len(notes(repository)) == COMMITS
    with pytest.raises(StoreReadOnly):
        await repository.append([record("device0009:1")])
    assert folder.files == {"journal": bytearray(newer)}


async def test_a_frame_of_a_newer_app_blocks_writing():
    journal = await _small_journal()
    newer = bytearray(encode_frame(COMMITS + 1, b"\x00\x01"))
    newer[3] = ord("3")
    newer[16:20] = struct.pack("<I", zlib.crc32(bytes(newer[:16] + newer[20:24])))
    folder = folder_with(journal + bytes(newer))
    repository = await open_in(folder)
    assert isinstance(repository.report.blocked, DataNewerThanApp)
    assert folder.files == {"journal": bytearray(journal + newer)}


async def test_a_record_of_a_newer_schema_blocks_writing_and_is_kept():
    folder = MemoryFolder()
    repository = await open_in(folder)
    await repository.append([record(repository.next_id(), note="known")])
    await repository.close()
    newer = {**record("device0001:2", note="newer"), "v": SCHEMA_VERSION + 1, "unheard_of": True}
    position = scan(bytes(folder.files["journal"]), DATA_START).frames[-1]
    (payload,) = encode_batch([Put("records", newer["id"], newer)])
    folder.files["journal"] += encode_frame(position.seq + 1, payload)
    before = bytes(folder.files["journal"])
    again = await open_in(folder)
    assert isinstance(again.report.blocked, DataNewerThanApp)
    assert codes(again) == ["record_newer"]
    assert [refused.raw for refused in again.refused()] == [newer]
    assert notes(again) == ["known"]
    assert bytes(folder.files["journal"]) == before


async def test_a_stored_record_that_is_refused_is_kept_exported_and_its_id_not_reused():
    folder = MemoryFolder()
    lenient = await open_in(folder, validate=lambda raw: raw)
    odd = {**record(lenient.next_id()), "kind": "unheard_of"}
    await lenient.append([odd])
    await lenient.close()
    strict = await open_in(folder)
    assert (codes(strict), strict.report.writable) == (["record_invalid"], True)
    assert strict.next_id() == "device0001:2"
    assert b"unheard_of" in strict.export(datetime(2026, 1, 1, tzinfo=UTC))
    await strict.close()
    assert len((await open_in(folder, validate=lambda raw: raw)).records()) == 1


async def test_an_error_kind_of_the_codec_is_a_refusal():
    class CodecError(Exception):
        pass

    def validate(raw):
        if raw["note"] == "bad":
            raise CodecError("bad note")
        return plain_validate(raw)

    folder = MemoryFolder()
    first = await open_in(folder, validate=lambda raw: raw)
    await first.append([record(first.next_id(), note="bad")])
    await first.close()
    again = await open_in(folder, validate=validate, also_refuses=(CodecError,))
    assert codes(again) == ["record_invalid"]
