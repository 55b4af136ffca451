"""A slip of the point in an amount is asked about at entry."""

import pytest

from engine.entry.expected_amounts import expected_amount
from engine.entry.fields import Amount, DoubtfulAmount, read_amount
from engine.records import Delivery, SecondSource, Setup
from tests.support.keeper_log import NOW, KeeperLog, dkh, kettle


def expected(field: str, log: KeeperLog, beside: float | None = None):
    setup = log.records[0]
    assert isinstance(setup, Setup)
    return expected_amount(field, standing=log.records, setup=setup, now=NOW, beside=beside)


def refilled(*volumes_L: float, every: float = 2.0, until: float = 2.0, **setup) -> KeeperLog:
    log = kettle(**setup)
    for number, volume in enumerate(volumes_L):
        log.refill(until + every * (len(volumes_L) - 1 - number), volume)
    return log


def test_refill_larger_than_the_container_is_asked_about():
    assert expected("refill.volume_L", kettle()) == (0.0, 25.0)
    bounds = expected("refill.volume_L", kettle())
    assert isinstance(read_amount("refill.volume_L", "130", "L", expected=bounds), DoubtfulAmount)
    assert isinstance(read_amount("refill.volume_L", "13", "L", expected=bounds), Amount)


def test_refill_is_held_against_the_mean_of_the_week_and_the_days_since():
    log = refilled(13.0, 13.0, 13.0, 13.0, 13.0, fresh_water_container_L=60.0)
    assert expected("refill.volume_L", log) == pytest.approx((0.6 * 13.0, 1.4 * 13.0))
    late = refilled(13.0, 13.0, 13.0, 13.0, 13.0, until=4.0, fresh_water_container_L=60.0)
    assert expected("refill.volume_L", late) == pytest.approx((0.6 * 26.0, 1.4 * 26.0))


def test_an_earlier_slip_that_was_kept_does_not_widen_what_is_expected():
    log = refilled(13.0, 13.0, 130.0, 13.0, 13.0, fresh_water_container_L=200.0)
    bounds = expected("refill.volume_L", log)
    assert bounds is not None
    assert bounds[1] < 25.0


def test_too_few_refills_leave_the_container_alone_to_judge_by():
    assert expected("refill.volume_L", refilled(13.0, 13.0)) == (0.0, 25.0)
    assert expected("refill.volume_L", refilled(13.0, fresh_water_container_L=None)) is None


def test_water_change_larger_than_the_tank_is_asked_about():
    assert expected("water_change.volume_L", kettle()) == (0.0, 450.0)


def test_pump_run_is_held_against_what_was_to_come():
    bounds = expected("pump_check.run_1_mL", kettle(), beside=100.0)
    assert bounds == pytest.approx((50.0, 130.0))
    assert expected("pump_check.measured_mL", kettle()) is None


def test_recharge_is_held_against_the_vessels_largest_charge():
    assert expected("recharge.powder_g", kettle()) == pytest.approx((0.0, 150.0))


def test_mix_of_a_lime_container_is_held_against_what_saturates_it():
    log = kettle(delivery=Delivery.PUMP_CONTAINER, lime_container_L=20.0)
    bounds = expected("recharge.powder_g", log)
    assert bounds is not None
    # 20 L at 1.515 g/L, a fifth in reserve, 95 % lime, and a tenth more
    assert bounds[1] == pytest.approx(20.0 * 1.515 * 1.2 / 0.95 * 1.1, rel=0.01)


def test_amounts_without_an_expectation_are_not_asked_about():
    assert expected("powder_stock.powder_g", kettle()) is None


TWO_PART = {"second_source": SecondSource.TWO_PART, "two_part_meq_per_mL": 2.0}
REACTOR = {"second_source": SecondSource.REACTOR, "reactor_effluent_meq_per_L": dkh(35.0)}
MOST_MEQ = dkh(5.0) * 450.0  # what a heavy tank takes in a day; common practice, no source


def test_millilitres_of_a_two_part_are_held_against_what_a_tank_can_take():
    field = "second_source_setting.two_part_mL_per_day"
    bounds = expected(field, kettle(**TWO_PART))
    assert bounds == pytest.approx((0.0, MOST_MEQ / 2.0))
    assert isinstance(read_amount(field, "420", "mL a day", expected=bounds), DoubtfulAmount)
    assert isinstance(read_amount(field, "42", "mL a day", expected=bounds), Amount)


def test_more_than_twice_the_last_two_part_is_asked_about_and_none_is_not():
    log = kettle(**TWO_PART).second(5.0, 80.0)
    assert expected("second_source_setting.two_part_mL_per_day", log) == pytest.approx((0.0, 80.0))


def test_flow_of_a_reactor_is_held_against_what_a_tank_can_take_by_its_gain():
    field = "second_source_setting.flow_L_per_day"
    log = kettle(**REACTOR)
    assert expected(field, log) == pytest.approx((0.0, MOST_MEQ / (dkh(35.0) - dkh(8.3))))
    unknown = kettle(second_source=SecondSource.REACTOR)
    assert expected(field, unknown) is None, "nothing tells what its water brings"


def test_effluent_is_held_against_the_one_in_setup():
    field = "second_source_setting.effluent_meq_per_L"
    assert expected(field, kettle(**REACTOR)) == pytest.approx((0.6 * dkh(35.0), 1.6 * dkh(35.0)))
    assert expected(field, kettle(second_source=SecondSource.REACTOR)) is None
