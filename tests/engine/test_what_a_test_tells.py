"""What a test is worth: the hour, the time since something was added, the bottle it came from."""

import pytest

from engine.decision import Decision
from engine.demand.answer import Demand
from engine.plan.evaporation import Evaporation
from engine.plan.happenings import EVAPORATION_JUMPS
from engine.records import Container
from engine.units import to_float
from tests.support.keeper_log import KeeperLog, dkh, kettle

# A stony-coral tank takes 0.5 to 4 dKH a day, a quiet one the low end (common practice, no source).
USUAL_DEMANDS_DKH = (0.5, 1.0, 2.0, 3.0, 4.0)


def demand_of(decision: Decision) -> Demand:
    assert isinstance(decision.demand, Demand), decision.demand
    return decision.demand


def best_dKH(log: KeeperLog) -> float:
    return demand_of(log.decide()).per_litre_meq.best / dkh(1.0)


def level_dKH(log: KeeperLog) -> float:
    return demand_of(log.decide()).level.best / dkh(1.0)


@pytest.mark.parametrize("demand_dKH", USUAL_DEMANDS_DKH)
def test_the_demand_of_every_usual_tank_is_found(demand_dKH):
    pump = demand_dKH * dkh(1.0) * 450.0 / 40.897
    log = KeeperLog().setup(keeper_cap_L_per_day=40.0).pump(60.0, pump)
    for number, days_ago in enumerate((12, 10, 8, 6, 4, 2, 0.3)):
        log.test(days_ago, 8.3 + (0.1 if number % 2 else -0.1))
    assert best_dKH(log) == pytest.approx(demand_dKH, abs=0.1)
    assert demand_of(log.decide()).suspects == ()


# --- the hour: by day alkalinity swings by a quarter of what is taken


def eats_a_lot() -> KeeperLog:
    """Return a tank that takes 3 dKH a day, tested every morning at eight."""
    log = KeeperLog().setup(keeper_cap_L_per_day=20.0, evaporation_low_L_per_day=20.0)
    log.pump(60.0, dkh(3.0) * 450.0 / 40.897)
    for days_ago in range(14, 0, -1):
        log.test(float(days_ago), 8.3 + (0.1 if days_ago % 2 else -0.1))
    return log


def test_a_test_at_another_hour_says_less():
    calm = level_dKH(eats_a_lot())
    morning = level_dKH(eats_a_lot().test(0.0, 8.1)) - calm
    evening = level_dKH(eats_a_lot().test(0.5, 8.1)) - calm
    assert morning < 0.0
    assert 0.0 < -evening < 0.8 * -morning


def test_an_hour_more_or_less_makes_no_difference():
    log, later = eats_a_lot(), eats_a_lot()
    log.test(1.0 / 24.0, 8.1)
    later.test(0.5 / 24.0, 8.1)
    assert level_dKH(log) == pytest.approx(level_dKH(later), abs=0.01)


# --- mixing: what was added has not spread yet


def steady() -> KeeperLog:
    """Return a tank at 8.3 dKH whose tests scatter by 0.2, the last one three days ago."""
    log = KeeperLog().setup().pump(60.0, 5.3)
    for number, days_ago in enumerate((21, 18, 15, 12, 9, 6, 3)):
        log.test(days_ago, 8.3 + (0.2 if number % 2 else -0.2))
    return log


def now_dKH(log: KeeperLog) -> float:
    decision = log.decide()
    assert demand_of(decision).suspects == ()
    assert decision.alkalinity is not None
    return decision.alkalinity.span.best / dkh(1.0)


def after_an_addition(hours: float) -> KeeperLog:
    """Return a tank that got 0.8 dKH at once and is tested so long after it, half of it seen."""
    return steady().addition(hours / 24.0, 450.0 * dkh(0.8)).test(0.0, 8.7)


def test_a_test_soon_after_an_addition_says_less():
    soon, mixed = now_dKH(after_an_addition(0.5)), now_dKH(after_an_addition(13.0))
    assert 8.7 < mixed < soon - 0.05
    assert soon < 9.1 + 0.1


def after_a_water_change(hours: float) -> KeeperLog:
    """Return the same after a third of the water was changed for one of 11 dKH: 9.2 dKH."""
    return steady().water_change(hours / 24.0, 150.0, new=dkh(11.0)).test(0.0, 8.8)


def test_a_test_soon_after_a_water_change_says_less():
    soon, mixed = now_dKH(after_a_water_change(0.5)), now_dKH(after_a_water_change(7.0))
    assert 8.8 < mixed < soon - 0.03
    assert soon < 9.2 + 0.1


# --- the bottle: a new one reads with an offset of its own, which is no demand


def second_bottle(offset_dKH: float, *, told: bool) -> KeeperLog:
    """Return a steady tank whose last ten daily tests are from a bottle that reads otherwise."""
    log = KeeperLog().setup(100.0).pump(100.0, 5.3)
    for day in range(30, -1, -1):
        new = day < 10
        value = 8.3 + (offset_dKH if new else 0.0) + (0.1 if day % 2 else -0.1)
        log.read(day + 0.2, lot="B" if new and told else "A", total_alkalinity=dkh(value))
    return log


@pytest.mark.parametrize("offset_dKH", [-0.4, 0.4])
def test_the_bias_of_a_new_bottle_is_not_taken_for_demand(offset_dKH):
    steady = best_dKH(second_bottle(0.0, told=True))
    told = best_dKH(second_bottle(offset_dKH, told=True))
    untold = best_dKH(second_bottle(offset_dKH, told=False))
    assert abs(told - steady) < 0.04
    assert abs(told - steady) < 0.7 * abs(untold - steady)


# --- covers, fans, heating, windows: what evaporates changes at once


@pytest.mark.parametrize("what", sorted(EVAPORATION_JUMPS))
def test_what_changes_evaporation_ends_the_old_measurement_at_once(what):
    def evaporated(*, changed: bool) -> tuple[float, float]:
        log = kettle(evaporation_low_L_per_day=3.0, evaporation_high_L_per_day=9.0)
        for back in range(28, -1, -2):
            log.refill(back + 0.1, 13.0, container=Container.FRESH_WATER)
        if changed:
            log.happened(0.05, what)
        found = log.decide().evaporation
        assert isinstance(found, Evaporation)
        return to_float(found.low, "L/day"), to_float(found.high, "L/day")

    assert evaporated(changed=False)[0] > 5.0
    assert evaporated(changed=True) == pytest.approx((3.0, 9.0))
