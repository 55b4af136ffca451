"""How an overdose should go down: from its first full reading, through each water change, by air.

Between strong and poor aeration (estimates, no source). No figure past pH_nbs 9.5: what has
fallen out by then is not known.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final

from engine.carbonate import PRECIPITATION_PH_NBS, pCO2_uatm_from_dry_air_ppm, solve
from engine.chemistry.gas_exchange import Air, Segment, run_course
from engine.demand.alkalinity_tests import ALKALINITY
from engine.errors import OutsideValidity
from engine.hazards.incident import changes_since, samples_since
from engine.hazards.rescue import EXCHANGE_PER_DAY, NEW_WATER_UATM, ROOM_UATM, change_water
from engine.hazards.rescue_water import mixed_salt, new_water, state_from_reading
from engine.hazards.start import SLOW_FRESH_DAYS, TEMPERATURE_FRESH_DAYS, fresh_value
from engine.seawater import USUAL_SALINITY, density_kg_per_m3
from engine.units import Span

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.carbonate import CarbonateState
    from engine.chemistry.gas_exchange import CoursePoint
    from engine.demand.facts import Facts, Sample
    from engine.hazards.incident import IncidentState
    from engine.records import Setup, WaterChange

ONE_READING: Final = timedelta(hours=1)  # pH and alkalinity so near in time are one
LOOK_AHEAD: Final = timedelta(hours=24)
STEP_H: Final = 0.25


@dataclass(frozen=True, slots=True)
class RecoveryPoint:
    """What is expected at one time: `low` with strong aeration, `high` with poor."""

    at: datetime
    pH_nbs: Span
    total_alkalinity_meq_per_L: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Recovery:
    """The expected course, oldest first; two points at one time are a water change."""

    state: CarbonateState  # what was read first
    points: tuple[RecoveryPoint, ...]

    def at(self, moment: datetime) -> RecoveryPoint | None:
        """Return what is expected at a moment, the nearer point; None outside the course."""
        times = [point.at for point in self.points]
        if not times or not times[0] <= moment <= times[-1]:
            return None
        place = bisect_left(times, moment)
        near = self.points[max(0, place - 1) : place + 1]
        return min(near, key=lambda point: abs(point.at - moment))


def recovery(facts: Facts, setup: Setup, state: IncidentState) -> Recovery | None:
    """Return the expected course of an overdose from its first full reading on.

    Parameters
    ----------
    facts, setup
        The system, at the moment of the facts.
    state : IncidentState
        The incident; nothing eaten and no more lime is assumed.

    Returns
    -------
    Recovery or None
        None until pH and alkalinity are read within an hour of each other, and past pH_nbs 9.5.
    """
    first = _first_pair(samples_since(facts, state, "pH_nbs"), _alkalinity(facts, state))
    if first is None:
        return None
    at, pH_nbs, alkalinity = first
    try:
        return _course(facts, setup, state, at, _read(facts, setup, pH_nbs, alkalinity))
    except OutsideValidity:
        return None


def last_state(facts: Facts, setup: Setup, state: IncidentState) -> CarbonateState | None:
    """Return the water of the newest full reading of an incident; None as in `recovery`."""
    pairs = _first_pair(
        tuple(reversed(samples_since(facts, state, "pH_nbs"))),
        tuple(reversed(_alkalinity(facts, state))),
    )
    if pairs is None:
        return None
    try:
        return _read(facts, setup, pairs[1], pairs[2])
    except OutsideValidity:
        return None


def _alkalinity(facts: Facts, state: IncidentState) -> tuple[Sample, ...]:
    return samples_since(facts, state, ALKALINITY)


def _first_pair(
    pH: Sequence[Sample], alkalinity: Sequence[Sample]
) -> tuple[datetime, float, float] | None:
    for test in alkalinity:
        near = [s for s in pH if abs(s.at - test.at) <= ONE_READING]
        if near:
            nearest = min(near, key=lambda s: abs(s.at - test.at))
            return nearest.at, nearest.value, test.value
    return None


def _read(facts: Facts, setup: Setup, pH_nbs: float, alkalinity: float) -> CarbonateState:
    """Return the water of a reading; OutsideValidity where there is no figure."""
    if pH_nbs > PRECIPITATION_PH_NBS:
        raise OutsideValidity("recovery", "pH_nbs", pH_nbs, 0.0, PRECIPITATION_PH_NBS)
    salinity = fresh_value(facts, "salinity", SLOW_FRESH_DAYS)
    warmth = fresh_value(facts, "temperature", TEMPERATURE_FRESH_DAYS)
    return state_from_reading(
        pH_nbs=pH_nbs,
        total_alkalinity_meq_per_L=alkalinity,
        salinity=USUAL_SALINITY if salinity is None else salinity,
        temperature_degC=setup.tank_temperature_degC if warmth is None else warmth,
        calcium_mg_per_L=fresh_value(facts, "calcium", SLOW_FRESH_DAYS),
    )


def room_pCO2_uatm(facts: Facts, water: CarbonateState) -> float:
    """Return the room's carbon dioxide as recorded, else that of a room with people."""
    ppm = fresh_value(facts, "room_co2", SLOW_FRESH_DAYS)
    if ppm is None:
        return ROOM_UATM
    return pCO2_uatm_from_dry_air_ppm(
        ppm, salinity=water.salinity, temperature_degC=water.temperature_degC
    )


def _course(
    facts: Facts, setup: Setup, state: IncidentState, at: datetime, water: CarbonateState
) -> Recovery:
    changes = [change for change in changes_since(facts, state) if change.at > at]
    ends = [*(change.at for change in changes), max(facts.now, at) + LOOK_AHEAD]
    air = room_pCO2_uatm(facts, water)
    waters = [water] * len(EXCHANGE_PER_DAY)
    points: list[RecoveryPoint] = []
    start = at
    for number, end in enumerate(ends):
        courses = [
            _stretch(each, (end - start).total_seconds() / 3600.0, air, exchange)
            for each, exchange in zip(waters, reversed(EXCHANGE_PER_DAY), strict=True)
        ]
        points += _points(start, courses, _kg_per_L(water))
        waters = [_water_of(course[-1], water) for course in courses]
        if number < len(changes):
            new = _new_water(facts, setup, changes[number], waters[1])
            share = min(1.0, changes[number].volume_L / setup.net_volume_L)
            waters = [change_water(each, share, new) for each in waters]
        start = end
    return Recovery(state=water, points=tuple(points))


def _stretch(
    water: CarbonateState, hours: float, air_uatm: float, exchange: float
) -> tuple[CoursePoint, ...]:
    air = Air(pCO2_uatm=air_uatm, exchange_per_day=exchange)
    return run_course(water, air, [Segment(hours=hours)], step_h=STEP_H)


def _water_of(point: CoursePoint, like: CarbonateState) -> CarbonateState:
    return solve(
        total_alkalinity_umol_per_kg=point.total_alkalinity_umol_per_kg,
        dic_umol_per_kg=point.dic_umol_per_kg,
        calcium_umol_per_kg=point.calcium_umol_per_kg,
        salinity=like.salinity,
        temperature_degC=like.temperature_degC,
    )


def _points(
    start: datetime, courses: list[tuple[CoursePoint, ...]], kg_per_L: float
) -> list[RecoveryPoint]:
    return [
        RecoveryPoint(
            start + timedelta(hours=row[0].hours),
            Span(*sorted(point.pH_nbs for point in row)),
            row[1].total_alkalinity_umol_per_kg * kg_per_L / 1000.0,
        )
        for row in zip(*courses, strict=True)
    ]


def _kg_per_L(water: CarbonateState) -> float:
    return density_kg_per_m3(water.salinity, water.temperature_degC) / 1000.0


def _new_water(
    facts: Facts, setup: Setup, change: WaterChange, tank: CarbonateState
) -> CarbonateState:
    own = change.new_total_alkalinity_meq_per_L
    alkalinity = new_water(facts, setup).total_alkalinity_meq_per_L.best if own is None else own
    return mixed_salt(tank, alkalinity, NEW_WATER_UATM.best)
