from dataclasses import replace

import pytest

from engine.demand.answer import Demand, NoDemand
from engine.reasons import Code
from engine.records import Delivery, SecondSource, WaterTest
from engine.units import to_float
from tests.support.keeper_log import KeeperLog, dkh, kettle

SATURATED_24C = 40.897  # meq/L, 1.504 x (1 + 0.0074) g/L


def straight(pump: float, per_day_dKH: float, *, days=(12, 9, 6, 3, 0), **setup) -> KeeperLog:
    log = KeeperLog().setup(**setup).pump(60.0, pump)
    for days_ago in days:
        log.test(days_ago, 8.3 - per_day_dKH * (days[0] - days_ago))
    return log


def measured(log: KeeperLog) -> Demand:
    demand = log.decide().demand
    assert isinstance(demand, Demand), demand
    assert demand.source == "tests"
    return demand


def test_without_lime_demand_is_the_fall():
    assert measured(straight(0.0, 0.5)).per_litre_meq.best == pytest.approx(dkh(0.5))


def test_steady_alkalinity_means_that_demand_is_what_is_dosed():
    demand = measured(kettle(5.3))
    assert demand.per_day_meq.best == pytest.approx(5.3 * SATURATED_24C, rel=1e-3)


def test_meq_a_day_of_a_steady_tank_hardly_depends_on_the_volume():
    narrow = measured(kettle(5.3, net_volume_error_share=0.02)).per_day_meq
    wide = measured(kettle(5.3, net_volume_error_share=0.3)).per_day_meq
    assert wide.high - wide.best == pytest.approx(narrow.high - narrow.best, rel=0.02)


def test_meq_a_litre_carries_the_interval_of_the_volume():
    narrow = measured(kettle(5.3, net_volume_error_share=0.02)).per_litre_meq
    wide = measured(kettle(5.3, net_volume_error_share=0.3)).per_litre_meq
    assert wide.high - wide.best > narrow.high - narrow.best + 0.1 * wide.best


def test_pump_that_gives_less_than_set_lowers_the_demand_found():
    whole = measured(straight(5.0, 0.1)).per_day_meq.best
    worn = measured(straight(5.0, 0.1).pump_check(1.0, 100.0, 80.0)).per_day_meq.best
    assert whole - worn == pytest.approx(0.2 * 5.0 * SATURATED_24C, rel=1e-3)


def test_pump_share_goes_straight_from_one_check_to_the_next():
    log = straight(5.0, 0.1).pump_check(12.0, 100.0, 100.0).pump_check(0.0, 100.0, 80.0)
    worn = measured(log).per_day_meq.best
    whole = measured(straight(5.0, 0.1)).per_day_meq.best
    assert worn < whole
    assert whole - worn < 0.2 * 5.0 * SATURATED_24C


def test_second_source_counts():
    log = straight(0.0, 0.0, second_source=SecondSource.TWO_PART, two_part_meq_per_mL=2.0)
    assert measured(log.second(60.0, 100.0)).per_day_meq.best == pytest.approx(100.0)


def test_a_one_off_addition_is_taken_out_of_the_tests():
    # 90 meq into 450 litres lift alkalinity by 0.2 meq/L on day 6.
    log = KeeperLog().setup().pump(60.0, 0.0)
    for days_ago in (12, 9, 6, 3, 0):
        lift = 0.2 if days_ago < 5.0 else 0.0
        log.read(days_ago, total_alkalinity=3.0 - 0.1 * (12 - days_ago) + lift)
    log.addition(5.0, 90.0)
    assert measured(log).per_litre_meq.best == pytest.approx(0.1)


def test_a_water_change_is_taken_out_of_the_tests():
    # 45 of 450 litres at 4.0 into 2.7 meq/L lift alkalinity by 0.13.
    log = KeeperLog().setup().pump(60.0, 0.0)
    for days_ago in (12, 9, 6, 3, 0):
        lift = 0.1 * (4.0 - 2.7) if days_ago < 6.0 else 0.0
        log.read(days_ago, total_alkalinity=3.3 - 0.1 * (12 - days_ago) + lift)
    log.water_change(6.0 - 0.001, 45.0, 4.0)
    assert measured(log).per_litre_meq.best == pytest.approx(0.1, rel=1e-3)


def test_setting_changed_between_the_tests_counts_from_its_hour():
    log = KeeperLog().setup().pump(60.0, 2.0)
    log.test(10.0, 8.3).pump(5.0, 4.0).test(0.0, 8.3)
    assert measured(log).per_day_meq.best == pytest.approx(3.0 * SATURATED_24C, rel=1e-3)


def test_two_tests_a_day_apart_give_no_number():
    demand = straight(0.0, 0.3, days=(1, 0)).decide().demand
    assert isinstance(demand, NoDemand)
    assert demand.reasons[0].code == Code.TESTS_TOO_CLOSE


def test_half_width_over_half_of_the_demand_is_no_number():
    # 0.3 dKH each: 1.645 x 0.3 x 2^0.5 / 6 = 0.116 dKH a day; that the error itself is not known
    # widens it to about 0.15
    assert measured(straight(0.0, 0.33, days=(6, 0)))
    assert isinstance(straight(0.0, 0.24, days=(6, 0)).decide().demand, NoDemand)


def test_two_tests_some_days_apart_give_one():
    assert measured(straight(0.0, 0.5, days=(6, 0))).test_count == 2


def test_more_tests_narrow_the_interval():
    few = measured(straight(0.0, 0.5, days=(12, 0))).per_litre_meq
    many = measured(straight(0.0, 0.5, days=tuple(range(12, -1, -1)))).per_litre_meq
    assert many.high - many.low < few.high - few.low


def test_scatter_beyond_the_tests_error_widens_the_interval():
    calm, wild = straight(0.0, 0.5, days=range(12, -1, -1)), KeeperLog().setup().pump(60.0, 0.0)
    for number, days_ago in enumerate(range(12, -1, -1)):
        wild.test(days_ago, 8.3 - 0.5 * (12 - days_ago) + (0.9 if number % 2 else -0.9))
    narrow, wide = measured(calm).per_litre_meq, measured(wild).per_litre_meq
    assert wide.high - wide.low > 1.5 * (narrow.high - narrow.low)


def test_tests_before_the_first_setting_are_not_used():
    log = straight(0.0, 0.8)
    log.records[1] = replace(log.records[1], at=log.records[-2].at)
    demand = log.decide().demand
    assert isinstance(demand, Demand)
    assert demand.test_count == 2


def test_tests_of_a_season_ago_are_not_used():
    log = KeeperLog().setup(130.0).pump(130.0, 0.0)
    for days_ago in (100, 95, 9, 6, 3, 0):
        log.test(days_ago, 8.0 + 0.4 * (days_ago % 90))
    assert measured(log).test_count == 4


def test_entered_demand_serves_until_tests_do():
    setup = {"entered_demand_meq_per_L_per_day": dkh(1.0)}
    start = KeeperLog().setup(**setup).pump(60.0, 4.0).test(1.0, 8.3).decide().demand
    assert isinstance(start, Demand)
    assert start.source == "entered"
    assert start.per_litre_meq.best == pytest.approx(dkh(1.0))
    assert measured(kettle(5.3, **setup)).per_litre_meq.best == pytest.approx(dkh(1.35), rel=0.01)


def test_entered_demand_that_the_tests_contradict_does_not_serve():
    log = straight(0.0, 0.05, days=(9, 0), entered_demand_meq_per_L_per_day=dkh(4.0))
    demand = log.decide().demand
    assert isinstance(demand, NoDemand)
    assert Code.ENTERED_CONTRADICTED in [reason.code for reason in demand.reasons]


def test_age_is_that_of_the_newest_test():
    log = straight(0.0, 0.5, days=(15, 12, 9, 6, 3))
    assert to_float(measured(log).age, "day") == pytest.approx(3.0)


def test_weak_vessel_found_now_is_not_read_back_over_the_whole_log():
    # Five litres a day held 8.4 dKH for weeks; the vessel failed in the last days.
    log = KeeperLog().setup(net_volume_L=500.0).pump(60.0, 5.0).recharge(32.0, 160.0)
    rows = ((26, 8.4), (23, 8.4), (20, 8.4), (17, 8.4), (14, 8.4), (11, 8.4), (8, 8.4), (5, 8.3))
    for days_ago, value in (*rows, (3, 7.9), (1.5, 7.6), (0.2, 7.3)):
        log.test(days_ago, value)
    log.strength(0.1, 0.36)
    demand = measured(log).per_day_meq
    assert demand.low < 5.0 * SATURATED_24C < demand.high
    assert demand.best == pytest.approx(5.0 * SATURATED_24C, rel=0.1)


def test_where_the_top_off_draws_on_lime_evaporation_is_the_limewater():
    log = KeeperLog().setup(
        delivery=Delivery.TOP_OFF_CONTAINER,
        evaporation_low_L_per_day=4.0,
        evaporation_high_L_per_day=6.0,
    )
    for days_ago in (12, 9, 6, 3, 0):
        log.test(days_ago, 8.3)
    assert measured(log).per_day_meq.best == pytest.approx(5.0 * SATURATED_24C, rel=1e-3)


def test_no_alkalinity_at_all_gives_no_demand():
    log = kettle()
    log.records = [record for record in log.records if not isinstance(record, WaterTest)]
    assert isinstance(log.decide().demand, NoDemand)
