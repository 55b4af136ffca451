"""Whatever the app can hold goes out as a file that the app takes in again."""

import json
import tracemalloc
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mobile.storage import changes, restore, transfer
from mobile.storage.memory import MemoryFolder
from mobile.storage.restore import MAX_RECORD_BYTES, MAX_TEXT, Door, canonical
from mobile.storage.transfer import MAX_IMPORT_BYTES, MAX_IMPORT_LINES, export_bytes, read_import
from tests.mobile.storage.support import open_in, plain_validate, record

WHEN = datetime(2036, 11, 24, 9, 30, tzinfo=UTC)
DOOR = Door(validate=plain_validate)
YEARS_MINUTES = 10 * 365 * 24 * 60


def many(count: int) -> Iterator[dict]:
    """A log of ten years, one record at a time."""
    for n in range(1, count + 1):
        yield record(f"elsewhere1:{n}", minutes=n * YEARS_MINUTES // count, note=f"note {n}")


async def preview_of(data: bytes):
    return await read_import(data, door=DOOR, stored=lambda _: None, holds=lambda _: False)


@pytest.mark.parametrize("count", [3_000, pytest.param(300_000, marks=pytest.mark.long)])
async def test_ten_years_come_back_beyond_what_bounds_other_files(
    count: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    if count < MAX_IMPORT_LINES:
        monkeypatch.setattr(transfer, "MAX_IMPORT_LINES", 300)
        monkeypatch.setattr(transfer, "MAX_IMPORT_BYTES", 40_000)
    data = export_bytes(many(count), WHEN)
    assert len(data) > transfer.MAX_IMPORT_BYTES
    assert count > transfer.MAX_IMPORT_LINES
    preview = await preview_of(data)
    assert preview.problems == ()
    assert len(preview.new) == count
    assert all(map(_same, preview.new, many(count)))


def _same(one: dict, other: dict) -> bool:
    return canonical(one) == canonical(other)


def test_exporting_holds_the_file_and_not_the_records() -> None:
    tracemalloc.start()
    try:
        data = export_bytes(many(20_000), WHEN)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    print(f"{len(data):,} bytes: at most {peak:,}")
    assert peak < 2.4 * len(data)


def largest(n: int) -> dict:
    """A record of exactly the size that the door admits."""
    made = record(f"elsewhere1:{n}")
    for part in range(4):
        room = MAX_RECORD_BYTES - len(canonical({**made, f"x{part}": ""}).encode())
        made[f"x{part}"] = "x" * min(MAX_TEXT, room)
    assert len(canonical(made).encode()) == MAX_RECORD_BYTES
    return made


async def test_records_at_the_largest_size_come_back_by_the_hundreds() -> None:
    source = await open_in(MemoryFolder())
    await source.append([largest(n) for n in range(1, 4)])
    data = export_bytes([largest(n) for n in range(1, 701)], WHEN)
    assert len(data) > MAX_IMPORT_BYTES
    assert len(largest(1)["x0"]) == MAX_TEXT
    preview = await preview_of(data)
    assert preview.problems == ()
    assert len(preview.new) == 700
    own = await preview_of(source.export(WHEN))
    assert own.problems == ()
    assert [canonical(item) for item in own.new] == [canonical(largest(n)) for n in range(1, 4)]


async def test_a_line_too_many_is_damage_and_not_a_size() -> None:
    """Blank lines that some program put between do not make a long export too long."""
    data = export_bytes(many(1000), WHEN).replace(b"\n", b"\n\n")
    preview = await preview_of(data)
    assert (preview.problems, len(preview.new)) == ((), 1000)


UNREADABLE = st.sampled_from(
    [
        {"note": "x" * (MAX_RECORD_BYTES * 3)},
        {"note": "x" * (MAX_TEXT + 1)},
        {"note": "\ud800"},
        {"note": "\x00"},
        {"note": float("nan")},
        {"note": float("inf")},
        {"note": 10**400},
        {"note": ["["] * 9000},
        {"kind": "of tomorrow"},
        {"id": None},
        {"at": "yesterday"},
    ]
)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    notes=st.lists(st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=40)),
    twice=st.lists(st.integers(0, 5), max_size=3, unique=True),
    changes=st.lists(UNREADABLE, max_size=4),
)
async def test_any_log_with_conflicts_and_what_could_not_be_read(notes, twice, changes) -> None:
    kept = [record(f"elsewhere1:{n}", minutes=n, note=note) for n, note in enumerate(notes, 1)]
    conflicts = [{**kept[n], "note": "another"} for n in twice if n < len(kept)]
    conflicts = [
        item for item in conflicts if item["note"] != kept[int(item["id"][11:]) - 1]["note"]
    ]
    unread = [{**record(f"elsewhere2:{n}"), **change} for n, change in enumerate(changes, 1)]
    preview = await preview_of(export_bytes([*kept, *conflicts, *unread], WHEN))
    assert preview.refusal is None
    assert [problem.code for problem in preview.problems] == (
        ["import_records_rejected"] if unread else []
    )
    assert [canonical(item) for item in preview.new] == [canonical(item) for item in kept]
    assert [canonical(item) for item in preview.conflicting] == [canonical(i) for i in conflicts]
    assert preview.rejected_count == len(unread)


async def test_a_journal_with_records_larger_than_the_door_is_exported_and_taken_in(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A build whose limits were wider wrote them."""
    folder = MemoryFolder()
    with monkeypatch.context() as wider:
        for module in (restore, changes):
            wider.setattr(module, "MAX_RECORD_BYTES", 1 << 18)
        wider.setattr(restore, "MAX_TEXT", 1 << 18)
        source = await open_in(folder)
        await source.append(
            [
                record("elsewhere1:1", note="sound"),
                record("elsewhere1:2", note="x" * (MAX_RECORD_BYTES + 1)),
                record("elsewhere1:3", note="x" * (MAX_RECORD_BYTES * 3)),
            ]
        )
        await source.close()
    opened = await open_in(folder)
    assert [item.raw["id"] for item in opened.refused()] == ["elsewhere1:2", "elsewhere1:3"]
    data = opened.export(WHEN)
    assert [len(json.loads(line).get("note", "")) for line in data.splitlines()] == [
        *(0, 5, MAX_RECORD_BYTES + 1, MAX_RECORD_BYTES * 3)
    ]
    target = await open_in(MemoryFolder())
    preview = await target.preview_import(data)
    assert (preview.refusal, preview.is_damaged) == (None, True)
    assert [item.problem.code for item in preview.rejected] == ["record_too_large"] * 2
    await target.apply_import(preview, accept_damaged=True)
    assert [item["note"] for item in target.records()] == ["sound"]
