"""A snapshot under way beside what must not wait for it, or be undone by it."""

import asyncio

import pytest

from mobile.storage.errors import StorageFailed
from mobile.storage.memory import MemoryFolder
from tests.mobile.storage.support import DeviceIds, codes, open_in, record

GONE = "the garden pond"


class OneHandle(MemoryFolder):
    """Removes no file that somebody has open, as a browser does."""

    async def remove(self, name: str) -> None:
        if name in self.writers:
            raise StorageFailed(operation="remove", file=name)
        await super().remove(name)


async def _tidying(*, steps: int):
    folder = OneHandle()
    repository = await open_in(folder, device_ids=DeviceIds())
    texts = (("main", "reef"), ("pond", GONE))
    await repository.append(
        [
            record(repository.next_id(), minutes=n, system=system, note=text + "x" * 900)
            for n, (system, text) in enumerate(texts * 750)
        ]
    )
    task = asyncio.create_task(repository.tidy(force=True))
    for _ in range(steps):
        await asyncio.sleep(0)
    return folder, repository, task


def _left(folder: MemoryFolder) -> bytes:
    return b"".join(bytes(content) for content in folder.files.values())


@pytest.mark.parametrize("steps", range(1, 13))
async def test_what_is_erased_beside_a_snapshot_does_not_come_back(steps):
    folder, repository, task = await _tidying(steps=steps)
    await repository.erase("pond")
    await task
    assert (repository.systems(), sorted(folder.files)) == (("main",), ["journal"])
    assert GONE.encode() not in _left(folder)
    await repository.close()
    folder.files["journal"][:8192] = bytes(8192)
    again = await open_in(folder)
    assert (again.systems(), len(again.records())) == (("main",), 750)
    assert codes(again) == ["journal_header_damaged"]
    assert await again.tidy(force=True), "the next one is taken"


@pytest.mark.parametrize("end", ["hand_over", "close"])
async def test_a_window_that_lets_go_leaves_no_snapshot_under_way(end):
    folder, repository, task = await _tidying(steps=4)
    await getattr(repository, end)()
    assert task.done() or not folder.writers
    assert sorted(folder.files) == ["journal"]
    other = await open_in(folder, device_ids=lambda: "another001")
    await other.erase("pond")
    await task
    assert GONE.encode() not in _left(folder)


async def test_a_snapshot_that_is_not_waited_for_any_more_ends_and_leaves_no_file():
    folder, repository, task = await _tidying(steps=3)
    while "snapshot-1" not in folder.files:
        await asyncio.sleep(0)
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    await repository.append([record(repository.next_id(), note="saved beside it")])
    await repository.close()
    assert (sorted(folder.files), folder.writers) == (["journal"], set())
