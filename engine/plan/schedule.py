"""The doses of a day: when, how much, how long the pump runs, and what they do to the day's pH."""

from dataclasses import dataclass
from typing import Final

from engine.carbonate import pCO2_uatm_from_dry_air_ppm
from engine.chemistry.dose_physics import TankWater, add_limewater
from engine.decision import Decision
from engine.demand.facts import BY_PUMP, THROUGH_TOP_OFF, Facts
from engine.errors import OutsideValidity
from engine.limits import ASSUMED_PH, DosePlan
from engine.plan.day_curve import (
    ASSUMED_AIR_UATM,
    CurvePoint,
    Day,
    air_for_highest_pH,
    day_curve,
    highest,
)
from engine.plan.ph_guard import Water, gas_exchange, tank_water
from engine.plan.schedule_codes import ScheduleCode, schedule_reason
from engine.reasons import Reason
from engine.records import Delivery, Setup
from engine.units import Quantity, quantity, to_float

DROPS_PER_ML: Final = 20.0  # common practice, no source
DRIP_FROM_HOUR: Final = 21.0
DRIP_HOURS: Final = 10.0
_PH_DAYS: Final = 7.0
_ROOM_DAYS: Final = 30.0
_DAY_H: Final = 24.0
_ML_PER_L: Final = 1000.0
_S_PER_H: Final = 3600.0
# Doses closer than the pump runs and the stirrer's bed rests would run into each other.
_REST_AFTER_STIRRING_H: Final = 0.75  # common practice, no source


@dataclass(frozen=True, slots=True)
class Dose:
    """One dose."""

    hour: float  # local time of day, hours
    volume_mL: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySchedule:
    """A plan laid out over the day. All doses together never exceed the plan."""

    doses: tuple[Dose, ...]  # one that lasts DRIP_HOURS for a drip
    dose: Quantity  # mL
    daily: Quantity  # L/day
    at_night: bool
    run: Quantity | None  # s, of the pump for one dose, by its measured rate
    drip_mL_per_min: float | None
    drops_per_min: float | None
    dose_rise_pH: float | None  # of one dose at the day's highest pH, closed to the air
    before: tuple[CurvePoint, ...]  # the day's pH as set now; empty where it cannot be told
    after: tuple[CurvePoint, ...]
    reasons: tuple[Reason, ...]


def day_schedule(decision: Decision, facts: Facts) -> DaySchedule | Reason:
    """Return how an admitted plan is laid out over the day, or why it is not.

    Parameters
    ----------
    decision : Decision
        With a plan.
    facts : Facts
        The log that it was made from, of `engine.demand.facts.gather`.
    """
    plan, setup = decision.plan, decision.setup
    if setup is None or not isinstance(plan, DosePlan) or plan.L_per_day <= 0.0:
        return schedule_reason(ScheduleCode.NO_PLAN)
    if setup.delivery in THROUGH_TOP_OFF:
        return schedule_reason(ScheduleCode.TOP_OFF)
    doses, told = _doses(setup, plan)
    share = decision.limewater.pump_share if decision.limewater else None
    run_s = _run_s(setup, plan, share)
    drip = setup.delivery is Delivery.DRIP
    drip_rate = plan.L_per_day * _ML_PER_L / DRIP_HOURS / 60.0 if drip else None
    curves = _curves(decision, facts, setup, doses)
    rise = _dose_rise_pH(decision, facts, setup, plan)
    return DaySchedule(
        doses=doses,
        dose=plan.dose,
        daily=plan.limewater,
        at_night=told.code == ScheduleCode.AT_NIGHT,
        run=None if run_s is None else quantity(run_s, "s"),
        drip_mL_per_min=drip_rate,
        drops_per_min=None if drip_rate is None else drip_rate * DROPS_PER_ML,
        dose_rise_pH=rise,
        before=curves.before,
        after=curves.after,
        reasons=(
            told,
            *_run_reasons(run_s, setup),
            *_drip_reasons(drip_rate),
            *_rise_reasons(rise),
            *curves.reasons,
        ),
    )


def _doses(setup: Setup, plan: DosePlan) -> tuple[tuple[Dose, ...], Reason]:
    """Return the doses in order of the hour, and how they are laid out."""
    if setup.delivery is Delivery.DRIP:
        dose = Dose(DRIP_FROM_HOUR, plan.L_per_day * _ML_PER_L)
        return (dose,), schedule_reason(ScheduleCode.DRIP_NIGHT, drip_hours=DRIP_HOURS)
    dose_mL, count = to_float(plan.dose, "mL"), plan.doses_per_day
    numbers = {"dose_mL": dose_mL, "dose_count": float(count)}
    dark = _dark(setup)
    if setup.doses_at_night and dark is not None:
        start, length = dark
        if _fits(setup, dose_mL, length / count):
            hours = sorted((start + length * (i + 0.5) / count) % _DAY_H for i in range(count))
            return tuple(Dose(hour, dose_mL) for hour in hours), schedule_reason(
                ScheduleCode.AT_NIGHT, **numbers, every_hours=length / count
            )
    hours = [_DAY_H * (i + 0.5) / count for i in range(count)]
    return tuple(Dose(hour, dose_mL) for hour in hours), schedule_reason(
        ScheduleCode.EVEN, **numbers, every_hours=_DAY_H / count
    )


def _dark(setup: Setup) -> tuple[float, float] | None:
    """Return start and length of the dark hours, None where the lamp's hours are not known."""
    on, off = setup.lights_on_hours, setup.lights_off_hours
    if on is None or off is None or (off - on) % _DAY_H == 0.0:
        return None
    return off % _DAY_H, (on - off) % _DAY_H


def _fits(setup: Setup, dose_mL: float, every_h: float) -> bool:
    """Tell whether the pump has run out a dose before the next one is due."""
    if setup.pump_L_per_h is None:
        return True
    return dose_mL / _ML_PER_L / setup.pump_L_per_h < every_h


def _run_s(setup: Setup, plan: DosePlan, share: float | None) -> float | None:
    """Return how long the pump runs for a dose, rounded toward less."""
    if setup.delivery not in BY_PUMP or setup.pump_L_per_h is None:
        return None
    rate = setup.pump_L_per_h * (1.0 if share is None else share)
    seconds = to_float(plan.dose, "mL") / _ML_PER_L / rate * _S_PER_H if rate > 0.0 else 0.0
    return float(int(seconds)) if seconds > 0.0 else None


def _run_reasons(run_s: float | None, setup: Setup) -> tuple[Reason, ...]:
    found: list[Reason] = []
    if run_s is not None:
        found.append(schedule_reason(ScheduleCode.RUN_TIME, run_s=run_s))
    if setup.stirrer_every_h is not None:
        rest = {"rest_hours": _REST_AFTER_STIRRING_H}
        found.append(schedule_reason(ScheduleCode.STIRRER_REST, **rest))
    return tuple(found)


def _drip_reasons(rate_mL_per_min: float | None) -> tuple[Reason, ...]:
    if rate_mL_per_min is None:
        return ()
    drops = rate_mL_per_min * DROPS_PER_ML
    return (
        schedule_reason(ScheduleCode.DRIP_RATE, drip_mL_per_min=rate_mL_per_min, drop_count=drops),
    )


def _rise_reasons(rise_pH: float | None) -> tuple[Reason, ...]:
    return () if rise_pH is None else (schedule_reason(ScheduleCode.DOSE_RISE, rise_pH=rise_pH),)


@dataclass(frozen=True, slots=True)
class _Curves:
    before: tuple[CurvePoint, ...]
    after: tuple[CurvePoint, ...]
    reasons: tuple[Reason, ...]


def _curves(decision: Decision, facts: Facts, setup: Setup, doses: tuple[Dose, ...]) -> _Curves:
    """Return the day's pH as set now and by plan."""
    if _dark(setup) is None:
        return _Curves((), (), (schedule_reason(ScheduleCode.LIGHTS_UNSET),))
    if decision.alkalinity is None or decision.limewater is None:
        return _Curves((), (), ())
    water = tank_water(facts, setup, decision.alkalinity.span.best)
    k = gas_exchange(setup).best
    now, plan = _day_now(decision, setup), _day_of_plan(decision, setup, doses)
    try:
        air, told = _air_uatm(facts, water, now, k)
        before = day_curve(water, now, air_uatm=air, exchange_per_day=k)
        after = day_curve(water, plan, air_uatm=air, exchange_per_day=k)
    except OutsideValidity:
        return _Curves((), (), (schedule_reason(ScheduleCode.CURVE_IMPOSSIBLE),))
    tops = {"before_pH": highest(before), "after_pH": highest(after)}
    assumed = (
        () if setup.gas_exchange_per_day else (schedule_reason(ScheduleCode.EXCHANGE_ASSUMED),)
    )
    highs = schedule_reason(ScheduleCode.HIGHEST_PH, **tops)
    return _Curves(before, after, (highs, told, *assumed))


def _day(setup: Setup, doses: tuple[tuple[float, float], ...], other_meq: float) -> Day:
    return Day(
        lights_on_hours=setup.lights_on_hours or 0.0,
        lights_off_hours=setup.lights_off_hours or 0.0,
        doses=doses,
        other_meq_per_L_per_day=other_meq / setup.net_volume_L,
    )


def _day_now(decision: Decision, setup: Setup) -> Day:
    """Return the day as set now, its doses taken as spread evenly."""
    delivered = 0.0
    if decision.setting is not None:
        delivered = to_float(decision.setting.delivered, "L/day")
    count = setup.doses_per_day
    each = delivered / count * _meq_per_L(decision) / setup.net_volume_L
    doses = tuple((_DAY_H * (i + 0.5) / count, each) for i in range(count)) if each else ()
    second = decision.change.second_was
    return _day(setup, doses, 0.0 if second is None else to_float(second, "meq/day"))


def _day_of_plan(decision: Decision, setup: Setup, doses: tuple[Dose, ...]) -> Day:
    per_mL = _meq_per_L(decision) / _ML_PER_L / setup.net_volume_L
    if setup.delivery is Delivery.DRIP:
        steps = int(DRIP_HOURS)
        whole = doses[0].volume_mL / steps * per_mL
        hours = sorted((DRIP_FROM_HOUR + i + 0.5) % _DAY_H for i in range(steps))
        spread = tuple((hour, whole) for hour in hours)
    else:
        spread = tuple((dose.hour, dose.volume_mL * per_mL) for dose in doses)
    left = decision.remainder
    return _day(setup, spread, 0.0 if left is None else left.meq_per_day)


def _meq_per_L(decision: Decision) -> float:
    limewater = decision.limewater
    return limewater.strength.floats("meq/L").best if limewater else 0.0


def _air_uatm(facts: Facts, water: Water, now: Day, k: float) -> tuple[float, Reason]:
    """Return the room's carbon dioxide and where it comes from."""
    week = [s.value for s in facts.samples("pH_nbs") if facts.age_days(s.at) <= _PH_DAYS]
    if week:
        top = max(week)
        air = air_for_highest_pH(water, now, highest_pH_nbs=top, exchange_per_day=k)
        if air is not None:
            return air, schedule_reason(ScheduleCode.FROM_RECORDED_PH, highest_pH=top)
    room = facts.last_sample("room_co2")
    if room is not None and facts.age_days(room.at) <= _ROOM_DAYS:
        air = pCO2_uatm_from_dry_air_ppm(
            room.value, salinity=water.salinity, temperature_degC=water.temperature_degC
        )
        return air, schedule_reason(ScheduleCode.FROM_ROOM, room_ppm=room.value)
    return ASSUMED_AIR_UATM, schedule_reason(ScheduleCode.AIR_ASSUMED)


def _dose_rise_pH(decision: Decision, facts: Facts, setup: Setup, plan: DosePlan) -> float | None:
    """Return the rise of one dose at the day's highest pH, closed to the air."""
    if decision.alkalinity is None or setup.delivery is Delivery.DRIP:
        return None
    week = [s.value for s in facts.samples("pH_nbs") if facts.age_days(s.at) <= _PH_DAYS]
    water = tank_water(facts, setup, decision.alkalinity.span.best)
    try:
        before = water.at_pH_nbs(max(week, default=ASSUMED_PH))
        tank = TankWater.from_state(setup.net_volume_L, before)
        dose_L = to_float(plan.dose, "L")
        strength = _meq_per_L(decision)
        after = add_limewater(tank, dose_L=dose_L, strength_meq_per_L=strength).state()
    except OutsideValidity:
        return None
    return after.pH_nbs - before.pH_nbs
