"""A row is a tuple that shares what it can with the row it came from."""

import asyncio
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.log import ledger
from engine.log.row import Row
from mobile.commands.books import Book
from mobile.storage.memory import MemoryFolder
from mobile.validation import VALIDATION
from tests.mobile.storage.support import open_in, record

MOST_OWN = 1100  # items that a row with one item more may not share
puts = st.lists(st.tuples(st.integers(0, 4000), st.lists(st.integers(), max_size=1500)), max_size=8)


@given(puts)
def test_a_row_that_grew_is_the_tuple_that_grew_and_the_one_before_is_as_it_was(steps):
    rows, wanted = [Row()], [()]
    for place, items in steps:
        at = min(place, len(wanted[-1]))
        wanted.append((*wanted[-1][:at], *items, *wanted[-1][at:]))
        rows.append(rows[-1].put(at, items))
    for row, items in zip(rows, wanted, strict=True):
        assert (tuple(row), len(row), row) == (items, len(items), items)
        assert tuple(reversed(row)) == items[::-1]
        assert [row[n] for n in range(-len(items), len(items), 97)] == [
            items[n] for n in range(-len(items), len(items), 97)
        ]
        assert (row == Row(items), hash(row)) == (True, hash(items))
    for old, new in pairwise(rows):
        start, end = old.shared_with(new)
        assert start + end <= min(len(old), len(new))
        assert tuple(old[:start]) == tuple(new[:start])
        assert tuple(old[len(old) - end :]) == tuple(new[len(new) - end :])


@given(puts, st.slices(4000))
def test_a_slice_of_a_row_is_that_of_the_tuple(steps, cut):
    row = Row()
    for place, items in steps:
        row = row.put(min(place, len(row)), items)
    assert row[cut] == tuple(row)[cut]


def test_beyond_its_ends_there_is_nothing_and_nothing_in_it_can_be_set():
    row = Row(range(3000))
    for index in (3000, -3001):
        with pytest.raises(IndexError):
            row[index]
    with pytest.raises(TypeError):
        row[0] = 1  # type: ignore[index]
    assert row != tuple(range(2999))
    assert row != "row"


@given(st.integers(0, 100_000))
def test_one_item_more_leaves_all_but_a_part_shared(place):
    row = Row(range(100_000))
    start, end = row.shared_with(row.put(place, ["new"]))
    assert start + end >= len(row) - MOST_OWN


def test_a_record_saved_into_a_long_log_copies_neither_the_log_nor_what_stands_of_it():
    async def run():
        repository = await open_in(MemoryFolder(), **VALIDATION)
        await repository.append(
            [
                record(f"other0001:{n}", minutes=n, system=("main", "pond")[n % 2])
                for n in range(1, 9001)
            ]
        )
        book = Book(repository)
        before = book.records()
        ledgers = {s: ledger.ledger_of(own) for s, own in ledger.by_system(before).items()}
        for minutes in (9999, 4500):  # now, and an entry dated back
            await repository.append([record(repository.next_id(), minutes=minutes)])
            after = book.records()
            grown = ledger.ledger_of(ledger.by_system(after)["main"])
            for old, new in (
                (before, after),
                (ledgers["main"].written, grown.written),
                (ledgers["main"].standing, grown.standing),
                (ledgers["main"].entered, grown.entered),
            ):
                assert len(new) == len(old) + 1
                assert sum(old.shared_with(new)) >= len(old) - MOST_OWN
            pond = ledger.by_system(after)["pond"]
            assert pond is ledgers["pond"].written
            before, ledgers["main"] = after, grown

    asyncio.run(run())
