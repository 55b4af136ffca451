"""The course of a tank in time, against closed forms and against itself at finer steps."""

from itertools import pairwise
from math import log

import pytest

from engine.carbonate import solve
from engine.chemistry.gas_exchange import Air, Rates, Segment, run_course
from engine.errors import InvalidQuantity, OutsideValidity
from engine.seawater import density_kg_per_m3

WHERE = {"salinity": 35.0, "temperature_degC": 25.0}
KG_PER_L = density_kg_per_m3(35.0, 25.0) / 1000.0
NO_EXCHANGE = Air(pCO2_uatm=500.0, exchange_per_day=0.0)


def at_rest(pCO2=500.0, alkalinity=2500.0):
    return solve(total_alkalinity_umol_per_kg=alkalinity, pCO2_uatm=pCO2, **WHERE)


def test_closed_tank_under_lime_alone_gains_alkalinity_and_no_carbon():  # closed form C
    start = at_rest()
    course = run_course(
        start, NO_EXCHANGE, [Segment(hours=48.0, rates=Rates(lime_meq=0.5))], step_h=1.0
    )
    for point in course:
        gained = 0.5 * point.hours / 24.0 * 1000.0 / KG_PER_L
        alkalinity = start.total_alkalinity_umol_per_kg + gained
        assert point.total_alkalinity_umol_per_kg == pytest.approx(alkalinity, rel=1e-12)
        assert point.dic_umol_per_kg == pytest.approx(start.dic_umol_per_kg, rel=1e-12)
        expected = solve(
            total_alkalinity_umol_per_kg=alkalinity,
            dic_umol_per_kg=start.dic_umol_per_kg,
            **WHERE,
        )
        assert point.pH_total == pytest.approx(expected.pH_total, abs=1e-11)


def test_calcification_takes_two_alkalinity_one_carbon_one_calcium():  # closed form D
    course = run_course(
        at_rest(), NO_EXCHANGE, [Segment(hours=24.0, rates=Rates(calcification_mmol=0.25))]
    )
    first, last = course[0], course[-1]
    taken = 0.25 * 1000.0 / KG_PER_L
    assert first.total_alkalinity_umol_per_kg - last.total_alkalinity_umol_per_kg == pytest.approx(
        2 * taken, rel=1e-9
    )
    assert first.dic_umol_per_kg - last.dic_umol_per_kg == pytest.approx(taken, rel=1e-9)
    assert first.calcium_umol_per_kg - last.calcium_umol_per_kg == pytest.approx(taken, rel=1e-9)


@pytest.mark.parametrize("k", [1000.0, 400.0])
def test_fast_exchange_comes_to_rest_with_the_air(k):  # closed form E
    air = Air(pCO2_uatm=600.0, exchange_per_day=k)
    end = run_course(at_rest(400.0), air, [Segment(hours=48.0, dose_meq_per_L=0.3)], step_h=2.0)[-1]
    expected = solve(
        total_alkalinity_umol_per_kg=end.total_alkalinity_umol_per_kg, pCO2_uatm=600.0, **WHERE
    )
    assert end.dic_umol_per_kg == pytest.approx(expected.dic_umol_per_kg, rel=1e-9)


def test_small_disturbance_decays_at_k_times_beta():  # closed form G
    rest = at_rest()
    off = solve(
        total_alkalinity_umol_per_kg=2500.0, dic_umol_per_kg=rest.dic_umol_per_kg - 10.0, **WHERE
    )
    assert abs(off.pH_nbs - rest.pH_nbs) < 0.02
    k = 20.0
    end = run_course(off, Air(pCO2_uatm=500.0, exchange_per_day=k), [Segment(hours=24.0)])[-1]
    slope = log((rest.dic_umol_per_kg - end.dic_umol_per_kg) / 10.0)
    assert slope == pytest.approx(-k * rest.gas_buffering, rel=0.02)


@pytest.mark.parametrize(
    ("k", "hours", "expected"),
    [
        (20, 6, 8.386),
        (20, 12, 8.348),
        (20, 24, 8.285),
        (20, 48, 8.209),
        (5, 24, 8.386),
        (50, 24, 8.191),
    ],
)
def test_decay_after_a_dose_is_the_reference_decay(k, hours, expected):
    air = Air(pCO2_uatm=500.0, exchange_per_day=float(k))
    end = run_course(at_rest(), air, [Segment(hours=float(hours), dose_meq_per_L=0.25)])[-1]
    assert end.pH_nbs == pytest.approx(expected, abs=6e-4)


DAY_AND_NIGHT = (
    Segment(hours=10.0, rates=Rates(lime_meq=0.6, calcification_mmol=0.1, respiration_mmol=0.3)),
    Segment(
        hours=2.0, rates=Rates(calcification_mmol=0.2, respiration_mmol=0.1), dose_meq_per_L=0.1
    ),
    Segment(hours=12.0, rates=Rates(calcification_mmol=0.4, respiration_mmol=-0.3)),
)


@pytest.mark.parametrize(("k", "pH"), [(0.5, 2e-6), (20.0, 2e-6), (50.0, 4e-6), (300.0, 4e-5)])
def test_five_minute_steps_are_as_good_as_five_second_ones(k, pH):
    air = Air(pCO2_uatm=700.0, exchange_per_day=k)
    coarse = {p.hours: p for p in run_course(at_rest(), air, DAY_AND_NIGHT)}
    fine = {round(p.hours, 9): p for p in run_course(at_rest(), air, DAY_AND_NIGHT, step_h=1 / 720)}
    assert max(abs(p.pH_nbs - fine[round(t, 9)].pH_nbs) for t, p in coarse.items()) < pH


def test_error_falls_with_the_square_of_the_step():
    air = Air(pCO2_uatm=700.0, exchange_per_day=50.0)

    def end(step_h):
        return run_course(at_rest(), air, DAY_AND_NIGHT, step_h=step_h)[-1].dic_umol_per_kg

    truth = end(1 / 360)
    coarse, fine = abs(end(1.0) - truth), abs(end(0.5) - truth)
    assert coarse / fine == pytest.approx(4.0, rel=0.35)


def test_night_pulls_ph_down_and_day_up():
    air = Air(pCO2_uatm=500.0, exchange_per_day=20.0)
    night = run_course(at_rest(), air, [Segment(hours=8.0, rates=Rates(respiration_mmol=0.4))])
    day = run_course(at_rest(), air, [Segment(hours=8.0, rates=Rates(respiration_mmol=-0.4))])
    assert all(a.pH_nbs > b.pH_nbs for a, b in pairwise(night))
    assert all(a.pH_nbs < b.pH_nbs for a, b in pairwise(day))


def test_hours_run_through_segments_and_a_dose_shows_as_a_second_point():
    air = Air(pCO2_uatm=500.0, exchange_per_day=20.0)
    course = run_course(at_rest(), air, DAY_AND_NIGHT, step_h=1.0)
    assert [p.hours for p in course] == [*range(11), 10, *range(11, 25)]
    before, after = (p for p in course if p.hours == 10.0)
    assert after.pH_nbs > before.pH_nbs


def test_a_tank_that_runs_out_of_carbon_is_refused():
    with pytest.raises(OutsideValidity):
        run_course(
            at_rest(), NO_EXCHANGE, [Segment(hours=24.0 * 30, rates=Rates(respiration_mmol=-1.0))]
        )


def test_absurd_lengths_and_rates_are_refused():
    with pytest.raises(InvalidQuantity):
        run_course(at_rest(), NO_EXCHANGE, [Segment(hours=1e9)])
    with pytest.raises(InvalidQuantity):
        Rates(lime_meq=float("nan"))
    with pytest.raises(OutsideValidity):
        Air(pCO2_uatm=400.0, exchange_per_day=-1.0)
    with pytest.raises(InvalidQuantity):
        Segment(hours=-1.0)
