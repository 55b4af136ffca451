"""The calcium filter on invented tanks: its interval holds, and nothing is said too early.

Truth is a running sum, not the filter's equations. Fixed seeds; the table is printed (pytest -s).
"""

from random import Random

import pytest

from engine.demand.answer import Demand
from engine.demand.calcium import BALANCED_MG_PER_MEQ, KNOWN_SHARE
from engine.reasons import Code
from engine.units import Span
from tests.support.keeper_log import KeeperLog, dkh

TANKS = 40
DEMAND_MEQ_PER_L = dkh(1.35)
PUMP_L_PER_DAY = DEMAND_MEQ_PER_L * 450.0 / 40.897


def tank(seed: int, ratio: float, *, days: int = 110, every: int = 4) -> KeeperLog:
    """Return a tank on limewater that holds alkalinity and takes calcium by its own ratio."""
    rng = Random(seed)
    log = KeeperLog().setup(200.0).pump(200.0, PUMP_L_PER_DAY)
    calcium = 430.0
    for back in range(days, -1, -1):
        calcium += DEMAND_MEQ_PER_L * (BALANCED_MG_PER_MEQ - ratio) + rng.gauss(0.0, 0.5)
        if back % 3 == 0:
            log.test(back + 0.2, 8.3 + rng.gauss(0.0, 0.2))
        if back % every == 0:
            log.read(back + 0.1, calcium=max(250.0, calcium + rng.gauss(0.0, 15.0)))
    return log


def found(log: KeeperLog) -> Span | None:
    demand = log.decide().demand
    assert isinstance(demand, Demand)
    return None if demand.calcium_ratio is None else demand.calcium_ratio.floats("mg/meq")


def test_interval_covers_the_true_ratio():
    covered, shown = 0, 0
    for seed in range(TANKS):
        true = BALANCED_MG_PER_MEQ * Random(seed).uniform(0.85, 1.05)
        span = found(tank(seed, true))
        if span is None:
            continue
        shown += 1
        covered += span.low <= true <= span.high
        assert span.high - span.best <= KNOWN_SHARE * span.best
    print(f"\ncalcium ratio: shown for {shown} of {TANKS} tanks, truth inside for {covered}")
    assert shown >= 0.9 * TANKS
    assert covered >= 0.85 * shown


@pytest.mark.parametrize(("days", "every"), [(12, 4), (110, 60)])
def test_nothing_is_said_from_few_calcium_tests(days, every):
    assert found(tank(1, BALANCED_MG_PER_MEQ, days=days, every=every)) is None


def test_one_wild_calcium_test_hardly_moves_it():
    log = tank(2, BALANCED_MG_PER_MEQ)
    calm = found(log)
    wild = found(log.read(50.05, calcium=560.0))
    assert calm is not None
    assert wild is not None
    assert wild.best == pytest.approx(calm.best, rel=0.02)


@pytest.mark.parametrize(
    ("share", "code"),
    [
        (0.8, Code.CALCIUM_RATIO_LOW),
        (1.0, Code.CALCIUM_RATIO),
        (1.06, Code.CALCIUM_RATIO_HIGH),
    ],
)
def test_a_departure_says_what_it_suggests(share, code):
    demand = tank(3, share * BALANCED_MG_PER_MEQ).decide().demand
    assert isinstance(demand, Demand)
    assert code in {each.code for each in demand.reasons}
