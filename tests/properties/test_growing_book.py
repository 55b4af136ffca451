"""A book that grows record by record is the same as one that is read anew."""

import asyncio

from hypothesis import given, settings
from hypothesis import strategies as st

from engine.log import ledger
from engine.log.row import put_in
from mobile.commands.books import Book
from mobile.state import updates
from mobile.storage.memory import MemoryFolder
from mobile.validation import VALIDATION
from tests.mobile.storage.support import open_in, record

SYSTEMS = ("main", "nursery", "frag")
batches = st.lists(
    st.lists(st.tuples(st.integers(0, 500), st.sampled_from(SYSTEMS)), min_size=1, max_size=20),
    max_size=12,
)


@settings(deadline=None, max_examples=100)
@given(batches)
def test_a_book_that_grew_is_one_read_anew(history):
    async def run():
        folder = MemoryFolder()
        repository = await open_in(folder, **VALIDATION)
        book = Book(repository)
        for batch in history:
            await repository.append(
                [
                    record(repository.next_id(), minutes=minutes, system=system)
                    for minutes, system in batch
                ]
            )
            seen = book.records()
            assert seen is book.records()
            grouped = ledger.by_system(seen)
            fresh = {s: tuple(r for r in seen if r.system == s) for s in SYSTEMS}
            assert dict(grouped) == {s: own for s, own in fresh.items() if own}
        parts = [repository.records(system) for system in SYSTEMS]
        await repository.close()
        again = await open_in(folder, **VALIDATION)
        assert book.records() == Book(again).records()
        assert parts == [again.records(system) for system in SYSTEMS]
        ledger.forget()
        assert updates.names(book.records()) == updates.names(Book(again).records())

    asyncio.run(run())


@settings(deadline=None, max_examples=300)
@given(st.lists(st.integers(), unique=True), st.data())
def test_what_was_put_in_is_found_and_anything_else_is_not_taken_for_it(items, data):
    old = tuple(map(str, items))
    place = data.draw(st.integers(0, len(old)))
    new = tuple(f"new {n}" for n in range(data.draw(st.integers(0, 3))))
    grown = (*old[:place], *new, *old[place:])
    where = put_in(old, grown)
    assert where is not None
    assert (*grown[: where.start], *grown[where.stop :]) == old
    if len(old) > 1:
        assert put_in(old, (*reversed(old), "more")) is None or len(set(old)) < 2
        assert put_in(old, old[1:]) is None
        assert put_in(old, (*old[1:], "other")) is None
        assert put_in(old, (old[1], *old[2:], "other", "more")) is None
