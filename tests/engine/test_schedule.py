"""The doses of a day: times, sizes, run time, and the day's pH."""

import pytest

from engine.carbonate import solve
from engine.chemistry.gas_exchange import Air
from engine.chemistry.steady_state import steady_state
from engine.demand.facts import gather
from engine.limits import DosePlan
from engine.plan.day_curve import Day, air_for_highest_pH, day_curve, highest, lowest
from engine.plan.ph_guard import Water
from engine.plan.schedule import DRIP_HOURS, DaySchedule, day_schedule
from engine.plan.schedule_codes import ScheduleCode
from engine.reasons import Reason
from engine.records import Delivery, SecondSource
from engine.units import to_float
from mobile.state.sentences import sentence
from mobile.texts.schedule import TEXTS
from tests.support.keeper_log import SYSTEM, KeeperLog, dkh, kettle

LIT = {"lights_on_hours": 10.0, "lights_off_hours": 21.0}


def found(log: KeeperLog) -> DaySchedule | Reason:
    return day_schedule(log.decide(), gather(log.records, system=SYSTEM, now=log.now))


def laid_out(log: KeeperLog) -> DaySchedule:
    schedule = found(log)
    assert isinstance(schedule, DaySchedule), schedule
    return schedule


def codes(log: KeeperLog) -> list[str]:
    schedule = found(log)
    return [schedule.code] if isinstance(schedule, Reason) else [r.code for r in schedule.reasons]


def drip() -> KeeperLog:
    return kettle(2.0, delivery=Delivery.DRIP, **LIT)


CASES = {
    ScheduleCode.NO_PLAN: lambda: kettle(keeper_cap_L_per_day=None),
    ScheduleCode.TOP_OFF: lambda: kettle(delivery=Delivery.TOP_OFF_VESSEL),
    ScheduleCode.EVEN: kettle,
    ScheduleCode.AT_NIGHT: lambda: kettle(doses_at_night=True, **LIT),
    ScheduleCode.DRIP_NIGHT: drip,
    ScheduleCode.DRIP_RATE: drip,
    ScheduleCode.RUN_TIME: kettle,
    ScheduleCode.STIRRER_REST: lambda: kettle(stirrer_every_h=4.0),
    ScheduleCode.DOSE_RISE: kettle,
    ScheduleCode.LIGHTS_UNSET: kettle,
    ScheduleCode.CURVE_IMPOSSIBLE: lambda: kettle(gas_exchange_per_day=0.2, **LIT),
    ScheduleCode.HIGHEST_PH: lambda: kettle(**LIT),
    ScheduleCode.FROM_RECORDED_PH: lambda: kettle(**LIT).read(0.5, pH_nbs=8.3),
    ScheduleCode.FROM_ROOM: lambda: kettle(**LIT).read(3.0, room_co2=900.0),
    ScheduleCode.AIR_ASSUMED: lambda: kettle(**LIT),
    ScheduleCode.EXCHANGE_ASSUMED: lambda: kettle(**LIT),
}


def test_every_code_has_a_case_and_a_sentence():
    assert set(CASES) == set(ScheduleCode)
    assert set(TEXTS) == set(ScheduleCode)


@pytest.mark.parametrize("code", ScheduleCode)
def test_code_is_given_and_its_sentence_filled(code):
    schedule = found(CASES[code]())
    reasons = (schedule,) if isinstance(schedule, Reason) else schedule.reasons
    mine = [reason for reason in reasons if reason.code == code]
    assert mine
    said = sentence(TEXTS, code, mine[0].numbers)
    assert "{" not in said
    assert said.endswith(".")


def test_all_doses_together_are_no_more_than_the_plan():
    for setup in ({}, {"doses_at_night": True, **LIT}, {"doses_per_day": 7, "pump_step_mL": 3.0}):
        log = kettle(vessel_L=None, **setup)
        plan = log.decide().plan
        assert isinstance(plan, DosePlan)
        schedule = laid_out(log)
        total_mL = sum(dose.volume_mL for dose in schedule.doses)
        assert total_mL <= plan.L_per_day * 1000.0 * (1.0 + 1e-12)
        assert len(schedule.doses) == plan.doses_per_day


def test_each_dose_is_whole_pump_steps():
    for dose in laid_out(kettle(pump_step_mL=5.0)).doses:
        assert dose.volume_mL / 5.0 == pytest.approx(round(dose.volume_mL / 5.0))


def test_night_doses_lie_in_the_dark_and_even_ones_over_the_day():
    night = laid_out(kettle(doses_at_night=True, **LIT))
    assert night.at_night
    assert all(not 10.0 <= dose.hour < 21.0 for dose in night.doses)
    even = laid_out(kettle(**LIT))
    assert not even.at_night
    assert sum(10.0 <= dose.hour < 21.0 for dose in even.doses) == 11


def test_a_pump_too_slow_for_the_night_doses_all_day():
    log = kettle(doses_at_night=True, pump_L_per_h=0.26, **LIT)
    assert not laid_out(log).at_night


def test_run_time_is_that_of_the_measured_pump_toward_less():
    whole = laid_out(kettle()).run
    assert whole is not None
    # 220 mL at 3 L/h
    assert to_float(whole, "s") == 264.0
    worn = laid_out(kettle().pump_check(1.0, 100.0, 98.0))
    assert worn.run is not None
    dose_mL = to_float(worn.dose, "mL")
    assert to_float(worn.run, "s") == int(dose_mL / 3000.0 / 0.98 * 3600.0)


def test_drip_is_one_night_of_drops():
    schedule = laid_out(drip())
    assert schedule.drip_mL_per_min == pytest.approx(
        to_float(schedule.daily, "L/day") * 1000.0 / DRIP_HOURS / 60.0
    )
    assert schedule.drops_per_min == pytest.approx(20.0 * (schedule.drip_mL_per_min or 0.0))


def test_curve_meets_the_recorded_highest_pH():
    schedule = laid_out(kettle(**LIT).read(0.5, pH_nbs=8.32))
    assert highest(schedule.before) == pytest.approx(8.32, abs=0.003)


def test_night_doses_flatten_the_day():
    even = laid_out(kettle(**LIT).read(0.5, pH_nbs=8.3)).after
    night = laid_out(kettle(doses_at_night=True, **LIT).read(0.5, pH_nbs=8.3)).after
    assert highest(night) < highest(even) - 0.01
    assert highest(night) - lowest(night) < highest(even) - lowest(even)


def test_pH_is_highest_about_lights_off_and_lowest_about_lights_on():
    curve = laid_out(kettle(**LIT).read(0.5, pH_nbs=8.3)).before
    top = max(curve, key=lambda point: point.pH_nbs)
    bottom = min(curve, key=lambda point: point.pH_nbs)
    assert 18.0 < top.hour <= 21.5
    assert 7.0 < bottom.hour <= 10.5


# --- the curve itself

WATER = Water(alkalinity_meq_per_L=dkh(8.3), salinity=35.0, temperature_degC=25.0)
STILL = Day(
    lights_on_hours=8.0,
    lights_off_hours=20.0,
    doses=tuple((hour + 0.5, 0.3 / 24.0) for hour in range(24)),
    other_meq_per_L_per_day=0.0,
)


def test_curve_repeats_itself():
    curve = day_curve(WATER, STILL, air_uatm=600.0, exchange_per_day=20.0)
    assert curve[0].hour == 0.0
    assert curve[-1].hour == pytest.approx(24.0)
    assert curve[-1].pH_nbs == pytest.approx(curve[0].pH_nbs, abs=0.005)


def test_mean_of_the_curve_is_about_the_steady_state(monkeypatch):
    monkeypatch.setattr("engine.plan.day_curve.DAY_CARBON_MMOL_PER_L", 0.0)
    curve = day_curve(WATER, STILL, air_uatm=600.0, exchange_per_day=20.0)
    rest = steady_state(
        total_alkalinity_umol_per_kg=WATER.alkalinity_meq_per_L * 1000.0 / WATER.kg_per_L,
        salinity=35.0,
        temperature_degC=25.0,
        air=Air(pCO2_uatm=600.0, exchange_per_day=20.0),
        lime_meq_per_L_per_day=0.3,
    )
    mean = sum(point.pH_nbs for point in curve) / len(curve)
    assert mean == pytest.approx(rest.pH_nbs, abs=0.02)


def test_more_room_carbon_dioxide_lowers_the_day():
    low = day_curve(WATER, STILL, air_uatm=450.0, exchange_per_day=20.0)
    high = day_curve(WATER, STILL, air_uatm=1200.0, exchange_per_day=20.0)
    assert highest(high) < lowest(low)


def test_air_is_found_again():
    top = highest(day_curve(WATER, STILL, air_uatm=700.0, exchange_per_day=15.0))
    air = air_for_highest_pH(WATER, STILL, highest_pH_nbs=top, exchange_per_day=15.0)
    assert air == pytest.approx(700.0, rel=0.02)


def test_no_air_gives_an_impossible_pH():
    assert air_for_highest_pH(WATER, STILL, highest_pH_nbs=6.5, exchange_per_day=15.0) is None


def test_second_source_brings_its_own_carbon():
    by_two_part = Day(
        lights_on_hours=8.0, lights_off_hours=20.0, doses=(), other_meq_per_L_per_day=0.3
    )
    lime = day_curve(WATER, STILL, air_uatm=600.0, exchange_per_day=20.0)
    other = day_curve(WATER, by_two_part, air_uatm=600.0, exchange_per_day=20.0)
    assert highest(other) < highest(lime) - 0.05


def test_more_of_the_second_source_and_less_lime_lowers_the_day():
    log = kettle(
        second_source=SecondSource.TWO_PART,
        two_part_meq_per_mL=2.0,
        keeper_cap_L_per_day=3.0,
        **LIT,
    ).second(59.0, 0.0)
    schedule = laid_out(log.read(0.5, pH_nbs=8.3))
    assert highest(schedule.after) < highest(schedule.before)


def test_water_of_the_curve_is_the_tanks_own():
    state = solve(
        total_alkalinity_umol_per_kg=WATER.alkalinity_meq_per_L * 1000.0 / WATER.kg_per_L,
        salinity=35.0,
        temperature_degC=25.0,
        pCO2_uatm=600.0,
    )
    calm = Day(lights_on_hours=8.0, lights_off_hours=20.0, doses=(), other_meq_per_L_per_day=0.0)
    curve = day_curve(WATER, calm, air_uatm=600.0, exchange_per_day=50.0)
    assert lowest(curve) < state.pH_nbs < highest(curve)
