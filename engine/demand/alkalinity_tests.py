"""The alkalinity tests of a log as a series for the filter: what each says, and how well.

A test is worth less soon after a water change or an addition, at another hour than usual, and
between large doses. A new reagent bottle or another tester reads with an offset of its own.
Happenings that may have moved alkalinity or demand are steps of unknown size.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import atan2, cos, pi, sin
from typing import Final

from engine.demand.facts import Facts, Sample
from engine.demand.inputs import Inputs
from engine.demand.stretch import Stretch, stretch
from engine.log.timeline import days_between
from engine.plan.happenings import DEMAND_JUMPS, LEVEL_JUMPS
from engine.records import Happening, Setup
from engine.vocabulary import MEQ_PER_DKH, PARAMETERS

ALKALINITY: Final = "total_alkalinity"
TEST_ERROR_MEQ_PER_L: Final = PARAMETERS[ALKALINITY].test_error
# Older tests say nothing about the demand of now: it wanders.
WINDOW_DAYS: Final = 90.0

# Waiting times and sizes below are common practice, no source.
_MIXED_AFTER_ADDITION: Final = timedelta(hours=12)
_MIXED_AFTER_CHANGE: Final = timedelta(hours=6)
# Share of a day's demand by which alkalinity swings between the ends of the day.
_SWING_SHARE: Final = 0.25
_SAME_HOUR: Final = 1.0
_OFFSET_MEQ_PER_L: Final = 0.2 * MEQ_PER_DKH  # one standard deviation of a bottle's bias
_MOST_SOURCES: Final = 4
_LEVEL_JUMP_MEQ_PER_L: Final = 0.7 * MEQ_PER_DKH
DEMAND_JUMP_SHARE: Final = 0.3
_H_PER_DAY: Final = 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One test and what happened since the one before."""

    sample: Sample
    source: int
    extra_variance: float  # beyond the test's own error
    before: Stretch
    level_variance: float  # of jumps that are not on record
    demand_jump: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """The tests of the window, oldest first."""

    points: tuple[Point, ...]
    offset_variances: tuple[float, ...]
    sources: tuple[tuple[str, str], ...]  # (lot, tester) by source number

    @property
    def span_days(self) -> float:
        """Days from the first test to the last."""
        return days_between(self.points[0].sample.at, self.points[-1].sample.at)


def usable_tests(facts: Facts, inputs: Inputs) -> Sequence[Sample]:
    """Return the alkalinity tests of the window since which every input is on record."""
    known_from = inputs.known_from
    samples = facts.samples(ALKALINITY)
    if known_from is None or not samples:
        return ()
    since = max(known_from, samples[-1].at - timedelta(days=WINDOW_DAYS))
    return facts.samples(ALKALINITY, since)


class SeriesMaker:
    """Makes series of a system's tests; what happened between two of them is found once."""

    def __init__(self, setup: Setup, inputs: Inputs) -> None:
        self.setup = setup
        self.inputs = inputs
        self._points: dict[tuple[Sample, Sample], Point] = {}

    def series(self, samples: Sequence[Sample], *, demand_meq_per_L_per_day: float) -> Series:
        """Return the series of at least one test, oldest first.

        Parameters
        ----------
        samples : sequence of Sample
            Tests, oldest first.
        demand_meq_per_L_per_day : float
            Rough demand: sizes the swing of the day.
        """
        numbers, sources = _numbered(samples)
        usual = _usual_hour(samples)
        swing = _SWING_SHARE * max(0.0, demand_meq_per_L_per_day)
        points: list[Point] = []
        for number, sample in enumerate(samples):
            point = self._point(samples[max(0, number - 1)], sample)
            away = max(0.0, _hours_apart(_hour(sample.at), usual) - _SAME_HOUR)
            variance = point.extra_variance + (swing * away / (_H_PER_DAY / 2.0)) ** 2
            points.append(replace(point, source=numbers[number], extra_variance=variance))
        # The first source is the yardstick; against it another's offset carries both errors.
        offsets = (2.0 * _OFFSET_MEQ_PER_L**2,) * (len(sources) - 1)
        return Series(points=tuple(points), offset_variances=offsets, sources=sources)

    def _point(self, before: Sample, sample: Sample) -> Point:
        """Return a test and what happened since the one before; source and hour left open."""
        known = self._points.get((before, sample))
        if known is None:
            known = self._points[before, sample] = _point(self.inputs, self.setup, before, sample)
        return known


def _point(inputs: Inputs, setup: Setup, before: Sample, sample: Sample) -> Point:
    since = [h.what for h in inputs.facts.between(Happening, before.at, sample.at)]
    jumps = sum(what in LEVEL_JUMPS for what in since)
    return Point(
        sample=sample,
        source=0,
        extra_variance=_unmixed_variance(sample, setup, inputs)
        + _dose_variance(sample, setup, inputs),
        before=stretch(inputs, setup, before.at, sample.at),
        level_variance=jumps * _LEVEL_JUMP_MEQ_PER_L**2,
        demand_jump=any(what in DEMAND_JUMPS for what in since),
    )


def labels_of(samples: Sequence[Sample]) -> list[tuple[str, str]]:
    """Return bottle and tester of each test, oldest first; a blank means as before.

    What is told for the first time is true of the tests before it, too.
    """
    labels: list[tuple[str, str]] = []
    lot = tester = ""
    for sample in samples:
        first_lot, first_tester = not lot and sample.lot, not tester and sample.tester
        lot, tester = sample.lot or lot, sample.tester or tester
        if first_lot or first_tester:
            labels = [(lot if first_lot else a, tester if first_tester else b) for a, b in labels]
        labels.append((lot, tester))
    return labels


def _numbered(samples: Sequence[Sample]) -> tuple[list[int], tuple[tuple[str, str], ...]]:
    """Return the number of each test's source, and the sources."""
    labels = labels_of(samples)
    known = list(dict.fromkeys(labels))
    kept = known[:1] + known[1:][-(_MOST_SOURCES - 1) :]
    return [kept.index(label) if label in kept else 0 for label in labels], tuple(kept)


def _hour(moment: datetime) -> float:
    return moment.hour + moment.minute / 60.0


def _usual_hour(samples: Sequence[Sample]) -> float:
    """Return the mean hour of the day, on the clock's face."""
    angles = [_hour(sample.at) / _H_PER_DAY * 2.0 * pi for sample in samples]
    mean = atan2(sum(sin(a) for a in angles), sum(cos(a) for a in angles))
    return mean / (2.0 * pi) * _H_PER_DAY % _H_PER_DAY


def _hours_apart(one: float, other: float) -> float:
    apart = abs(one - other) % _H_PER_DAY
    return min(apart, _H_PER_DAY - apart)


def _unmixed_variance(sample: Sample, setup: Setup, inputs: Inputs) -> float:
    """Return the error of a test taken before what was added had mixed."""
    variance = 0.0
    for addition in inputs.additions(sample.at - _MIXED_AFTER_ADDITION, sample.at):
        left = 1.0 - (sample.at - addition.at) / _MIXED_AFTER_ADDITION
        variance += (0.5 * left * addition.alkalinity_meq / setup.net_volume_L) ** 2
    for change in inputs.water_changes(sample.at - _MIXED_AFTER_CHANGE, sample.at):
        left = 1.0 - (sample.at - change.at) / _MIXED_AFTER_CHANGE
        share = min(1.0, change.volume_L / setup.net_volume_L)
        new = change.new_total_alkalinity_meq_per_L
        step = MEQ_PER_DKH if new is None else new - sample.value
        variance += (0.5 * left * share * step) ** 2
    return variance


def _dose_variance(sample: Sample, setup: Setup, inputs: Inputs) -> float:
    """Return the error of not knowing where between two doses a test was taken."""
    rise = inputs.lime_meq_per_day(sample.at) / setup.doses_per_day / setup.net_volume_L
    return rise * rise / 12.0
