"""Invented keepers for the demand filter: a true tank, and the log that its keeper would have.

Truth is simulated in small steps, not by the filter's own equations: demand wanders, follows
alkalinity, swings with the day; tests scatter, are missed and now and then go wrong; volume,
strength and pump are not what the keeper believes. Every system has its own seed.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from random import Random

from engine.records import Delivery, SecondSource
from engine.vocabulary import MEQ_PER_DKH
from tests.support.keeper_log import NOW, KeeperLog, dkh

STEPS_A_DAY = 8
SATURATED = 40.897  # meq/L at 24 degC


@dataclass(frozen=True, kw_only=True)
class Truth:
    """What only the simulation knows."""

    demand_meq_per_L_per_day: float  # at the end
    test_error_meq_per_L: float
    wander_share: float  # of the demand, for the root of a day
    level_at_last_test_meq_per_L: float
    tests: tuple[float, ...]  # days ago


@dataclass(frozen=True, kw_only=True)
class Keeper:
    """A log and the truth behind it."""

    log: KeeperLog
    truth: Truth


def simulate(
    seed: int,
    *,
    days: float = 70.0,
    demand_dKH: tuple[float, float] = (0.4, 3.5),
    tests_a_week: float | None = None,
    outlier_share: float = 0.02,
    wrong_inputs: bool = True,
    lime_only: bool = False,
    step: Callable[[float], float] = lambda days_ago: 1.0,
) -> Keeper:
    """Return one invented keeper.

    Parameters
    ----------
    seed : int
        Decides everything.
    days : float
        Length of the log.
    demand_dKH : tuple of float
        Range of the demand at the start, dKH a day.
    tests_a_week : float, optional
        By default one to seven.
    outlier_share : float
        Share of the tests that go wrong by 1 to 3 dKH.
    wrong_inputs : bool
        Whether volume, strength and pump differ from what the keeper believes.
    lime_only : bool
        Whether limewater covers all, so that the plan follows the demand and no cap holds it.
    step : callable
        Factor on demand by days ago.
    """
    rng = Random(seed)
    volume = rng.uniform(100.0, 1500.0)
    base = rng.uniform(*demand_dKH) * MEQ_PER_DKH
    error = dkh(rng.choice((0.15, 0.2, 0.25, 0.3, 0.4)))
    wander = rng.choice((0.0, 0.01, 0.02, 0.03))
    a_week = tests_a_week or rng.uniform(1.5, 7.0)
    off = (lambda share: 1.0 + rng.gauss(0.0, share / 1.645)) if wrong_inputs else (lambda _: 1.0)
    true_volume, true_strength, true_pump = volume * off(0.10), off(0.11), off(0.03)
    log = KeeperLog().setup(
        days,
        net_volume_L=volume,
        delivery=Delivery.PUMP_VESSEL,
        second_source=SecondSource.TWO_PART,
        two_part_meq_per_mL=2.0,
        evaporation_low_L_per_day=volume * (0.08 if lime_only else 0.02),
        evaporation_high_L_per_day=volume * (0.08 if lime_only else 0.02),
        keeper_cap_L_per_day=volume * 0.08,
        vessel_L=None,
    )
    lime_L = min(volume * 0.012, 0.6 * base * volume / SATURATED)
    if lime_only:
        lime_L = base * volume / SATURATED
    second = base * volume - lime_L * SATURATED
    log.pump(days, lime_L).second(days, second).pump_check(days, 100.0, 100.0)
    level, demand = dkh(rng.uniform(7.8, 8.8)), base
    next_test = days - 0.01 - rng.uniform(0.0, 1.0)
    tested: list[float] = []
    tested_level = level
    dt = 1.0 / STEPS_A_DAY
    for number in range(int(days * STEPS_A_DAY)):
        days_ago = days - number * dt
        demand *= 1.0 + rng.gauss(0.0, wander * dt**0.5)
        given = (lime_L * SATURATED * true_strength * true_pump + second) / true_volume
        level += (given - demand * step(days_ago)) * dt
        if days_ago - dt < next_test <= days_ago and next_test > 0.05:
            value = level + rng.gauss(0.0, error)
            if rng.random() < outlier_share and len(tested) > 2:
                value += rng.choice((-1.0, 1.0)) * dkh(rng.uniform(1.0, 3.0))
            if rng.random() > 0.1:  # a test in ten is missed
                log.read(next_test, total_alkalinity=max(0.3, value))
                tested.append(next_test)
                tested_level = level
            gap = 7.0 / a_week
            next_test -= gap if tests_a_week else gap * rng.uniform(0.6, 1.4)
        # the keeper sees to it that alkalinity does not run away
        if number % (7 * STEPS_A_DAY) == 0 and abs(level - dkh(8.3)) > dkh(0.8):
            second = max(0.0, second + (dkh(8.3) - level) / 7.0 * volume)
            log.second(days_ago, second)
    return Keeper(
        log=log,
        truth=Truth(
            demand_meq_per_L_per_day=demand * step(0.0),
            test_error_meq_per_L=error,
            wander_share=wander,
            level_at_last_test_meq_per_L=tested_level,
            tests=tuple(tested),
        ),
    )


def moved_to(log: KeeperLog, days_ago: float) -> KeeperLog:
    """Return the log as its keeper had it some days ago."""
    earlier = KeeperLog(NOW - timedelta(days=days_ago))
    earlier.records = [record for record in log.records if record.at <= earlier.now]
    return earlier
