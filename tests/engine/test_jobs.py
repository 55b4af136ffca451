"""What comes due: derived from records and forecasts, then as the keeper wants it."""

import pytest

from engine.demand.facts import gather
from engine.jobs.codes import Job, JobCode
from engine.jobs.forecasts import Due
from engine.jobs.jobs import Jobs, ahead_of, jobs
from engine.log.timeline import days_between
from engine.plan.season import Season, year
from engine.records import (
    Delivery,
    JobChoice,
    JobDone,
    Meter,
    MeterCheck,
    ProcedureEvent,
    ProcedureRun,
    SupplyItem,
    SupplyStock,
)
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, kettle


def found(log: KeeperLog, last_export=NOW) -> Jobs:
    facts = gather(log.records, system=SYSTEM, now=log.now)
    ahead = ahead_of(log.decide(), facts)
    assert ahead is not None
    return jobs(ahead, last_export=last_export)


def due(log: KeeperLog, job: Job, last_export=NOW) -> Due:
    return next(d for d in found(log, last_export).due if d.job is job)


def has(log: KeeperLog, job: Job) -> bool:
    return any(d.job is job for d in found(log).due)


def finished(log: KeeperLog, days_ago: float, procedure: str) -> KeeperLog:
    return log.add(
        ProcedureRun, days_ago, run="run-1", procedure=procedure, event=ProcedureEvent.FINISHED
    )


def test_alkalinity_is_due_two_to_three_and_a_half_days_after_the_last_test():
    found_due = due(kettle(), Job.TEST_ALKALINITY)  # tested half a day ago
    assert found_due.days == pytest.approx((1.5, 2.25, 3.0))
    assert found_due.reasons[0].code == JobCode.TEST_SINCE


def test_after_a_changed_setting_alkalinity_is_due_daily():
    log = kettle().pump(4.0, 6.0)
    assert due(log, Job.TEST_ALKALINITY).days.low == pytest.approx(0.5)
    assert due(log, Job.TEST_ALKALINITY).reasons[0].code == JobCode.TEST_AFTER_CHANGE


def test_the_first_setting_is_no_change():
    assert (
        due(KeeperLog().setup(2.0).pump(2.0, 5.0).test(0.5, 8.2), Job.TEST_ALKALINITY).days.low > 1
    )


def test_what_is_never_tested_has_no_job_but_the_four_that_matter():
    log = kettle()
    assert due(log, Job.TEST_CALCIUM).reasons[0].code == JobCode.TEST_NEVER
    assert not has(log, Job.TEST_NITRATE)
    assert has(log.read(3.0, nitrate=5.0), Job.TEST_NITRATE)


def test_refill_is_due_a_day_before_the_container_may_be_empty():
    log = kettle().refill(1.0, 6.0)  # 25 L, 6.3 to 7.5 L a day, filled a day ago
    days = due(log, Job.REFILL_FRESH_WATER).days
    assert days.low == pytest.approx(25.0 / 7.5 - 2.0)
    assert days.high == pytest.approx(25.0 / 6.3 - 2.0)


def test_plain_top_off_of_its_own_gives_only_what_limewater_does_not():
    log = kettle(shared_container=False).refill(1.0, 6.0)
    assert due(log, Job.REFILL_FRESH_WATER).days.low > 6.0


def test_no_container_size_no_refill_job():
    assert not has(kettle(fresh_water_container_L=None).refill(1.0, 6.0), Job.REFILL_FRESH_WATER)


def test_recharge_follows_the_balance_and_a_weak_check_makes_it_due_now():
    fresh = due(kettle().recharge(1.0, 125.0), Job.RECHARGE)
    assert 6.0 < fresh.days.low < fresh.days.high < 13.0
    assert due(kettle().recharge(11.0, 125.0), Job.RECHARGE).days.best <= 0.0
    weak = due(kettle().recharge(4.0, 125.0).strength(0.1, 0.3), Job.RECHARGE)
    assert (weak.days.high, weak.reasons[0].code) == (0.0, JobCode.FOUND_WEAK)


def test_strength_is_checked_a_day_after_a_recharge_then_weekly():
    log = kettle().recharge(0.5, 125.0)
    assert due(log, Job.STRENGTH_CHECK).days.low == pytest.approx(0.5)
    log.strength(0.1, 1.0)
    assert due(log, Job.STRENGTH_CHECK).days.low == pytest.approx(6.9)


def test_powder_is_to_be_ordered_by_the_shelf():
    assert has(kettle().stock(1.0, 500.0, counted=True), Job.BUY_POWDER)
    assert due(kettle().stock(1.0, 60.0, counted=True), Job.BUY_POWDER).days.low < 0.0
    assert not has(kettle(), Job.BUY_POWDER), "a shelf never counted calls for nothing"


def test_each_solution_and_kit_has_its_own_purchase():
    log = kettle()
    for item in (SupplyItem.ALKALINITY_KIT, SupplyItem.NITRATE_KIT):
        log.add(SupplyStock, 2.0, item=item, tests_count=9.0, good_for_days=60.0)
    bought = [d.item for d in found(log).due if d.job is Job.BUY_KIT]
    assert sorted(bought) == ["alkalinity_kit", "nitrate_kit"]


@pytest.mark.parametrize("days_ago", [3.0, 40.0])
def test_a_finished_procedure_or_a_mark_counts_as_done(days_ago: float):
    for log in (
        finished(kettle(), days_ago, "tube_change"),
        kettle().add(JobDone, days_ago, job=Job.PUMP_TUBE),
    ):
        assert due(log, Job.PUMP_TUBE).days.low == pytest.approx(182.0 - days_ago)
        assert due(log, Job.PUMP_TUBE).reasons[0].code == JobCode.SINCE


def test_a_run_that_was_stopped_is_not_done():
    log = kettle().add(
        ProcedureRun, 3.0, run="r", procedure="tube_change", event=ProcedureEvent.STOPPED
    )
    assert due(log, Job.PUMP_TUBE).reasons[0].code == JobCode.SINCE_START


def test_care_fits_the_way_of_delivery():
    vessel, drip = kettle(), kettle(delivery=Delivery.DRIP, lime_container_L=2.0)
    assert has(vessel, Job.VESSEL_CLEAN)
    assert has(vessel, Job.PUMP_TUBE)
    assert not has(vessel, Job.RESERVOIR_CLEAN)
    assert not has(drip, Job.VESSEL_CLEAN)
    assert not has(drip, Job.PUMP_TUBE)
    assert has(drip, Job.RESERVOIR_CLEAN)


def test_keepers_own_interval_counts_from_the_last_time():
    log = (
        kettle()
        .pump_check(10.0, 100.0, 99.0)
        .add(JobChoice, 1.0, job=Job.PUMP_CHECK, interval_days=14.0)
    )
    chosen = due(log, Job.PUMP_CHECK)
    assert chosen.days.low == pytest.approx(4.0)
    assert chosen.reasons[0].code == JobCode.OWN_INTERVAL


def test_put_off_until_its_day_then_due_again():
    log = kettle().pump_check(60.0, 100.0, 99.0)
    log.add(JobChoice, 1.0, job=Job.PUMP_CHECK, snoozed_days=4.0, note="Waiting for parts")
    put_off = due(log, Job.PUMP_CHECK)
    assert put_off.days.low == pytest.approx(3.0)
    assert put_off.reasons[-1].numbers["why"] == "Waiting for parts"
    log.add(JobChoice, 0.5, job=Job.PUMP_CHECK)
    assert due(log, Job.PUMP_CHECK).days.low < 0.0


def test_turned_off_is_listed_apart_and_the_newest_choice_holds():
    log = kettle().add(JobChoice, 2.0, job=Job.PUMP_CHECK, off=True)
    assert not has(log, Job.PUMP_CHECK)
    assert found(log).off == (Job.PUMP_CHECK,)
    log.add(JobChoice, 1.0, job=Job.PUMP_CHECK, off=False)
    assert has(log, Job.PUMP_CHECK)


def test_an_export_is_due_monthly_and_sooner_while_there_is_none():
    assert due(kettle(), Job.EXPORT).days.low == pytest.approx(30.0)
    never = due(kettle(), Job.EXPORT, last_export=None)
    assert never.days.low == pytest.approx(7.0 - 60.0)
    assert never.reasons[0].code == JobCode.EXPORT_NEVER


def test_soonest_first_and_every_job_gives_a_reason():
    all_due = found(kettle().recharge(3.0, 125.0).refill(1.0, 5.0).stock(1.0, 500.0, counted=True))
    lows = [d.days.low for d in all_due.due]
    assert lows == sorted(lows)
    assert all(d.reasons for d in all_due.due)
    assert all(d.days.low <= d.days.best <= d.days.high for d in all_due.due)


def test_a_meter_found_off_is_due_at_once_until_it_is_calibrated():
    log = kettle().read(5.0, pH_nbs=8.2).add(MeterCheck, 2.0, meter=Meter.PH_PROBE, off_pH=-0.2)
    off = due(log, Job.PH_CALIBRATE)
    assert (off.days, off.reasons[0].code) == ((0.0, 0.0, 0.0), JobCode.PROBE_OFF)
    assert off.reasons[0].numbers["off_pH"] == pytest.approx(0.2)
    log.add(MeterCheck, 1.0, meter=Meter.PH_PROBE, off_pH=0.0)
    assert due(log, Job.PH_CALIBRATE).days.low == pytest.approx(29.0)


def test_a_check_of_one_meter_is_none_of_the_others():
    log = kettle().add(MeterCheck, 3.0, meter=Meter.CONDUCTIVITY, off_share=0.01)
    assert due(log, Job.METERS_CHECK).days.low == pytest.approx(27.0)
    assert due(log, Job.METERS_CHECK).reasons[0].code == JobCode.SINCE
    assert due(log, Job.REAGENT_CHECK).reasons[0].code == JobCode.SINCE_START


def test_retune_comes_when_the_season_moves_the_setting():
    """Evaporation of 7.5 L in January and 3.6 in July: 5.3 L a day is too much from March on."""
    log = kettle(
        evaporation_low_L_per_day=3.6,
        evaporation_high_L_per_day=7.5,
        evaporation_high_month=1,
        evaporation_low_month=7,
    )
    facts = gather(log.records, system=SYSTEM, now=log.now)
    decision = log.decide()
    found_year = year(decision, facts)
    assert isinstance(found_year, Season)
    assert found_year.retune.on is not None
    ahead = ahead_of(decision, facts, season=found_year)
    assert ahead is not None
    (retune,) = (d for d in jobs(ahead, last_export=NOW).due if d.job is Job.RETUNE)
    assert retune.days.best == pytest.approx(days_between(log.now, found_year.retune.on))
    assert retune.reasons[0].code == JobCode.RETUNE_EVAPORATION
