"""What every backend must do, as plain coroutines: pytest runs them on the host, a page in OPFS.

Each takes a callable that returns the same folder again and again, empty at first.
"""

import asyncio
from datetime import UTC, datetime

from mobile.storage.errors import (
    RecordConflict,
    RecordRefused,
    StorageFailed,
    StoreBusy,
    StoreReadOnly,
)
from tests.mobile.storage.support import DeviceIds, codes, notes, open_in, record


async def bytes_come_back_as_written(folder_again):
    folder = await folder_again()
    file = await folder.open("some", writable=True)
    assert await file.size() == 0
    assert await file.write(0, b"hello world") == 11
    assert await file.write(6, b"there") == 5
    await file.flush()
    assert await file.size() == 11
    assert await file.read(0, 99) == b"hello there"
    assert await file.read(6, 2) == b"th"
    await file.truncate(5)
    assert await file.read(0, 99) == b"hello"
    await file.close()
    again = await (await folder_again()).open("some", writable=True)
    assert await again.read(0, 99) == b"hello"
    await again.close()
    assert "some" in await folder.names()


async def a_gap_before_a_write_is_zeros(folder_again):
    file = await (await folder_again()).open("gap", writable=True)
    assert await file.write(4, b"x") == 1
    assert await file.read(0, 9) == b"\0\0\0\0x"
    await file.close()


async def a_second_writer_is_refused(folder_again):
    first = await (await folder_again()).open("one", writable=True)
    try:
        await (await folder_again()).open("one", writable=True)
    except StoreBusy:
        refused = True
    else:
        refused = False
    assert refused
    reader = await (await folder_again()).open("one", writable=False)
    assert await reader.size() == 0
    await reader.close()
    await first.close()
    later = await (await folder_again()).open("one", writable=True)
    await later.close()


async def what_was_saved_is_there_after_reopening(folder_again):
    repository = await open_in(await folder_again())
    assert (repository.report.writable, repository.report.records) == (True, 0)
    first, second = repository.next_id(), repository.next_id()
    stored = await repository.append(
        [record(second, minutes=5, note="later"), record(first, note="earlier ₄⁻")],
        meta={"draft": {"step": 3}},
    )
    assert [item["id"] for item in stored] == [second, first]
    assert notes(repository) == ["earlier ₄⁻", "later"]
    await repository.close()
    again = await open_in(await folder_again())
    assert codes(again) == []
    assert (again.report.records, again.device) == (2, repository.device)
    assert notes(again) == ["earlier ₄⁻", "later"]
    assert again.meta("draft") == {"step": 3}
    assert again.next_id() not in {first, second}
    await again.close()


async def a_second_store_reads_and_does_not_write(folder_again):
    writer = await open_in(await folder_again())
    await writer.append([record(writer.next_id(), note="mine")])
    reader = await open_in(await folder_again())
    assert isinstance(reader.report.blocked, StoreBusy)
    assert not reader.report.writable
    assert notes(reader) == ["mine"]
    try:
        await reader.append([record("other0001:1")])
    except StoreReadOnly as error:
        reason = error.context["reason"]
    else:
        reason = "it was written"
    assert reason == "store_busy"
    await reader.close()
    await writer.append([record(writer.next_id(), note="still")])
    await writer.close()


async def app_state_is_replaced_and_removed(folder_again):
    repository = await open_in(await folder_again())
    await repository.put_meta("system", "main")
    await repository.put_meta("system", "nursery")
    await repository.put_meta("draft", [1, 2])
    await repository.put_meta("draft", None)
    assert (repository.meta("system"), repository.meta("draft")) == ("nursery", None)
    await repository.close()
    again = await open_in(await folder_again())
    assert (again.meta("system"), again.meta("draft")) == ("nursery", None)
    await again.close()


async def one_bad_record_keeps_the_whole_batch_out(folder_again):
    repository = await open_in(await folder_again())
    good, bad = record(repository.next_id()), record(repository.next_id())
    bad["at"] = "yesterday"
    try:
        await repository.append([good, bad])
    except RecordRefused as error:
        found = (error.problem.code, error.problem.record_id)
    else:
        found = None
    assert found == ("record_bad_time", bad["id"])
    assert repository.records() == ()
    await repository.close()
    again = await open_in(await folder_again())
    assert again.records() == ()
    await again.close()


async def an_id_is_never_given_another_content(folder_again):
    repository = await open_in(await folder_again())
    first = record(repository.next_id(), note="8.1")
    await repository.append([first])
    await repository.append([first])
    assert notes(repository) == ["8.1"]
    try:
        await repository.append([{**first, "note": "9.9"}])
    except RecordConflict as error:
        taken = error.context["record_id"]
    else:
        taken = None
    assert taken == first["id"]
    await repository.close()
    again = await open_in(await folder_again())
    assert notes(again) == ["8.1"]
    await again.close()


async def a_large_batch_is_one_commit(folder_again):
    repository = await open_in(await folder_again())
    batch = [record(repository.next_id(), minutes=n, note="x" * 900) for n in range(300)]
    await repository.append(batch)
    await repository.close()
    again = await open_in(await folder_again())
    assert [item["id"] for item in again.records()] == [item["id"] for item in batch]
    assert codes(again) == []
    exported = again.export(datetime(2026, 11, 24, tzinfo=UTC))
    preview = await again.preview_import(exported)
    assert (len(preview.new), preview.same, preview.problems) == (0, 300, ())
    await again.close()


async def two_windows_may_begin_at_once(folder_again):
    folders = await asyncio.gather(*(folder_again() for _ in range(4)))
    assert len({folder.kind for folder in folders}) == 1
    assert [name for name in await folders[0].names() if name.startswith("trial")] == []


class Sparing:
    """A folder of the same files whose every write takes a few bytes only, and says so."""

    def __init__(self, folder, most):
        self._folder, self._most = folder, most
        self.kind = folder.kind
        self.names, self.remove = folder.names, folder.remove

    async def open(self, name, *, writable):
        file = await self._folder.open(name, writable=writable)
        return SparingFile(file, self._most) if writable else file


class SparingFile:
    def __init__(self, file, most):
        self._file, self._most = file, most

    def __getattr__(self, name):
        return getattr(self._file, name)

    async def write(self, at, data):
        return await self._file.write(at, data[: self._most])


async def short_writes_are_gone_on_with_until_all_is_there(folder_again):
    repository = await open_in(Sparing(await folder_again(), 700))
    batch = [record(repository.next_id(), minutes=n, note="x" * 900) for n in range(40)]
    await repository.append(batch)
    assert await repository.tidy(force=True)
    await repository.append([record(repository.next_id(), minutes=99, note="behind it")])
    await repository.close()
    again = await open_in(await folder_again())
    assert (codes(again), again.report.records) == ([], 41)
    assert notes(again)[-1] == "behind it"
    await again.close()


async def a_write_that_takes_nothing_is_a_failure_and_not_a_full_storage(folder_again):
    repository = await open_in(await folder_again())
    await repository.append([record(repository.next_id(), note="kept")])
    file = repository._journal._file
    repository._journal._file = SparingFile(file, 0)
    try:
        await repository.append([record(repository.next_id(), note="not kept")])
    except StorageFailed as error:
        told = error.code
    else:
        told = "saved"
    assert told == "storage_failed", told
    repository._journal._file = file
    await repository.append([record(repository.next_id(), minutes=1, note="later")])
    await repository.close()
    again = await open_in(await folder_again())
    assert (codes(again), notes(again)) == ([], ["kept", "later"])
    await again.close()


async def what_is_erased_is_in_no_file_any_more(folder_again):
    repository = await open_in(await folder_again(), device_ids=DeviceIds())
    for number in range(4):
        system = ("main", "pond")[number % 2]
        made = record(repository.next_id(), system=system, note=f"note of the {system}")
        await repository.append([made])
    assert await repository.tidy(force=True)
    assert await _holds(await folder_again(), b"note of the pond")
    await repository.erase("pond")
    assert notes(repository) == ["note of the main"] * 2
    await repository.append([record(repository.next_id(), minutes=9, note="afterwards")])
    await repository.close()
    assert not await _holds(await folder_again(), b"note of the pond")
    again = await open_in(await folder_again())
    assert (codes(again), notes(again)) == ([], [*["note of the main"] * 2, "afterwards"])
    await again.erase()
    await again.close()
    assert not await _holds(await folder_again(), b"note")
    last = await open_in(await folder_again())
    assert (codes(last), last.records(), last.blocked) == ([], (), None)
    await last.close()


async def _holds(folder, words):
    for name in await folder.names():
        file = await folder.open(name, writable=False)
        found = words in await file.read(0, await file.size())
        await file.close()
        if found:
            return True
    return False


async def a_lost_connection_is_opened_again(folder_again):
    """As after a suspension: the connection is dead, and nobody told."""
    folder = await folder_again()
    repository = await open_in(folder, device_ids=DeviceIds())
    for number in range(5):
        dead = folder.connection._database
        dead.close()
        await repository.append([record(repository.next_id(), minutes=number, note=f"{number}")])
        assert folder.connection._database is not dead
    folder.connection._database.onversionchange(None)  # another page wants it gone
    await repository.append([record(repository.next_id(), minutes=9, note="last")])
    await repository.close()
    again = await open_in(await folder_again(), device_ids=DeviceIds())
    assert notes(again) == [*"01234", "last"]
    assert codes(again) == []
    await again.close()


CONTRACT = (
    short_writes_are_gone_on_with_until_all_is_there,
    a_write_that_takes_nothing_is_a_failure_and_not_a_full_storage,
    what_is_erased_is_in_no_file_any_more,
    two_windows_may_begin_at_once,
    bytes_come_back_as_written,
    a_gap_before_a_write_is_zeros,
    a_second_writer_is_refused,
    what_was_saved_is_there_after_reopening,
    a_second_store_reads_and_does_not_write,
    app_state_is_replaced_and_removed,
    one_bad_record_keeps_the_whole_batch_out,
    an_id_is_never_given_another_content,
    a_large_batch_is_one_commit,
)

OF_A_KIND = {"idb": (a_lost_connection_is_opened_again,)}
