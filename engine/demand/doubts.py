"""Tests that all others speak against are set aside, one by one; what is left is weighed.

A test far from what the others say is left out as if it had never been made: size of the demand,
usual hour, bottles and weights are found anew without it, so that the answer is exactly that of a
log without it. Two in a row on the same side are believed, and something happened before them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from engine.demand.alkalinity_tests import TEST_ERROR_MEQ_PER_L, Series, SeriesMaker
from engine.demand.facts import Sample
from engine.demand.inputs import Inputs
from engine.demand.kalman import RATE, Smoothed, run_filter, smooth
from engine.demand.kalman_last import last_state
from engine.demand.models import (
    USUAL_WANDER_SHARE,
    Marks,
    Model,
    Table,
    Trial,
    observations,
    table_of,
    tried,
    weight_of,
)
from engine.records import Setup
from engine.units import Span
from engine.vocabulary import MEQ_PER_DKH, Z90

# Demand within these sizes the filter (common practice, no source).
LEAST_SCALE_MEQ_PER_L_PER_DAY: Final = 0.3 * MEQ_PER_DKH
_LARGEST_SCALE_MEQ_PER_L_PER_DAY: Final = 5.0 * MEQ_PER_DKH
# A test further from what the others say is set aside.
SUSPECT_DEVIATIONS: Final = 3.5
# The newest has none after it that could bear it out: it waits for the next one sooner, and sooner
# still where it is off by what an experienced keeper would ask about (common practice, no source).
SUSPECT_NEWEST_DEVIATIONS: Final = 2.0
_FAR_MEQ_PER_L: Final = 0.8 * MEQ_PER_DKH
_FAR_DEVIATIONS: Final = 1.5
# The one before it has only the newest to bear it out.
_SUSPECT_LAST_BUT_ONE_DEVIATIONS: Final = 2.5
_WITNESS_DEVIATIONS: Final = 2.5
_DOUBTED_DEVIATIONS: Final = 2.0  # looked at closer from here on; the newest always
_LOOKED_AT: Final = 3  # so many of them
_ALIKE_SHARE: Final = 0.5  # two in a row that differ by more do not bear each other out
_JUMP_REACH: Final = 3  # tests before and after
FEWEST_TO_DOUBT: Final = 4
_LARGEST_SHARE_SET_ASIDE: Final = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """A test that was set aside."""

    sample: Sample
    expected: Span  # meq/L, what a reading was expected to be
    first_of_source: bool = False  # the first one of its bottle or tester


class Weighed(NamedTuple):
    """The tests that are believed, with every guess at what is not known of them weighed."""

    found: Series  # of the tests that are believed
    table: Table
    marks: Marks
    models: list[Model]
    evidence: float  # logarithm, of all guesses together
    suspects: tuple[Suspect, ...] = ()  # oldest first

    @property
    def best(self) -> Model:
        """The guess that foretold the tests best."""
        return max(self.models, key=weight_of)


class _Doubt(NamedTuple):
    number: int
    off: float  # from what the others say, meq/L
    evidence: float  # how well the others are foretold without it
    deviation: float  # from what the others say, in standard deviations


def rough_demand(found: Series) -> float:
    """Return a first idea of the demand, meq/L/day, within 0.3 to 5 dKH a day."""
    least, most = LEAST_SCALE_MEQ_PER_L_PER_DAY, _LARGEST_SCALE_MEQ_PER_L_PER_DAY
    trial = Trial(TEST_ERROR_MEQ_PER_L, USUAL_WANDER_SHARE * most / 4.0, least)
    tests = observations(found.points, trial, Marks())
    return min(most, max(least, last_state(tests, 0.0, found.offset_variances).mean[RATE]))


def weigh(samples: Sequence[Sample], setup: Setup, inputs: Inputs) -> Weighed:
    """Return at least two tests of different times weighed, doubtful ones left out.

    Parameters
    ----------
    samples, setup, inputs
        The tests, oldest first, and the system with everything that went into it.
    """
    maker = SeriesMaker(setup, inputs)
    offs: dict[int, float] = {}  # of the tests left out, by place
    broken: set[int] = set()
    while True:
        kept = [place for place in range(len(samples)) if place not in offs]
        jumps = frozenset(number for number, place in enumerate(kept) if place in broken)
        weighed = _weighed([samples[place] for place in kept], maker, jumps)
        doubt = _furthest(weighed, ends_the_log=kept[-1] == len(samples) - 1)
        if doubt is None:
            break
        place = kept[doubt.number]
        # One that is off by little waits, but is no witness for another that is off by far.
        speaks = doubt.deviation > _WITNESS_DEVIATIONS
        pair = _two_in_a_row(place, doubt.off, offs) if speaks else None
        jump = None if pair is None else _likeliest_jump(samples, maker, pair, broken)
        if jump is not None:
            # Doubts about others came from not knowing of the jump: they begin anew.
            broken.add(jump)
            offs.clear()
        elif len(offs) >= max(1, int(len(samples) * _LARGEST_SHARE_SET_ASIDE)):
            break
        else:
            offs[place] = doubt.off
    marks = Marks(frozenset(offs), frozenset(broken))
    return weighed._replace(suspects=_suspects(samples, weighed, maker, marks))


def _weighed(samples: Sequence[Sample], maker: SeriesMaker, jumps: frozenset[int]) -> Weighed:
    scale = rough_demand(maker.series(samples, demand_meq_per_L_per_day=0.0))
    found = maker.series(samples, demand_meq_per_L_per_day=scale)
    table = table_of(scale, maker.setup.alkalinity_test_error_meq_per_L)
    marks = Marks(broken=jumps)
    return Weighed(found, table, marks, *tried(found, table, marks))


def _suspects(
    samples: Sequence[Sample], weighed: Weighed, maker: SeriesMaker, marks: Marks
) -> tuple[Suspect, ...]:
    """Return the tests set aside with what the others say; marks are of all tests."""
    if not marks.set_aside:
        return ()
    trial = weighed.best.trial
    everything = maker.series(samples, demand_meq_per_L_per_day=trial.scale)
    smoothed = smoothed_by(trial, everything, marks)
    suspects: list[Suspect] = []
    for number in sorted(marks.set_aside):
        state = smoothed[number]
        half = Z90 * _variance_as_before(everything, state, number) ** 0.5
        span = Span(state.expected - half, state.expected, state.expected + half)
        first = _own_variance(everything, number) > 0.0
        suspects.append(Suspect(sample=samples[number], expected=span, first_of_source=first))
    return tuple(suspects)


def _own_variance(found: Series, number: int) -> float:
    """Return what a bottle's bias may explain of the newest test, where it is that bottle's first.

    It explains it only once a second test of the bottle bears the first one out.
    """
    source = found.points[number].source
    alone = sum(point.source == source for point in found.points) == 1
    newest = number == len(found.points) - 1
    return found.offset_variances[source - 1] if source and alone and newest else 0.0


def _variance_as_before(found: Series, state: Smoothed, number: int) -> float:
    """Return how unsure the expected reading is, had it been read as those before."""
    return state.expected_variance - _own_variance(found, number)


def _furthest(weighed: Weighed, *, ends_the_log: bool) -> _Doubt | None:
    """Return the test that is to be doubted most, None when none is.

    Judged by what the others say without it: a wild test also inflates the error found. The last
    one waits for a second one, unless a later test of the log was left out already.
    """
    found, count = weighed.found, len(weighed.found.points)
    if count < FEWEST_TO_DOUBT:
        return None
    smoothed = smoothed_by(weighed.best.trial, found, weighed.marks)
    deviations = [abs(state.deviation) for state in smoothed]
    far = [n for n in range(count - 1) if deviations[n] > _DOUBTED_DEVIATIONS]
    far.sort(key=deviations.__getitem__, reverse=True)
    doubts: list[_Doubt] = []
    newest, before = count - 1, count - 2
    for number in dict.fromkeys((*far[:_LOOKED_AT], before, newest)):
        without = weighed.marks._replace(set_aside=frozenset({number}))
        models, evidence = tried(found, weighed.table, without)
        trial = max(models, key=weight_of).trial
        judged = smoothed_by(trial, found, without)[number]
        off = found.points[number].sample.value - judged.expected
        deviation = abs(off) / _variance_as_before(found, judged, number) ** 0.5
        far_off = deviations[number] > _DOUBTED_DEVIATIONS
        if (
            (far_off and deviation > SUSPECT_DEVIATIONS)
            or (
                ends_the_log
                and number == before
                and deviation > _SUSPECT_LAST_BUT_ONE_DEVIATIONS
                and not _says_the_same(weighed, trial, newest, number, off)
            )
            or (ends_the_log and number == newest and _waits(weighed, trial, off, deviation))
        ):
            doubts.append(_Doubt(number, off, evidence, deviation))
    return max(doubts, key=lambda doubt: doubt.evidence, default=None)


def smoothed_by(trial: Trial, found: Series, marks: Marks) -> list[Smoothed]:
    """Return every test in the light of the others, as one guess has it."""
    tests = observations(found.points, trial, marks)
    return smooth(tests, run_filter(tests, found.offset_variances))


def _waits(weighed: Weighed, trial: Trial, off: float, deviation: float) -> bool:
    """Return whether the newest test of a calm log waits for a second one: sooner than others.

    Not where the one before says the same, nor after a happening on record or soon after a jump.
    """
    found, marks, number = weighed.found, weighed.marks, len(weighed.found.points) - 1
    far = abs(off) > _FAR_MEQ_PER_L and deviation > _FAR_DEVIATIONS
    if not far and deviation <= SUSPECT_NEWEST_DEVIATIONS:
        return False
    jumped_lately = any(number - jump <= _JUMP_REACH for jump in marks.broken)
    if jumped_lately or found.points[number].level_variance > 0.0:
        return False
    return not _says_the_same(weighed, trial, number - 1, number, off)


def _says_the_same(weighed: Weighed, trial: Trial, witness: int, number: int, off: float) -> bool:
    """Return whether another test is off alike by what all but these two say."""
    found = weighed.found
    both = weighed.marks._replace(set_aside=frozenset({witness, number}))
    seen = found.points[witness].sample.value - smoothed_by(trial, found, both)[witness].expected
    return seen * off > 0.0 and abs(seen) >= _ALIKE_SHARE * abs(off)


def _two_in_a_row(place: int, off: float, offs: dict[int, float]) -> int | None:
    """Return the first of two neighbours that are far off on one side, None without any.

    One happening explains both: they are off by about the same.
    """
    for neighbour in (place - 1, place + 1):
        other = offs.get(neighbour, 0.0)
        if other * off > 0.0 and abs(other - off) <= _ALIKE_SHARE * max(abs(other), abs(off)):
            return min(place, neighbour)
    return None


def _likeliest_jump(
    samples: Sequence[Sample], maker: SeriesMaker, pair: int, broken: set[int]
) -> int | None:
    """Return the test before which something happened: two that stand apart begin or end it."""
    near = range(max(1, pair - _JUMP_REACH), min(len(samples), pair + _JUMP_REACH + 3))
    places = [place for place in near if place not in broken]
    evidence = {
        place: _weighed(samples, maker, frozenset({*broken, place})).evidence for place in places
    }
    return max(places, key=evidence.__getitem__, default=None)
