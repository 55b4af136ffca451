"""Every reason of the decision: a log that brings it about, and a sentence that says it."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import timedelta
from functools import cache
from random import Random

import pytest

from engine.decision import Decision
from engine.demand.facts import gather
from engine.hazards.incident import restart_missing, running
from engine.limits import Action, DosePlan, Refusal
from engine.plan.withheld import Standing, withheld
from engine.reasons import Code, Reason
from engine.records import (
    Container,
    Delivery,
    Incident,
    IncidentEvent,
    SecondSource,
    StrengthMethod,
    WaterTest,
)
from engine.stock.charge import recharge
from engine.units import to_float
from mobile.state.sentences import sentence
from mobile.texts.plan import TEXTS
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, all_reasons, dkh, kettle


def without_tests(log: KeeperLog) -> KeeperLog:
    log.records = [record for record in log.records if not isinstance(record, WaterTest)]
    return log


def entered(pump: float = 5.3, **setup) -> KeeperLog:
    """Return a keeper at the start: one test, and a demand that he states."""
    log = without_tests(kettle(pump, **{"entered_demand_meq_per_L_per_day": dkh(1.35), **setup}))
    return log.test(1.0, 8.3)


def clock_set_back() -> KeeperLog:
    log = kettle()
    log.records[-1] = replace(log.records[-1], recorded_at=NOW + timedelta(hours=3))
    return log


def dated_ahead() -> KeeperLog:
    log = kettle()
    log.records.append(
        replace(log.records[-1], id="bench:ahead", at=NOW + timedelta(days=2), recorded_at=NOW)
    )
    return log


def falling(pump: float, per_day_dKH: float, start_dKH: float = 8.3, **setup) -> KeeperLog:
    """Return tests on a straight line that ends half a day ago."""
    log = without_tests(kettle(pump, **setup))
    for days_ago in (18.5, 15.5, 12.5, 9.5, 6.5, 3.5, 0.5):
        log.test(days_ago, start_dKH - per_day_dKH * (18.5 - days_ago))
    return log


def weakened(pump_L_per_day: float = 5.3, **setup) -> KeeperLog:
    """Return a log whose limewater was near saturation and fell to 40 % in the last days."""
    return kettle(pump_L_per_day, **setup).strength(40.0, 0.97).strength(0.2, 0.4)


def few_refills() -> KeeperLog:
    log = kettle(shared_container=True)
    for days_ago in (3.1, 2.1, 1.1, 0.1):
        log.refill(days_ago, 4.0)
    return log


def stale(days: float) -> KeeperLog:
    log = without_tests(kettle())
    for days_ago in (12.0, 9.0, 6.0, 3.0, 0.0):
        log.test(days + days_ago, 8.3)
    return log


def low_target(**setup) -> KeeperLog:
    return kettle(target_total_alkalinity_meq_per_L=dkh(7.6), **setup)


def high_target(**setup) -> KeeperLog:
    return kettle(target_total_alkalinity_meq_per_L=dkh(8.9), **setup)


def two_part(second: float = 60.0, pump: float = 5.3, **setup) -> KeeperLog:
    return kettle(
        pump,
        **{
            "second_source": SecondSource.TWO_PART,
            "two_part_meq_per_mL": 2.0,
            "evaporation_low_L_per_day": 5.0,
            **setup,
        },
    ).second(59.0, second)


def falling_beside_a_second(days: float) -> KeeperLog:
    """Return a falling tank with both sources, last tested so many days ago."""
    log = without_tests(two_part(pump=4.5)).second(59.0, 60.0)
    for number, days_ago in enumerate((22, 19, 16, 13, 10, 7, 4, 1)):
        log.test(days_ago + days, 9.0 - 0.18 * number)
    return log


def top_off(delivery: Delivery, **setup) -> KeeperLog:
    return (
        KeeperLog()
        .setup(
            delivery=delivery,
            lime_container_L=20.0,
            entered_demand_meq_per_L_per_day=dkh(1.35),
            **setup,
        )
        .test(1.0, 8.3)
    )


def refilled(*litres: float, every: float = 3.0, until: float = 0.5, **setup) -> KeeperLog:
    log = kettle(**setup)
    for number, amount in enumerate(reversed(litres)):
        log.refill(until + every * number, amount)
    return log


def lime_slug() -> KeeperLog:
    """Return a top-off that draws on lime and took 8 L more than the fortnight before."""
    log = top_off(Delivery.TOP_OFF_CONTAINER).recharge(15.0, 40.0, Container.LIME)
    for days_ago in range(14, 0, -2):
        log.refill(days_ago + 0.1, 14.0, Container.LIME)
    return log.refill(0.1, 22.0, Container.LIME)


def first_of_a_bottle() -> KeeperLog:
    """Return three weeks on one bottle, then a first test of another, 0.8 dKH off."""
    log = without_tests(kettle())
    for day in range(21, 1, -2):
        log.read(float(day), lot="B1", total_alkalinity=dkh(8.3))
    return log.read(0.1, lot="B2", total_alkalinity=dkh(9.1))


def one_test_this_week() -> KeeperLog:
    """Return alkalinity that climbs, the newest test eight days after the one before."""
    log = without_tests(kettle())
    for days_ago in (24.5, 20.5, 16.5, 12.5, 8.5, 0.5):
        log.test(days_ago, 6.6 + 0.2 * (24.5 - days_ago))
    return log


def late_start() -> KeeperLog:
    """Return eight tests of which only the newest is younger than the first setting."""
    log = kettle()
    log.records[1] = replace(log.records[1], at=NOW - timedelta(days=1))
    return log


def daily(alkalinity_dKH: Callable[[float], float], *, pump: float = 5.3, **setup) -> KeeperLog:
    """Return a test a day for two months, given by days ago, with the usual scatter."""
    scatter = Random(4)
    log = KeeperLog().setup(100.0, **setup).pump(100.0, pump)
    for day in range(60, -1, -1):
        log.test(day + 0.2, alkalinity_dKH(day) + scatter.gauss(0.0, 0.2))
    return log


def second_bottle(offset_dKH: float) -> KeeperLog:
    """Return a test a day; the last dozen of another bottle."""
    log = KeeperLog().setup(100.0).pump(100.0, 5.3)
    for day in range(30, -1, -1):
        new = day < 12
        value = dkh(8.3 + (offset_dKH if new else 0.0))
        log.read(day + 0.2, lot="B2" if new else "B1", total_alkalinity=value)
    return log


def with_calcium(rise_mg_per_L_per_day: float) -> KeeperLog:
    """Return three months of steady alkalinity and a calcium that drifts."""
    log = KeeperLog().setup(120.0).pump(120.0, 5.3)
    for week in range(12, -1, -1):
        day = week * 7.0 + 0.3
        calcium = 420.0 - rise_mg_per_L_per_day * day
        log.read(day, total_alkalinity=dkh(8.3), calcium=calcium)
        log.test(day + 3.0, 8.3)
    return log


def charge_reasons() -> Iterable[Reason]:
    setup = kettle(vessel_L=2.0).decide().setup
    assert setup is not None
    return recharge(setup, limewater_L_per_day=5.3, strength_meq_per_L=40.9, days=30.0).reasons


def half_dose() -> KeeperLog:
    """Return a keeper whose overdose ended yesterday."""
    return kettle().incident(2.0).incident(1.0, IncidentEvent.ENDED)


def waits_for(**readings: float) -> Callable[[], Iterable[Reason]]:
    """Return what still keeps an overdose from being ended, after these readings in it."""

    def missing() -> Iterable[Reason]:
        log = kettle().incident(0.2)
        if readings:
            log.read(0.1, **readings)
        facts = gather(log.records, system=SYSTEM, now=NOW)
        state = running(facts.of(Incident))
        assert facts.setup is not None
        assert state is not None
        return restart_missing(facts, facts.setup, state)

    return missing


def kept_from_raising(why: Code, action: Action = Action.HOLD):
    """Return what gives the reasons of a sound decision that may raise nothing."""
    standing = Standing(action=action, lower_to_L_per_day=1.0 if action is Action.LOWER else None)
    return lambda: all_reasons(withheld(kettle().decide(), [why], standing))


CASES: dict[Code, Callable[[], KeeperLog]] = {
    Code.SETUP_MISSING: lambda: KeeperLog().test(1.0, 8.3),
    Code.INCIDENT_RUNNING: lambda: kettle().incident(0.1),
    Code.CLOCK_BEHIND_LOG: clock_set_back,
    Code.READING_IMPOSSIBLE: lambda: kettle().read(0.1, salinity=0.0),
    Code.LIMIT_UNSET: lambda: kettle(keeper_cap_L_per_day=None),
    Code.KEEPER_CAP_UNSET: lambda: kettle(keeper_cap_L_per_day=None),
    Code.EVAPORATION_SHARE_UNSET: lambda: kettle(evaporation_share=None),
    Code.NET_RISE_UNSET: lambda: kettle(net_rise_meq_per_L_per_day=None),
    Code.STOPPED_RISE_UNSET: lambda: kettle(stopped_rise_meq_per_L_per_day=None),
    Code.EVAPORATION_UNSET: lambda: kettle(evaporation_low_L_per_day=None),
    Code.ALKALINITY_MISSING: lambda: without_tests(kettle()),
    Code.ALKALINITY_STALE: lambda: stale(14.5),
    Code.PH_TOO_HIGH: lambda: kettle().read(0.1, pH_nbs=8.5),
    Code.ALKALINITY_JUMPED: lambda: kettle().test(0.1, 10.3),
    Code.SLUG_UNTESTED: lambda: top_off(Delivery.TOP_OFF_CONTAINER).happened(
        0.2, "skimmer_overflow"
    ),
    Code.SLUG_SIZED: lime_slug,
    Code.ALKALINITY_ABOVE_BAND: lambda: falling(5.3, 0.0, 10.5),
    Code.PUMP_FAULT_HIGH: lambda: kettle().pump_check(0.2, 100.0, 250.0),
    Code.PUMP_FAULT_LOW: lambda: kettle().pump_check(0.2, 100.0, 0.0),
    Code.STRENGTH_UNKNOWN: lambda: kettle(delivery=Delivery.PUMP_CONTAINER).recharge(
        1.0, 40.0, container=Container.LIME
    ),
    Code.DELIVERY_UNRECORDED: lambda: KeeperLog().setup().test(6.0, 8.4).test(1.0, 8.0),
    Code.SECOND_SOURCE_UNRECORDED: lambda: kettle(second_source=SecondSource.REACTOR),
    Code.TESTS_TOO_FEW: late_start,
    Code.TESTS_TOO_CLOSE: lambda: without_tests(kettle(0.0)).test(1.2, 8.5).test(0.2, 8.2),
    Code.DEMAND_UNCERTAIN: lambda: without_tests(kettle(0.0)).test(9.0, 8.6).test(0.2, 8.4),
    Code.DEMAND_NOT_POSITIVE: lambda: falling(0.0, -0.02),
    Code.NOTHING_ADMITTED: lambda: kettle(keeper_cap_L_per_day=0.01),
    Code.BELOW_PUMP_STEP: lambda: kettle(0.8, pump_step_mL=100.0),
    Code.NEW_TANK: lambda: falling(0.0, 0.15),
    Code.CAP_EVAPORATION: lambda: kettle(evaporation_low_L_per_day=4.0),
    Code.CAP_NET_RISE: lambda: entered(4.0),
    Code.CAP_STOPPED_RISE: lambda: kettle(stopped_rise_meq_per_L_per_day=dkh(1.0)),
    Code.CAP_KEEPER: lambda: kettle(keeper_cap_L_per_day=5.0),
    Code.CAP_PUMP_RANGE: lambda: kettle(pump_L_per_h=0.2),
    Code.CAP_VESSEL_SURGE: lambda: kettle(doses_per_day=6, vessel_L=5.0, net_volume_L=2000.0),
    Code.CAP_DOSE_PH: lambda: kettle(doses_per_day=8, vessel_L=None),
    Code.CAP_DAY_PH: lambda: falling(4.5, 0.1, 8.4).read(1.5, pH_nbs=8.44),
    Code.CAP_SUSPECT: lambda: falling(4.5, 0.1, 8.4).test(0.1, 5.0),
    Code.CAP_WEEKLY_RISE: lambda: falling(3.0, 0.1, 8.4),
    Code.CAP_RESTART: half_dose,
    Code.CAP_UNTESTED: lambda: stale(8.0).pump(0.1, 4.0),
    Code.FUTURE_RECORDS: dated_ahead,
    Code.DEMAND_FROM_TESTS: kettle,
    Code.DEMAND_ENTERED: entered,
    Code.ENTERED_CONTRADICTED: lambda: (
        without_tests(kettle(0.0, entered_demand_meq_per_L_per_day=dkh(4.0)))
        .test(9.0, 8.6)
        .test(0.2, 8.4)
    ),
    Code.WATER_CHANGE_UNKNOWN: lambda: kettle().water_change(10.0, 45.0),
    Code.HIGH_UNTIL_REPEATED: lambda: kettle().test(0.1, 9.7),
    Code.SUSPECT_TEST: lambda: kettle().test(10.0, 6.6),
    Code.SUSPECT_NEW_SOURCE: first_of_a_bottle,
    Code.DEMAND_STEP_UP: lambda: daily(lambda day: 8.3 - 0.5 * max(0.0, 5.0 - day)),
    Code.DEMAND_STEP_DOWN: lambda: daily(lambda day: 8.0 + 0.5 * max(0.0, 5.0 - day)),
    Code.TESTS_SHIFTED_UP: lambda: daily(lambda day: 7.6 if day > 2 else 9.2),
    Code.TESTS_SHIFTED_DOWN: lambda: daily(lambda day: 9.2 if day > 2 else 7.6),
    Code.TREND_UP: lambda: daily(lambda day: 8.6 - 0.006 * max(0.0, 25.0 - day) ** 2),
    Code.TREND_DOWN: lambda: daily(lambda day: 7.0 + 0.006 * max(0.0, 25.0 - day) ** 2),
    Code.SOURCE_READS_HIGH: lambda: second_bottle(0.8),
    Code.SOURCE_READS_LOW: lambda: second_bottle(-0.8),
    Code.CALCIUM_RATIO: lambda: with_calcium(0.0),
    Code.CALCIUM_RATIO_LOW: lambda: with_calcium(2.5),
    Code.CALCIUM_RATIO_HIGH: lambda: with_calcium(-1.5),
    Code.NEED: kettle,
    Code.APPROACH_UP: high_target,
    Code.APPROACH_DOWN: low_target,
    Code.PH_ASSUMED: kettle,
    Code.PH_MODEL_OUTSIDE: lambda: kettle(tank_temperature_degC=34.0),
    Code.PH_RECORDED: lambda: kettle().read(0.1, pH_nbs=8.2),
    Code.STRENGTH_ASSUMED: kettle,
    Code.STRENGTH_MIXED: lambda: kettle(
        delivery=Delivery.PUMP_CONTAINER, lime_container_L=20.0
    ).recharge(3.0, 20.0, container=Container.LIME),
    Code.STRENGTH_MEASURED: lambda: kettle().strength(3.0, 0.97),
    Code.STRENGTH_CHECK_OLD: lambda: kettle().strength(15.0, 0.97),
    Code.PUMP_UNCHECKED: kettle,
    Code.PUMP_CHECKED: lambda: kettle().pump_check(3.0, 100.0, 99.0, 101.0),
    Code.EVAPORATION_ENTERED: kettle,
    Code.EVAPORATION_MEASURED: lambda: refilled(20.0, 20.0, 20.0, 20.0),
    Code.REFILLS_BELOW_ENTERED: few_refills,
    Code.EVAPORATION_FELL: lambda: refilled(*[21.0] * 5, *[12.0] * 3),
    Code.REFILLS_OLD: lambda: refilled(20.0, 20.0, 20.0, 20.0, until=15.0),
    Code.TWO_PART_WATER: two_part,
    Code.OVERDOSE_ACT_NOW: lambda: kettle().test(0.1, 10.3),
    Code.OVERDOSE_EMERGENCY: lambda: kettle().read(0.1, pH_nbs=9.0),
    Code.VESSEL_FLOW_HIGH: kettle,
    Code.WEAK_LIME: lambda: kettle().strength(0.2, 0.4),
    Code.WEAK_SHORT: weakened,
    Code.WEAK_RECHARGE: lambda: kettle(4.0, target_total_alkalinity_meq_per_L=dkh(9.0)).strength(
        0.2, 0.895
    ),
    Code.WEAK_TOO_MUCH: lambda: kettle().strength(0.2, 0.4),
    Code.WORN_PUMP: lambda: falling(6.0, 0.05, evaporation_low_L_per_day=9.0).pump_check(
        0.2, 83.0, 71.0, 70.2, 71.5
    ),
    Code.PUMP_SPENT: lambda: falling(6.0, 0.05).pump_check(0.2, 100.0, 80.0),
    Code.ALKALINITY_RISING: one_test_this_week,
    Code.ALKALINITY_ROSE: lambda: falling(5.3, -0.2, 7.6),
    Code.SECOND_SOURCE_UNKNOWN_STRENGTH: lambda: two_part(two_part_meq_per_mL=None),
    Code.SALINITY_FALLS: lambda: kettle(evaporation_low_L_per_day=4.0),
    Code.SETTING_ABOVE_CAP: lambda: kettle(evaporation_low_L_per_day=4.0),
    Code.SETTING_NET_CHANGE: kettle,
    Code.IF_STOPPED_EATING: kettle,
    Code.USES_UP: lambda: falling(5.3, 0.0, 10.5),
    Code.STOP_SAFE: kettle,
    Code.STOP_SAFE_HOLDS: lambda: daily(
        lambda day: 8.6 - 0.08 * day,
        pump=0.0,
        second_source=SecondSource.TWO_PART,
        two_part_meq_per_mL=2.0,
    ).second(100.0, 200.0),
    Code.STOP_SAFE_BELOW_BAND: lambda: falling(5.3, 0.05, 7.8),
    Code.STOP_SAFE_BELOW_FLOOR: lambda: falling(5.3, 0.05, 6.8),
    Code.SHORT_BELOW_BAND: lambda: falling(5.3, 0.05, 7.8, evaporation_low_L_per_day=4.0),
    Code.STAYS_BELOW_BAND: lambda: falling(5.3, 0.0, 6.8, evaporation_low_L_per_day=6.0),
    Code.STOP_SAFE_UNKNOWN: lambda: without_tests(kettle()),
    Code.SHORT_OF_ALKALINITY: lambda: kettle(evaporation_low_L_per_day=4.0),
    Code.SHORT_PASSES_BAND: lambda: kettle(
        evaporation_low_L_per_day=5.3,
        band_low_total_alkalinity_meq_per_L=dkh(7.9),
        floor_total_alkalinity_meq_per_L=dkh(5.5),
    ),
    Code.SHORT_IN_BAND: lambda: kettle(
        evaporation_low_L_per_day=5.6, band_low_total_alkalinity_meq_per_L=dkh(7.0)
    ),
    Code.SETTLES: lambda: kettle(evaporation_low_L_per_day=4.0),
    Code.SECOND_HELD_NET_RISE: lambda: two_part(
        target_total_alkalinity_meq_per_L=dkh(8.9), net_rise_meq_per_L_per_day=dkh(0.05)
    ),
    Code.SECOND_HELD_STOPPED_RISE: lambda: two_part(300.0),
    Code.SECOND_HELD_SUSPECT: lambda: falling_beside_a_second(0.0).test(0.1, 5.0),
    Code.SECOND_HELD_UNTESTED: lambda: falling_beside_a_second(8.0),
    Code.HELD_SHORT: lambda: two_part(300.0),
    Code.HELD_SHORT_BELOW_BAND: lambda: falling(
        5.3,
        0.05,
        7.8,
        second_source=SecondSource.TWO_PART,
        two_part_meq_per_mL=2.0,
        stopped_rise_meq_per_L_per_day=dkh(2.2),
    ).second(59.0, 200.0),
    Code.SECOND_SOURCE_TWO_PART: two_part,
    Code.SECOND_SOURCE_REACTOR: lambda: two_part(
        second_source=SecondSource.REACTOR, reactor_effluent_meq_per_L=dkh(35.0)
    ),
    Code.REACTOR_ALKALINITY: lambda: two_part(
        second_source=SecondSource.REACTOR, reactor_flow_L_per_day=20.0
    ),
    Code.POWDER_LEFT: lambda: kettle().recharge(3.0, 125.0),
    Code.POWDER_UNKNOWN: kettle,
    Code.POWDER_LOW: lambda: kettle().recharge(14.0, 125.0),
    Code.POWDER_SPENT: lambda: kettle().recharge(40.0, 125.0),
    Code.NOTHING_TO_DO: kettle,
    Code.TOP_OFF_RIGHT: lambda: top_off(
        Delivery.TOP_OFF_VESSEL, evaporation_low_L_per_day=2.0, evaporation_high_L_per_day=3.0
    ),
    Code.SET_PUMP_FIRST: lambda: (
        KeeperLog().setup(entered_demand_meq_per_L_per_day=dkh(1.35)).test(1.0, 8.3)
    ),
    Code.RAISE_PUMP: lambda: falling(3.0, 0.1, 8.4),
    Code.LOWER_PUMP: lambda: kettle(evaporation_low_L_per_day=4.0),
    Code.HOLD: lambda: stale(14.5),
    Code.STOP: lambda: kettle().read(0.1, pH_nbs=8.5),
    Code.SET_DRIP_FIRST: lambda: (
        KeeperLog()
        .setup(delivery=Delivery.DRIP, entered_demand_meq_per_L_per_day=dkh(1.35))
        .test(1.0, 8.3)
    ),
    Code.RAISE_DRIP: lambda: falling(3.0, 0.1, 8.4, delivery=Delivery.DRIP),
    Code.LOWER_DRIP: lambda: kettle(delivery=Delivery.DRIP, evaporation_low_L_per_day=3.0),
    Code.HOLD_DRIP: lambda: kettle(1.0, delivery=Delivery.DRIP, keeper_cap_L_per_day=None),
    Code.STOP_DRIP: lambda: kettle(delivery=Delivery.DRIP).read(0.1, pH_nbs=8.5),
    Code.MIX_DRIP_ANEW: lambda: weakened(3.0, delivery=Delivery.DRIP),
    Code.HOLD_TOP_OFF: lambda: top_off(Delivery.TOP_OFF_VESSEL, keeper_cap_L_per_day=None),
    Code.STOP_TOP_OFF_VESSEL: lambda: top_off(Delivery.TOP_OFF_VESSEL).read(0.1, pH_nbs=8.5),
    Code.STOP_TOP_OFF_CONTAINER: lambda: top_off(Delivery.TOP_OFF_CONTAINER).read(0.1, pH_nbs=8.5),
    Code.NO_LIME_NEEDED: lambda: falling(
        0.8, -0.05, 8.0, target_total_alkalinity_meq_per_L=dkh(7.5)
    ),
    Code.RECHARGE_FIRST: weakened,
    Code.LOWER_THEN_RECHARGE: lambda: kettle().strength(0.2, 0.4),
    Code.LOWER_DRIP_THEN_MIX: lambda: kettle(3.0, delivery=Delivery.DRIP).strength(0.2, 0.4),
    Code.NEW_TUBE_FIRST: lambda: falling(6.0, 0.05).pump_check(0.2, 83.0, 71.0, 70.2, 71.5),
    Code.MIX_SATURATED: lambda: top_off(
        Delivery.TOP_OFF_CONTAINER, evaporation_low_L_per_day=2.0, evaporation_high_L_per_day=3.0
    ),
    Code.MIX_WEAKER: lambda: top_off(Delivery.TOP_OFF_CONTAINER),
    Code.PAST_THE_VESSEL: lambda: top_off(Delivery.TOP_OFF_VESSEL),
    Code.ALL_THROUGH_VESSEL: lambda: top_off(
        Delivery.TOP_OFF_VESSEL, evaporation_low_L_per_day=2.0, evaporation_high_L_per_day=3.0
    ).pump(1.0, 1.0),
    Code.SET_SECOND_SOURCE: lambda: two_part(120.0),
    Code.SET_SECOND_SOURCE_FIRST: lambda: entered(
        second_source=SecondSource.TWO_PART, two_part_meq_per_mL=2.0, evaporation_low_L_per_day=4.0
    ),
}
ELSEWHERE = {
    Code.CHARGE_CAPPED: charge_reasons,
    Code.RESTART_ALKALINITY_UNREAD: waits_for(),
    Code.RESTART_ALKALINITY_HIGH: waits_for(total_alkalinity=dkh(11.0)),
    Code.RESTART_PH_UNREAD: waits_for(),
    Code.RESTART_PH_HIGH: waits_for(pH_nbs=8.4),
    Code.RECORDS_MISSING: kept_from_raising(Code.RECORDS_MISSING),
    Code.PARTS_FAILED: kept_from_raising(Code.PARTS_FAILED),
    Code.STOP_STANDS: kept_from_raising(Code.RECORDS_MISSING, Action.STOP),
    Code.LOWER_STANDS: kept_from_raising(Code.RECORDS_MISSING, Action.LOWER),
}


def reasons_of(code: Code) -> list[Reason]:
    if code in ELSEWHERE:
        return list(ELSEWHERE[code]())
    return all_reasons(decided(code))


@cache
def decided(code: Code) -> Decision:
    """Return the decision on the log that brings a code about."""
    return CASES[code]().decide()


def test_every_code_has_a_log_that_brings_it_about():
    assert set(CASES) | set(ELSEWHERE) == set(Code)


def test_every_code_has_a_sentence_and_no_sentence_is_without_a_code():
    assert set(TEXTS) == {str(code) for code in Code}


@pytest.mark.parametrize("code", Code)
def test_code_is_given_with_the_numbers_that_its_sentence_prints(code):
    found = [reason for reason in reasons_of(code) if reason.code == code]
    assert found, f"{code} is not among the reasons"
    for reason in found:
        said = sentence(TEXTS, code, reason.numbers)
        assert "{" not in said
        assert said[0].isupper() or said[0].isdigit()
        assert said.endswith(".")


REFUSALS = (
    Code.SETUP_MISSING,
    Code.INCIDENT_RUNNING,
    Code.PH_TOO_HIGH,
    Code.ALKALINITY_JUMPED,
    Code.SLUG_UNTESTED,
    Code.SLUG_SIZED,
    Code.ALKALINITY_ABOVE_BAND,
    Code.PUMP_FAULT_HIGH,
    Code.CLOCK_BEHIND_LOG,
    Code.READING_IMPOSSIBLE,
    Code.LIMIT_UNSET,
    Code.EVAPORATION_UNSET,
    Code.ALKALINITY_MISSING,
    Code.ALKALINITY_STALE,
    Code.PUMP_FAULT_LOW,
    Code.STRENGTH_UNKNOWN,
    Code.DELIVERY_UNRECORDED,
    Code.SECOND_SOURCE_UNRECORDED,
    Code.TESTS_TOO_FEW,
    Code.TESTS_TOO_CLOSE,
    Code.DEMAND_UNCERTAIN,
    Code.DEMAND_NOT_POSITIVE,
    Code.NOTHING_ADMITTED,
    Code.BELOW_PUMP_STEP,
    Code.NEW_TANK,
)


@pytest.mark.parametrize("code", REFUSALS)
def test_refusal_gives_no_dose_and_says_hold_lower_or_stop(code):
    decision = decided(code)
    assert isinstance(decision.plan, Refusal)
    assert decision.plan.code is code
    assert decision.change.code in (Code.HOLD, Code.LOWER_PUMP, Code.STOP)


@pytest.mark.parametrize("code", CASES)
def test_no_log_is_refused_by_a_code_without_a_test_of_its_own(code):
    plan = decided(code).plan
    assert isinstance(plan, DosePlan) or plan.code in REFUSALS


def test_each_unset_limit_refuses():
    for name in (
        "keeper_cap_L_per_day",
        "evaporation_share",
        "net_rise_meq_per_L_per_day",
        "stopped_rise_meq_per_L_per_day",
    ):
        plan = kettle(**{name: None}).decide().plan
        assert isinstance(plan, Refusal)
        assert plan.code is Code.LIMIT_UNSET


CAPS = [code for code in Code if code.value.startswith("cap_")]


@pytest.mark.parametrize("code", CAPS)
def test_cap_holds_the_dose_below_what_was_asked(code):
    plan = decided(code).plan
    assert isinstance(plan, DosePlan)
    assert plan.binding[0] is code
    assert plan.L_per_day <= plan.caps[0].L_per_day < to_float(plan.asked, "L/day")


def test_every_refusal_and_cap_of_the_engine_is_in_these_tables():
    from engine.caps import CAPS as TABLE

    assert [cap.code for cap in TABLE] == CAPS
    # The codes of a refusal stand first in Code; the four limits' own reasons are no refusals.
    first = list(Code)[: list(Code).index(Code.CAP_EVAPORATION)]
    own = {code for code in first if code.value.endswith("_unset")} - set(REFUSALS)
    assert [code for code in first if code not in own] == list(REFUSALS)


def test_every_cap_stands_in_one_table_with_its_name_sentence_and_source():
    from engine.caps import CAPS as TABLE
    from engine.chemistry.sources import SOURCES
    from mobile.texts.plan_page import TEXTS as NAMES

    assert [cap.code for cap in TABLE] == CAPS
    for cap in TABLE:
        assert TEXTS[cap.code]
        assert NAMES[cap.code]
        assert SOURCES[cap.source]


def test_strength_by_kit_and_titration_serve_as_well():
    for method in (StrengthMethod.DILUTION, StrengthMethod.TITRATION):
        limewater = kettle().strength(2.0, 0.95, method).decide().limewater
        assert limewater is not None
        assert limewater.source == "measured"


def test_lime_container_refills_tell_the_evaporation_where_the_top_off_draws_on_it():
    log = top_off(Delivery.TOP_OFF_CONTAINER)
    for days_ago in (9.5, 6.5, 3.5, 0.5):
        log.refill(days_ago, 6.0, container=Container.LIME)
    evaporation = log.decide().evaporation
    assert to_float(evaporation.low, "L/day") == pytest.approx(2.0 * 0.95)
