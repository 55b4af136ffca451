"""The day's pH between lamp, lime and the room's air, at rest from day to day.

The balance of engine/chemistry/gas_exchange.py over some days until it repeats itself. The room's
carbon dioxide is taken such that the day's highest pH with the limewater of now is the one on
record; without a pH it is the recorded or an assumed room. Animals are assumed: how much carbon
they take by day and give back by night, and how much faster skeletons grow in the light.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Final

from engine.carbonate import CarbonateState, solve
from engine.chemistry.gas_exchange import Air, CoursePoint, Rates, Segment, run_course
from engine.errors import OutsideValidity
from engine.plan.ph_guard import Water

# Common practice or estimates, no source.
DAY_CARBON_MMOL_PER_L: Final = 0.15  # that photosynthesis takes in the light, net
LIGHT_FACTOR: Final = 2.0  # how much faster skeletons grow in the light
ASSUMED_AIR_UATM: Final = 600.0
_STEP_H: Final = 0.5
_MOST_DAYS: Final = 40
_SAME_PH: Final = 0.002  # a day ends as it began
_AIR_RANGE_UATM: Final = (150.0, 6000.0)
_TRIES: Final = 12
_CLOSE_PH: Final = 0.002
_DAY_H: Final = 24.0


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """pH at an hour of the day."""

    hour: float
    pH_nbs: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """What happens in a day; amounts in meq for each litre of tank."""

    lights_on_hours: float
    lights_off_hours: float
    doses: tuple[tuple[float, float], ...]  # hour, meq/L of limewater, in order of the hour
    other_meq_per_L_per_day: float  # second source, with one mmol of carbon for each meq

    @property
    def light_hours(self) -> float:
        """Length of the lit part."""
        return (self.lights_off_hours - self.lights_on_hours) % _DAY_H

    @property
    def lime_meq_per_L(self) -> float:
        """Limewater of the day."""
        return sum(amount for _, amount in self.doses)


def day_curve(
    water: Water, day: Day, *, air_uatm: float, exchange_per_day: float
) -> tuple[CurvePoint, ...]:
    """Return the day's pH from hour 0 to 24 once every day is like the one before.

    Parameters
    ----------
    water : Water
        The tank; alkalinity is taken as held steady by what is given.
    day : Day
        Lamp and doses; some of the day must be lit and some dark.
    air_uatm, exchange_per_day : float
        The room's carbon dioxide at the surface, and k.

    Raises
    ------
    OutsideValidity
        No such day exists: more carbon is taken than air and animals bring.
    """
    air = Air(pCO2_uatm=air_uatm, exchange_per_day=exchange_per_day)
    segments = _segments(day)
    state = solve(
        total_alkalinity_umol_per_kg=water.alkalinity_meq_per_L * 1000.0 / water.kg_per_L,
        salinity=water.salinity,
        temperature_degC=water.temperature_degC,
        pCO2_uatm=air_uatm,
    )
    change = inf
    for _ in range(_MOST_DAYS):
        course = run_course(state, air, segments, step_h=_STEP_H)
        change = course[-1].pH_nbs - course[0].pH_nbs
        if abs(change) <= _SAME_PH:
            return tuple(CurvePoint(point.hours, point.pH_nbs) for point in course)
        state = _state(course[-1], water)
    raise OutsideValidity(
        "day_curve", "change_pH", change, -_SAME_PH, _SAME_PH, code="no_steady_day"
    )


def highest(curve: Sequence[CurvePoint]) -> float:
    """Return the highest pH of a day."""
    return max(point.pH_nbs for point in curve)


def lowest(curve: Sequence[CurvePoint]) -> float:
    """Return the lowest pH of a day."""
    return min(point.pH_nbs for point in curve)


def air_for_highest_pH(
    water: Water, day: Day, *, highest_pH_nbs: float, exchange_per_day: float
) -> float | None:
    """Return the room's carbon dioxide that gives a day this highest pH, uatm, or None."""
    low, high = _AIR_RANGE_UATM
    for _ in range(_TRIES):
        middle = (low * high) ** 0.5
        try:
            top = highest(day_curve(water, day, air_uatm=middle, exchange_per_day=exchange_per_day))
        except OutsideValidity:  # too little carbon: pH runs away
            low = middle
            continue
        if abs(top - highest_pH_nbs) <= _CLOSE_PH:
            return middle
        low, high = (middle, high) if top > highest_pH_nbs else (low, middle)
    return None


def _segments(day: Day) -> list[Segment]:
    doses = dict(day.doses)
    corners = sorted({0.0, day.lights_on_hours % _DAY_H, day.lights_off_hours % _DAY_H, *doses})
    ends = [*corners[1:], _DAY_H]
    return [
        Segment(
            hours=end - start,
            rates=_rates(day, (start + end) / 2.0),
            dose_meq_per_L=doses.get(start, 0.0),
        )
        for start, end in zip(corners, ends, strict=True)
    ]


def _rates(day: Day, hour: float) -> Rates:
    """Return the rates of a lit or dark hour; what is given is what skeletons take."""
    light, dark = day.light_hours, _DAY_H - day.light_hours
    lit = (hour - day.lights_on_hours) % _DAY_H < light
    skeleton = (day.lime_meq_per_L + day.other_meq_per_L_per_day) / 2.0
    dark_rate = skeleton / (LIGHT_FACTOR * light + dark) * _DAY_H
    carbon = -DAY_CARBON_MMOL_PER_L / light if lit else DAY_CARBON_MMOL_PER_L / dark
    return Rates(
        other_alkalinity_meq=day.other_meq_per_L_per_day,
        other_dic_mmol=day.other_meq_per_L_per_day,
        calcification_mmol=dark_rate * (LIGHT_FACTOR if lit else 1.0),
        respiration_mmol=carbon * _DAY_H,
    )


def _state(point: CoursePoint, water: Water) -> CarbonateState:
    return solve(
        total_alkalinity_umol_per_kg=point.total_alkalinity_umol_per_kg,
        salinity=water.salinity,
        temperature_degC=water.temperature_degC,
        dic_umol_per_kg=point.dic_umol_per_kg,
    )
