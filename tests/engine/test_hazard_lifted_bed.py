"""A fast flow through a stirred vessel: the bed comes along, and every size counts it."""

from dataclasses import replace
from math import exp

import pytest

from engine.demand.facts import gather
from engine.hazards.codes import HazardCode, Kind
from engine.hazards.course import Lime
from engine.hazards.equipment import Guards
from engine.hazards.hazard import WARNED_KINDS, assess
from engine.hazards.lifted_bed import gentle_L_per_h
from engine.hazards.safe_setup import verdict
from engine.records import Container, Delivery
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, kettle


def hazards(log, **options):
    return assess(gather(log.records, system=SYSTEM, now=NOW), **options)


def case(found, kind):
    return next(c for c in found.cases if c.kind is kind)


def codes(reasons):
    return {reason.code for reason in reasons}


def by_top_off(container_L=25.0, charge_g=100.0, **setup):
    """60 L/h through a vessel of 5 L: a fifth of it each minute, ten times too fast."""
    fields = {
        "delivery": Delivery.TOP_OFF_VESSEL,
        "vessel_L": 5.0,
        "top_off_L_per_h": 60.0,
        "siphon_break": True,
        "drain_back_L": 1.0,
        "fresh_water_container_L": container_L,
        "pump_L_per_h": None,
    }
    log = KeeperLog().setup(60, **{**fields, **setup})
    for number in range(15):
        log.test(number * 2 + 0.3, 8.3)
    return log.recharge(1.0, charge_g) if charge_g else log


def test_a_fast_top_off_that_sticks_brings_the_bed():
    """100 g at 95 %, mixed out by 25 L through 5 L: all but exp(-5) of it."""
    found = case(hazards(by_top_off()), Kind.TOP_OFF_STUCK)
    assert found.middle.suspended_g == pytest.approx(95.0 * (1.0 - exp(-5.0)))
    assert HazardCode.BED_LIFTED in codes(found.reasons)


@pytest.mark.parametrize("kind", [Kind.PUMP_STUCK, Kind.TENFOLD_SETTING])
def test_so_does_a_fast_pump(kind):
    fast = case(hazards(kettle(pump_L_per_h=12.0).recharge(1.0, 120.0)), kind)
    gentle = case(hazards(kettle(pump_L_per_h=3.0).recharge(1.0, 120.0)), kind)
    assert fast.middle.suspended_g > 50.0
    assert gentle.middle.suspended_g == 0.0


def test_the_recommended_container_holds_with_the_bed():
    safe = verdict(hazards(by_top_off()))
    assert HazardCode.BED_COMES_ALONG in codes(safe.reasons)
    settled = hazards(by_top_off(safe.container_L))
    assert codes(verdict(settled).verdict) == {HazardCode.VERDICT_HOLDS}
    assert case(settled, Kind.TOP_OFF_STUCK).middle.suspended_g > 0.0


def test_a_verdict_that_holds_leaves_no_surge_above_the_band():
    assert Kind.VESSEL_SURGE in WARNED_KINDS
    found = hazards(by_top_off(2.6))
    assert verdict(found).reaches_band
    assert Kind.VESSEL_SURGE in {c.kind for c in found.warnable}


def test_the_cut_off_counts_the_bed():
    safe = verdict(hazards(kettle(pump_L_per_h=12.0).recharge(1.0, 12.0)))
    assert safe.cut_off_h > 0.0
    guarded = hazards(
        kettle(pump_L_per_h=12.0).recharge(1.0, 12.0),
        guards=Guards(cut_off_h=safe.cut_off_h, siphon_break=True),
    )
    assert not verdict(guarded).reaches_band


def test_without_a_recorded_charge_a_fast_flow_has_no_size():
    found = hazards(by_top_off(charge_g=0.0))
    safe = verdict(found)
    assert (safe.container_L, safe.cut_off_h, safe.dose_L) == (None, None, None)
    assert HazardCode.SIZE_UNKNOWN in codes(safe.verdict)
    assert HazardCode.BED_NOT_COUNTED in codes(case(found, Kind.TOP_OFF_STUCK).reasons)


def test_an_unknown_flow_counts_as_fast():
    found = case(hazards(by_top_off(top_off_L_per_h=None)), Kind.TOP_OFF_STUCK)
    assert found.middle.suspended_g > 90.0


def test_a_slower_flow_is_offered_and_lets_the_bed_lie():
    log = by_top_off(drain_back_L=0.4, fresh_water_container_L=3.0, charge_g=600.0)
    (slower,) = [
        a for a in verdict(hazards(log)).alternatives if a.reason.code is HazardCode.SLOWER_FLOW
    ]
    assert Kind.VESSEL_SURGE in slower.settles
    flow = slower.reason.numbers["flow_L_per_h"]
    assert flow <= gentle_L_per_h(5.0)
    calm = hazards(by_top_off(drain_back_L=0.4, charge_g=600.0, top_off_L_per_h=flow / 1.2))
    assert Kind.VESSEL_SURGE not in {c.kind for c in calm.cases}


def test_powder_leaves_a_mixed_vessel_sooner_than_the_water():
    start = hazards(kettle()).start.middle
    even = Lime(
        water=start, strength_meq_per_L=40.0, litres=10.0, rate_L_per_h=10.0, suspended_g=50.0
    )
    washed = replace(even, washed_L=5.0)
    assert washed.brought_meq_per_L(1.0) == pytest.approx(even.brought_meq_per_L(1.0))
    share = (1.0 - exp(-1.0)) / (1.0 - exp(-2.0))
    assert washed.powder_share(0.5) == pytest.approx(share)
    assert washed.brought_meq_per_L(0.5) > even.brought_meq_per_L(0.5)


# --- what lies there from before


def with_charges(count, vessel_L=20.0, grams=20.0):
    log = KeeperLog().setup(80, vessel_L=vessel_L).pump(80.0, 2.0)
    for number in range(20):
        log.test(number * 2 + 0.3, 8.3)
    for number in range(count - 1, -1, -1):
        log.recharge(number * 4 + 0.5, grams)
    return log


def test_the_old_bed_counts_at_the_bad_end_as_the_powder_page_has_it():
    log = with_charges(20)
    old_g = log.decide().powder.old_bed_g
    assert old_g > 100.0
    found = case(hazards(log), Kind.BED_FLUSHED)
    assert found.bad[0].suspended_g == pytest.approx(20.0 * 0.97 + old_g, rel=0.02)
    assert found.middle.suspended_g == pytest.approx(19.0)
    assert HazardCode.OLD_BED in codes(found.reasons)


def test_an_emptied_vessel_has_no_old_bed():
    log = with_charges(20).add_emptied(1.0)
    assert HazardCode.OLD_BED not in codes(case(hazards(log), Kind.BED_FLUSHED).reasons)


def test_what_lies_there_is_taken_off_the_charge_that_is_forgiven():
    old = verdict(hazards(with_charges(20)))
    assert old.charge_g == 0.0
    assert HazardCode.CHARGE_OLD_BED in codes(old.reasons)
    few = {
        "vessel_L": 0.5,
        "net_volume_L": 6000.0,
        "powder_assay": 0.95,
        "pump_L_per_h": 0.3,
        "doses_per_day": 96,
    }
    large = KeeperLog().setup(80, **few).pump(80.0, 2.0).test(0.3, 8.3).recharge(0.5, 20.0)
    before = KeeperLog().setup(80, **few).pump(80.0, 2.0).test(0.3, 8.3)
    before.recharge(4.5, 40.0).recharge(0.5, 20.0)
    lies = before.decide().powder.old_bed_g
    assert lies > 5.0
    forgiven = verdict(hazards(large)).charge_g
    assert verdict(hazards(before)).charge_g == pytest.approx(forgiven - lies, rel=0.05)


def test_earlier_charges_without_any_dose_on_record_all_lie_there():
    log = KeeperLog().setup(80).test(0.3, 8.3).recharge(9.0, 30.0).recharge(0.5, 20.0)
    assert case(hazards(log), Kind.BED_FLUSHED).bad[0].suspended_g > 49.0


# --- which pump it is


def top_off_container(**setup):
    fields = {
        "delivery": Delivery.TOP_OFF_CONTAINER,
        "lime_container_L": 60.0,
        "pump_L_per_h": 0.3,
        "vessel_L": None,
    }
    return KeeperLog().setup(80, **{**fields, **setup}).test(0.3, 8.3)


def test_a_metering_pump_left_in_setup_is_not_the_top_off():
    found = hazards(top_off_container())
    assert found.equipment.rate_L_per_h is None
    assert case(found, Kind.TOP_OFF_STUCK).middle.litres == pytest.approx(60.0)


def test_nor_does_its_check_say_anything_of_the_top_off():
    plain = hazards(top_off_container(top_off_L_per_h=30.0)).equipment.rate_L_per_h
    log = top_off_container(top_off_L_per_h=30.0).pump_check(1.0, 100.0, 80.0)
    assert hazards(log).equipment.rate_L_per_h == plain
    assert plain.best == pytest.approx(30.0)


def test_lime_container_keeps_its_own_bed_apart_from_the_vessel():
    log = top_off_container().recharge(3.0, 50.0, Container.VESSEL)
    assert hazards(log).equipment.charge_g is None


# --- a siphon: nobody knows its flow


def test_a_siphon_through_a_calm_vessel_counts_its_powder():
    """100 g at 95 %, mixed out by 25 L through 5 L; at the good end the bed lies."""
    calm = hazards(kettle().recharge(1.0, 100.0))
    emptied = case(calm, Kind.CONTAINER_EMPTIED)
    assert emptied.middle.suspended_g == pytest.approx(95.0 * (1.0 - exp(-5.0)))
    assert emptied.good.suspended_g == 0.0
    assert HazardCode.SIPHON_LIFTS_BED in codes(emptied.reasons)
    stuck = case(calm, Kind.PUMP_STUCK)
    assert stuck.bad[0].suspended_g == 0.0
    assert HazardCode.SIPHON_LIFTS_BED not in codes(stuck.reasons)


def test_where_the_pump_lifts_it_anyway_that_is_said_instead():
    fast = case(hazards(kettle(pump_L_per_h=12.0).recharge(1.0, 100.0)), Kind.CONTAINER_EMPTIED)
    assert HazardCode.BED_LIFTED in codes(fast.reasons)
    assert HazardCode.SIPHON_LIFTS_BED not in codes(fast.reasons)
    assert fast.middle.suspended_g > 0.0


def test_the_container_counts_the_siphon_but_cut_off_and_dose_do_not():
    calm = verdict(hazards(kettle().recharge(1.0, 100.0)))
    guarded = verdict(hazards(kettle(siphon_break=True).recharge(1.0, 100.0)))
    assert calm.container_L < 0.2 * guarded.container_L
    assert calm.with_break_L == guarded.container_L
    assert (calm.cut_off_h, calm.dose_L) == (guarded.cut_off_h, guarded.dose_L)
    assert HazardCode.SIPHON_BED_COUNTED in codes(calm.reasons)
    assert HazardCode.SIPHON_BED_COUNTED not in codes(guarded.reasons)


def test_the_container_that_counts_it_holds_without_a_break():
    found = verdict(hazards(kettle().recharge(1.0, 100.0)))
    small = hazards(kettle(fresh_water_container_L=found.container_L).recharge(1.0, 100.0))
    assert case(small, Kind.CONTAINER_EMPTIED).bad[0].suspended_g > 0.0
    assert codes(verdict(small).verdict) == {HazardCode.VERDICT_HOLDS}


def test_without_a_recorded_charge_only_a_siphon_break_gives_a_container():
    found = verdict(hazards(kettle()))
    assert found.container_L is None
    assert found.with_break_L > 0.0
    assert HazardCode.SIPHON_BED_UNKNOWN in codes(found.reasons)
    assert HazardCode.WITH_BREAK_WOULD_HOLD in codes(found.verdict)


def test_no_verdict_holds_while_the_powder_of_a_siphon_is_unknown():
    small = hazards(kettle(fresh_water_container_L=0.5))
    assert HazardCode.BED_NOT_COUNTED in codes(case(small, Kind.CONTAINER_EMPTIED).reasons)
    assert codes(verdict(small).verdict) == {HazardCode.VERDICT_PARTLY_UNKNOWN}


def test_smaller_parts_leave_a_siphon_that_lifts_the_bed():
    found = verdict(hazards(kettle().recharge(1.0, 100.0)))
    split = next(
        a
        for a in found.alternatives
        if a.reason.code in (HazardCode.SPLIT_CONTAINER, HazardCode.SMALL_CONTAINER)
    )
    assert split.reason.numbers["part_L"] == found.with_break_L
    assert Kind.PUMP_STUCK in split.settles
    assert split.leaves == (Kind.CONTAINER_EMPTIED,)


def test_a_container_without_a_vessel_has_no_bed_to_stir_up():
    found = hazards(top_off_container().recharge(2.0, 60.0, Container.LIME))
    assert case(found, Kind.CONTAINER_EMPTIED).bad[0].suspended_g == 0.0
    assert verdict(found).with_break_L is None


def test_charge_and_container_of_a_fast_flow_hold_together():
    """Container, and a charge as large as recommended: weighed in, both hold."""
    log = kettle(pump_L_per_h=12.0, net_volume_L=5000.0, siphon_break=True)
    found = verdict(hazards(log.recharge(1.0, 12.0)))
    assert found.charge_g > 0.0
    both = kettle(
        pump_L_per_h=12.0,
        net_volume_L=5000.0,
        siphon_break=True,
        powder_assay=1.0,
        fresh_water_container_L=min(25.0, found.container_L),
    ).recharge(1.0, found.charge_g)
    assert not verdict(hazards(both)).reaches_band
