"""Random histories of the store: saved is saved, whatever happens to the bytes."""

import asyncio
import random
from datetime import UTC, datetime

from hypothesis import given, settings
from hypothesis import strategies as st

from mobile.storage.errors import StorageFailed
from mobile.storage.frames import encode_frame, scan
from mobile.storage.header import DATA_START
from mobile.storage.memory import MemoryFolder
from mobile.storage.restore import canonical
from tests.mobile.storage.disk import Disk, PowerCut
from tests.mobile.storage.support import DeviceIds, folder_with, open_in, record

WHEN = datetime(2026, 11, 24, tzinfo=UTC)

texts = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")) | st.sampled_from("\n\t"),
    max_size=60,
)
numbers = st.integers(-(2**53), 2**53) | st.floats(
    min_value=-(2.0**53), max_value=2.0**53, allow_nan=False
)
values = st.recursive(
    st.none() | st.booleans() | numbers | texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=8,
)
batches = st.lists(
    st.lists(st.tuples(st.integers(0, 10_000), texts, values), min_size=1, max_size=4),
    max_size=6,
)


def _records(repository, batch) -> list[dict]:
    return [
        {**record(repository.next_id(), minutes=minutes, note=note), "more": more}
        for minutes, note, more in batch
    ]


def _texts(items) -> list[str]:
    return [canonical(item) for item in items]


@settings(deadline=None, max_examples=150)
@given(batches)
def test_what_was_saved_is_what_is_read_in_memory_and_after_reopening(history):
    async def run():
        folder = MemoryFolder()
        repository = await open_in(folder)
        saved = []
        for batch in history:
            saved += await repository.append(_records(repository, batch))
        in_memory = _texts(repository.records())
        assert sorted(in_memory) == sorted(_texts(saved))
        await repository.close()
        again = await open_in(folder)
        assert _texts(again.records()) == in_memory
        times = [item["at"] for item in again.records()]
        assert times == sorted(times)

    asyncio.run(run())


@settings(deadline=None, max_examples=150)
@given(batches, st.data())
def test_damaged_bytes_never_become_a_record(history, data):
    async def run():
        folder = MemoryFolder()
        repository = await open_in(folder)
        for batch in history:
            await repository.append(_records(repository, batch))
        saved = set(_texts(repository.records()))
        journal = bytearray(folder.files["journal"])
        frames = scan(bytes(journal), DATA_START).frames
        places = data.draw(
            st.lists(st.integers(DATA_START, max(DATA_START, len(journal) - 1)), max_size=4)
        )
        hit = set()
        for place in places:
            if place < len(journal):
                journal[place] ^= data.draw(st.integers(1, 255))
                hit |= {n for n, frame in enumerate(frames) if frame.start <= place < frame.end}
        again = await open_in(folder_with(bytes(journal)))
        found = set(_texts(again.records()))
        assert found <= saved
        assert len(saved - found) <= sum(len(history[n]) for n in hit)
        assert bool(saved - found) <= bool(again.report.problems)

    asyncio.run(run())


@settings(deadline=None, max_examples=150)
@given(st.binary(max_size=400), st.lists(st.integers(1, 9), max_size=5), st.randoms())
def test_the_scanner_finds_every_frame_among_rubbish(rubbish, numbers_of_frames, rng):
    pieces, wanted = [rubbish], []
    for number in numbers_of_frames:
        payload = b'{"ops":[]}' + b" " * number
        pieces += [encode_frame(number, payload), rng.randbytes(rng.randrange(0, 30))]
        wanted.append((number, payload))
    found = scan(b"".join(pieces))
    assert [(frame.seq, frame.payload) for frame in found.frames] == wanted
    covered = sum(frame.end - frame.start for frame in found.frames)
    covered += sum(span.end - span.start for span in found.damaged)
    covered += found.tail.end - found.tail.start if found.tail else 0
    assert covered == sum(map(len, pieces))


@settings(deadline=None, max_examples=200)
@given(
    st.lists(st.integers(1, 3), min_size=1, max_size=6),
    st.dictionaries(st.integers(0, 40), st.sampled_from(["short", "full", "fail"]), max_size=4),
    st.integers(2, 40),
    st.integers(0, 2**32),
)
def test_faults_and_a_power_cut_lose_nothing_acknowledged(sizes, faults, cut, seed):
    async def run():
        disk = Disk(faults={**faults, cut: "cut"})
        acknowledged, uncertain = [], []
        try:
            repository = await open_in(disk, device_ids=DeviceIds())
            for number, size in enumerate(sizes if repository.report.writable else []):
                batch = [
                    record(f"device000x:{number * 10 + n + 1}", minutes=number * 10 + n)
                    for n in range(size)
                ]
                try:
                    uncertain = batch
                    await repository.append(batch)
                    acknowledged += batch
                    uncertain = []
                except StorageFailed:
                    if repository.blocked is None:
                        uncertain = []
                    else:
                        break
        except (PowerCut, StorageFailed):
            pass
        rng = random.Random(seed)
        states = sorted(set(disk.states_after_power_loss()))
        for state in rng.sample(states, min(6, len(states))):
            again = await open_in(folder_with(state))
            kept = again.records()
            assert kept in (tuple(acknowledged), tuple(acknowledged + uncertain))

    asyncio.run(run())


@settings(deadline=None, max_examples=120)
@given(batches, st.data())
def test_merging_is_a_union_in_any_order(history, data):
    async def run():
        source = await open_in(MemoryFolder(), device_ids=lambda: "device000s")
        for batch in history:
            await source.append(_records(source, batch))
        everything = source.records()
        mine = data.draw(st.sets(st.sampled_from(everything).map(canonical))) if everything else ()
        files = []
        for part in (
            [item for item in everything if canonical(item) in mine],
            [item for item in everything if canonical(item) not in mine],
            everything,
        ):
            holder = await open_in(MemoryFolder(), device_ids=lambda: "device000h")
            await holder.append(part)
            files.append(holder.export(WHEN))
        for order in ([0, 1], [1, 0], [2], [2, 0, 1, 2]):
            target = await open_in(MemoryFolder(), device_ids=lambda: "device000t")
            for index in order:
                await target.apply_import(await target.preview_import(files[index]))
            assert (target.records(), target.conflicts()) == (everything, ())

    asyncio.run(run())


@settings(deadline=None, max_examples=300)
@given(st.integers(0, 2**32))
def test_a_mutated_export_is_never_half_imported_and_never_raises(seed):
    async def run():
        rng = random.Random(seed)
        source = await open_in(MemoryFolder(), device_ids=lambda: "device000s")
        await source.append([record(source.next_id(), minutes=n, note=f"n{n}") for n in range(6)])
        originals = set(_texts(source.records()))
        data = bytearray(source.export(WHEN))
        for _ in range(rng.randrange(1, 6)):
            at = rng.randrange(len(data))
            kind = rng.randrange(4)
            if kind == 0:
                data[at] = rng.randrange(256)
            elif kind == 1:
                del data[at : at + rng.randrange(1, 60)]
            elif kind == 2:
                data[at:at] = rng.choice([b"\n", b"[" * 99, b'"', b"NaN", b"\x00", b"1e999"])
            else:
                data[at:at] = data[at : at + rng.randrange(1, 200)]
            data = data or bytearray(b"x")
        target = await open_in(MemoryFolder(), device_ids=lambda: "device000t")
        preview = await target.preview_import(bytes(data))
        sound = set(_texts(preview.new)) <= originals and not preview.conflicting
        assert sound or preview.problems
        if preview.refusal:
            return
        result = await target.apply_import(preview, accept_damaged=True)
        assert sorted(_texts(target.records())) == sorted(_texts(preview.new))
        assert (result.added, result.conflicts) == (len(preview.new), len(preview.conflicting))

    asyncio.run(run())
