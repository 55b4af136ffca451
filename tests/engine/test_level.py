"""Where alkalinity stands now: the level at the test and what was really given since."""

import pytest

from engine.decision import Decision
from engine.plan.stop_safe import StopSafe
from engine.reasons import Code, Reason
from tests.support.keeper_log import KeeperLog, dkh


def last_tested(days_ago: float, level_dKH: float = 8.3) -> KeeperLog:
    """Return a steady tank on 5.3 L a day whose newest test is so old."""
    log = KeeperLog().setup().pump(60.0, 5.3)
    for more in (18.0, 15.0, 12.0, 9.0, 6.0, 3.0, 0.0):
        log.test(days_ago + more, level_dKH)
    return log


def level_dKH(decision: Decision) -> float:
    assert decision.alkalinity is not None
    assert decision.alkalinity.expected is not None
    return decision.alkalinity.expected.floats("meq/L").best / dkh(1.0)


def test_a_pump_stopped_minutes_ago_has_not_emptied_the_tank():
    decision = last_tested(6.0).pump(0.003, 0.0).decide()
    assert level_dKH(decision) == pytest.approx(8.3, abs=0.05)
    assert isinstance(decision.stop_safe, StopSafe)
    assert decision.stop_safe.reasons[0].code != Code.STOP_SAFE_BELOW_FLOOR


def test_a_pump_stopped_two_days_ago_has_let_alkalinity_fall_for_two_days():
    # 5.3 L x 40.9 meq/L in 450 L: 1.35 dKH a day
    decision = last_tested(6.0).pump(2.0, 0.0).decide()
    assert level_dKH(decision) == pytest.approx(8.3 - 2.0 * 1.35, abs=0.1)


def test_a_pump_raised_minutes_ago_has_lifted_nothing():
    assert level_dKH(last_tested(6.0).pump(0.003, 6.0).decide()) == pytest.approx(8.3, abs=0.05)


def test_salt_added_since_the_test_is_in_the_level_expected_now():
    log = last_tested(0.5, 7.3).addition(0.2, 450.0 * dkh(1.0))
    assert level_dKH(log.decide()) == pytest.approx(8.3, abs=0.1)


def test_a_water_change_since_the_test_is_in_the_level_expected_now():
    log = last_tested(0.5).water_change(0.2, 225.0, dkh(11.0))
    assert level_dKH(log.decide()) == pytest.approx((8.3 + 11.0) / 2.0, abs=0.1)


def test_nothing_is_expected_from_a_test_older_than_two_weeks():
    fresh, stale = last_tested(13.9).decide(), last_tested(14.1).decide()
    assert fresh.alkalinity is not None
    assert fresh.alkalinity.expected is not None
    assert isinstance(fresh.stop_safe, StopSafe)
    assert stale.alkalinity is not None
    assert stale.alkalinity.expected is None
    assert isinstance(stale.stop_safe, Reason)
    assert stale.stop_safe.code == Code.STOP_SAFE_UNKNOWN


def test_tests_minutes_apart_say_nothing_of_how_long_the_tank_can_wait():
    log = KeeperLog().setup().pump(60.0, 5.3).test(0.02, 8.3).test(0.01, 7.9)
    found = log.decide().stop_safe
    assert isinstance(found, Reason)
    assert found.code == Code.STOP_SAFE_UNKNOWN
