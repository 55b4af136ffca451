"""One more record at 100, 10,000 and 100,000: `.venv/bin/python -m tests.bench.saves [--decide]`.

On this machine, storage in memory: what hangs on the length of the log shows as a ratio, middle of
many. "commit" is the save until it is acknowledged, "read" what follows until the decision may
begin; with --decide the decision itself is timed as well.
"""

import asyncio
import gc
import sys
from random import Random
from statistics import median
from time import process_time

from engine.log.record_codec import to_dict
from mobile.commands.books import Book
from mobile.state import updates
from mobile.state.snapshot import Snapshot
from mobile.storage.memory import MemoryFolder
from mobile.storage.store import open_repository
from mobile.validation import VALIDATION
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog

SIZES = (100, 10_000, 100_000)
SAVES = 60
A_DAY = 10  # records


def records_of(count: int) -> list[dict]:
    """Return the log of a busy keeper, as dictionaries."""
    rng = Random(1)
    days = count / A_DAY + 1
    log = KeeperLog().setup(days + 1.0, shared_container=True).pump(days + 0.5, 5.3)
    while len(log.records) < count:
        days -= 1 / A_DAY
        if len(log.records) % 3:
            log.refill(days, 0.65 + rng.gauss(0.0, 0.04))
        else:
            log.test(days, 8.3 + rng.gauss(0.0, 0.25))
    return [
        {**to_dict(record), "id": f"other0001:{number}"}
        for number, record in enumerate(log.records, start=1)
    ]


async def measured(count: int, *, deciding: bool) -> dict[str, float]:
    """Return the middle time of each part of a save, s."""
    folder = MemoryFolder()

    async def opener() -> MemoryFolder:
        return folder

    repository = await open_repository(opener, new_device_id=lambda: "bench00001", **VALIDATION)
    await repository.append(records_of(count))
    book = Book(repository)
    snapshot = updates.with_records(Snapshot(now=NOW), book.records(), SYSTEM, NOW)
    times: dict[str, list[float]] = {"commit": [], "read": [], "decide": []}
    gc.collect()
    gc.freeze()
    for number in range(SAVES):
        new = KeeperLog().refill(0.05 - 0.0001 * number, 0.65).records
        data = {**to_dict(new[0]), "id": repository.next_id()}
        start = process_time()
        await repository.append([data])
        saved = process_time()
        snapshot = updates.with_records(snapshot, book.records(), SYSTEM, NOW)
        read = process_time()
        if deciding and number < 5:
            updates.decided(snapshot)
            times["decide"].append(process_time() - read)
        times["commit"].append(saved - start)
        times["read"].append(read - saved)
    gc.unfreeze()
    return {name: median(found) for name, found in times.items() if found}


def main() -> None:
    found = {size: asyncio.run(measured(size, deciding="--decide" in sys.argv)) for size in SIZES}
    print(f"{'':8}" + "".join(f"{size:>12,}" for size in SIZES) + f"{'ratio':>8}")
    for name in found[SIZES[0]]:
        row = [found[size][name] for size in SIZES]
        cells = "".join(f"{seconds * 1e3:9.3f} ms" for seconds in row)
        print(f"{name:8}{cells}{row[-1] / row[0]:8.1f}")


if __name__ == "__main__":
    main()
