"""Courses in time: points for plots, roots in time, what the air does, what ammonia does."""

from itertools import pairwise

import pytest

from engine.carbonate import solve
from engine.chemistry.dose_physics import TankWater
from engine.chemistry.sources import SOURCES, Mark
from engine.errors import InvalidQuantity
from engine.hazards.bands import (
    BAND_LIMITS,
    Band,
    Precipitation,
    band_of,
    precipitation_of,
    rank,
)
from engine.hazards.course import (
    Lime,
    closed_course,
    open_course,
    point_at,
    reaches_pH_h,
    reaches_rise_h,
    worst_of,
)
from engine.hazards.point import free_ammonia_share
from engine.vocabulary import MEQ_PER_DKH

WATER = TankWater.from_state(
    450.0,
    solve(total_alkalinity_umol_per_kg=2900.0, pH_nbs=8.3, salinity=35.0, temperature_degC=25.0),
)


def stuck(litres=10.0, **changes):
    fields = {
        "water": WATER,
        "strength_meq_per_L": 41.0,
        "litres": litres,
        "rate_L_per_h": 3.0,
        **changes,
    }
    return Lime(**fields)


# --- bands


@pytest.mark.parametrize(
    ("pH_nbs", "rise_dKH", "band"),
    [
        (8.59, 1.49, Band.BELOW),
        (8.6, 0.0, Band.STOP_LIME),
        (8.8, 0.0, Band.ACT_NOW),
        (8.3, 1.5, Band.ACT_NOW),
        (9.0, 0.0, Band.EMERGENCY),
        (8.5, 3.0, Band.EMERGENCY),
        (9.49, 2.9, Band.EMERGENCY),
        (9.5, 0.0, Band.EXPECT_LOSSES),
        (14.0, 40.0, Band.EXPECT_LOSSES),
    ],
)
def test_bands_begin_at_their_figure_by_ph_or_by_alkalinity(pH_nbs, rise_dKH, band):
    assert band_of(pH_nbs, rise_dKH * MEQ_PER_DKH) is band


def test_bands_are_common_practice_and_say_so():
    assert {SOURCES[limit.source].mark for limit in BAND_LIMITS} == {Mark.PRACTICE}
    assert [rank(band) for band in Band] == [0, 1, 2, 3, 4]


@pytest.mark.parametrize("pH_nbs", [float("nan"), float("inf")])
def test_a_band_of_nothing_is_refused(pH_nbs):
    with pytest.raises(InvalidQuantity):
        band_of(pH_nbs, 0.0)


def test_a_healthy_bright_afternoon_is_at_most_to_watch():
    """9.5 dKH at pH 8.4 has a saturation of 7.1."""
    assert precipitation_of(8.4, 7.1) is Precipitation.WATCH
    assert band_of(8.4, 0.0) is Band.BELOW


# --- points


def test_course_begins_with_the_tank_as_it_was_and_ends_with_all_of_it():
    points = closed_course(stuck(), points=21)
    assert len(points) == 21
    assert points[0].hours == 0.0
    assert points[0].pH_nbs == pytest.approx(8.3, abs=1e-6)
    assert points[0].free_ammonia_factor == pytest.approx(1.0)
    assert points[-1].hours == pytest.approx(10.0 / 3.0)
    assert points[-1].brought_L == pytest.approx(10.0)
    assert points[-1].extra_water_L == pytest.approx(10.0)


def test_everything_moves_one_way_while_lime_comes():
    for before, after in pairwise(closed_course(stuck(6.0))):
        assert after.pH_nbs > before.pH_nbs
        assert after.total_alkalinity_meq_per_L > before.total_alkalinity_meq_per_L
        assert after.calcium_mg_per_L > before.calcium_mg_per_L
        assert after.omega_aragonite > before.omega_aragonite
        assert after.salinity < before.salinity
        assert after.dic_mmol_per_L < before.dic_mmol_per_L  # diluted alone
        assert after.free_ammonia_factor > before.free_ammonia_factor
        assert rank(after.band) >= rank(before.band)


def test_mass_balance_of_calcium_and_alkalinity_closes():
    point = point_at(stuck(), 2.0)
    litres = WATER.volume_L + point.brought_L
    gained = point.total_alkalinity_meq_per_L * litres - (
        WATER.total_alkalinity_umol_per_kg / 1000.0 * WATER.density_kg_per_L * WATER.volume_L
    )
    assert gained == pytest.approx(6.0 * 41.0, rel=2e-3)


def test_past_nine_and_a_half_only_amounts_and_the_band_are_left():
    course = closed_course(stuck(40.0))
    past = [point for point in course if point.pH_nbs is None]
    assert past
    assert {point.band for point in past} == {Band.EXPECT_LOSSES}
    assert all(point.total_alkalinity_meq_per_L is None for point in past)
    assert all(point.brought_meq_per_L > 1.5 for point in past)
    assert all(point.pH_nbs <= 9.5 for point in course if point.pH_nbs is not None)


def test_a_tank_diluted_out_of_the_solver_is_past_every_band():
    point = point_at(stuck(litres=600.0, rate_L_per_h=None), 0.0)
    assert point.salinity < 19.0
    assert point.band is Band.EXPECT_LOSSES
    assert point.pH_nbs is None


def test_powder_enough_to_leave_the_solver_is_past_every_band():
    point = point_at(stuck(litres=0.0, suspended_g=2000.0, rate_L_per_h=None), 0.0)
    assert point.band is Band.EXPECT_LOSSES
    assert point.pH_nbs is None


def test_skimmate_makes_room_and_carries_salt_away():
    plain = point_at(stuck(6.0, rate_L_per_h=None), 0.0)
    spilt = point_at(stuck(6.0, rate_L_per_h=None, removed_L=6.0), 0.0)
    assert spilt.extra_water_L == 0.0
    assert spilt.salinity < plain.salinity
    assert spilt.pH_nbs > plain.pH_nbs


def test_free_ammonia_is_about_five_percent_at_8_1_and_thirty_at_9():
    offset = WATER.state().pH_nbs - WATER.state().pH_total
    assert free_ammonia_share(8.1 - offset) == pytest.approx(0.05, abs=0.005)
    assert free_ammonia_share(8.8 - offset) == pytest.approx(0.21, abs=0.01)
    assert free_ammonia_share(9.0 - offset) == pytest.approx(0.30, abs=0.015)


# --- times


def test_time_to_a_ph_is_where_the_course_has_it():
    lime = stuck(20.0)
    hours = reaches_pH_h((lime,), 9.0)
    assert lime.pH_nbs_at(hours) == pytest.approx(9.0, abs=2e-5)
    assert reaches_pH_h((lime,), 8.2) == 0.0
    assert reaches_pH_h((stuck(1.0),), 9.0) is None


def test_the_soonest_of_several_ends_counts():
    slow, fast = stuck(20.0, rate_L_per_h=1.0), stuck(20.0, rate_L_per_h=5.0)
    assert reaches_pH_h((slow, fast), 9.0) == reaches_pH_h((fast,), 9.0)
    assert reaches_rise_h((slow, fast), 0.5) == reaches_rise_h((fast,), 0.5)


def test_time_to_a_rise_is_proportional():
    lime = stuck(20.0)
    total = 20.0 * 41.0 / 450.0
    assert reaches_rise_h((lime,), 0.5) == pytest.approx(0.5 / total * lime.ends_h)
    assert reaches_rise_h((lime,), 2.0 * total) is None


def test_daylight_goes_on_after_the_lime_ended():
    lit = stuck(3.0, daylight_mmol_per_L=0.15)
    assert lit.horizon_h == 10.0
    assert lit.pH_nbs_at(10.0) > lit.pH_nbs_at(1.0) + 0.05
    assert worst_of((lit,)).hours == 10.0


# --- the milder course


def test_open_course_is_milder_everywhere_and_recovers():
    lime = stuck(8.0)
    points = open_course(lime, air_pCO2_uatm=500.0)
    for point in points:
        assert point.pH_nbs <= lime.pH_nbs_at(point.hours) + 1e-9
    peak = max(points, key=lambda point: point.pH_nbs)
    assert peak.hours == pytest.approx(lime.ends_h, abs=0.3)
    assert points[-1].pH_nbs < peak.pH_nbs - 0.1
    assert points[-1].hours == pytest.approx(lime.ends_h + 24.0)


def test_more_exchange_is_milder_still():
    lime = stuck(8.0)
    peaks = [
        max(p.pH_nbs for p in open_course(lime, air_pCO2_uatm=500.0, exchange_per_day=k))
        for k in (0.0, 5.0, 20.0, 50.0)
    ]
    assert peaks == sorted(peaks, reverse=True)
    # Without exchange it is the closed course, but for the dilution.
    assert peaks[0] == pytest.approx(lime.pH_nbs_at(lime.ends_h), abs=0.01)


def test_open_course_of_something_lost_at_once_starts_with_it():
    lime = stuck(8.0, rate_L_per_h=None)
    points = open_course(lime, air_pCO2_uatm=500.0, hours=6.0)
    assert points[1].hours == 0.0
    assert points[1].pH_nbs == pytest.approx(lime.pH_nbs_at(0.0), abs=0.01)
    assert points[-1].hours == pytest.approx(6.0)


def test_open_course_that_leaves_the_solver_has_no_points():
    lime = stuck(litres=0.0, suspended_g=5000.0, rate_L_per_h=None)
    assert open_course(lime, air_pCO2_uatm=500.0) == ()
