"""What could go wrong as plain values whose keys carry their units: for the command line."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

from engine.hazards.bands import LIMIT_OF
from engine.hazards.course import closed_course
from engine.hazards.hazard import assess
from engine.hazards.rescue import ready_reason
from engine.hazards.rescue_water import new_water
from engine.hazards.safe_setup import verdict
from engine.report import reasons

if TYPE_CHECKING:
    from engine.demand.facts import Facts
    from engine.hazards.case import BandTime, HazardCase
    from engine.hazards.point import HazardPoint
    from engine.hazards.rise import Rise
    from engine.hazards.safe_setup import SafeSetup
    from engine.hazards.safe_sizes import SafeSize

COURSE_POINTS: Final = 13
# Field of a point -> its name in the report, where that lacks the unit.
_UNITS: Final = {"salinity": "salinity_PSU"}


def hazard_report(facts: Facts) -> dict[str, Any]:
    """Return verdict, sizes and every accident of a system as JSON-ready values.

    Raises
    ------
    EngineError
        Where the hazards cannot be worked out.
    """
    hazards = assess(facts)
    safe = verdict(hazards)
    setup = facts.setup
    return {
        **_verdict(safe),
        "salt_water": reasons((ready_reason(new_water(facts, setup), setup.net_volume_L),))
        if setup
        else [],
        "cases": [_case(case) for case in hazards.cases],
        "rises": [_rise(each) for each in hazards.rises],
        "unknown": [
            {"kind": str(each.kind), "reasons": reasons(each.reasons)} for each in hazards.unknown
        ],
        "reasons": reasons(hazards.reasons),
    }


def _verdict(safe: SafeSetup) -> dict[str, Any]:
    return {
        "band": str(safe.band),
        "band_pH_nbs": LIMIT_OF[safe.band].pH_nbs,
        "reaches_band": safe.reaches_band,
        "verdict": reasons(safe.verdict),
        "container_L": safe.container_L,
        "container_with_break_L": safe.with_break_L,
        "cut_off_hours": safe.cut_off_h,
        "charge_g": safe.charge_g,
        "charge_days": safe.charge_days,
        "dose_L": safe.dose_L,
        "containers": [_size(each, "L") for each in safe.containers],
        "charges": [_size(each, "g") for each in safe.charges],
        "alternatives": [
            {
                **reasons((each.reason,))[0],
                "settles": [str(kind) for kind in each.settles],
                "leaves": [str(kind) for kind in each.leaves],
            }
            for each in safe.alternatives
        ],
        "sizes": reasons(safe.reasons),
    }


def _rise(rise: Rise) -> dict[str, Any]:
    return {
        "kind": str(rise.kind),
        "low_meq_per_L": rise.low_meq_per_L,
        "high_meq_per_L": rise.high_meq_per_L,
        "at_least": str(rise.at_least),
        "reasons": reasons(rise.reasons),
    }


def _size(size: SafeSize, unit: str) -> dict[str, Any]:
    return {
        "band": str(size.band),
        f"guaranteed_{unit}": size.guaranteed,
        f"middle_{unit}": size.middle,
    }


def _case(case: HazardCase) -> dict[str, Any]:
    return {
        "kind": str(case.kind),
        "band": str(case.band_middle),
        "band_at_worst": str(case.band_bad),
        "times": [_time(each) for each in case.times],
        "worst": _point(case.worst_middle),
        "worst_at_bad_end": _point(case.worst_bad),
        "course": [_point(each) for each in _course(case)],
        "reasons": reasons(case.reasons),
    }


def _course(case: HazardCase) -> tuple[HazardPoint, ...]:
    """Return the middle course of what takes time, closed to the air."""
    if case.middle.rate_L_per_h is None or case.middle.litres <= 0.0:
        return ()
    return closed_course(case.middle, points=COURSE_POINTS)


def _time(time: BandTime) -> dict[str, Any]:
    earliest_h, middle_h, latest_h = time.by_any
    return {
        "band": str(time.band),
        "pH_nbs": time.pH_nbs,
        "earliest_hours": earliest_h,
        "middle_hours": middle_h,
        "latest_hours": latest_h,
    }


def _point(point: HazardPoint) -> dict[str, Any]:
    values = {_UNITS.get(name, name): value for name, value in asdict(point).items()}
    return {**values, "band": str(point.band), "precipitation": str(point.precipitation)}
