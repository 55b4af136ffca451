"""Where a tank comes to rest, in closed form, and that the course in time goes there."""

from math import exp

import pytest

from engine.carbonate import solve
from engine.chemistry.gas_exchange import Air, Rates, Segment, run_course
from engine.chemistry.steady_state import (
    alkalinity_with_first_order_demand_meq_per_L,
    largest_steady_lime_meq_per_L_per_day,
    steady_state,
)
from engine.errors import OutsideValidity

WHERE = {"salinity": 35.0, "temperature_degC": 25.0}


@pytest.mark.parametrize(
    ("given", "pCO2", "pH_nbs"),
    [
        ((20.0, 0.25, 0.0, 600.0), 384.199, 8.2239),
        ((50.0, 0.25, 0.0, 450.0), 363.680, 8.2430),
        ((20.0, 0.5, 0.2, 600.0), 513.680, 8.1208),
        ((5.0, 0.1, 0.0, 450.0), 104.719, 8.6424),
    ],
)
def test_balanced_dosing_rests_at_the_closed_form(given, pCO2, pH_nbs):  # A
    k, lime, respiration, air = given
    state = steady_state(
        total_alkalinity_umol_per_kg=2500.0,
        air=Air(pCO2_uatm=air, exchange_per_day=k),
        lime_meq_per_L_per_day=lime,
        respiration_mmol_per_L_per_day=respiration,
        **WHERE,
    )
    assert state.pCO2_uatm == pytest.approx(pCO2, abs=1e-3)
    assert state.pH_nbs == pytest.approx(pH_nbs, abs=1e-4)


@pytest.mark.parametrize(("k", "limit"), [(5.0, 0.130), (20.0, 0.521), (50.0, 1.303)])
def test_beyond_the_airs_carbon_no_steady_state_exists(k, limit):  # B
    air = Air(pCO2_uatm=450.0, exchange_per_day=k)
    largest = largest_steady_lime_meq_per_L_per_day(air=air, **WHERE)
    assert largest == pytest.approx(limit, abs=1e-3)
    given = {"total_alkalinity_umol_per_kg": 2500.0, "air": air, **WHERE}
    assert steady_state(lime_meq_per_L_per_day=0.98 * largest, **given).pH_nbs > 8.5
    with pytest.raises(OutsideValidity) as caught:
        steady_state(lime_meq_per_L_per_day=1.001 * largest, **given)
    assert caught.value.code == "no_steady_state"
    assert caught.value.high == pytest.approx(largest)


def test_the_course_in_time_arrives_at_the_steady_state():
    air = Air(pCO2_uatm=600.0, exchange_per_day=20.0)
    rest = steady_state(
        total_alkalinity_umol_per_kg=2500.0,
        air=air,
        lime_meq_per_L_per_day=0.25,
        respiration_mmol_per_L_per_day=0.05,
        **WHERE,
    )
    start = solve(total_alkalinity_umol_per_kg=2500.0, pH_nbs=8.4, **WHERE)
    rates = Rates(lime_meq=0.25, calcification_mmol=0.125, respiration_mmol=0.05)
    end = run_course(start, air, [Segment(hours=24.0 * 60, rates=rates)], step_h=1.0)[-1]
    assert end.pH_nbs == pytest.approx(rest.pH_nbs, abs=1e-6)
    assert end.pCO2_uatm == pytest.approx(rest.pCO2_uatm, abs=1e-3)


def test_a_sealed_tank_has_no_steady_state():
    with pytest.raises(OutsideValidity):
        steady_state(
            total_alkalinity_umol_per_kg=2500.0,
            air=Air(pCO2_uatm=450.0, exchange_per_day=0.0),
            lime_meq_per_L_per_day=0.0,
            respiration_mmol_per_L_per_day=0.1,
            **WHERE,
        )


def test_bicarbonate_brings_its_own_carbon():
    given = {
        "total_alkalinity_umol_per_kg": 2500.0,
        "air": Air(pCO2_uatm=450.0, exchange_per_day=20.0),
        "lime_meq_per_L_per_day": 0.2,
        "other_alkalinity_meq_per_L_per_day": 0.2,
        **WHERE,
    }
    bicarbonate = steady_state(other_dic_mmol_per_L_per_day=0.2, **given)
    carbonate = steady_state(other_dic_mmol_per_L_per_day=0.1, **given)
    assert bicarbonate.pH_nbs < carbonate.pH_nbs


def test_demand_in_proportion_settles_where_given_equals_taken():  # F
    given = {"floor_meq_per_L": 1.5, "demand_per_day": 0.2, "given_meq_per_L_per_day": 0.3}
    after = alkalinity_with_first_order_demand_meq_per_L(2.5, days=3.0, **given)
    assert after == pytest.approx(3.0 - 0.5 * exp(-0.6), rel=1e-14)
    late = alkalinity_with_first_order_demand_meq_per_L(2.5, days=1000.0, **given)
    assert late == pytest.approx(3.0)
