import pytest

from engine.errors import InvalidQuantity
from engine.reasons import Code
from engine.records import Container, Delivery, ProcedureEvent, ProcedureRun
from engine.stock.charge import (
    calcium_hydroxide_g_per_day,
    largest_charge_g,
    lime_container_powder_g,
    recharge,
    saturated_recharge,
)
from engine.stock.powder import Powder
from engine.units import to_float
from tests.support.keeper_log import KeeperLog, kettle

PURE_G_PER_DAY = 5.3 * 40.897 / 26.9932  # 5.3 L of limewater saturated at 24 degC


def powder(log: KeeperLog) -> Powder:
    found = log.decide().powder
    assert isinstance(found, Powder), found
    return found


def setup(**changes):
    found = kettle(**changes).decide().setup
    assert found is not None
    return found


def test_use_a_day_is_litres_times_strength():
    use = powder(kettle().recharge(1.0, 125.0)).use.floats("g/day")
    assert use.best == pytest.approx(PURE_G_PER_DAY, rel=1e-4)


def test_left_is_charge_by_assay_and_dryness_less_sludge_dosed_and_carbonate():
    left = powder(kettle().recharge(6.0, 125.0)).left.floats("g")
    usable, gone = 125.0 * 0.95 * 0.99 * 0.925, 6.0 * PURE_G_PER_DAY * 1.01
    assert left.best == pytest.approx(usable - gone, rel=1e-4)
    assert left.low < left.best < left.high


def test_a_fortnights_charge_lasts_about_a_fortnight():
    days = powder(kettle().recharge(0.0, 130.6)).days_left.floats("day")
    assert days.low < 14.0 < days.high
    assert days.best == pytest.approx(14.0, abs=0.2)


def test_old_bed_is_not_counted_at_a_recharge():
    twice = powder(kettle().recharge(5.0, 125.0).recharge(1.0, 60.0)).left.floats("g")
    once = powder(kettle().recharge(1.0, 60.0)).left.floats("g")
    assert (twice.low, twice.best) == (once.low, once.best)
    assert twice.high > once.high, "some of it may still be lime"


def test_two_scoops_of_one_recharge_are_one_charge():
    both = powder(kettle().recharge(1.02, 60.0).recharge(1.0, 65.0)).left.floats("g")
    once = powder(kettle().recharge(1.0, 125.0)).left.floats("g")
    assert both.best == pytest.approx(once.best)


def test_powder_in_another_container_is_not_the_vessels():
    assert not isinstance(
        kettle().recharge(1.0, 125.0, container=Container.LIME).decide().powder, Powder
    )


def test_lime_container_holds_the_powder_where_there_is_no_vessel():
    log = kettle(delivery=Delivery.PUMP_CONTAINER).recharge(1.0, 125.0, container=Container.LIME)
    assert powder(log).container is Container.LIME


def test_spent_powder_is_none_left():
    assert powder(kettle().recharge(40.0, 125.0)).days_left.floats("day").best == 0.0


def test_shelf_counts_purchases_less_recharges_and_a_count_replaces():
    log = kettle().stock(30.0, 1000.0, counted=False).recharge(20.0, 125.0)
    assert to_float(powder(log).shelf, "g") == pytest.approx(875.0)
    log.stock(10.0, 800.0, counted=True).recharge(3.0, 125.0).stock(1.0, 500.0, counted=False)
    assert to_float(powder(log).shelf, "g") == pytest.approx(1175.0)


def test_shelf_is_unknown_until_something_is_recorded():
    assert powder(kettle().recharge(1.0, 125.0)).shelf is None


def test_recharge_for_wanted_days():
    charge = recharge(setup(), limewater_L_per_day=5.3, strength_meq_per_L=40.897, days=14.0)
    # practice: about 125 g for a fortnight
    assert to_float(charge.powder, "g") == pytest.approx(130.6, abs=0.2)
    assert to_float(charge.days, "day") == pytest.approx(14.0)
    assert charge.reasons == ()


def test_a_month_of_powder_does_not_go_into_a_small_vessel():
    charge = recharge(setup(), limewater_L_per_day=5.3, strength_meq_per_L=40.897, days=30.0)
    assert to_float(charge.powder, "g") == pytest.approx(150.0)  # 30 g a litre of 5 L
    assert to_float(charge.days, "day") == pytest.approx(16.1, abs=0.1)


def test_largest_charge_keeps_to_thirty_grams_a_litre():
    assert largest_charge_g(5.0) == pytest.approx(150.0)


def test_lime_container_is_mixed_with_a_reserve_or_exactly():
    saturated = lime_container_powder_g(20.0, temperature_degC=25.0, assay=0.95)
    assert saturated == pytest.approx(20.0 * 1.504 * 1.2 / 0.95)
    weak = lime_container_powder_g(20.0, temperature_degC=25.0, assay=0.95, share_of_saturation=0.5)
    assert weak == pytest.approx(20.0 * 1.504 * 0.5 / 0.95)


def test_colder_water_takes_more_powder():
    cold = lime_container_powder_g(20.0, temperature_degC=10.0, assay=0.95)
    assert cold > lime_container_powder_g(20.0, temperature_degC=25.0, assay=0.95)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_nonsense_is_refused(bad):
    with pytest.raises(InvalidQuantity):
        lime_container_powder_g(bad, temperature_degC=25.0, assay=0.95)
    with pytest.raises(InvalidQuantity):
        largest_charge_g(bad)
    with pytest.raises(InvalidQuantity):
        recharge(setup(), limewater_L_per_day=5.0, strength_meq_per_L=40.0, days=bad)
    if bad:
        with pytest.raises(InvalidQuantity):
            calcium_hydroxide_g_per_day(bad, 40.0)


def test_plan_and_procedure_name_the_same_recharge():
    """A weak vessel is recharged for saturated limewater, whatever its last check found."""
    decision = kettle().strength(40.0, 0.97).strength(0.2, 0.36).decide()
    assert decision.setup is not None
    assert decision.setting is not None
    charge = saturated_recharge(decision.setup, to_float(decision.setting.delivered, "L/day"))
    told = [r for r in decision.change.reasons if r.code == Code.WEAK_SHORT]
    assert told[0].numbers["powder_g"] == pytest.approx(to_float(charge.powder, "g"))
    # 5.3 L x 40.9 meq/L x 14 days of 95 % lime, 1 % damp, sludge and carbonate apart
    assert to_float(charge.powder, "g") == pytest.approx(
        5.3 * 40.897 * 14.0 / 26.99 / 0.95 / 0.99 / 0.925 * 1.01, rel=0.001
    )


def test_a_finished_new_vessel_holds_the_powder_of_its_own_run():
    log = kettle().recharge(20.0, 300.0)
    log.add(ProcedureRun, 1.2, procedure="new_vessel", run="r1", event=ProcedureEvent.STARTED)
    log.recharge(1.1, 100.0)
    log.add(ProcedureRun, 1.0, procedure="new_vessel", run="r1", event=ProcedureEvent.FINISHED)
    powder = log.decide().powder
    assert isinstance(powder, Powder)
    assert powder.charged_g == 100.0
    assert powder.old_bed_g == 0.0
