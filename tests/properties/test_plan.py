"""What holds for every system: no cap is passed, less is never made more."""

import math
from dataclasses import fields, is_dataclass, replace
from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.caps import LimitContext, Limits, cap_values
from engine.decision import decide
from engine.demand.answer import Balance
from engine.limits import DosePlan, Refusal, admit
from engine.plan.dosing import DoseNeed, dose_need
from engine.records import Delivery, SecondSource, Setup
from engine.scenario import Scenario
from engine.units import Span, estimate, quantity, to_float
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, kettle


def between(low: float, high: float):
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


def perhaps(strategy):
    return st.none() | strategy


@st.composite
def spans(draw, low: float, high: float) -> Span:
    return Span(*sorted(draw(st.tuples(*(between(low, high) for _ in range(3))))))


limits_strategy = st.builds(
    Limits,
    keeper_cap_L_per_day=between(0.0, 100.0),
    evaporation_share=between(0.0, 1.0),
    net_rise_meq_per_L_per_day=between(0.0, 0.36),
    stopped_rise_meq_per_L_per_day=between(0.0, 2.0),
)
balances = st.builds(
    Balance,
    lime_L_per_day=between(0.0, 50.0),
    second_meq_per_day=between(0.0, 2000.0),
    net_change_meq_per_L_per_day=spans(-1.0, 1.0),
)
contexts = st.builds(
    LimitContext,
    net_volume_low_L=between(20.0, 2000.0),
    net_volume_high_L=between(2000.0, 3000.0),
    unsafe_meq_per_L=between(40.0, 52.0),
    low_meq_per_L=between(1.0, 40.0),
    planning_meq_per_L=between(30.0, 48.0),
    doses_per_day=st.integers(1, 288),
    pump_step_mL=between(0.01, 50.0),
    current_L_per_day=between(0.0, 60.0),
    evaporation_low_L_per_day=between(0.001, 60.0),
    two_part_water_L_per_meq=between(0.0, 0.02),
    pump_largest_L_per_day=perhaps(between(0.1, 200.0)),
    vessel_L=perhaps(between(0.1, 100.0)),
    week_ago_L_per_day=perhaps(between(0.0, 60.0)),
    balance=balances,
    alkalinity_age_days=between(0.0, 20.0),
    pH_nbs=perhaps(between(7.5, 8.8)),
)


def a_need(meq: float, context: LimitContext) -> DoseNeed:
    return DoseNeed(
        per_day=estimate(Span(meq, meq, meq), "meq/day"),
        demand=quantity(meq, "meq/day"),
        limewater=quantity(meq / context.planning_meq_per_L, "L/day"),
        reasons=(),
    )


meq_a_day = between(0.0, 3000.0)


def litres(plan: DosePlan | Refusal) -> float:
    return plan.L_per_day if isinstance(plan, DosePlan) else 0.0


@given(meq=meq_a_day, limits=limits_strategy, context=contexts)
@settings(max_examples=600, deadline=None)
def test_an_admitted_dose_is_below_every_cap_and_below_what_was_asked(meq, limits, context):
    plan = admit(a_need(meq, context), limits, context)
    if isinstance(plan, Refusal):
        return
    for cap in cap_values(limits, context, meq):
        assert plan.L_per_day <= cap.L_per_day
    assert plan.L_per_day <= to_float(plan.asked, "L/day")
    assert math.isfinite(plan.L_per_day)


@given(meq=meq_a_day, limits=limits_strategy, context=contexts)
@settings(max_examples=300, deadline=None)
def test_all_doses_together_are_the_plan_and_each_is_whole_pump_steps(meq, limits, context):
    plan = admit(a_need(meq, context), limits, context)
    if isinstance(plan, Refusal):
        return
    dose_mL = to_float(plan.dose, "mL")
    steps = dose_mL / context.pump_step_mL
    assert steps == pytest.approx(round(steps), abs=1e-6)
    assert dose_mL * plan.doses_per_day / 1000.0 <= plan.L_per_day * (1.0 + 1e-12)


@given(
    meq=meq_a_day,
    limits=limits_strategy,
    context=contexts,
    name=st.sampled_from(Limits.__slots__),
    share=between(0.0, 1.0),
)
@settings(max_examples=600, deadline=None)
def test_a_tighter_limit_never_raises_a_dose(meq, limits, context, name, share):
    tighter = replace(limits, **{name: getattr(limits, name) * share})
    need = a_need(meq, context)
    assert litres(admit(need, tighter, context)) <= litres(admit(need, limits, context))


@given(
    meq=meq_a_day,
    limits=limits_strategy,
    context=contexts,
    name=st.sampled_from(
        ("evaporation_low_L_per_day", "pump_largest_L_per_day", "vessel_L", "net_volume_low_L")
    ),
    share=between(0.05, 1.0),
)
@settings(max_examples=400, deadline=None)
def test_less_room_never_raises_a_dose(meq, limits, context, name, share):
    value = getattr(context, name)
    if value is None:
        return
    tighter = replace(context, **{name: value * share})
    need = a_need(meq, context)
    assert litres(admit(need, limits, tighter)) <= litres(admit(need, limits, context))


@given(
    meq=meq_a_day, limits=limits_strategy, context=contexts, name=st.sampled_from(Limits.__slots__)
)
@settings(deadline=None)
def test_an_unset_limit_refuses(meq, limits, context, name):
    plan = admit(a_need(meq, context), replace(limits, **{name: None}), context)
    assert isinstance(plan, Refusal)


@given(meq=meq_a_day, limits=limits_strategy, context=contexts)
@settings(deadline=None)
def test_unknown_evaporation_refuses(meq, limits, context):
    unknown = replace(context, evaporation_low_L_per_day=None)
    assert isinstance(admit(a_need(meq, context), limits, unknown), Refusal)


def a_setup(**changes) -> Setup:
    record = KeeperLog().setup(**changes).records[0]
    assert isinstance(record, Setup)
    return record


@given(
    demand=spans(0.0, 3000.0),
    more=between(0.0, 1000.0),
    level=between(1.0, 6.0),
    strength=between(5.0, 48.0),
)
@settings(max_examples=300, deadline=None)
def test_more_demand_never_lowers_the_need(demand, more, level, strength):
    def asked(span: Span) -> float:
        need = dose_need(
            a_setup(), demand_meq_per_day=span, level_meq_per_L=level, planning_meq_per_L=strength
        )
        return to_float(need.limewater, "L/day")

    raised = Span(*(value + more for value in demand))
    assert asked(raised) >= asked(demand)


def usually(strategy):
    """Draw None now and then: nine keepers in ten have set it."""
    return st.integers(0, 9).flatmap(lambda number: strategy if number else st.none())


@st.composite
def logs(draw) -> KeeperLog:
    """Draw the log of some keeper, sensible or not."""
    volume = draw(between(30.0, 3000.0))
    room = volume * draw(between(0.001, 0.05))
    log = KeeperLog().setup(
        net_volume_L=volume,
        net_volume_error_share=draw(between(0.01, 0.4)),
        delivery=draw(st.sampled_from(Delivery)),
        second_source=draw(st.sampled_from(SecondSource)),
        two_part_meq_per_mL=draw(usually(between(0.05, 5.0))),
        reactor_effluent_meq_per_L=draw(usually(between(2.0, 20.0))),
        lime_container_L=draw(perhaps(between(0.5, 60.0))),
        vessel_L=draw(perhaps(between(0.5, 40.0))),
        pump_L_per_h=draw(perhaps(between(0.05, 10.0))),
        shared_container=draw(st.booleans()),
        evaporation_low_L_per_day=draw(usually(st.just(room))),
        evaporation_high_L_per_day=draw(usually(st.just(1.3 * room))),
        keeper_cap_L_per_day=draw(usually(between(0.0, 2.0 * room))),
        entered_demand_meq_per_L_per_day=draw(perhaps(between(0.0, 1.5))),
        doses_per_day=draw(st.integers(1, 96)),
    )
    log.pump(draw(between(10.0, 60.0)), draw(between(0.0, room)))
    if draw(st.integers(0, 9)):
        log.second(draw(between(10.0, 60.0)), draw(between(0.0, 0.5 * volume)))
    for days in draw(st.lists(between(0.0, 10.0), max_size=3)):
        log.pump(days, draw(between(0.0, 2.0 * room)))
    start, slope = draw(between(1.5, 5.0)), draw(between(-0.05, 0.15))
    last = draw(between(0.0, 16.0))
    for number in range(draw(st.integers(0, 10))):
        noise = draw(between(-0.2, 0.2))
        log.read(
            last + 2.0 * number, total_alkalinity=max(0.2, start + 2.0 * slope * number + noise)
        )
    for days in draw(st.lists(between(0.0, 30.0), max_size=6)):
        log.refill(days, draw(between(0.0, 4.0 * room)), to_mark=draw(st.booleans()))
    for days in draw(st.lists(between(0.0, 30.0), max_size=2)):
        log.strength(days, draw(between(0.0, 1.1)))
    for days in draw(st.lists(between(0.0, 30.0), max_size=2)):
        log.recharge(days, draw(between(0.0, 500.0)))
    for days in draw(st.lists(between(0.0, 30.0), max_size=2)):
        log.pump_check(days, 100.0, draw(between(0.0, 150.0)))
    for days in draw(st.lists(between(0.0, 30.0), max_size=2)):
        log.water_change(days, draw(between(0.0, 100.0)), draw(perhaps(between(1.0, 5.0))))
    for days in draw(st.lists(between(0.0, 30.0), max_size=1)):
        log.addition(days, draw(between(0.0, 300.0)))
    for days in draw(st.lists(between(0.0, 3.0), max_size=1)):
        log.read(days, pH_nbs=draw(between(7.0, 8.8)))
    return log


@given(log=logs())
@settings(max_examples=300, deadline=None)
def test_any_log_gets_a_decision_below_every_cap(log):
    decision = log.decide()
    assert decision.change.reasons
    if isinstance(decision.plan, Refusal):
        assert decision.plan.reasons
        return
    for cap in decision.plan.caps:
        assert decision.plan.L_per_day <= cap.L_per_day


@given(log=logs(), seed=st.randoms(use_true_random=False))
@settings(max_examples=100, deadline=None)
def test_order_of_the_records_changes_nothing(log, seed):
    first = log.decide()
    seed.shuffle(log.records)
    assert log.decide() == first


def counted_from(start, value):
    """`value` with every time in it as the span since `start`."""
    if isinstance(value, datetime):
        return value - start
    if is_dataclass(value) and not isinstance(value, type):
        return type(value), counted_from(start, [getattr(value, f.name) for f in fields(value)])
    if isinstance(value, dict):
        return {key: counted_from(start, each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return tuple(counted_from(start, each) for each in value)
    return value


@given(log=logs(), days=st.integers(-3000, 3000))
@settings(max_examples=100, deadline=None)
def test_shifting_all_times_changes_nothing(log, days):
    first = log.decide()
    case = Scenario(name="", about="", now=NOW, records=tuple(log.records), expected={})
    moved = case.shifted(NOW + timedelta(days=days))
    second = decide(moved.records, system=SYSTEM, now=moved.now)
    assert counted_from(moved.now, second) == counted_from(NOW, first)


@given(
    name=st.sampled_from(
        ("keeper_cap_L_per_day", "evaporation_share", "stopped_rise_meq_per_L_per_day")
    ),
    share=between(0.2, 1.0),
)
@settings(max_examples=60, deadline=None)
def test_a_tighter_limit_in_setup_never_raises_the_plan(name, share):
    log = kettle()
    looser = litres(log.decide().plan)
    log.records[0] = replace(log.records[0], **{name: getattr(log.records[0], name) * share})
    assert litres(log.decide().plan) <= looser
