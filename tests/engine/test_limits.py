from dataclasses import replace

import pytest

from engine.caps import CAPS, LimitContext, Limits, cap_values
from engine.demand.answer import Balance
from engine.errors import EngineError, InvalidQuantity
from engine.limits import Action, DosePlan, Refusal, admit, refuse
from engine.plan.dosing import DoseNeed, approach_meq_per_L_per_day, dose_need
from engine.reasons import Code
from engine.units import Span, estimate, quantity, to_float
from tests.support.keeper_log import dkh, kettle

STEADY = Balance(
    lime_L_per_day=5.0,
    second_meq_per_day=0.0,
    net_change_meq_per_L_per_day=Span(-0.02, 0.0, 0.02),
)
LIMITS = Limits(
    keeper_cap_L_per_day=20.0,
    evaporation_share=0.9,
    net_rise_meq_per_L_per_day=0.107,
    stopped_rise_meq_per_L_per_day=1.07,
)
CONTEXT = LimitContext(
    net_volume_low_L=405.0,
    net_volume_high_L=495.0,
    unsafe_meq_per_L=45.0,
    low_meq_per_L=36.0,
    planning_meq_per_L=40.0,
    doses_per_day=24,
    pump_step_mL=1.0,
    current_L_per_day=5.0,
    evaporation_low_L_per_day=20.0,
    balance=STEADY,
    alkalinity_age_days=1.0,
)


def need(litres: float, context: LimitContext = CONTEXT) -> DoseNeed:
    meq = litres * context.planning_meq_per_L
    return DoseNeed(
        per_day=estimate(Span(meq, meq, meq), "meq/day"),
        demand=quantity(meq, "meq/day"),
        limewater=quantity(litres, "L/day"),
        reasons=(),
    )


def dose(litres: float, limits: Limits = LIMITS, context: LimitContext = CONTEXT) -> float:
    plan = admit(need(litres, context), limits, context)
    assert isinstance(plan, DosePlan), plan
    return plan.L_per_day


def cap(code: Code, limits: Limits = LIMITS, context: LimitContext = CONTEXT, demand=0.0) -> float:
    return next(c.L_per_day for c in cap_values(limits, context, demand) if c.code is code)


def test_what_is_needed_is_given_when_nothing_stands_against_it():
    assert dose(5.3) == pytest.approx(5.28)  # 24 doses of 220 mL: 220.8 rounded toward less


def test_half_a_millilitre_is_rounded_toward_less():
    assert dose(0.024 * 10.9) == pytest.approx(0.24)


def test_a_plan_cannot_be_made_by_anything_else():
    plan = admit(need(5.0), LIMITS, CONTEXT)
    assert isinstance(plan, DosePlan)
    with pytest.raises(EngineError):
        replace(plan, limewater=quantity(50.0, "L/day"))
    with pytest.raises(EngineError):
        DosePlan(
            limewater=quantity(50.0, "L/day"),
            dose=quantity(50.0, "mL"),
            doses_per_day=24,
            asked=quantity(50.0, "L/day"),
            caps=(),
            binding=(),
            reasons=(),
        )


def test_evaporation_cap_is_the_keepers_share_of_the_low_end():
    context = replace(CONTEXT, evaporation_low_L_per_day=4.0)
    assert cap(Code.CAP_EVAPORATION, context=context) == pytest.approx(3.6)
    assert dose(6.0, context=context) == pytest.approx(3.6)


def test_water_of_the_two_part_takes_room_from_limewater():
    # 2 meq/mL, two parts: 1 mL of water for each meq. Demand 400 meq, room 3.6 L:
    # lime L with 3.6 = L + 0.001 (400 - 40 L), so L = 3.2 / 0.96.
    context = replace(CONTEXT, evaporation_low_L_per_day=4.0, two_part_water_L_per_meq=0.001)
    assert cap(Code.CAP_EVAPORATION, context=context, demand=400.0) == pytest.approx(3.2 / 0.96)


def test_no_two_part_water_where_limewater_covers_the_demand():
    context = replace(CONTEXT, evaporation_low_L_per_day=4.0, two_part_water_L_per_meq=0.001)
    assert cap(Code.CAP_EVAPORATION, context=context, demand=100.0) == pytest.approx(3.6)


def test_net_rise_cap_starts_from_what_is_given_now():
    # 0.107 - 0.02 meq/L/day in at least 405 L, at no more than 45 meq/L
    assert cap(Code.CAP_NET_RISE) == pytest.approx(5.0 + 0.087 * 405.0 / 45.0)


def test_net_rise_cap_lowers_where_alkalinity_already_climbs_too_fast():
    rising = replace(STEADY, net_change_meq_per_L_per_day=Span(0.1, 0.15, 0.2))
    context = replace(CONTEXT, balance=rising)
    assert cap(Code.CAP_NET_RISE, context=context) == pytest.approx(5.0 - 0.093 * 495.0 / 36.0)


def test_net_rise_cap_of_an_entered_demand_is_the_limit_plus_its_low_end():
    entered = Balance(
        lime_L_per_day=0.0,
        second_meq_per_day=0.0,
        net_change_meq_per_L_per_day=Span(-0.6, -0.5, -0.4),
    )
    context = replace(CONTEXT, balance=entered)
    assert cap(Code.CAP_NET_RISE, context=context) == pytest.approx(0.507 * 405.0 / 45.0)


def test_limewater_may_take_the_place_of_the_second_source():
    context = replace(CONTEXT, balance=replace(STEADY, second_meq_per_day=90.0))
    assert cap(Code.CAP_NET_RISE, context=context) == pytest.approx(cap(Code.CAP_NET_RISE) + 2.0)


def test_heavy_tank_is_not_stopped_by_what_it_is_given_but_by_what_it_gains():
    # 2.6 dKH a day is given and used: over 1 dKH gross, nothing net.
    heavy = Balance(
        lime_L_per_day=10.0,
        second_meq_per_day=0.0,
        net_change_meq_per_L_per_day=Span(-0.01, 0.0, 0.01),
    )
    context = replace(CONTEXT, balance=heavy, current_L_per_day=10.0)
    limits = replace(LIMITS, stopped_rise_meq_per_L_per_day=dkh(4.0))
    assert dose(10.0, limits=limits, context=context) == pytest.approx(9.984)


def test_stopped_rise_cap_is_the_smallest_volume_at_the_greatest_strength():
    assert cap(Code.CAP_STOPPED_RISE) == pytest.approx(1.07 * 405.0 / 45.0)


def test_keeper_cap_is_the_keepers():
    assert dose(8.0, limits=replace(LIMITS, keeper_cap_L_per_day=2.4)) == pytest.approx(2.4)


def test_pump_range_cap():
    context = replace(CONTEXT, pump_largest_L_per_day=4.8)
    assert dose(5.5, context=context) == pytest.approx(4.8)


def test_vessel_surge_cap_is_a_tenth_of_the_vessel_each_dose():
    assert cap(Code.CAP_VESSEL_SURGE, context=replace(CONTEXT, vessel_L=1.0)) == pytest.approx(2.4)


def test_dose_pH_cap_is_a_twentieth_meq_a_litre_each_dose():
    assert cap(Code.CAP_DOSE_PH) == pytest.approx(24 * 0.05 * 405.0 / 45.0)


def test_dose_pH_cap_follows_the_carbonate_model_but_never_beyond_the_plain_guard():
    tight = replace(CONTEXT, largest_dose_meq_per_L=0.03)
    assert cap(Code.CAP_DOSE_PH, context=tight) == pytest.approx(24 * 0.03 * 405.0 / 45.0)
    loose = replace(CONTEXT, largest_dose_meq_per_L=0.2)
    assert cap(Code.CAP_DOSE_PH, context=loose) == cap(Code.CAP_DOSE_PH)


def test_day_pH_cap_holds_the_dose():
    assert dose(5.3, context=replace(CONTEXT, day_pH_L_per_day=3.6)) == pytest.approx(3.6)
    none_left = admit(need(5.3), LIMITS, replace(CONTEXT, day_pH_L_per_day=0.0))
    assert isinstance(none_left, Refusal)


def test_nothing_is_raised_while_the_newest_test_is_doubted():
    context = replace(CONTEXT, newest_is_suspect=True, current_L_per_day=4.8)
    assert dose(5.5, context=context) == pytest.approx(4.8)
    assert dose(3.6, context=context) == pytest.approx(3.6)


def test_weekly_rise_cap_is_fifteen_percent_and_undoes_nothing():
    context = replace(CONTEXT, week_ago_L_per_day=4.0, current_L_per_day=4.0)
    assert cap(Code.CAP_WEEKLY_RISE, context=context) == pytest.approx(4.6)
    context = replace(context, current_L_per_day=5.0)
    assert cap(Code.CAP_WEEKLY_RISE, context=context) == pytest.approx(5.0)


def test_nothing_is_raised_on_a_test_older_than_a_week():
    context = replace(CONTEXT, alkalinity_age_days=7.5, current_L_per_day=4.8)
    assert dose(5.5, context=context) == pytest.approx(4.8)
    assert dose(3.6, context=context) == pytest.approx(3.6)


def test_every_cap_is_one_that_the_table_names():
    context = replace(
        CONTEXT,
        pump_largest_L_per_day=70.0,
        vessel_L=5.0,
        week_ago_L_per_day=5.0,
        restart_L_per_day=2.5,
        alkalinity_age_days=8.0,
        day_pH_L_per_day=6.0,
        newest_is_suspect=True,
    )
    assert {c.code for c in cap_values(LIMITS, context, 0.0)} == {cap.code for cap in CAPS}


def test_lowering_is_never_limited():
    context = replace(CONTEXT, current_L_per_day=9.0, week_ago_L_per_day=9.0)
    assert dose(1.2, context=context) == pytest.approx(1.2)


def test_alkalinity_above_the_target_by_far_gets_a_plan_of_none():
    plan = admit(need(0.0), LIMITS, CONTEXT)
    assert isinstance(plan, DosePlan)
    assert plan.L_per_day == 0.0


def test_refusal_lowers_what_runs_above_a_cap():
    context = replace(CONTEXT, evaporation_low_L_per_day=4.0, alkalinity_age_days=20.0)
    plan = admit(need(6.0), LIMITS, context)
    assert isinstance(plan, Refusal)
    assert plan.code is Code.ALKALINITY_STALE
    assert plan.action is Action.LOWER
    assert plan.lower_to is not None
    assert to_float(plan.lower_to, "L/day") == pytest.approx(3.6)


def test_refusal_holds_where_the_top_off_sets_the_litres():
    context = replace(CONTEXT, evaporation_low_L_per_day=4.0, can_be_set=False)
    refusal = refuse(Code.TESTS_TOO_FEW, Action.HOLD, limits=LIMITS, context=context)
    assert refusal.action is Action.HOLD


def test_stale_at_more_than_fourteen_days():
    assert dose(4.8, context=replace(CONTEXT, alkalinity_age_days=14.0)) == pytest.approx(4.8)
    plan = admit(need(4.8), LIMITS, replace(CONTEXT, alkalinity_age_days=14.001))
    assert isinstance(plan, Refusal)


@pytest.mark.parametrize("pH", [8.5, 8.7, 9.3])
def test_no_plan_at_a_high_pH(pH):
    plan = admit(need(4.8), LIMITS, replace(CONTEXT, pH_nbs=pH))
    assert isinstance(plan, Refusal)
    assert plan.action is Action.STOP


def test_plan_just_below_it():
    assert dose(4.8, context=replace(CONTEXT, pH_nbs=8.49)) == pytest.approx(4.8)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -1.0])
@pytest.mark.parametrize("name", LIMITS.__slots__)
def test_a_limit_is_a_finite_number_of_at_least_zero(name, bad):
    with pytest.raises(InvalidQuantity):
        replace(LIMITS, **{name: bad})


@pytest.mark.parametrize(
    "name",
    [
        "net_volume_low_L",
        "net_volume_high_L",
        "unsafe_meq_per_L",
        "low_meq_per_L",
        "planning_meq_per_L",
        "doses_per_day",
        "pump_step_mL",
        "current_L_per_day",
        "evaporation_low_L_per_day",
        "two_part_water_L_per_meq",
        "pump_largest_L_per_day",
        "vessel_L",
        "week_ago_L_per_day",
        "alkalinity_age_days",
        "pH_nbs",
        "largest_dose_meq_per_L",
        "day_pH_L_per_day",
    ],
)
def test_a_fact_is_a_finite_number(name):
    for bad in (float("nan"), float("inf"), -1.0):
        with pytest.raises(InvalidQuantity):
            replace(CONTEXT, **{name: bad})


def test_a_need_is_finite():
    with pytest.raises(InvalidQuantity):
        need(float("nan"))


def test_approach_is_a_quarter_a_day_of_what_exceeds_the_dead_band():
    rise = dkh(0.3)
    assert approach_meq_per_L_per_day(dkh(8.3), dkh(8.1), rise) == 0.0
    assert approach_meq_per_L_per_day(dkh(8.3), dkh(7.5), rise) == pytest.approx(dkh(0.125))
    assert approach_meq_per_L_per_day(dkh(8.3), dkh(7.99), rise) == pytest.approx(dkh(0.0025))
    assert approach_meq_per_L_per_day(dkh(8.3), dkh(5.0), rise) == pytest.approx(rise)
    assert approach_meq_per_L_per_day(dkh(8.3), dkh(9.1), rise) == pytest.approx(-dkh(0.125))
    assert approach_meq_per_L_per_day(dkh(8.3), dkh(12.0), rise) == pytest.approx(-dkh(0.5))


def test_need_is_never_negative():
    setup = kettle().decide().setup
    assert setup is not None
    asked = dose_need(
        setup,
        demand_meq_per_day=Span(5.0, 10.0, 15.0),
        level_meq_per_L=dkh(12.0),
        planning_meq_per_L=40.0,
    )
    assert asked.per_day.floats("meq/day") == Span(0.0, 0.0, 0.0)


def test_doubted_test_with_the_pump_off_is_repeated_not_an_alarm():
    log = kettle().pump(1.0, 0.0).test(0.1, 8.3)
    decision = log.decide()
    assert any(r.code == Code.CAP_SUSPECT for r in decision.plan.reasons)
    assert isinstance(decision.plan, Refusal)
    assert decision.plan.action is Action.HOLD
