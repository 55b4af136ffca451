"""What goes wrong, how far and how fast: the invented systems, every delivery, missing facts."""

from dataclasses import replace

import pytest

from engine.carbonate import solve
from engine.chemistry.dose_physics import TankWater
from engine.demand.facts import gather
from engine.hazards.bands import Band, Precipitation, rank
from engine.hazards.codes import HazardCode, Kind
from engine.hazards.course import Lime, point_at
from engine.hazards.equipment import Guards
from engine.hazards.hazard import WARNED_KINDS, assess
from engine.hazards.start import PROBE_ERROR_PH
from engine.limits import DosePlan
from engine.reasons import Code
from engine.records import Container, Delivery, WaterTest
from engine.units import Span
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, dkh, kettle


def facts(log):
    return gather(log.records, system=SYSTEM, now=NOW)


def hazards(log, **options):
    return assess(facts(log), **options)


def case(log, kind, **options):
    return next(c for c in hazards(log, **options).cases if c.kind is kind)


def time_to(found, band):
    return next(time for time in found.times if time.band is band)


def dKH(meq_per_L):
    return meq_per_L / dkh(1.0)


def codes(reasons):
    return {reason.code for reason in reasons}


def from_pH(found, pH_nbs):
    """Return where the middle ends when the tank starts at just this pH."""
    water = found.middle.water
    state = solve(
        total_alkalinity_umol_per_kg=water.total_alkalinity_umol_per_kg,
        pH_nbs=pH_nbs,
        salinity=water.salinity,
        temperature_degC=water.temperature_degC,
    )
    start = TankWater.from_state(water.volume_L, state)
    return replace(found.middle, water=start).pH_nbs_at(found.middle.horizon_h)


def kettle_house(**setup):
    """450 L, 5 L vessel, 3 L/h, 25 L of fresh water; pH 8.3 at its highest."""
    return kettle(**setup).read(0.3, pH_nbs=8.3).recharge(10.0, 125.0)


def clear_house(**setup):
    """The same with nothing in the vessel that a siphon could stir up."""
    return kettle(**setup).read(0.3, pH_nbs=8.3).recharge(10.0, 0.001)


def fernside(**setup):
    """180 L on a drip, no second source."""
    fields = {
        "net_volume_L": 180.0,
        "delivery": Delivery.DRIP,
        "lime_temperature_degC": 23.0,
        "vessel_L": None,
        "fresh_water_container_L": None,
        "shared_container": False,
        "pump_L_per_h": None,
        "lime_container_L": 1.5,
    }
    return KeeperLog().setup(**{**fields, **setup}).pump(30.0, 1.4).test(0.5, 8.3)


def old_dairy(**setup):
    """400 L, lime in the top-off's container."""
    fields = {
        "net_volume_L": 400.0,
        "delivery": Delivery.TOP_OFF_CONTAINER,
        "lime_temperature_degC": 22.0,
        "vessel_L": None,
        "fresh_water_container_L": None,
        "shared_container": False,
        "pump_L_per_h": None,
        "lime_container_L": 20.0,
    }
    return KeeperLog().setup(**{**fields, **setup}).test(0.5, 8.1)


# --- the invented systems: middle figures, as reckoned by hand from the closed equations


def test_kettle_house_stuck_pump_passes_the_bands_when_it_should():
    found = case(kettle_house(), Kind.PUMP_STUCK)
    for band, hours, litres in (
        (Band.STOP_LIME, 1.3, 3.8),
        (Band.ACT_NOW, 2.4, 7.1),
        (Band.EMERGENCY, 3.6, 10.9),
    ):
        middle_h = time_to(found, band).by_pH.middle_h
        assert middle_h == pytest.approx(hours, abs=0.12)
        assert middle_h * 3.0 == pytest.approx(litres, abs=0.3)


def test_kettle_house_interval_holds_the_middle_and_the_bad_end_comes_first():
    for time in case(kettle_house(), Kind.PUMP_STUCK).times:
        earliest, middle, latest = time.by_pH
        assert earliest < middle
        assert latest is None or latest > middle


def test_kettle_house_day_container_lost_at_once_is_one_days_demand():
    found = case(clear_house(fresh_water_container_L=5.3), Kind.CONTAINER_EMPTIED)
    assert dKH(found.worst_middle.brought_meq_per_L) == pytest.approx(1.35, abs=0.01)
    assert found.worst_middle.pH_nbs == pytest.approx(8.7, abs=0.02)
    assert found.band_middle is Band.STOP_LIME


def test_unsafe_container_passes_nine_and_a_half_and_gives_no_ph():
    """25 L into 295 L: about +9.7 dKH, salinity 32.3."""
    found = case(clear_house(net_volume_L=295.0), Kind.CONTAINER_EMPTIED)
    worst = found.worst_middle
    assert dKH(worst.brought_meq_per_L) == pytest.approx(9.7, abs=0.05)
    assert worst.salinity == pytest.approx(32.3, abs=0.05)
    assert worst.pH_nbs is None
    assert worst.omega_aragonite is None
    assert worst.total_alkalinity_meq_per_L is None
    assert worst.free_ammonia_factor is None
    assert worst.band is Band.EXPECT_LOSSES
    assert HazardCode.PAST_MODEL in codes(found.reasons)


def test_fernside_nightly_container_stays_below_the_first_band():
    """1.5 L from pH 8.2 gives 8.52; the bound starts where outside air brings this water."""
    found = case(fernside().read(0.3, pH_nbs=8.2), Kind.CONTAINER_EMPTIED)
    assert from_pH(found, 8.2) == pytest.approx(8.52, abs=0.02)
    assert from_pH(found, 8.2) < found.worst_middle.pH_nbs < 8.6
    assert found.band_middle is Band.BELOW


def test_fernside_five_litre_jug_is_an_emergency():
    found = case(fernside(lime_container_L=5.0).read(0.3, pH_nbs=8.2), Kind.CONTAINER_EMPTIED)
    assert dKH(found.worst_middle.brought_meq_per_L) == pytest.approx(3.2, abs=0.05)
    assert found.worst_middle.pH_nbs == pytest.approx(9.05, abs=0.05)
    assert found.band_middle is Band.EMERGENCY


def test_old_dairy_skimmate_replaced_by_limewater():
    found = case(old_dairy().read(0.3, pH_nbs=8.1), Kind.SKIMMER_OVERFLOW)
    worst = found.worst_middle
    assert worst.brought_L == pytest.approx(6.0)
    assert dKH(worst.brought_meq_per_L) == pytest.approx(1.7, abs=0.1)
    assert worst.salinity == pytest.approx(34.5, abs=0.05)
    assert worst.extra_water_L == 0.0
    assert from_pH(found, 8.1) == pytest.approx(8.67, abs=0.02)
    assert worst.pH_nbs > 8.67  # from the 8.26 of outside air
    assert found.band_middle is Band.ACT_NOW


def test_restart_slug_of_eight_litres_into_five_hundred():
    log = old_dairy(net_volume_L=500.0, drain_back_L=8.0).read(0.3, pH_nbs=8.1)
    found = case(log, Kind.RESTART_SLUG)
    assert dKH(found.worst_middle.brought_meq_per_L) == pytest.approx(1.8, abs=0.1)
    assert from_pH(found, 8.1) == pytest.approx(8.69, abs=0.02)


def test_thirty_grams_as_milk_is_like_twenty_litres_of_clear_limewater():
    log = kettle(vessel_L=0.05, powder_assay=1.0).read(0.3, pH_nbs=8.3).recharge(1.0, 30.0)
    found = case(log, Kind.BED_FLUSHED)
    clear = case(clear_house(fresh_water_container_L=20.0), Kind.CONTAINER_EMPTIED)
    assert dKH(found.worst_middle.brought_meq_per_L) == pytest.approx(5.0, abs=0.1)
    assert found.worst_middle.brought_meq_per_L == pytest.approx(
        clear.worst_middle.brought_meq_per_L, rel=0.02
    )
    assert from_pH(found, 8.2) == pytest.approx(9.4, abs=0.04)


# --- one litre counts for more in a small tank


def test_the_same_fault_comes_sooner_and_ends_worse_in_a_smaller_tank():
    small = case(kettle_house(net_volume_L=60.0), Kind.PUMP_STUCK)
    large = case(kettle_house(net_volume_L=2000.0), Kind.PUMP_STUCK)
    assert rank(small.band_middle) > rank(large.band_middle)
    small_h = time_to(small, Band.STOP_LIME).by_pH.middle_h
    large_h = time_to(large, Band.STOP_LIME).by_pH.middle_h
    assert large_h is None or small_h < large_h / 10.0


def test_times_scale_with_the_volume_when_nothing_else_changes():
    one = case(kettle_house(fresh_water_container_L=2000.0), Kind.PUMP_STUCK, unattended_h=200.0)
    ten = case(
        kettle_house(net_volume_L=4500.0, fresh_water_container_L=2000.0),
        Kind.PUMP_STUCK,
        unattended_h=200.0,
    )
    for band in (Band.STOP_LIME, Band.ACT_NOW, Band.EMERGENCY):
        assert time_to(ten, band).by_pH.middle_h == pytest.approx(
            10.0 * time_to(one, band).by_pH.middle_h, rel=1e-3
        )


# --- where the bound starts


def test_start_is_the_highest_of_the_days_readings_not_the_last():
    log = kettle().read(0.8, pH_nbs=8.38).read(0.1, pH_nbs=7.95)
    start = hazards(log).start
    assert start.middle.state().pH_nbs == pytest.approx(8.38, abs=1e-6)


def test_bad_end_adds_the_probes_error_and_either_end_of_alkalinity():
    start = hazards(kettle_house()).start
    pH = [water.state().pH_nbs for water in start.bad]
    assert pH == [pytest.approx(8.3 + PROBE_ERROR_PH, abs=1e-6)] * 2
    low, high = (water.total_alkalinity_umol_per_kg for water in start.bad)
    assert low < start.middle.total_alkalinity_umol_per_kg < high
    assert {water.volume_L for water in start.bad} == {450.0 * 0.9}


def test_low_reading_gives_way_to_outside_air():
    found = hazards(kettle().read(0.3, pH_nbs=7.8))
    assert found.start.middle.state().pCO2_uatm == pytest.approx(400.0, rel=1e-6)
    assert HazardCode.START_AIR in codes(found.reasons)


@pytest.mark.parametrize("days_ago", [1.5, 30.0])
def test_old_or_no_ph_is_taken_at_eight_point_four(days_ago):
    found = hazards(kettle().read(days_ago, pH_nbs=7.9))
    assert found.start.middle.state().pH_nbs == pytest.approx(8.4, abs=1e-6)
    assert HazardCode.START_ASSUMED in codes(found.reasons)


def test_a_high_ph_of_the_week_counts_although_today_has_none():
    found = hazards(kettle().read(3.0, pH_nbs=8.55))
    assert found.start.middle.state().pH_nbs == pytest.approx(8.55, abs=1e-6)


def test_a_last_ph_above_the_assumed_one_counts_however_old():
    start = hazards(kettle().read(60.0, pH_nbs=8.3).read(40.0, pH_nbs=8.52)).start
    assert start.middle.state().pH_nbs == pytest.approx(8.52, abs=1e-6)
    lower = hazards(kettle().read(60.0, pH_nbs=8.52).read(40.0, pH_nbs=8.1)).start
    assert lower.middle.state().pH_nbs == pytest.approx(8.4, abs=1e-6)


def test_daylight_is_on_the_bad_end_alone_and_worth_a_tenth_or_more():
    log = kettle_house(fresh_water_container_L=2.0)
    found = case(log, Kind.CONTAINER_EMPTIED)
    assert found.middle.daylight_mmol_per_L == 0.0
    dark = [replace(lime, daylight_mmol_per_L=0.0) for lime in found.bad]
    rises = [
        lit.pH_nbs_at(lit.horizon_h) - unlit.pH_nbs_at(lit.horizon_h)
        for lit, unlit in zip(found.bad, dark, strict=True)
    ]
    assert all(0.08 < rise < 0.17 for rise in rises)


def test_old_alkalinity_widens_the_bad_end_and_says_so():
    log = KeeperLog().setup().pump(60.0, 5.3).test(40.0, 8.3)
    found = hazards(log)
    assert HazardCode.ALKALINITY_OLD in codes(found.reasons)
    low, high = found.start.bad
    assert high.total_alkalinity_umol_per_kg - low.total_alkalinity_umol_per_kg > 1500.0


# --- no number, and the reason


def test_without_a_set_up_there_is_no_number():
    found = hazards(KeeperLog().test(1.0, 8.0))
    assert found.cases == ()
    assert codes(found.reasons) == {HazardCode.SETUP_MISSING}


def test_without_alkalinity_there_is_no_number():
    found = hazards(KeeperLog().setup())
    assert found.cases == ()
    assert codes(found.reasons) == {HazardCode.ALKALINITY_MISSING, HazardCode.ONLY_RISE}


def test_without_alkalinity_the_volumes_tell_the_rise_of_every_accident():
    """25 L of saturated limewater at 25 degC into 450 L within a tenth, by hand; no pH."""
    bare = KeeperLog().setup(fresh_water_container_L=25.0, net_volume_error_share=0.1)
    found = hazards(bare)
    lost = next(r for r in found.rises if r.kind is Kind.CONTAINER_EMPTIED)
    strength = case(kettle(), Kind.CONTAINER_EMPTIED)
    low, high = strength.good.strength_meq_per_L, strength.bad[0].strength_meq_per_L
    assert lost.low_meq_per_L == pytest.approx(25.0 * low / (450.0 * 1.1), rel=0.001)
    assert lost.high_meq_per_L == pytest.approx(25.0 * high / (450.0 * 0.9), rel=0.001)
    assert lost.at_least is Band.EMERGENCY
    assert [r.high_meq_per_L for r in found.rises] == sorted(
        (r.high_meq_per_L for r in found.rises), reverse=True
    )


def test_the_rise_without_a_test_is_the_rise_with_one():
    """The same systems, once tested and once not: the same ends, the powder included."""
    for setup in ({}, {"pump_L_per_h": 20.0}, {"net_volume_L": 80.0}):
        bare = KeeperLog()
        whole = kettle(**setup).recharge(2.0, 60.0)
        bare.records = [r for r in whole.records if not isinstance(r, WaterTest)]
        tested = {c.kind: c for c in hazards(whole).cases}
        rises = hazards(bare).rises
        assert Kind.PUMP_STUCK in {r.kind for r in rises}
        for rise in rises:
            known = tested[rise.kind]
            assert rise.low_meq_per_L == pytest.approx(known.worst_good.brought_meq_per_L)
            assert rise.high_meq_per_L == pytest.approx(known.worst_bad.brought_meq_per_L)


@pytest.mark.parametrize(
    ("reading", "variable"), [({"salinity": 22.0}, "salinity"), ({"temperature": 36.0}, "temp")]
)
def test_outside_the_model_there_is_no_number(reading, variable):
    found = hazards(kettle().read(0.2, **reading))
    assert found.cases == ()
    why, more = found.reasons
    assert more.code == HazardCode.ONLY_RISE
    assert why.code == HazardCode.OUTSIDE_MODEL
    assert variable in why.numbers["variable"]


UNKNOWN = [
    (kettle(), Kind.BED_FLUSHED, HazardCode.CHARGE_UNKNOWN),
    (kettle(), Kind.UNCLEARED_RECHARGE, HazardCode.CHARGE_UNKNOWN),
    (kettle(pump_L_per_h=None), Kind.PUMP_STUCK, HazardCode.RATE_UNKNOWN),
    (kettle(fresh_water_container_L=None), Kind.CONTAINER_EMPTIED, HazardCode.SOURCE_UNKNOWN),
    (kettle(vessel_L=None), Kind.BED_FLUSHED, HazardCode.VESSEL_UNKNOWN),
    (old_dairy(), Kind.RESTART_SLUG, HazardCode.DRAIN_BACK_UNKNOWN),
    (KeeperLog().setup().test(1.0, 8.0), Kind.DOSE_REPEATED, HazardCode.SETTING_UNKNOWN),
]


@pytest.mark.parametrize(("log", "kind", "code"), UNKNOWN, ids=lambda each: str(each)[:30])
def test_a_case_without_its_fact_has_no_number_but_the_reason(log, kind, code):
    found = hazards(log)
    assert kind not in {c.kind for c in found.cases}
    (unknown,) = [u for u in found.unknown if u.kind is kind]
    assert codes(unknown.reasons) == {code}


def test_a_source_that_is_not_in_setup_runs_until_found():
    found = case(kettle(fresh_water_container_L=None), Kind.PUMP_STUCK, unattended_h=5.0)
    assert found.middle.litres == pytest.approx(15.0)
    assert {HazardCode.SOURCE_UNKNOWN, HazardCode.UNTIL_FOUND} <= codes(found.reasons)


# --- which accidents a way of delivery has


def test_every_kind_of_accident_can_come_about():
    logs = [
        kettle_house(pump_L_per_h=20.0),
        fernside(),
        old_dairy(drain_back_L=5.0).recharge(1.0, 40.0, Container.LIME),
        kettle_house(delivery=Delivery.TOP_OFF_VESSEL, drain_back_L=4.0),
        kettle(delivery=Delivery.PUMP_CONTAINER, lime_container_L=10.0),
    ]
    assert {c.kind for log in logs for c in hazards(log).cases} == set(Kind)


def test_a_gentle_flow_lifts_no_bed():
    assert Kind.VESSEL_SURGE not in {c.kind for c in hazards(kettle_house()).cases}
    assert Kind.VESSEL_SURGE in {c.kind for c in hazards(kettle_house(pump_L_per_h=20.0)).cases}


def test_a_worn_pump_counts_as_new_at_the_bad_end():
    worn = case(kettle_house().pump_check(1.0, 100.0, 80.0), Kind.PUMP_STUCK)
    assert worn.middle.rate_L_per_h == pytest.approx(2.4)
    assert worn.bad[0].rate_L_per_h == pytest.approx(3.0 * 1.03)


def test_weak_limewater_counts_as_saturated_for_it_may_be_recharged_tonight():
    weak = hazards(kettle_house().strength(0.2, 0.36)).equipment.strength_meq_per_L
    fresh = hazards(kettle_house()).equipment.strength_meq_per_L
    assert weak.best == fresh.best
    assert weak.high >= fresh.best


def test_a_whole_charge_is_flushed_with_the_vessel():
    found = case(kettle_house(), Kind.BED_FLUSHED)
    assert found.middle.suspended_g == pytest.approx(125.0 * 0.95)
    assert found.band_middle is Band.EXPECT_LOSSES


def test_a_lime_container_s_bed_is_what_its_own_water_did_not_dissolve():
    log = old_dairy(powder_assay=1.0).recharge(1.0, 60.0, Container.LIME)
    found = case(log, Kind.BED_FLUSHED)
    assert 25.0 < found.middle.suspended_g < 35.0


def test_guards_shorten_the_pump_and_break_the_siphon():
    guarded = hazards(kettle_house(), guards=Guards(cut_off_h=0.5, siphon_break=True))
    kinds = {c.kind for c in guarded.cases}
    assert Kind.CONTAINER_EMPTIED not in kinds
    stuck = next(c for c in guarded.cases if c.kind is Kind.PUMP_STUCK)
    assert stuck.middle.litres == pytest.approx(1.5)
    assert HazardCode.UNTIL_CUT_OFF in codes(stuck.reasons)


def test_a_sump_too_small_for_what_comes_is_said_to_run_over():
    """The container holds 25 L."""
    for room_L, runs_over in ((None, False), (26.0, False), (24.0, True)):
        found = case(kettle_house(sump_room_L=room_L), Kind.CONTAINER_EMPTIED)
        assert (HazardCode.SUMP_OVERFLOWS in codes(found.reasons)) is runs_over


def test_cases_come_worst_first():
    found = hazards(kettle_house()).cases
    ranks = [rank(c.band_middle) for c in found]
    assert ranks == sorted(ranks, reverse=True)
    assert found[-1].kind is Kind.ROOM_CO2_LOW


def test_the_bad_end_is_never_milder_than_the_middle():
    for log in (kettle_house(), fernside(), old_dairy(drain_back_L=5.0)):
        for found in hazards(log).cases:
            assert rank(found.band_bad) >= rank(found.band_middle)
            for time in found.times:
                for times in (time.by_pH, time.by_any):
                    if times.middle_h is not None:
                        assert times.earliest_h <= times.middle_h


@pytest.mark.parametrize("pH_nbs", [8.27, 8.34, 8.42])
def test_a_saturation_of_five_to_seven_alarms_nowhere(pH_nbs):
    log = kettle().read(0.3, pH_nbs=pH_nbs)
    start = hazards(log).start.middle
    assert 5.0 < start.state().omega_aragonite < 7.0
    nothing = Lime(water=start, strength_meq_per_L=41.0, litres=0.0, rate_L_per_h=None)
    assert point_at(nothing, 0.0).band is Band.BELOW
    assert point_at(nothing, 0.0).precipitation is Precipitation.NORMAL
    decision = log.decide()
    assert isinstance(decision.plan, DosePlan)
    assert decision.change.code is Code.NOTHING_TO_DO


def test_fresh_room_air_alone_is_no_alarm_in_a_healthy_tank():
    assert case(kettle_house(), Kind.ROOM_CO2_LOW).band_bad is Band.BELOW


def test_what_today_warns_of_is_what_equipment_can_settle():
    found = hazards(kettle_house())
    assert {c.kind for c in found.warnable} <= set(WARNED_KINDS)
    assert Kind.PUMP_STUCK in {c.kind for c in found.warnable}


def test_same_facts_same_answer():
    log = kettle_house()
    assert hazards(log) == hazards(log)


def test_spans_of_the_equipment_are_in_order():
    equipment = hazards(kettle_house()).equipment
    for span in (equipment.strength_meq_per_L, equipment.rate_L_per_h, equipment.charge_g):
        assert isinstance(span, Span)
        assert span.low <= span.best <= span.high
