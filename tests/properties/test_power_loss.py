"""Long random histories of the store on a disk that fails and loses its power at any moment."""

import asyncio
from functools import lru_cache
from time import process_time
from unittest import mock

import pytest
from hypothesis import Phase, given, seed, settings
from hypothesis import strategies as st

from mobile.storage import batch
from tests.mobile.storage.disk import Disk
from tests.mobile.storage.histories import Census, Keeper

SMALL_PARTS = 500  # two records a part, so that commits of several frames are met often
MANY_STATES = 1_000_000
SOME_STATES = 10_000
FEW = 30  # contents tried at one cut
MANY = 1_000
TELL_EVERY = 10  # histories

actions = st.one_of(
    st.tuples(st.just("save"), st.integers(1, 2), st.integers(0, 40)),
    st.tuples(st.just("save"), st.integers(1, 2), st.just(0)),
    st.tuples(st.just("save"), st.integers(3, 6), st.just(0)),
    st.tuples(st.just("take_in"), st.integers(1, 5), st.integers(1, 4)),
    st.tuples(st.just("tidy")),
    st.tuples(st.just("settle")),
    st.tuples(st.just("become_another")),
    st.tuples(st.just("start_anew")),
)
kinds = st.sampled_from(["short", "none", "full", "fail", "torn", "late"])
spells = st.lists(
    st.tuples(st.integers(2, 90), st.lists(kinds, min_size=1, max_size=4)), max_size=6
)
faults = spells.map(
    lambda found: {first + n: kind for first, spell in found for n, kind in enumerate(spell)}
)


def _explore(census: Census, wanted: int, histories: int, tried: tuple[int, ...]) -> None:
    """Run random histories, so many at a time, until enough distinct contents were met."""
    rounds = 0
    while len(census.seen) < wanted:
        rounds += 1

        @seed(rounds)
        @settings(deadline=None, max_examples=histories, database=None, phases=(Phase.generate,))
        @given(
            st.lists(actions, min_size=10, max_size=40),
            faults,
            st.booleans(),
            st.booleans(),
            st.sampled_from(tried),
        )
        def one(steps, failing, renewable, forgets, most_states):
            if len(census.seen) >= wanted:
                return
            census.histories += 1
            disk = Disk(
                faults=failing,
                renewable=renewable,
                forgets=forgets,
                most_states=most_states,
                most_tears=None if most_states > FEW else FEW,
            )
            keeper = Keeper(disk, census, tag=f"{census.histories}-")
            asyncio.run(keeper.run(steps))
            if census.histories % TELL_EVERY == 0:
                print(census.told(), flush=True)

        one()


def _run(wanted: int, histories: int, tried: tuple[int, ...]) -> Census:
    census = Census()
    start = process_time()
    decode = lru_cache(1 << 16)(batch.decode_payload)  # the same frames stand in many contents
    with (
        mock.patch.object(batch, "PART_BYTES", SMALL_PARTS),
        mock.patch.object(batch, "decode_payload", decode),
    ):
        _explore(census, wanted, histories, tried)
    print(f"{census.told()}; {process_time() - start:.0f} s of one core")
    return census


def test_after_a_power_cut_all_that_was_acknowledged_is_there():
    assert len(_run(SOME_STATES, 100, (FEW,)).seen) >= SOME_STATES


@pytest.mark.long
def test_after_a_power_cut_in_a_million_ways_all_that_was_acknowledged_is_there():
    assert len(_run(MANY_STATES, 1_000, (FEW, FEW, MANY)).seen) >= MANY_STATES
