"""A part of the top-off led through the vessel follows evaporation; its litres do not stand."""

import pytest

from engine.reasons import Code
from engine.records import Delivery, DeliverySetting
from tests.engine.test_decision_codes import dkh
from tests.support.keeper_log import KeeperLog


def part(litres: float, of: float | None, *, daily_L: float = 6.0, **setup) -> KeeperLog:
    """Return three weeks of daily refills, a part of the top-off set at their start."""
    log = KeeperLog().setup(
        delivery=Delivery.TOP_OFF_VESSEL,
        entered_demand_meq_per_L_per_day=dkh(1.35),
        evaporation_low_L_per_day=5.5,
        evaporation_high_L_per_day=6.5,
        **setup,
    )
    log.add(DeliverySetting, 25.0, limewater_L_per_day=litres, top_off_L_per_day=of)
    for days_ago in range(21, -1, -1):
        log.refill(days_ago + 0.1, daily_L)
    return log.test(1.0, 8.3)


@pytest.mark.parametrize("daily_L", [3.0, 6.0, 9.0])
def test_half_of_the_top_off_is_half_of_what_evaporates(daily_L: float):
    setting = part(3.0, 6.0, daily_L=daily_L).decide().setting
    assert setting.delivered.m_as("L/day") == pytest.approx(0.5 * daily_L, rel=0.02)


def test_what_was_typed_as_litres_stays_litres():
    setting = part(3.0, None, daily_L=9.0).decide().setting
    assert setting.delivered.m_as("L/day") == pytest.approx(3.0)


def test_more_than_all_of_the_top_off_cannot_run_through():
    setting = part(8.0, 6.0).decide().setting
    assert setting.delivered.m_as("L/day") == pytest.approx(6.0, rel=0.02)


def test_the_plan_sees_the_part_that_is_led_past():
    """The same plan: with all of it through, part must go past; with the right part, nothing."""
    whole = part(6.0, 6.0).decide()
    assert whole.change.code is Code.PAST_THE_VESSEL
    numbers = next(r.numbers for r in whole.change.reasons if r.code is Code.PAST_THE_VESSEL)
    hours = numbers["through_hours"]
    assert hours <= 24.0 * numbers["admitted_L_per_day"] / numbers["evaporation_high_L_per_day"]
    right = part(6.0 * hours / 24.0, 6.0).decide()
    assert right.change.code is Code.TOP_OFF_RIGHT


def test_too_small_a_part_is_told_to_grow():
    """The new vessel's first stage is not called the right amount."""
    found = part(1.0, 6.0).decide().change
    assert found.code is Code.PAST_THE_VESSEL
    numbers = next(r.numbers for r in found.reasons if r.code is Code.PAST_THE_VESSEL)
    assert numbers["through_hours"] > 24.0 * 1.0 / 6.0
