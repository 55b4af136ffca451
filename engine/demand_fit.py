"""Demand and level from a series of tests: filters mixed, doubtful tests set aside, steps found.

A test far from what all others say is set aside; two in a row on the same
side are believed, and something happened before them. A step of demand is looked for with a
filter that expects little change: how clearly do the tests since then speak for one?
"""

from dataclasses import dataclass, replace
from typing import Final

from engine.alkalinity_tests import TEST_ERROR_MEQ_PER_L, Z90, Series
from engine.demand_models import (
    USUAL_WANDER_SHARE,
    Marks,
    Model,
    Table,
    Trial,
    mixed,
    models_of,
    observations,
    table_of,
    weight_of,
)
from engine.kalman import (
    FIRST_OFFSET,
    LEVEL,
    RATE,
    Filtered,
    Observation,
    Smoothed,
    change_of_rate,
    run_filter,
    smooth,
)
from engine.timeline import days_between
from engine.units import Span
from engine.vocabulary import MEQ_PER_DKH

# Demand within these sizes the filter (common practice, no source).
LEAST_SCALE_MEQ_PER_L_PER_DAY: Final = 0.3 * MEQ_PER_DKH
_LARGEST_SCALE_MEQ_PER_L_PER_DAY: Final = 5.0 * MEQ_PER_DKH
# A test further from what the others say is set aside.
SUSPECT_DEVIATIONS: Final = 3.5
# The newest has none after it that could bear it out: it waits for the next one sooner.
SUSPECT_NEWEST_DEVIATIONS: Final = 2.5
_DOUBTED_DEVIATIONS: Final = 2.0  # looked at closer from here on
_FEWEST_TO_DOUBT: Final = 4
_LARGEST_SHARE_SET_ASIDE: Final = 0.25
# A step of demand is said when the last tests speak for it by so much (our choice: on invented
# keepers it finds a step of 30 % within three tests in nine of ten, see tests).
STEP_DEVIATIONS: Final = 2.5
_STEP_TESTS: Final = 5
TREND_DAYS: Final = 21.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """A test that was set aside."""

    number: int  # in the series
    expected: Span  # meq/L, what a reading was expected to be


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Demand moved, and stayed there."""

    number: int  # of the first test after it
    up: bool
    surely_demand: bool = True  # False: an input that is not on record would explain it as well


@dataclass(frozen=True, slots=True, kw_only=True)
class DemandFit:
    """The answer; errors are half-widths of 90 % intervals, alkalinity in meq/L, time in days.

    `mean_lime` and `mean_inputs` are what the answer is made of: by how much it would move if all
    limewater, or all inputs, had been once more as large.
    """

    demand: float
    demand_error: float
    level: float  # at the last test
    level_error: float
    covariance: float  # of level and demand
    mean_lime: float
    mean_inputs: float
    test_error: float  # one standard deviation, as the tests tell
    suspects: tuple[Suspect, ...]
    step: Step | None
    trend: float | None  # change of demand
    trend_error: float
    trend_days: float
    offsets: tuple[Span, ...]  # of the sources after the first
    innovations: tuple[float, ...]  # of a filter that expects little change, in deviations


def rough_demand(found: Series) -> float:
    """Return a first idea of the demand, meq/L/day, within 0.3 to 5 dKH a day."""
    least, most = LEAST_SCALE_MEQ_PER_L_PER_DAY, _LARGEST_SCALE_MEQ_PER_L_PER_DAY
    trial = Trial(TEST_ERROR_MEQ_PER_L, USUAL_WANDER_SHARE * most / 4.0, least)
    tests = observations(found.points, trial, Marks())
    return min(most, max(least, run_filter(tests, found.offset_variances)[-1].mean[RATE]))


def fit_demand(
    found: Series, *, scale_meq_per_L_per_day: float, stated_error_meq_per_L: float | None = None
) -> DemandFit:
    """Return demand and level from at least two tests of different times.

    Parameters
    ----------
    found : Series
        The tests.
    scale_meq_per_L_per_day : float
        Rough demand, above 0: sizes how far it may wander.
    stated_error_meq_per_L : float, optional
        What the keeper says his test scatters, one standard deviation.
    """
    table = table_of(scale_meq_per_L_per_day, stated_error_meq_per_L)
    models, marks = _without_suspects(found, table)
    calm = _calm(found, models, marks._replace(broken=frozenset()))
    states = run_filter(calm, found.offset_variances)
    step = _step(calm, states)
    if step is not None:
        step = _named(step, found, models, marks)
        marks = marks._replace(stepped=frozenset({step.number}))
        models = models_of(found, table, marks)
    best = max(models, key=weight_of)
    demand, demand_error = mixed(models, RATE)
    level, level_error = mixed(models, LEVEL)
    trend, trend_error, trend_days = _trend(found, best)
    return DemandFit(
        demand=demand,
        demand_error=demand_error,
        level=level,
        level_error=level_error,
        covariance=sum(m.weight * m.states[-1].variance[LEVEL][RATE] for m in models),
        mean_lime=_made_of(best, found, [point.before.lime for point in found.points]),
        mean_inputs=_made_of(best, found, [point.before.inputs for point in found.points]),
        test_error=sum(model.weight * model.trial.error for model in models),
        suspects=_suspects(best, marks),
        step=step,
        trend=trend,
        trend_error=trend_error,
        trend_days=trend_days,
        offsets=_offsets(best, found),
        innovations=tuple(_innovations(calm, states)),
    )


def _without_suspects(found: Series, table: Table) -> tuple[list[Model], Marks]:
    """Set tests aside one by one, the furthest first, until the rest agree."""
    marks = Marks()
    count = len(found.points)
    models = models_of(found, table, marks)
    if count < _FEWEST_TO_DOUBT:
        return models, marks
    for _ in range(count):
        best = max(models, key=weight_of)
        number = _furthest(smooth(best.tests, best.states), marks)
        if number is None:
            break
        # Judged by what the others say without it: a wild test also inflates the error found.
        without = marks._replace(set_aside=marks.set_aside | {number})
        trial = models_of(found, table, without)
        judge = max(trial, key=weight_of)
        smoothed = smooth(judge.tests, judge.states)
        if abs(smoothed[number].deviation) <= _enough_to_doubt(smoothed, number):
            break
        believed = _believed(smoothed, number, marks)
        if believed is not None:
            marks, models = believed, models_of(found, table, believed)
        elif len(without.set_aside) > max(1, int(count * _LARGEST_SHARE_SET_ASIDE)):
            break
        else:
            marks, models = without, trial
    return models, marks


def _furthest(smoothed: list[Smoothed], marks: Marks) -> int | None:
    """Return the test that stands furthest from the others, None when none does by far."""
    far = [
        (abs(state.deviation), number)
        for number, state in enumerate(smoothed)
        if number not in marks.set_aside and abs(state.deviation) > _DOUBTED_DEVIATIONS
    ]
    return max(far)[1] if far else None


def _enough_to_doubt(smoothed: list[Smoothed], number: int) -> float:
    """Return how far off a test must be: less for the newest, unless the one before agrees."""
    if number < len(smoothed) - 1:
        return SUSPECT_DEVIATIONS
    before = smoothed[number - 1].deviation
    agrees = before * smoothed[number].deviation > 0.0 and abs(before) > 1.0
    return SUSPECT_DEVIATIONS if agrees else SUSPECT_NEWEST_DEVIATIONS


def _believed(smoothed: list[Smoothed], number: int, marks: Marks) -> Marks | None:
    """Return the marks when the test before or after was as far off on the same side."""
    for neighbour in (number - 1, number + 1):
        if neighbour not in marks.set_aside:
            continue
        first = min(number, neighbour)
        same = smoothed[neighbour].deviation * smoothed[number].deviation > 0.0
        if same and first not in marks.broken:
            # Doubts about others came from not knowing of the jump: they begin anew.
            return Marks(frozenset(), marks.broken | {first}, marks.stepped)
    return None


def _made_of(best: Model, found: Series, amounts: list[float]) -> float:
    """Return what demand the tests would tell if they had held steady on these amounts alone.

    The filter is linear in tests and inputs: this is how far the answer follows the inputs.
    """
    tests = [
        test._replace(value=0.0, given=amount)
        for test, amount in zip(best.tests, amounts, strict=True)
    ]
    return run_filter(tests, found.offset_variances)[-1].mean[RATE]


def _suspects(best: Model, marks: Marks) -> tuple[Suspect, ...]:
    smoothed = smooth(best.tests, best.states)
    suspects: list[Suspect] = []
    for number in sorted(marks.set_aside):
        state = smoothed[number]
        half = Z90 * state.expected_variance**0.5
        span = Span(state.expected - half, state.expected, state.expected + half)
        suspects.append(Suspect(number=number, expected=span))
    return tuple(suspects)


def _calm(found: Series, models: list[Model], marks: Marks) -> list[Observation]:
    """Return the series as it looks to who expects demand to hardly wander."""
    error = sum(model.weight * model.trial.error for model in models)
    return observations(found.points, models[0].trial._replace(error=error), marks)


def _innovations(calm: list[Observation], states: list[Filtered]) -> list[float]:
    """Return what each test was off, in standard deviations; 0 where nothing was foretold."""
    innovations: list[float] = []
    seen = 0
    for test, state in zip(calm, states, strict=True):
        seen += test.used
        foretold = test.used and seen > FIRST_OFFSET
        innovations.append(state.innovation / state.innovation_variance**0.5 if foretold else 0.0)
    return innovations


def _step(calm: list[Observation], states: list[Filtered]) -> Step | None:
    """Return the clearest step of demand among the last tests, None where there is none."""
    smoothed = smooth(calm, states)
    last = len(calm) - 1
    clear = [
        (abs(smoothed[number].rate_step), number)
        for number in range(max(FIRST_OFFSET, last - _STEP_TESTS), last - 1)
        if sum(test.used for test in calm[number + 1 :]) >= FIRST_OFFSET
    ]
    evidence, number = max(clear, default=(0.0, 0))
    if evidence <= STEP_DEVIATIONS:
        return None
    return Step(number=number + 1, up=smoothed[number].rate_step > 0.0)


def _named(step: Step, found: Series, models: list[Model], marks: Marks) -> Step:
    """Return the step, doubted where a jump of alkalinity explains the tests without it."""
    if not marks.broken:
        return step
    allowing = _calm(found, models, marks)
    surely = _step(allowing, run_filter(allowing, found.offset_variances)) is not None
    return replace(step, surely_demand=surely)


def _trend(found: Series, best: Model) -> tuple[float | None, float, float]:
    """Return how demand moved over about three weeks, with its error, and the real time."""
    last = found.points[-1].sample.at
    ages = [days_between(point.sample.at, last) for point in found.points]
    old = [number for number, age in enumerate(ages) if age >= TREND_DAYS]
    if not old or len(found.points) - old[-1] < _FEWEST_TO_DOUBT:
        return None, 0.0, 0.0
    change, variance = change_of_rate(best.tests, best.states, old[-1])
    return change, Z90 * variance**0.5, ages[old[-1]]


def _offsets(best: Model, found: Series) -> tuple[Span, ...]:
    last = best.states[-1]
    spans: list[Span] = []
    for number in range(len(found.offset_variances)):
        place = FIRST_OFFSET + number
        half = Z90 * last.variance[place][place] ** 0.5
        spans.append(Span(last.mean[place] - half, last.mean[place], last.mean[place] + half))
    return tuple(spans)
