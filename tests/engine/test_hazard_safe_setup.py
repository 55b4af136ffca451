"""What is recommended holds at the bad end, and every change says what it settles."""

from dataclasses import replace

import pytest

from engine.demand.facts import gather
from engine.hazards.bands import Band, rank
from engine.hazards.codes import HazardCode, Kind
from engine.hazards.equipment import Guards
from engine.hazards.hazard import assess
from engine.hazards.safe_setup import dose_split, verdict
from engine.hazards.safe_sizes import rounded_down
from engine.records import Container, Delivery
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, kettle


def hazards(log, **options):
    return assess(gather(log.records, system=SYSTEM, now=NOW), **options)


def kettle_house(pH_nbs=8.3, **setup):
    return kettle(**setup).read(0.3, pH_nbs=pH_nbs).recharge(10.0, 125.0)


def codes(reasons):
    return [reason.code for reason in reasons]


def by_code(found, code):
    return next(a for a in found.alternatives if a.reason.code == code)


def test_kettle_house_gets_a_verdict_in_one_line():
    found = verdict(hazards(kettle_house()))
    assert found.worst.kind is Kind.PUMP_STUCK
    passes, holds = found.verdict
    assert passes.code == HazardCode.PASSES
    assert passes.numbers["band_pH"] == 9.0
    assert 1.5 < passes.numbers["early_hours"] < 3.6 < passes.numbers["late_hours"] < 6.0
    assert holds.code == HazardCode.WITH_BREAK_WOULD_HOLD
    assert holds.numbers["container_L"] == found.with_break_L
    assert found.reaches_band


def test_kettle_house_sizes_bracket_the_reckoning_of_practice():
    """Middle figures: 3.8 L to 8.6 and 10.9 L to 9.0; guaranteed ones are smaller."""
    found = verdict(hazards(kettle_house(siphon_break=True)))
    sizes = {size.band: size for size in found.containers}
    assert sizes[Band.STOP_LIME].middle == pytest.approx(3.8, abs=0.15)
    assert sizes[Band.EMERGENCY].middle == pytest.approx(10.9, abs=0.4)
    for size in sizes.values():
        assert size.guaranteed < size.middle


def test_middle_cut_off_for_the_first_band_is_the_75_minutes_of_practice():
    found = verdict(hazards(kettle_house(siphon_break=True)))
    sizes = {size.band: size for size in found.containers}
    assert sizes[Band.STOP_LIME].middle / 3.0 * 60.0 == pytest.approx(75.0, abs=2.0)


def test_so_does_the_larger_one_with_a_siphon_break():
    found = verdict(hazards(kettle_house()))
    assert found.with_break_L > 5.0 * found.container_L
    built = {"fresh_water_container_L": found.with_break_L, "siphon_break": True}
    assert codes(verdict(hazards(kettle_house(**built))).verdict) == [HazardCode.VERDICT_HOLDS]
    without = hazards(kettle_house(fresh_water_container_L=found.with_break_L))
    assert verdict(without).worst.kind is Kind.CONTAINER_EMPTIED


def test_a_break_that_is_there_leaves_one_size():
    found = verdict(hazards(kettle_house(siphon_break=True)))
    assert found.with_break_L is None
    assert found.container_L > 1.0
    assert found.verdict[1].code == HazardCode.CONTAINER_WOULD_HOLD


def test_the_recommended_container_applied_keeps_every_warned_case_below():
    found = verdict(hazards(kettle_house()))
    applied = hazards(kettle_house(fresh_water_container_L=found.container_L))
    assert all(rank(c.band_bad) < rank(Band.ACT_NOW) for c in applied.warnable)
    again = verdict(applied)
    assert not again.reaches_band
    assert codes(again.verdict) == [HazardCode.VERDICT_HOLDS]


def test_cut_off_and_siphon_break_together_are_enough():
    found = verdict(hazards(kettle_house()))
    assert not by_code(found, HazardCode.CUT_OFF).enough
    assert not by_code(found, HazardCode.SIPHON_BREAK).enough
    guards = Guards(cut_off_h=found.cut_off_h, siphon_break=True)
    assert not verdict(hazards(kettle_house(), guards=guards)).reaches_band


def test_either_alone_leaves_what_it_says():
    found = verdict(hazards(kettle_house()))
    for guards, code in (
        (Guards(cut_off_h=found.cut_off_h), HazardCode.CUT_OFF),
        (Guards(siphon_break=True), HazardCode.SIPHON_BREAK),
    ):
        left = {
            c.kind
            for c in hazards(kettle_house(), guards=guards).warnable
            if rank(c.band_bad) >= rank(Band.ACT_NOW)
        }
        assert left == set(by_code(found, code).leaves)


def test_a_smaller_pump_is_offered_only_where_it_can_still_give_the_days_lime():
    assert HazardCode.SMALLER_PUMP not in codes(
        a.reason for a in verdict(hazards(kettle_house())).alternatives
    )
    large = kettle_house(net_volume_L=2500.0, fresh_water_container_L=200.0)
    found = verdict(hazards(large))
    smaller = by_code(found, HazardCode.SMALLER_PUMP)
    rate = smaller.reason.numbers["pump_L_per_day"]
    assert rate >= 5.3
    applied = replace_pump(large, rate / 24.0)
    stuck = next(c for c in hazards(applied).cases if c.kind is Kind.PUMP_STUCK)
    assert rank(stuck.band_bad) < rank(Band.ACT_NOW)


def replace_pump(log, pump_L_per_h):
    changed = KeeperLog()
    changed.records = [
        replace(r, pump_L_per_h=pump_L_per_h) if r.kind == "setup" else r for r in log.records
    ]
    return changed


def test_more_doses_make_a_repeated_dose_harmless():
    log = kettle_house(doses_per_day=1)
    found = verdict(hazards(log))
    doses = by_code(found, HazardCode.MORE_DOSES).reason.numbers["doses_count"]
    split = hazards(kettle_house(doses_per_day=int(doses)))
    repeated = next(c for c in split.cases if c.kind is Kind.DOSE_REPEATED)
    assert rank(repeated.band_bad) < rank(Band.ACT_NOW)


def test_a_container_of_many_parts_is_called_small_instead():
    nano = verdict(hazards(kettle_house(net_volume_L=40.0)))
    assert HazardCode.SMALL_CONTAINER in codes(a.reason for a in nano.alternatives)
    large = verdict(hazards(kettle_house(net_volume_L=2500.0)))
    assert HazardCode.SMALL_CONTAINER not in codes(a.reason for a in large.alternatives)


def test_the_return_interlock_is_named_where_the_return_matters():
    found = verdict(hazards(kettle_house()))
    assert Kind.RETURN_STOPPED in by_code(found, HazardCode.LIME_OFF_WITH_RETURN).settles


def test_a_dose_tenfold_is_forgiven_at_the_recommended_size():
    found = verdict(hazards(kettle_house()))
    assert 10.0 * found.dose_L <= found.with_break_L * (1.0 + 1e-12)


def test_doses_that_are_too_large_are_split_and_then_forgiven():
    found = verdict(hazards(kettle_house()))
    split = next(r for r in found.reasons if r.code == HazardCode.DOSE_SPLIT)
    count = int(split.numbers["doses_count"])
    assert split.numbers["largest_mL"] == pytest.approx(1000.0 * found.dose_L)
    assert 5.3 / count <= found.dose_L < 5.3 / (count - 1)
    enough = verdict(hazards(kettle_house(doses_per_day=count)))
    assert HazardCode.DOSE_SPLIT not in codes(enough.reasons)


@pytest.mark.parametrize(
    ("L_per_day", "largest_L", "code"),
    [
        (2.4, 0.1, None),  # 24 doses of exactly that
        (2.5, 0.1, HazardCode.DOSE_SPLIT),
        (29.0, 0.1, HazardCode.DOSE_NOT_FORGIVEN),  # 290 doses are more than a set-up can state
        (2.5, 0.0, None),
        (2.5, None, None),
        (0.0, 0.1, None),
    ],
)
def test_advice_on_the_size_of_one_dose(L_per_day, largest_L, code):
    advice = dose_split(L_per_day, 24, largest_L)
    assert (advice and advice.code) == code


def test_charge_is_none_where_the_clear_limewater_of_the_vessel_is_too_much():
    found = verdict(hazards(kettle_house()))
    assert found.charge_g == 0.0
    assert HazardCode.CHARGE_NONE in codes(found.reasons)


def test_a_recommended_charge_applied_is_forgiven_and_called_small():
    log = kettle(net_volume_L=5000.0).read(0.3, pH_nbs=8.2)
    found = verdict(hazards(log))
    assert found.charge_g > 0.0
    assert HazardCode.CHARGE_TOO_SMALL in codes(found.reasons)
    tipped = next(
        c for c in hazards(log.recharge(0.2, found.charge_g)).cases if c.kind is Kind.BED_FLUSHED
    )
    assert rank(tipped.band_bad) < rank(Band.ACT_NOW)


def test_charge_of_a_lime_container_counts_what_its_water_dissolved():
    log = kettle(
        net_volume_L=2000.0,
        delivery=Delivery.PUMP_CONTAINER,
        lime_container_L=5.0,
        fresh_water_container_L=None,
        vessel_L=None,
        shared_container=False,
    ).read(0.3, pH_nbs=8.2)
    found = verdict(hazards(log))
    assert found.charge_g > 5.0 * 1.4
    tipped = next(
        c
        for c in hazards(log.recharge(0.2, found.charge_g, Container.LIME)).cases
        if c.kind is Kind.BED_FLUSHED
    )
    assert rank(tipped.band_bad) < rank(Band.ACT_NOW)


def test_no_container_is_small_enough_where_a_bright_day_reaches_the_band_alone():
    found = verdict(hazards(kettle_house(pH_nbs=8.5)), band=Band.STOP_LIME)
    assert found.container_L == 0.0
    assert codes(found.verdict)[1] == HazardCode.NO_ROOM
    offered = codes(a.reason for a in found.alternatives)
    assert HazardCode.SMALL_CONTAINER not in offered
    assert HazardCode.CUT_OFF not in offered


def test_container_rule_is_days_times_the_daily_rise():
    found = verdict(hazards(kettle_house()))
    rule = next(r for r in found.reasons if r.code == HazardCode.CONTAINER_RULE)
    assert rule.numbers["held_days"] == pytest.approx(25.0 / 5.3)
    assert rule.numbers["rise_meq_per_L"] == pytest.approx(25.0 * 40.89 / 450.0, rel=0.005)


def test_a_container_below_the_days_dose_says_how_often_it_is_filled():
    found = verdict(hazards(kettle_house()))
    fills = next(r for r in found.reasons if r.code == HazardCode.CONTAINER_FILLS)
    assert fills.numbers["fills_count"] == 3.0


def test_cut_off_shorter_than_a_dose_asks_for_smaller_doses():
    found = verdict(hazards(kettle_house(doses_per_day=1)))
    assert HazardCode.CUT_OFF_BELOW_DOSE in codes(found.reasons)
    assert HazardCode.CUT_OFF not in codes(a.reason for a in found.alternatives)


def test_without_a_start_there_is_no_size_and_the_reason():
    found = verdict(hazards(KeeperLog().setup()))
    assert found.container_L is None
    assert found.containers == ()
    assert codes(found.verdict) == [
        HazardCode.VERDICT_UNKNOWN,
        HazardCode.ALKALINITY_MISSING,
        HazardCode.ONLY_RISE,
    ]
    assert not found.reaches_band


def test_a_good_verdict_is_not_given_while_a_fault_cannot_be_judged():
    log = kettle(
        net_volume_L=5000.0,
        pump_L_per_h=None,
        fresh_water_container_L=None,
        shared_container=False,
    )
    assert codes(verdict(hazards(log)).verdict) == [HazardCode.VERDICT_PARTLY_UNKNOWN]


@pytest.mark.parametrize(
    ("value", "expected"),
    [(2.147, 2.1), (0.0949, 0.094), (119.9, 110.0), (10.0, 10.0), (0.3, 0.3), (0.0, 0.0)],
)
def test_recommended_amounts_are_rounded_toward_less(value, expected):
    assert rounded_down(value) == pytest.approx(expected)
    assert rounded_down(value) <= value
