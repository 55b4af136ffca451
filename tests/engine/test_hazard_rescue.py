"""What a water change and air bring back; nothing past pH 9.5."""

from itertools import pairwise

import pytest

from engine.demand.facts import gather
from engine.errors import OutsideValidity
from engine.hazards.codes import HazardCode, Kind
from engine.hazards.hazard import assess
from engine.hazards.rescue import READY_SHARE, SHARES, air_table, change_water, rescue
from engine.hazards.rescue_water import (
    UNKNOWN_MIX_MEQ_PER_L,
    NewWater,
    mixed_salt,
    new_water,
    state_from_point,
    state_from_reading,
)
from engine.units import Span
from tests.support.keeper_log import NOW, SYSTEM, dkh, kettle


def tank(pH_nbs=8.92, alkalinity_dKH=11.5, **more):
    return state_from_reading(
        pH_nbs=pH_nbs,
        total_alkalinity_meq_per_L=dkh(alkalinity_dKH),
        salinity=35.0,
        temperature_degC=25.0,
        **more,
    )


def mix(low, best, high, ready_L=120.0):
    span = Span(dkh(low), dkh(best), dkh(high))
    return NewWater(total_alkalinity_meq_per_L=span, ready_L=ready_L, known=True)


def brought(state, water, error=0.1, **more):
    return rescue(state, net_volume_L=450.0, net_volume_error_share=error, water=water, **more)


def codes(found):
    return [reason.code for reason in found.reasons]


def test_half_changed_brings_ph_down_but_alkalinity_only_toward_the_new_water():
    """After +3 dKH (11.5, pH 8.92): an 8 dKH mix gives 9.75 / 8.61, an 11 one 11.25 / 8.63."""
    for new, alkalinity, pH in ((8.0, 9.75, 8.61), (11.0, 11.25, 8.63)):
        row = brought(tank(), mix(new, new, new)).changes[2]
        assert row.share == 0.5
        assert row.total_alkalinity_meq_per_L.best == pytest.approx(dkh(alkalinity), abs=1e-3)
        assert row.pH_nbs.low < pH < row.pH_nbs.high
        assert row.pH_nbs.high - row.pH_nbs.low < 0.1


def test_rows_are_the_shares_of_the_volume_with_its_interval():
    rows = brought(tank(), mix(8.0, 8.0, 8.0)).changes
    assert [row.share for row in rows] == list(SHARES)
    assert rows[1].litres == pytest.approx((101.25, 112.5, 123.75))
    assert [row.ready for row in rows] == [True, True, False]


def test_a_larger_change_brings_more():
    rows = brought(tank(), mix(7.7, 8.0, 8.3)).changes
    for smaller, larger in pairwise(rows):
        assert larger.pH_nbs.best < smaller.pH_nbs.best
        assert larger.total_alkalinity_meq_per_L.best < smaller.total_alkalinity_meq_per_L.best
        assert larger.calcium_mg_per_L == pytest.approx(421.0, abs=3.0)


def test_a_rich_mix_does_not_lower_alkalinity():
    row = brought(tank(alkalinity_dKH=9.0), mix(11.0, 11.0, 11.0)).changes[1]
    assert row.total_alkalinity_meq_per_L.best > dkh(9.0)
    assert row.pH_nbs.best < 8.92


def test_change_of_nothing_and_of_everything():
    state = tank()
    new = mixed_salt(state, dkh(8.0), 400.0)
    assert change_water(state, 0.0, new).pH_nbs == pytest.approx(state.pH_nbs)
    assert change_water(state, 1.0, new).pH_nbs == pytest.approx(new.pH_nbs)
    with pytest.raises(OutsideValidity):
        change_water(state, 1.01, new)


def test_air_in_six_hours_is_slow():
    """At +3.2 dKH (8.96), room at 800: k 20 gives 8.88, k 50 gives 8.78."""
    rows = air_table(tank(8.96, 11.7), room_pCO2_uatm=800.0)
    six = next(row for row in rows if row.hours == 6.0)
    assert six.pH_nbs.best == pytest.approx(8.88, abs=0.01)
    assert six.pH_nbs.low == pytest.approx(8.78, abs=0.015)
    assert six.pH_nbs.high > six.pH_nbs.best


def test_air_only_ever_helps_and_strong_air_helps_more():
    for row in air_table(tank()):
        assert row.pH_nbs.low <= row.pH_nbs.best <= row.pH_nbs.high < 8.92


def test_past_nine_and_a_half_nothing_is_computed():
    for state in (None, tank(9.6, 14.0)):
        found = brought(state, mix(8.0, 8.0, 8.0))
        assert found.air == ()
        assert all(row.pH_nbs is None for row in found.changes)
        assert all(row.total_alkalinity_meq_per_L is None for row in found.changes)
        assert all(row.litres.best > 0.0 for row in found.changes)
        assert {HazardCode.CHANGE_UNKNOWN, HazardCode.AIR_UNKNOWN} <= set(codes(found))


def test_a_point_past_the_model_has_no_state():
    facts = gather(kettle().records, system=SYSTEM, now=NOW)
    cases = {case.kind: case for case in assess(facts).cases}
    assert state_from_point(cases[Kind.CONTAINER_EMPTIED].worst_middle, 25.0) is None
    point = cases[Kind.DOSE_REPEATED].worst_middle
    state = state_from_point(point, 25.0)
    assert state.pH_nbs == pytest.approx(point.pH_nbs)
    assert state.omega_aragonite == pytest.approx(point.omega_aragonite, rel=1e-6)


@pytest.mark.parametrize(
    ("ready_L", "code"),
    [
        (0.0, HazardCode.READY_WATER_NONE),
        (50.0, HazardCode.READY_WATER_SHORT),
        (450.0 * READY_SHARE, HazardCode.READY_WATER),
    ],
)
def test_ready_water_is_part_of_the_answer(ready_L, code):
    assert codes(brought(tank(), mix(8.0, 8.0, 8.0, ready_L)))[0] == code


def test_new_water_is_that_of_the_last_recorded_change():
    log = kettle(salt_water_ready_L=90.0).water_change(20.0, 50.0, dkh(8.0))
    log.water_change(5.0, 50.0, dkh(10.0)).water_change(2.0, 40.0)
    facts = gather(log.records, system=SYSTEM, now=NOW)
    water = new_water(facts, facts.setup)
    assert water.known
    assert water.ready_L == 90.0
    assert water.total_alkalinity_meq_per_L.best == pytest.approx(dkh(10.0))


def test_unknown_new_water_is_a_wide_range_and_says_so():
    facts = gather(kettle().records, system=SYSTEM, now=NOW)
    water = new_water(facts, facts.setup)
    assert not water.known
    assert water.total_alkalinity_meq_per_L == UNKNOWN_MIX_MEQ_PER_L
    found = brought(tank(), water)
    assert HazardCode.NEW_WATER_UNKNOWN in codes(found)
    low, _, high = found.changes[2].total_alkalinity_meq_per_L
    assert high - low == pytest.approx(dkh(2.5))


def test_measured_calcium_is_carried_into_the_change():
    rich = brought(tank(calcium_mg_per_L=500.0), mix(8.0, 8.0, 8.0)).changes[2]
    assert rich.calcium_mg_per_L == pytest.approx((500.0 + 421.8) / 2.0, abs=0.5)
