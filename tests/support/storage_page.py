"""Jobs of the storage page, run by Python inside a browser's worker; no pytest here.

Each job tells what it did through `report`, one JSON text at a time.
"""

import asyncio
import itertools
import json
import secrets
import time
import traceback
from functools import partial

import storage_job

from mobile.browser.idb import idb_folder, shared_idb
from mobile.browser.opfs import opfs_folder, shared_opfs
from mobile.storage.errors import StoreBusy
from mobile.storage.moving import clear, taking_over
from tests.mobile.storage.contract import CONTRACT, OF_A_KIND
from tests.mobile.storage.support import DeviceIds, open_in, record

BACKENDS = {"opfs": partial(opfs_folder, "/"), "idb": partial(idb_folder, "/")}
BESIDE = {"opfs": (BACKENDS["idb"],), "idb": ()}  # where the second copy is kept
SETTLE_EVERY = 7  # saves
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
    """Every claim of the contract on an empty store, and what is of its kind alone."""
    claims = (*CONTRACT, *OF_A_KIND.get(storage_job.backend, ()))
    for claim in claims:
        folder = await open_folder()
        for name in await folder.names():
            await folder.remove(name)
        try:
            await claim(open_folder)
            await report(claim=claim.__name__, ok=True)
        except Exception:  # noqa: BLE001 - whatever it is, the test shall say it
            await report(claim=claim.__name__, ok=False, why=traceback.format_exc()[-1500:])
    await report(done=len(claims))


async def save(open_folder):
    """Tell what is there, then save one record after the other and tell each once it is safe.

    Idle moments come often, and saves go on meanwhile.
    """
    began = time.perf_counter()
    others = [await opener() for opener in BESIDE[storage_job.backend]]
    repository = await open_in(
        await open_folder(), *others, device_ids=lambda: secrets.token_hex(8)
    )
    notes = [int(item["note"]) for item in repository.records()]
    await report(
        opened=len(notes),
        whole=notes == list(range(len(notes))),
        writable=repository.report.writable,
        device=repository.device,
        problems=[problem.code for problem in repository.report.problems],
        open_s=time.perf_counter() - began,
    )
    for number in itertools.count(len(notes)):
        await repository.append([record(repository.next_id(), minutes=number, note=str(number))])
        await report(saved=number)
        if number % SETTLE_EVERY == 0:
            settling = asyncio.ensure_future(repository.settle())
            settling.add_done_callback(lambda done: done.exception())


async def turns(open_folder):
    """Take the store from the other worker whenever it is free, save some, and let it go."""
    mine = secrets.token_hex(8)
    saved = 0
    for _ in range(int(storage_job.rounds)):
        repository = await open_in(await open_folder(), device_ids=lambda: mine)
        if not repository.report.writable:
            await repository.close()
            continue
        for _ in range(secrets.randbelow(20) + 1):
            await repository.append(
                [record(repository.next_id(), minutes=saved, note=f"{mine} {saved}")]
            )
            saved += 1
        await repository.close()
        await asyncio.sleep(0.01 * secrets.randbelow(30))
    await report(worker=mine, saved=saved)


async def everything(open_folder):
    """Tell what is there."""
    repository = await open_in(await open_folder(), device_ids=DeviceIds())
    await report(
        notes=[item["note"] for item in repository.records()],
        problems=[problem.code for problem in repository.report.problems],
        writable=repository.report.writable,
    )


async def script(_open_folder):
    """Make the calls of the script that the scripted browser answers, too."""
    from tests.support import browser_script

    cases = {"opfs": browser_script.FILES, "idb": browser_script.ROWS}[storage_job.backend]
    await report(answers=await browser_script.answers(cases))


async def bench(open_folder):
    """Fill the store in steps; time single saves at each size, and opening it in both ways."""
    filled = 0
    repository = await _reopened(open_folder)
    for size in [int(size) for size in storage_job.sizes.split(",")]:
        while filled < size:
            count = min(1000, size - filled)
            await repository.append(_batch(repository, filled, count))
            filled += count
        times = [await _timed_save(repository, filled + n) for n in range(int(storage_job.saves))]
        filled += len(times)
        times.sort()
        await repository.close()
        began = time.perf_counter()
        repository = await _reopened(open_folder)
        replay_s = time.perf_counter() - began
        await repository.tidy(force=True)
        await repository.close()
        began = time.perf_counter()
        repository = await _reopened(open_folder)
        await report(
            size=size,
            p50_ms=1000 * times[len(times) // 2],
            p95_ms=1000 * times[int(len(times) * 0.95)],
            replay_s=replay_s,
            open_s=time.perf_counter() - began,
            records=len(repository.records()),
        )


async def _reopened(open_folder):
    return await open_in(
        await open_folder(), device_ids=lambda: "device000s", checked_by="this build"
    )


async def _timed_save(repository, number):
    made = _batch(repository, number, 1)
    began = time.perf_counter()
    await repository.append(made)
    return time.perf_counter() - began


def _batch(repository, first, count):
    return [
        record(repository.next_id(), minutes=first + n, note=f"{NOTE} {first + n}")
        for n in range(count)
    ]


async def moving(open_folder):
    """Fill the place that all sites shared, take it over at two bases, then clear it."""
    folders, shared = MOVING[storage_job.backend]
    await report(before=await shared() is None)
    old = await open_in(await open_folder(), device_ids=lambda: "shared0000000001")
    for number in range(5):
        await old.append([record(old.next_id(), minutes=number, note=str(number))])
    await old.tidy(force=True)
    try:
        await taking_over(partial(folders, "/one/"), shared, lambda: "never00000000001")()
    except StoreBusy:
        await report(waited=True)
    await old.close()
    for base, device in (("/one/", "siteone000000001"), ("/a/two/", "sitetwo000000001")):
        opener = taking_over(partial(folders, base), shared, partial(str, device))
        repository = await open_in(await opener())
        await repository.append([record(repository.next_id(), minutes=9, note=base)])
        await repository.close()
        repository = await open_in(await opener())
        await report(
            notes=[item["note"] for item in repository.records()],
            device=repository.device == device,
            problems=[problem.code for problem in repository.report.problems],
        )
        await repository.close()
    old = await open_in(await open_folder())
    await report(old=len(old.records()), device=old.device)
    await old.close()
    await clear(await shared())
    await report(left=await (await shared()).names())


MOVING = {"opfs": (opfs_folder, shared_opfs), "idb": (idb_folder, shared_idb)}
JOBS = {
    "moving": moving,
    "contract": contract,
    "save": save,
    "turns": turns,
    "everything": everything,
    "script": script,
    "bench": bench,
}
