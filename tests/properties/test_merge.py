"""Merging the logs of several devices: a union, in any order and any grouping, twice is once."""

import asyncio
from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from engine.log.reading import effective
from engine.log.record_codec import from_dict
from mobile.storage.memory import MemoryFolder
from mobile.storage.migrations import SCHEMA_VERSION
from mobile.storage.restore import canonical
from mobile.storage.transfer import export_bytes
from mobile.validation import VALIDATION
from tests.mobile.storage.support import open_in

WHEN = datetime(2026, 11, 24, tzinfo=UTC)
DEVICES = ("phone00001", "tablet0001", "laptop0001")

# What one device wrote, in order: notes, and amendments or withdrawals of anything before them
# (their own or another's, as after an earlier merge).
entries = st.lists(
    st.tuples(
        st.sampled_from(DEVICES),
        st.sampled_from(["note", "note", "amend", "withdraw"]),
        st.integers(0, 30),  # what is amended, counted back
        st.integers(-600, 600),  # minutes that the clock is off
        st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=8),
    ),
    max_size=14,
)


def _log(found) -> list[dict]:
    """Return the records of all devices together, as dictionaries."""
    records: list[dict] = []
    numbers = dict.fromkeys(DEVICES, 0)
    for place, (device, what, back, off, text) in enumerate(found):
        numbers[device] += 1
        time = (WHEN + timedelta(minutes=10 * place + off)).isoformat()
        base = {
            "id": f"{device}:{numbers[device]}",
            "at": time,
            "recorded_at": time,
            "system": "main",
            "v": SCHEMA_VERSION,
            "note": text,
        }
        note = {**base, "kind": "note"}
        if what == "note" or not records:
            records.append(note)
            continue
        target = records[-1 - back % len(records)]
        replacement = note if what == "amend" else None
        fields = {"supersedes": target["id"], "replacement": replacement}
        records.append({**base, "kind": "amendment", **fields})
    return records


async def _store(*files: bytes):
    repository = await open_in(MemoryFolder(), device_ids=lambda: "target0001", **VALIDATION)
    for data in files:
        preview = await repository.preview_import(data)
        assert preview.problems == ()
        await repository.apply_import(preview)
    return repository


async def _merged(*files: bytes) -> bytes:
    return (await _store(*files)).export(WHEN)


def _kept(repository) -> set[str]:
    """Return everything kept, a record or a conflict, as text."""
    return set(map(canonical, (*repository.records(), *repository.conflicts())))


def _standing(repository) -> list:
    return list(effective(from_dict(item) for item in repository.records()))


@st.composite
def shares(draw):
    """Return three files over one history; what one device wrote may stand in any of them."""
    log = _log(draw(entries))
    picks = [draw(st.lists(st.booleans(), min_size=len(log), max_size=len(log))) for _ in "abc"]
    return [
        export_bytes([item for item, is_in in zip(log, pick, strict=True) if is_in], WHEN)
        for pick in picks
    ]


@settings(deadline=None, max_examples=80)
@given(shares())
def test_merging_is_commutative_associative_and_idempotent(files):
    async def run():
        a, b, c = files
        ab, ba = await _store(a, b), await _store(b, a)
        assert ab.records() == ba.records()
        assert _standing(ab) == _standing(ba)
        left = await _store(await _merged(a, b), c)
        right = await _store(a, await _merged(b, c))
        assert left.records() == right.records()
        assert _standing(left) == _standing(right)
        twice = await _store(a, b, c, a, await _merged(a, b, c), c, b)
        assert twice.records() == left.records()
        assert left.conflicts() == twice.conflicts() == ()
        union = {line for data in files for line in data.decode().splitlines()[1:]}
        assert len(left.records()) == len(union)

    asyncio.run(run())


@st.composite
def contradicting(draw):
    """Return three files in which one id may have several contents."""
    log = _log(draw(entries))
    files = []
    for _ in "abc":
        lines = [
            {**item, "note": draw(st.sampled_from([item["note"], "x", "y"]))}
            for item in log
            if draw(st.booleans())
        ]
        files.append(export_bytes(lines, WHEN))
    return files


@settings(deadline=None, max_examples=80)
@given(contradicting())
def test_of_contradicting_logs_every_content_is_kept_in_any_order_and_grouping(files):
    async def run():
        a, b, c = files
        wanted = None
        for merge in ((a, b, c), (c, b, a), (b, a, c), (a, b, c, b, a)):
            store = await _store(*merge)
            assert len(store.records()) == len({item["id"] for item in store.records()})
            wanted = _kept(store) if wanted is None else wanted
            assert _kept(store) == wanted
            assert len(store.records()) + len(store.conflicts()) == len(wanted)
        for first, second in ((await _merged(a, b), c), (a, await _merged(b, c))):
            assert _kept(await _store(first, second)) == wanted
        mine = await _store(a)
        before = mine.records()
        await mine.apply_import(await mine.preview_import(b))
        still = {item["id"]: item for item in mine.records()}
        assert all(still[item["id"]] == item for item in before)  # what was here stays in force

    asyncio.run(run())
