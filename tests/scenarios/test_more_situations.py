"""Practice's short ones: each with the answer that tempts and does not come out."""

from dataclasses import replace
from pathlib import Path

import pytest

from engine.demand.answer import Demand
from engine.demand.facts import gather
from engine.hazards.bands import LIVESTOCK_BAND, rank
from engine.hazards.case import HazardCase
from engine.hazards.codes import Kind
from engine.hazards.hazard import assess
from engine.plan.evaporation import Evaporation
from engine.reasons import Code
from engine.records import Setup
from engine.scenario import run_parsed
from engine.units import to_float
from tests.scenarios.test_demo_data import said, scenario
from tests.support.keeper_log import KeeperLog, dkh, kettle

DATA = Path(__file__).resolve().parents[2] / "demo_data"


def changed(name: str, **setup):
    """Return a scenario's result with another set-up."""
    case = scenario(DATA / f"{name}.json")
    records = tuple(replace(r, **setup) if isinstance(r, Setup) else r for r in case.records)
    return run_parsed(replace(case, records=records))


def test_no_bridge_by_a_raised_setting_where_evaporation_would_not_bear_a_new_tube():
    # practice, Harbour Loft: 7.0 only if the low end of evaporation is 7.2 or more
    dry = said(changed("harbour_loft_worn_tube", evaporation_low_L_per_day=6.6))
    assert Code.WORN_PUMP not in dry
    assert Code.PUMP_SPENT in dry
    assert Code.WORN_PUMP in said(changed("harbour_loft_worn_tube", evaporation_low_L_per_day=7.5))


def jug_lost(**setup) -> HazardCase:
    """Return what the jug of Fernside does when all of it is lost at once."""
    case = scenario(DATA / "fernside.json")
    records = [replace(r, **setup) if isinstance(r, Setup) else r for r in case.records]
    hazards = assess(gather(records, system=case.system, now=case.now))
    return next(each for each in hazards.cases if each.kind is Kind.CONTAINER_EMPTIED)


def test_five_litre_jug_would_lift_fernside_by_three_dkh_and_a_nights_litres_would_not():
    jug = jug_lost()
    ends = [each.brought_meq_per_L / dkh(1.0) for each in (jug.worst_good, jug.worst_bad)]
    assert ends[0] <= 3.2 <= ends[1]
    assert rank(jug.band_middle) > rank(LIVESTOCK_BAND)
    night = jug_lost(lime_container_L=1.5)
    assert night.worst_bad.brought_meq_per_L < dkh(1.5)
    # as a rule it stays below; at the worst end, on a bright day, it may not
    assert rank(night.band_middle) < rank(LIVESTOCK_BAND)


def evening_log(value_dKH: float, hour_later_days: float) -> KeeperLog:
    """Return a tank that eats 3 dKH a day, tested each morning at eight and once later."""
    log = KeeperLog().setup(keeper_cap_L_per_day=20.0, evaporation_low_L_per_day=20.0)
    log.pump(60.0, dkh(3.0) * 450.0 / 40.897)
    for days_ago in range(14, 0, -1):
        log.test(float(days_ago), 8.3 + (0.1 if days_ago % 2 else -0.1))
    return log.test(hour_later_days, value_dKH)


def test_a_test_at_ten_at_night_is_no_outlier_in_a_tank_that_eats_three_dkh_a_day():
    evening = evening_log(7.6, 1.0 - 14.0 / 24.0).decide().demand
    morning = evening_log(7.6, 0.0).decide().demand
    assert isinstance(evening, Demand)
    assert not evening.suspects
    assert isinstance(morning, Demand)
    assert morning.suspects  # the same number at the usual hour is doubted


def test_a_shared_container_is_not_counted_twice():
    shared, apart = (
        kettle(5.3, shared_container=together).refill(12.0, 6.0) for together in (True, False)
    )
    for log in (shared, apart):
        for days_ago in range(11, -1, -1):
            log.refill(days_ago + 0.1, 6.8)
    once, twice = shared.decide().evaporation, apart.decide().evaporation
    assert isinstance(once, Evaporation)
    assert isinstance(twice, Evaporation)
    assert to_float(once.high, "L/day") == pytest.approx(6.8, rel=0.1)
    # where the lime has its own container its litres come on top
    assert to_float(twice.low, "L/day") > to_float(once.high, "L/day") + 4.0
