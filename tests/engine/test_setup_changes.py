"""A set-up that changes or is corrected: what ran before must not go on running in the numbers."""

import pytest

from engine.decision import Decision
from engine.demand.answer import Demand
from engine.limewater import saturated_alkalinity_meq_per_L
from engine.limits import Action, DosePlan, Refusal
from engine.reasons import Code, Reason
from engine.records import Container, Delivery, SecondSource
from engine.units import to_float
from tests.support.keeper_log import KeeperLog, dkh, kettle

HELD = 5.3 * 40.897 / 300.0  # meq/L a day that 5.3 L hold steady in 300 litres


def demand_of(decision: Decision) -> Demand:
    assert isinstance(decision.demand, Demand), decision.demand
    return decision.demand


# --- 8: what ran before


def test_top_off_does_not_keep_the_setting_of_the_pump_before_it():
    log = kettle().setup(4.0, delivery=Delivery.TOP_OFF_VESSEL, shared_container=False)
    setting = log.decide().setting
    assert setting is not None
    # all that evaporates, 6.3 to 7.5 L a day, and no longer the pump's 5.3
    assert to_float(setting.delivered, "L/day") == pytest.approx(6.9)


def test_a_new_pump_does_not_inherit_the_drips_setting():
    log = kettle(delivery=Delivery.DRIP).setup(1.0, delivery=Delivery.PUMP_VESSEL)
    plan = log.decide().plan
    assert isinstance(plan, Refusal)
    assert Code.DELIVERY_UNRECORDED in [reason.code for reason in plan.reasons]


def test_second_source_removed_in_setup_gives_nothing_from_then_on():
    two_part = {"second_source": SecondSource.TWO_PART, "two_part_meq_per_mL": 2.0}
    log = KeeperLog().setup(**two_part).pump(60.0, 5.3).second(60.0, 80.0)
    for days_ago in (21, 18, 15, 12, 9, 6, 3, 0.5):
        log.test(days_ago, 8.3)
    net_before = log.decide().setting
    net_after = log.setup(0.4, second_source=SecondSource.NONE).decide().setting
    assert net_before is not None
    assert net_before.net_change is not None
    assert net_after is not None
    assert net_after.net_change is not None
    fallen = (
        net_before.net_change.floats("meq/L/day").best
        - net_after.net_change.floats("meq/L/day").best
    )
    assert fallen == pytest.approx(80.0 / 450.0, rel=0.01)


def test_a_new_temperature_of_the_lime_is_not_read_back_over_the_log():
    cold = kettle(lime_temperature_degC=10.0)
    before = demand_of(cold.decide()).per_day_meq.best
    after = demand_of(cold.setup(0.2, lime_temperature_degC=30.0).decide()).per_day_meq.best
    assert after == pytest.approx(before, rel=0.01)
    assert before == pytest.approx(5.3 * saturated_alkalinity_meq_per_L(10.0), rel=0.01)


def test_a_corrected_volume_applies_to_the_whole_log():
    log = KeeperLog().setup(net_volume_L=300.0).pump(60.0, 0.0)
    for days_ago in (12, 9, 6, 3, 0.5):
        log.test(days_ago, 7.7 + 0.1 * days_ago)
    small = demand_of(log.decide()).per_day_meq.best
    large = demand_of(log.setup(0.1, net_volume_L=450.0).decide()).per_day_meq.best
    assert large == pytest.approx(1.5 * small, rel=1e-6)


# --- 9: a demand entered as "what I dose holds steady"


def held_steady(**changes) -> KeeperLog:
    log = KeeperLog().setup(net_volume_L=300.0, entered_demand_meq_per_L_per_day=HELD)
    log.pump(1.0, 5.3).test(0.2, 8.3)
    return log.setup(0.1, entered_demand_meq_per_L_per_day=HELD, **changes) if changes else log


def test_what_holds_steady_stays_the_same_amount_when_the_volume_is_corrected():
    before = demand_of(held_steady().decide())
    after = demand_of(held_steady(net_volume_L=450.0).decide())
    assert before.source == after.source == "entered"
    assert after.per_day_meq.best == pytest.approx(before.per_day_meq.best)
    assert after.per_litre_meq.best == pytest.approx(before.per_litre_meq.best * 300.0 / 450.0)


def test_what_holds_steady_asks_for_no_more_after_the_volume_is_corrected():
    plan = held_steady(net_volume_L=450.0).decide().plan
    assert isinstance(plan, DosePlan)
    assert to_float(plan.asked, "L/day") == pytest.approx(5.3, rel=0.05)


def test_a_demand_read_off_tests_keeps_its_share_of_each_litre():
    log = KeeperLog().setup(net_volume_L=300.0, entered_demand_meq_per_L_per_day=dkh(1.0))
    log.pump(1.0, 5.3).test(0.2, 8.3)
    log.setup(0.1, net_volume_L=450.0, entered_demand_meq_per_L_per_day=dkh(1.0))
    assert demand_of(log.decide()).per_litre_meq.best == pytest.approx(dkh(1.0))


# --- 4: the strength of a lime container's mix


def mixed(grams: float, **setup) -> KeeperLog:
    """Return a top-off container mixed two weeks ago, alkalinity falling slowly since."""
    log = KeeperLog().setup(
        **{
            "delivery": Delivery.TOP_OFF_CONTAINER,
            "lime_container_L": 20.0,
            "vessel_L": None,
            **setup,
        }
    )
    log.recharge(14.0, grams, Container.LIME)
    for days_ago in (13.0, 10.0, 7.0, 4.0, 0.3):
        log.test(days_ago, 8.9 - 0.25 * (13.0 - days_ago) / 3.0)
    return log


def test_a_weak_mix_in_the_container_is_not_read_as_saturated():
    # 17.2 g of 95 % lime in 20 L at 1.515 g/L: 54 % of saturated
    limewater = mixed(17.2).decide().limewater
    assert limewater is not None
    assert limewater.share.best == pytest.approx(0.54, abs=0.01)
    demand = demand_of(mixed(17.2).decide()).per_day_meq.best
    assert demand == pytest.approx(6.9 * 0.54 * 40.9 + dkh(0.25 / 3.0) * 450.0, rel=0.03)


def test_more_powder_than_dissolves_is_saturated_limewater():
    limewater = mixed(60.0).decide().limewater
    assert limewater is not None
    assert limewater.share.best == 1.0


def test_mix_advice_followed_holds_the_tank_steady():
    """The advice on a weak mix is carried out, and its own meq a day meets the demand found."""
    decision = mixed(17.2).decide()
    assert decision.change.code is Code.MIX_WEAKER
    assert decision.change.mix_share is not None
    given_meq = decision.change.mix_share * 40.897 * 7.5  # on the day of most evaporation
    need = demand_of(decision).per_day_meq.best + dkh(0.3) * 450.0
    assert given_meq <= need * 1.02


@pytest.mark.parametrize("delivery", [Delivery.TOP_OFF_CONTAINER, Delivery.PUMP_CONTAINER])
def test_a_mix_in_unknown_litres_gives_no_advice(delivery):
    log = mixed(17.2, lime_container_L=None, delivery=delivery)
    log.pump(60.0, 5.0)
    decision = log.decide()
    assert isinstance(decision.plan, Refusal)
    assert decision.plan.action is not Action.STOP
    assert Code.STRENGTH_UNKNOWN in [reason.code for reason in decision.plan.reasons]
    assert decision.change.mix_share is None
    # a check of the strength settles it
    assert Code.STRENGTH_UNKNOWN not in all_codes(log.strength(0.1, 0.6).decide())


def all_codes(decision: Decision) -> list[str]:
    found: list[Reason] = [*decision.plan.reasons, *decision.cautions]
    return [reason.code for reason in found]


def test_a_container_mixed_weak_on_purpose_is_not_called_spent():
    decision = mixed(17.2).strength(0.1, 0.54).decide()
    assert decision.limewater is not None
    assert Code.WEAK_LIME not in [reason.code for reason in decision.limewater.reasons]
