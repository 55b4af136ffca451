from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from math import log

import pytest

from engine.decision import Decision, decide
from engine.limits import DosePlan, Refusal
from engine.plan.stop_safe import StopSafe
from engine.reasons import Code, Reason
from engine.records import (
    Amendment,
    Delivery,
    SecondSource,
    StrengthMethod,
    WaterTest,
)
from engine.units import to_float
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, dkh, kettle


def fell_to(value_dKH: float, **setup) -> KeeperLog:
    """Return a log of 0.2 dKH a day falling on 5.3 L a day, ending at a value."""
    log = KeeperLog().setup(**setup).pump(60.0, 5.3)
    for days_ago in (12.0, 9.0, 6.0, 3.0, 0.1):
        log.test(days_ago, value_dKH + 0.2 * (days_ago - 0.1))
    return log


def setting(log: KeeperLog):
    found = log.decide().setting
    assert found is not None
    return found


def stop(log: KeeperLog) -> StopSafe:
    found = log.decide().stop_safe
    assert isinstance(found, StopSafe)
    return found


# --- the log


def test_another_system_is_another_matter():
    other = KeeperLog(system="other").setup(net_volume_L=100.0)
    decision = decide([*kettle().records, *other.records], system=SYSTEM, now=NOW)
    assert decision == kettle().decide()


def test_no_setup_no_number():
    decision = decide([], system=SYSTEM, now=NOW)
    assert isinstance(decision.plan, Refusal)
    assert decision.change.code is Code.HOLD


def test_an_amended_test_counts_as_amended():
    log = kettle()
    wrong = log.records[-1]
    assert isinstance(wrong, WaterTest)
    reading = replace(wrong.readings[0], value=dkh(9.9))
    log.records[-1] = replace(wrong, readings=(reading,))
    spoilt = log.decide()
    log.records.append(
        Amendment(
            id="bench:fix",
            at=NOW,
            recorded_at=NOW,
            system=SYSTEM,
            supersedes=wrong.id,
            replacement=wrong,
        )
    )
    assert log.decide().demand == kettle().decide().demand != spoilt.demand


def test_future_tests_are_left_out_and_said():
    log = kettle()
    ahead = replace(log.records[-1], id="x", at=NOW + timedelta(days=1), recorded_at=NOW)
    log.records.append(ahead)
    decision = log.decide()
    assert decision.demand == kettle().decide().demand
    assert [reason.code for reason in decision.reasons] == [Code.FUTURE_RECORDS]


def test_a_clock_behind_the_log_gives_no_number_until_it_is_set_right():
    log = kettle()
    assert isinstance(log.decide().plan, DosePlan)
    early = decide(log.records, system=SYSTEM, now=NOW - timedelta(days=2))
    assert isinstance(early.plan, Refusal)
    assert early.plan.code is Code.CLOCK_BEHIND_LOG


def test_zone_of_the_phone_changes_nothing():
    there = NOW.astimezone(timezone(timedelta(hours=-7)))
    assert decide(kettle().records, system=SYSTEM, now=there).plan == kettle().decide().plan


# --- strength


def test_strength_is_assumed_saturated_at_the_temperature_of_the_lime():
    lime = kettle(lime_temperature_degC=10.0).decide().limewater
    assert lime is not None
    assert lime.source == "assumed"
    assert lime.strength.floats("meq/L").best == pytest.approx(44.88, rel=1e-3)


def test_a_recharge_ends_a_measured_strength():
    lime = kettle().strength(3.0, 0.5).recharge(2.0, 125.0).decide().limewater
    assert lime is not None
    assert lime.source == "assumed"


def test_titration_does_not_carry_the_error_of_the_solubility_table():
    def width(method: StrengthMethod) -> float:
        lime = kettle().strength(2.0, 0.97, method).decide().limewater
        assert lime is not None
        low, _, high = lime.strength.floats("meq/L")
        return high - low

    assert width(StrengthMethod.TITRATION) < width(StrengthMethod.CONDUCTIVITY)


def test_weak_lime_never_turns_the_pump_up():
    for share in (0.1, 0.36, 0.6, 0.85):
        change = fell_to(7.6).strength(0.05, share).decide().change
        assert change.code is Code.RECHARGE_FIRST
        assert change.setting is not None
        assert to_float(change.setting, "L/day") <= 5.3


def test_lime_that_grew_weak_is_renewed_and_the_pump_stays():
    for share in (0.36, 0.6, 0.85):
        change = fell_to(7.6).strength(40.0, 0.97).strength(0.05, share).decide().change
        assert [r.code for r in change.reasons] == [Code.RECHARGE_FIRST, Code.WEAK_SHORT]
        assert change.setting is not None
        assert to_float(change.setting, "L/day") == 5.3


def weak_but_level(**setup) -> KeeperLog:
    """Return a log of lime at 30 % of its strength that holds alkalinity level all the same."""
    return kettle(4.0, **setup).strength(0.05, 0.3)


def test_weak_lime_that_holds_alkalinity_is_lowered_before_it_is_renewed():
    log = weak_but_level()
    decision = log.decide()
    change = decision.change
    assert change.code is Code.RECHARGE_FIRST
    assert isinstance(decision.plan, DosePlan)
    assert change.setting is not None
    assert to_float(change.setting, "L/day") == decision.plan.L_per_day < 1.5
    assert [r.code for r in change.reasons] == [Code.LOWER_THEN_RECHARGE, Code.WEAK_TOO_MUCH]
    renewed = log.pump(0.04, decision.plan.L_per_day).recharge(0.02, 30.0).decide()
    assert renewed.change.code is Code.NOTHING_TO_DO


def test_a_tank_that_holds_its_alkalinity_is_not_told_that_it_misses_any():
    told = [r.code for r in weak_but_level().pump(0.03, 1.2).decide().change.reasons]
    assert told == [Code.RECHARGE_FIRST, Code.WEAK_SHORT]  # lowered: now it does
    aim = dkh(9.0)
    level = kettle(4.0, target_total_alkalinity_meq_per_L=aim).strength(0.05, 0.895).decide()
    assert [r.code for r in level.change.reasons] == [Code.RECHARGE_FIRST, Code.WEAK_RECHARGE]


def test_weak_lime_above_a_cap_is_still_lowered():
    log = fell_to(7.6, evaporation_low_L_per_day=4.0).strength(0.05, 0.4)
    assert log.decide().change.code is Code.LOWER_PUMP


# --- what is set now


def test_more_than_evaporates_lowers_salinity():
    # 35 x 1.7 / 450 = 0.132 a day (practice, scenario 3)
    found = setting(kettle(evaporation_low_L_per_day=3.6, evaporation_high_L_per_day=4.6))
    assert found.salinity_change is not None
    assert found.salinity_change.floats("PSU/day").low == pytest.approx(-0.132, abs=5e-4)
    assert [cap.code for cap in found.over] == [Code.CAP_EVAPORATION]


def test_recorded_salinity_is_used():
    log = kettle(evaporation_low_L_per_day=3.6).read(1.0, salinity=30.0)
    change = setting(log).salinity_change
    assert change is not None
    assert change.floats("PSU/day").low == pytest.approx(-30.0 * 1.7 / 450.0)


def test_salinity_holds_where_the_top_off_makes_up_the_rest():
    change = setting(kettle()).salinity_change
    assert change is not None
    assert change.floats("PSU/day") == (0.0, 0.0, 0.0)


def test_setting_counts_what_the_pump_really_gives():
    found = setting(kettle(6.0).pump_check(1.0, 83.0, 71.0, 70.2, 71.5))
    assert to_float(found.limewater_set, "L/day") == 6.0
    assert to_float(found.delivered, "L/day") == pytest.approx(5.125, abs=1e-3)


def test_net_change_of_the_setting_is_the_slope_of_the_tests():
    net = setting(fell_to(7.8)).net_change
    assert net is not None
    assert net.floats("meq/L/day").best == pytest.approx(-dkh(0.2))


def test_net_change_moves_with_a_setting_changed_since():
    log = fell_to(7.8).pump(0.05, 7.3)
    net = setting(log).net_change
    assert net is not None
    assert net.floats("meq/L/day").best == pytest.approx(-dkh(0.2) + 2.0 * 40.897 / 450.0, rel=0.05)


def test_what_stopped_animals_would_mean():
    found = setting(kettle())
    assert to_float(found.rise_if_stopped, "meq/L/day") == pytest.approx(
        5.3 * 40.897 * 1.10 / 405.0, rel=1e-3
    )


def test_no_recorded_setting_has_no_consequence():
    assert KeeperLog().setup().test(1.0, 8.3).decide().setting is None


# --- the rest


def test_two_part_in_millilitres_of_each_part():
    log = kettle(
        second_source=SecondSource.TWO_PART,
        two_part_meq_per_mL=2.0,
        evaporation_low_L_per_day=4.0,
    ).second(59.0, 0.0)
    left = log.decide().remainder
    assert left is not None
    assert left.two_part is not None
    meq = left.alkalinity.floats("meq/day").best
    assert left.two_part.floats("mL/day").best == pytest.approx(meq / 2.0)
    # both sources together give what is needed
    plan = log.decide().plan
    assert isinstance(plan, DosePlan)
    assert plan.L_per_day * 40.897 + meq == pytest.approx(5.3 * 40.897, rel=1e-3)


def test_reactor_is_credited_only_for_what_it_adds_to_the_tank():
    log = kettle(
        second_source=SecondSource.REACTOR,
        reactor_effluent_meq_per_L=dkh(35.0),
        evaporation_low_L_per_day=4.0,
    ).second(59.0, 0.0)
    left = log.decide().remainder
    assert left is not None
    assert left.effluent is not None
    meq = left.alkalinity.floats("meq/day").best
    assert left.effluent.floats("L/day").best == pytest.approx(meq / dkh(35.0 - 8.3), rel=1e-3)


def test_second_source_is_not_raised_past_the_daily_rise():
    log = kettle(
        second_source=SecondSource.TWO_PART,
        two_part_meq_per_mL=2.0,
        evaporation_low_L_per_day=4.0,
        target_total_alkalinity_meq_per_L=dkh(12.0),
    ).second(59.0, 0.0)
    decision = log.decide()
    plan, left = decision.plan, decision.remainder
    assert isinstance(plan, DosePlan)
    assert left is not None
    given = plan.L_per_day * 40.897 + left.alkalinity.floats("meq/day").high
    assert given - 5.3 * 40.897 <= dkh(0.3) * 450.0


def test_second_source_is_not_raised_past_what_stopped_animals_could_bear():
    log = kettle(
        second_source=SecondSource.TWO_PART,
        two_part_meq_per_mL=2.0,
        keeper_cap_L_per_day=2.0,
        stopped_rise_meq_per_L_per_day=dkh(1.2),
    ).second(59.0, 0.0)
    decision = log.decide()
    plan, left = decision.plan, decision.remainder
    assert isinstance(plan, DosePlan)
    assert left is not None
    # limewater counts at its strongest: a tenth above the solubility curve
    both = plan.L_per_day * 40.897 * 1.10 + left.alkalinity.floats("meq/day").high
    assert both == pytest.approx(dkh(1.2) * 405.0, rel=1e-3)


def test_without_a_second_source_the_days_are_told():
    left = kettle(evaporation_low_L_per_day=4.0).decide().remainder
    assert left is not None
    assert left.days_to_band_low is not None
    # 5.3 - 3.6 L short of 40.9 meq in 450 L: 0.154 meq/L a day at first, from 8.3 to 7.5 dKH;
    # with 15 % less demand for each dKH it comes to rest 2.14 dKH lower
    drop = (1.7 / 5.3) / 0.15
    expected = -dkh(drop) / (1.7 * 40.897 / 450.0) * log(1.0 - 0.8 / drop)
    assert left.days_to_band_low.floats("day").best == pytest.approx(expected, rel=0.02)
    assert left.settles is not None
    assert left.settles.floats("meq/L").best == pytest.approx(dkh(8.3 - drop), rel=0.01)


def test_reactor_of_a_fixed_flow_gets_its_alkalinity_told():
    log = kettle(
        second_source=SecondSource.REACTOR,
        reactor_flow_L_per_day=20.0,
        evaporation_low_L_per_day=4.0,
    ).second(59.0, 0.0)
    left = log.decide().remainder
    assert left is not None
    assert left.effluent is None
    assert left.effluent_alkalinity is not None
    meq = left.alkalinity.floats("meq/day").best
    # what 20 litres a day must bring beyond the tank's own 8.3 dKH
    needed = left.effluent_alkalinity.floats("meq/L").best
    assert needed == pytest.approx(dkh(8.3) + meq / 20.0, rel=1e-3)


# --- stopping


def test_stop_safe_days_are_distance_over_what_lime_covers():
    to_floor = stop(kettle()).to_floor.floats("day")
    assert to_floor.best == pytest.approx(1.8 / 1.35, rel=0.01)
    assert to_floor.low < 1.34 < to_floor.high


def test_second_source_keeps_the_tank_longer():
    log = kettle(second_source=SecondSource.TWO_PART, two_part_meq_per_mL=2.0).second(59.0, 200.0)
    found = stop(log)
    assert found.second_source_runs
    assert found.to_floor.floats("day").best == pytest.approx(1.8 / 1.35, rel=0.01)


def test_stop_safe_stands_beside_a_refusal():
    log = kettle(keeper_cap_L_per_day=None)
    assert isinstance(log.decide().plan, Refusal)
    assert stop(log).to_floor.floats("day").best > 1.0


def test_below_the_floor_there_are_no_days_left():
    assert stop(fell_to(6.0)).to_floor.floats("day") == (0.0, 0.0, 0.0)


# --- the one change


def test_steady_and_right_is_nothing_to_do():
    change = kettle().decide().change
    assert change.code is Code.NOTHING_TO_DO
    assert change.reasons == (
        Reason(Code.NOTHING_TO_DO, {"setting_L_per_day": 5.3, "was_L_per_day": 5.3}),
    )


def start(pump: float, demand_dKH: float) -> KeeperLog:
    log = KeeperLog().setup(entered_demand_meq_per_L_per_day=dkh(demand_dKH))
    return log.pump(9.0, pump).test(1.0, 8.3)


def test_at_the_start_what_holds_steady_is_left_alone():
    assert start(5.3, 1.35).decide().change.code is Code.NOTHING_TO_DO


def test_at_the_start_an_entered_demand_alone_is_met_with_care():
    # 0.8 of 1.35 dKH and the limit of 0.3 a day, in 405 L, at 45 meq/L
    plan = start(4.0, 1.35).decide().plan
    assert isinstance(plan, DosePlan)
    assert plan.L_per_day <= (dkh(0.8 * 1.35 + 0.3)) * 405.0 / 44.98
    assert plan.binding[0] is Code.CAP_NET_RISE


def test_too_little_is_raised_by_at_most_fifteen_percent():
    change = fell_to(7.4).decide().change
    assert change.code is Code.RAISE_PUMP
    assert change.setting is not None
    assert 5.3 < to_float(change.setting, "L/day") <= 5.3 * 1.15


def test_pump_that_gives_too_much_is_set_lower_for_it():
    log = kettle(5.3, target_total_alkalinity_meq_per_L=dkh(7.0)).pump_check(1.0, 100.0, 125.0)
    change = log.decide().change
    plan = log.decide().plan
    assert isinstance(plan, DosePlan)
    assert change.setting is not None
    assert to_float(change.setting, "L/day") * 1.25 <= plan.L_per_day + 1e-9


def test_worn_pump_keeps_its_setting():
    log = fell_to(7.8).pump_check(0.1, 100.0, 85.5)
    assert log.decide().change.code is Code.NEW_TUBE_FIRST


def two_part_and(pump: float, second: float, keeper_cap: float) -> KeeperLog:
    log = kettle(
        pump,
        second_source=SecondSource.TWO_PART,
        two_part_meq_per_mL=2.0,
        keeper_cap_L_per_day=keeper_cap,
    )
    return log.second(59.0, second)


def test_second_source_alone_is_changed_when_the_pump_is_right():
    log = two_part_and(2.9, 100.0, keeper_cap=2.9)
    log.records[0] = replace(log.records[0], target_total_alkalinity_meq_per_L=dkh(7.4))
    change = log.decide().change
    assert change.code is Code.SET_SECOND_SOURCE
    assert change.second_source is not None
    assert to_float(change.second_source, "meq/day") < 100.0


def test_more_limewater_means_less_of_the_second_source():
    change = two_part_and(2.9, 100.0, keeper_cap=8.0).decide().change
    assert change.code is Code.RAISE_PUMP
    assert change.second_source is not None
    assert to_float(change.second_source, "meq/day") == pytest.approx(
        100.0 - 0.412 * 40.897, abs=1.0
    )


def test_lime_in_the_top_off_is_mixed_for_the_day_of_most_evaporation():
    log = KeeperLog().setup(
        delivery=Delivery.TOP_OFF_CONTAINER,
        lime_container_L=20.0,
        evaporation_low_L_per_day=6.0,
        evaporation_high_L_per_day=8.0,
    )
    for days_ago in (12, 9, 6, 3, 0.5):
        log.test(days_ago, 9.0 - 0.0 * days_ago)
    change = log.decide().change
    assert change.code is Code.MIX_WEAKER
    assert change.mix_share is not None
    plan = log.decide().plan
    assert isinstance(plan, DosePlan)
    asked = to_float(plan.asked, "L/day")
    assert change.mix_share * 8.0 <= asked + 1e-9
    assert change.mix_powder is not None
    assert to_float(change.mix_powder, "g") == pytest.approx(
        20.0 * 1.504 * 1.0074 * change.mix_share / 0.95, rel=1e-3
    )


def test_decision_at_the_same_moment_is_the_same():
    assert kettle().decide() == kettle().decide()
    assert kettle().decide().now == datetime(2027, 2, 15, 8, 0, tzinfo=UTC)


# --- common practice, no source: limewater alone covers a modest tank, evaporation caps a heavy one


def five_hundred_litres(demand_dKH: float, lime_L: float) -> Decision:
    """Return a steady tank that evaporates 1 % a day; what lime does not give a two-part does."""
    second = demand_dKH * dkh(1.0) * 500.0 - lime_L * 40.897
    log = kettle(
        lime_L,
        net_volume_L=500.0,
        evaporation_low_L_per_day=5.0,
        evaporation_high_L_per_day=5.5,
        keeper_cap_L_per_day=30.0,
        stopped_rise_meq_per_L_per_day=dkh(5.0),
        vessel_L=20.0,
        second_source=SecondSource.TWO_PART,
        two_part_meq_per_mL=2.0,
    )
    return log.second(60.0, max(0.0, second)).decide()


def test_limewater_alone_covers_a_modest_tank():
    decision = five_hundred_litres(0.8, 0.8 * dkh(1.0) * 500.0 / 40.897)
    plan, left = decision.plan, decision.remainder
    assert isinstance(plan, DosePlan)
    assert left is not None
    assert plan.binding == ()
    assert left.meq_per_day < 0.05 * 0.8 * dkh(1.0) * 500.0


def test_limewater_alone_does_not_cover_a_heavy_tank_where_evaporation_caps_it():
    decision = five_hundred_litres(4.0, 3.9)
    plan, left = decision.plan, decision.remainder
    assert isinstance(plan, DosePlan)
    assert left is not None
    assert plan.binding[0] is Code.CAP_EVAPORATION
    assert plan.L_per_day <= 0.9 * 5.0
    assert left.meq_per_day > 0.6 * 4.0 * dkh(1.0) * 500.0
