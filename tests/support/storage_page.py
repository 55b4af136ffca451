"""Jobs of the storage page, run by Python inside a browser's worker; no pytest here.

Each job tells what it did through `report`, one JSON text at a time.
"""

import itertools
import json
import time
import traceback

import storage_job

from mobile.browser.idb import idb_folder
from mobile.browser.opfs import opfs_folder
from tests.mobile.storage.contract import CONTRACT
from tests.mobile.storage.support import DeviceIds, open_in, record

BACKENDS = {"opfs": opfs_folder, "idb": idb_folder}
NOTE = "alkalinity 8.2 dKH, taken by hand in the evening"


async def report(**facts):
    await storage_job.report(json.dumps(facts))


async def run():
    job, open_folder = JOBS[storage_job.job], BACKENDS[storage_job.backend]
    try:
        await job(open_folder)
    except Exception:  # noqa: BLE001 - whatever it is, the test shall say it
        await report(error=traceback.format_exc()[-1500:])


async def contract(open_folder):
    """Every claim of the contract on an empty store."""
    for claim in CONTRACT:
        folder = await open_folder()
        for name in await folder.names():
            await folder.remove(name)
        try:
            await claim(open_folder)
            await report(claim=claim.__name__, ok=True)
        except Exception:  # noqa: BLE001 - whatever it is, the test shall say it
            await report(claim=claim.__name__, ok=False, why=traceback.format_exc()[-1500:])
    await report(done=len(CONTRACT))


async def save(open_folder):
    """Tell what is there, then save one record after the other and tell each once it is safe."""
    began = time.perf_counter()
    repository = await open_in(await open_folder(), device_ids=lambda: "device000s")
    notes = [int(item["note"]) for item in repository.records()]
    await report(
        opened=len(notes),
        whole=notes == list(range(len(notes))),
        writable=repository.report.writable,
        problems=[problem.code for problem in repository.report.problems],
        open_s=time.perf_counter() - began,
    )
    for number in itertools.count(len(notes)):
        await repository.append([record(repository.next_id(), minutes=number, note=str(number))])
        await report(saved=number)


async def bench(open_folder):
    """Fill the store in steps, and time single saves at each size and opening it."""
    sizes = [int(size) for size in storage_job.sizes.split(",")]
    repository = await open_in(await open_folder(), device_ids=lambda: "device000s")
    filled = 0
    for size in sizes:
        while filled < size:
            count = min(1000, size - filled)
            await repository.append(_batch(repository, filled, count))
            filled += count
        times = []
        for _ in range(int(storage_job.saves)):
            made = _batch(repository, filled, 1)
            began = time.perf_counter()
            await repository.append(made)
            times.append(time.perf_counter() - began)
            filled += 1
        if hasattr(repository, "tidy"):
            await repository.tidy(force=True)
        await repository.close()
        began = time.perf_counter()
        repository = await open_in(await open_folder(), device_ids=DeviceIds())
        times.sort()
        await report(
            size=size,
            p50_ms=1000 * times[len(times) // 2],
            p95_ms=1000 * times[int(len(times) * 0.95)],
            open_s=time.perf_counter() - began,
            records=len(repository.records()),
        )
    await report(done=len(sizes))


def _batch(repository, first, count):
    return [
        record(repository.next_id(), minutes=first + n, note=f"{NOTE} {first + n}")
        for n in range(count)
    ]


JOBS = {"contract": contract, "save": save, "bench": bench}
