"""What a procedure keeps off was not given: demand and powder reckon without it."""

from datetime import timedelta
from random import Random

import pytest

from engine.demand.facts import gather
from engine.demand.flows import flow_steps
from engine.demand.inputs import recorded_inputs
from engine.demand.strength import strength_now
from engine.records import ProcedureEvent, ProcedureRun
from tests.support.keeper_log import NOW, KeeperLog, kettle

VOLUME_L = 450.0


def paused(log: KeeperLog, off: float, on: float | None) -> KeeperLog:
    """Add a run that switched limewater off, and on again where `on` is given (days ago)."""
    run = {"run": f"r{off:g}", "procedure": "pump_check", "event": ProcedureEvent.STEP_DONE}
    log.add(ProcedureRun, off, step="off", flow="off", **run)
    if on is not None:
        log.add(ProcedureRun, on, step="on", flow="on", **run)
    return log


def lime_L(log: KeeperLog, first: float, last: float) -> float:
    """Return the litres delivered from `first` to `last` days ago."""
    facts = gather(log.records, system=log.system, now=log.now)
    inputs = recorded_inputs(facts, facts.setup, strength_now(facts, facts.setup), None)
    return inputs.lime_L(log.now - timedelta(days=first), log.now - timedelta(days=last))


def test_nothing_is_given_between_off_and_on():
    whole = lime_L(kettle(), 10.0, 0.0)
    assert lime_L(paused(kettle(), 6.0, 4.0), 10.0, 0.0) == pytest.approx(whole * 8.0 / 10.0)
    assert lime_L(paused(kettle(), 6.0, 4.0), 6.0, 4.0) == 0.0


def test_a_second_off_changes_nothing_and_a_setting_ends_the_pause():
    log = paused(paused(kettle(), 6.0, None), 5.5, None)
    log.pump(4.0, 5.3)
    assert lime_L(log, 10.0, 0.0) == pytest.approx(lime_L(kettle(), 10.0, 0.0) * 8.0 / 10.0)


def test_a_pause_that_has_not_ended_leaves_what_is_set():
    facts = gather(paused(kettle(), 0.5, None).records, system=kettle().system, now=NOW)
    assert flow_steps(facts).points == ()


def test_a_day_off_each_week_is_not_taken_for_demand():
    # 450 L at 1.0 dKH a day are 160.7 meq a day; limewater gives it on six days of seven.
    rng, log, level = Random(4), KeeperLog().setup(60.0).pump(60.0, 3.96), 8.4
    given = 3.96 * lime_strength(log) * 2.8 / VOLUME_L
    for day in range(42, 0, -1):
        if day % 2 == 0:
            log.test(float(day), level + rng.gauss(0.0, 0.1))
        off = day % 7 == 3
        if off:
            paused(log, float(day), float(day) - 1.0)
        level += (0.0 if off else given) - 1.0 + (1.0 - given * 6.0 / 7.0)
    log.test(0.2, level)
    truth = (given * 6.0 / 7.0) * VOLUME_L / 2.8
    found = log.decide().demand.per_day_meq
    assert found.low < truth < found.high
    assert found.best == pytest.approx(truth, rel=0.08)


def lime_strength(log: KeeperLog) -> float:
    """Return the alkalinity of the limewater that the plan reckons with, meq/L."""
    facts = gather(log.records, system=log.system, now=log.now)
    inputs = recorded_inputs(facts, facts.setup, strength_now(facts, facts.setup), None)
    return inputs.lime_meq_per_day(log.now) / inputs.lime_L_per_day(log.now)
