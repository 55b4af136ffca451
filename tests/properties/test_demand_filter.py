"""The demand filter on invented keepers: does its interval hold, is it narrow, does it notice?

Fixed seeds; the tables are printed (pytest -s). Truth is not simulated by the filter's equations.
"""

from dataclasses import dataclass, field, replace
from random import Random
from statistics import median

import pytest

from engine.decision import Decision
from engine.demand.alkalinity_tests import usable_tests
from engine.demand.answer import Demand, NoDemand
from engine.demand.estimate import estimate_demand, per_litre_span
from engine.demand.facts import gather
from engine.demand.fit import fit_demand
from engine.demand.inputs import recorded_inputs
from engine.demand.kalman import RATE, run_filter
from engine.demand.models import Marks, Trial, observations
from engine.demand.strength import strength_now
from engine.limits import Action, DosePlan
from engine.reasons import Code
from engine.records import WaterTest
from engine.units import to_float
from engine.vocabulary import Z90
from tests.support.keeper_log import SYSTEM, KeeperLog, dkh
from tests.support.simulated_keepers import Truth, moved_to, simulate

KEEPERS = 500
STEPPED = 150
WILD = 100
STEP_DAYS_AGO = 14.0
SAID = {
    Code.DEMAND_STEP_UP,
    Code.DEMAND_STEP_DOWN,
    Code.TESTS_SHIFTED_UP,
    Code.TESTS_SHIFTED_DOWN,
}


def parts(log: KeeperLog):
    facts = gather(log.records, system=SYSTEM, now=log.now)
    setup = facts.setup
    assert setup is not None
    return facts, setup, recorded_inputs(facts, setup, strength_now(facts, setup), None)


def demand_of(log: KeeperLog) -> Demand | NoDemand:
    return estimate_demand(*parts(log))


def half_width_of_who_knows(found, truth: Truth) -> float:
    """Return the half-width of the same filter, told the true noise and wandering."""
    demand = truth.demand_meq_per_L_per_day
    wander = max(truth.wander_share, 0.002) * demand
    tests = observations(found.points, Trial(truth.test_error_meq_per_L, wander, demand), Marks())
    states = run_filter(tests, found.offset_variances)
    return Z90 * states[-1].variance[RATE][RATE] ** 0.5


def test_interval_covers_the_truth_and_is_narrow():
    covered, level_covered, ratios, suspects = 0, 0, [], 0
    for seed in range(KEEPERS):
        keeper = simulate(seed)
        facts, setup, inputs = parts(keeper.log)
        fit = fit_demand(usable_tests(facts, inputs), setup, inputs)
        truth = keeper.truth.demand_meq_per_L_per_day
        low, high = interval(fit, setup, inputs)
        covered += low <= truth <= high
        level_covered += (
            abs(fit.level - keeper.truth.level_at_last_test_meq_per_L) <= fit.level_error
        )
        ratios.append(fit.demand_error / half_width_of_who_knows(fit.found, keeper.truth))
        suspects += len(fit.suspects)
    print(f"\n{KEEPERS} invented keepers, wrong volume, strength and pump, 2 % wild tests")
    print(f"  90 % interval of demand covers the truth   {covered / KEEPERS:6.1%}   (85 to 95 %)")
    print(f"  90 % interval of the level                 {level_covered / KEEPERS:6.1%}")
    print(f"  width over that of who knows the noise     {median(ratios):6.2f}   (at most 1.3)")
    print(f"  tests set aside for each keeper            {suspects / KEEPERS:6.2f}")
    assert 0.85 <= covered / KEEPERS <= 0.95
    assert 0.85 <= level_covered / KEEPERS <= 0.97
    assert median(ratios) <= 1.3


def interval(fit, setup, inputs) -> tuple[float, float]:
    span = per_litre_span(fit, setup, inputs)
    return span.low, span.high


def stepped_keeper(seed: int):
    factor = 1.3 if seed % 2 else 0.7
    return simulate(
        10_000 + seed,
        tests_a_week=3.0,
        demand_dKH=(1.0, 3.5),
        outlier_share=0.0,
        step=lambda days_ago: factor if days_ago <= STEP_DAYS_AGO else 1.0,
    )


def test_a_step_of_demand_is_noticed_within_three_tests():
    noticed = 0
    for seed in range(STEPPED):
        keeper = stepped_keeper(seed)
        after = [days for days in keeper.truth.tests if days < STEP_DAYS_AGO]
        noticed += any(
            is_said(moved_to(keeper.log, days - 0.001)) for days in sorted(after, reverse=True)[:3]
        )
    print(f"\nstep of 30 % said within three tests          {noticed / STEPPED:6.1%}   (80 %)")
    assert noticed / STEPPED >= 0.8


def is_said(log: KeeperLog) -> bool:
    demand = demand_of(log)
    return bool({r.code for r in demand.reasons} & SAID)


def test_a_step_is_hardly_ever_said_of_a_steady_tank():
    said = {0.0: [], 0.01: [], 0.02: [], 0.03: []}
    for seed in range(STEPPED):
        keeper = simulate(20_000 + seed, tests_a_week=3.0, demand_dKH=(1.0, 3.5))
        said[keeper.truth.wander_share].append(is_said(keeper.log))
    print("\nstep said although none was made, by how demand wanders in truth")
    for wander, found in said.items():
        print(
            f"  {wander:4.0%} for the root of a day                  {sum(found) / len(found):6.1%}"
        )
    calm, wandering = said[0.0] + said[0.01], said[0.02] + said[0.03]
    assert sum(calm) / len(calm) <= 0.05
    assert sum(wandering) / len(wandering) <= 0.20


PLACES = {"old": -20, "middle": -8, "last but one": -2, "newest": -1}
WILD_SEEDS = (30_000, 50_000)


@dataclass
class Moves:
    """By how much one test moved plans and demands."""

    plans: list[float] = field(default_factory=list)
    demands: list[float] = field(default_factory=list)
    held: int = 0  # what is given stays, nothing is raised until the newest test is repeated
    stopped: list[float] = field(default_factory=list)  # errors on which limewater stops

    @property
    def far(self) -> int:
        """Number of plans that moved by 5 % or more."""
        return sum(each >= 0.05 for each in self.plans)

    @property
    def far_share(self) -> float:
        """Their share of all plans that there are, held ones included."""
        return self.far / (len(self.plans) + self.held)


def moves(place: str, error_dKH: tuple[float, float], first_seed: int, count: int) -> Moves:
    """Return what one test with an error does to the plans of so many keepers.

    Against the same log without that test, just after its newest test was made.
    """
    found = Moves()
    for seed in range(first_seed, first_seed + count):
        rng = Random(seed)
        keeper = simulate(
            seed,
            tests_a_week=3.0,
            outlier_share=0.0,
            demand_dKH=(0.7, 2.0),
            lime_only=True,
            wrong_inputs=False,
        )
        log = moved_to(keeper.log, keeper.truth.tests[-1] - 0.001)
        tests = [r for r in log.records if isinstance(r, WaterTest)]
        assert len(tests) >= 8
        hit = tests[max(PLACES[place], -len(tests))]
        error = rng.choice((-1.0, 1.0)) * dkh(rng.uniform(*error_dKH))
        wild, without = KeeperLog(log.now), KeeperLog(log.now)
        wild.records = [spoilt(r, error) if r is hit else r for r in log.records]
        without.records = [r for r in log.records if r is not hit]
        take(found, without.decide(), wild.decide(), error)
    return found


def take(found: Moves, calm: Decision, after: Decision, error: float) -> None:
    if isinstance(calm.demand, Demand):
        assert isinstance(after.demand, Demand), after.demand
        found.demands.append(moved(after.demand.per_day_meq.best, calm.demand.per_day_meq.best))
    if not isinstance(calm.plan, DosePlan):
        return
    if not isinstance(after.plan, DosePlan):
        assert after.plan.action is Action.STOP
        found.stopped.append(error)
        return
    if after.plan.binding[:1] != (Code.CAP_SUSPECT,):
        found.plans.append(moved(after.plan.L_per_day, calm.plan.L_per_day))
        return
    # what is given stays, but for the pump's step
    assert after.setting is not None
    given = to_float(after.setting.delivered, "L/day")
    assert after.plan.L_per_day == pytest.approx(given, rel=0.02)
    assert after.plan.L_per_day <= max(given, calm.plan.L_per_day)
    found.held += 1


def printed(name: str, found: Moves) -> None:
    print(
        f"\n{name}: {found.far} of {len(found.plans)} plans move by 5 % or more, at most "
        f"{max(found.plans):.1%}; {found.held} hold what is given; {len(found.stopped)} stop; "
        f"{len(found.demands)} demands at most {max(found.demands):.1%}, "
        f"half of them {median(found.demands):.1%}"
    )


def check_wild(place: str, first_seed: int, count: int) -> None:
    found = moves(place, (2.0, 4.0), first_seed, count)
    printed(f"wild test ({place}, seeds from {first_seed})", found)
    assert len(found.plans) + found.held + len(found.stopped) >= 0.25 * count
    assert max(found.plans) < 0.05
    # Only a reading that would be an accident if it were true stops limewater, and only until a
    # test after it bears out the others.
    assert min(found.stopped, default=1.0) > 0.0
    assert place == "newest" or not found.stopped
    assert len(found.demands) >= 0.75 * count
    # The promise is about plans. Demands: 95 % of them on the first seeds; measured on others where
    # the newest is wild: 92 %.
    share = 0.95 if first_seed == WILD_SEEDS[0] else 0.9
    assert sum(each < 0.05 for each in found.demands) >= share * len(found.demands)


@pytest.mark.parametrize("first_seed", WILD_SEEDS)
@pytest.mark.parametrize("place", PLACES)
def test_one_wild_test_moves_the_plan_by_less_than_five_percent(place, first_seed):
    """Wild is off by 2 dKH or more: at least five deviations of the poorest kit simulated.

    One exception, on purpose: a newest reading above the band and more than 1.5 dKH above what was
    expected would be an accident if it were true. It stops limewater until it is repeated.
    """
    check_wild(place, first_seed, WILD if first_seed == WILD_SEEDS[0] else WILD // 2)


@pytest.mark.long
@pytest.mark.parametrize("first_seed", [40_000, 70_000, 90_000])
@pytest.mark.parametrize("place", PLACES)
def test_one_wild_test_of_many_more_moves_the_plan_by_less_than_five_percent(place, first_seed):
    check_wild(place, first_seed, 120)


@pytest.mark.parametrize("place", PLACES)
def test_a_test_off_by_little_seldom_moves_the_plan(place):
    """One to two dKH is 2.5 to 13 deviations of the kits simulated: not every one can be told.

    A good test in the same place moves some plans by 5 % or more, too: it is news. One that is off
    moves no larger share than that, or than one in twenty.
    """
    good, off = (moves(place, error, WILD_SEEDS[1], WILD) for error in ((0.0, 0.0), (1.0, 2.0)))
    printed(f"good test ({place})", good)
    printed(f"test off by 1 to 2 dKH ({place})", off)
    assert len(off.plans) + off.held >= 0.25 * WILD
    assert off.far_share <= max(0.05, good.far_share)


def moved(after: float, before: float) -> float:
    return abs(after / before - 1.0)


def spoilt(record, error):
    reading = record.readings[0]
    return replace(record, readings=(replace(reading, value=max(0.3, reading.value + error)),))
