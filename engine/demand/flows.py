"""What was set and what held, as lines in time: limewater, second source, pump, solubility.

A record of a setting holds until the next. A change of the set-up can end it: another way of
delivery, another second source or none. What is then not recorded within a day is unknown.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Final

from engine.demand.facts import BY_PUMP, THROUGH_TOP_OFF, Facts
from engine.limewater import saturated_alkalinity_meq_per_L
from engine.log.timeline import Line, Steps
from engine.records import (
    Delivery,
    DeliverySetting,
    ProcedureRun,
    PumpCheck,
    SecondSource,
    SecondSourceSetting,
    Setup,
)

# A setting recorded so soon after a change of the set-up leaves no gap.
_SAME_DAY: Final = timedelta(days=1)
# A pump wears slowly, and one never measured was off from the start; a larger change than this
# came about in the last days (estimate, no source).
_ABRUPT_SHARE: Final = 0.3
_ABRUPT: Final = timedelta(days=5.0)
# Outside these a pump check tells of a blocked line or a slip, not of a worn tube.
FAULTY_BELOW_SHARE: Final = 0.3
FAULTY_ABOVE_SHARE: Final = 2.0
_LONG_AGO: Final = timedelta(days=1)

Points = tuple[tuple[datetime, float], ...]


def delivery_settings(facts: Facts, evaporation_L_per_day: float | None = None) -> Steps:
    """Return what the pump was set to give, L/day.

    With an evaporation, a part of the top-off that was set is that part of it: the water that
    runs through the vessel follows what evaporates.
    """
    points = tuple(
        (setting.at, _set_L_per_day(setting, evaporation_L_per_day))
        for setting in facts.of(DeliverySetting)
    )
    breaks = [
        after.at
        for before, after in pairwise(facts.of(Setup))
        if _way(before.delivery) != _way(after.delivery)
    ]
    return Steps(_without_gaps(points, breaks))


def _set_L_per_day(setting: DeliverySetting, evaporation_L_per_day: float | None) -> float:
    if setting.top_off_L_per_day is None or evaporation_L_per_day is None:
        return setting.limewater_L_per_day
    part = min(1.0, setting.limewater_L_per_day / setting.top_off_L_per_day)
    return part * evaporation_L_per_day


def flow_steps(facts: Facts) -> Steps:
    """Return 0 where a procedure kept limewater off, and 1 from where it flowed again.

    A pause counts once it ended: by a step that switched the flow on, or by a setting recorded
    after it. What flows now is the setting's matter.
    """
    runs = [(run.at, run.flow) for run in facts.of(ProcedureRun) if run.flow]
    settings = [(setting.at, "on") for setting in facts.of(DeliverySetting)]
    points: list[tuple[datetime, float]] = []
    since: datetime | None = None
    for at, flow in sorted((*runs, *settings), key=lambda event: event[0]):
        if flow == "off":
            since = since or at
        elif since is not None:
            points += [(since, 0.0), (at, 1.0)]
            since = None
    return Steps(tuple(points))


def second_source_settings(facts: Facts) -> Steps:
    """Return what the second source was set to give, meq/day; 0 from when there was none."""
    setups = facts.of(Setup)
    if setups and all(setup.second_source is SecondSource.NONE for setup in setups):
        return Steps(())
    points = tuple((s.at, s.alkalinity_meq_per_day) for s in facts.of(SecondSourceSetting))
    breaks: list[datetime] = []
    ended: list[tuple[datetime, float]] = []
    if setups and setups[0].second_source is SecondSource.NONE:
        ended.append((min(setups[0].at, facts.records[0].at) - _LONG_AGO, 0.0))
    for before, after in pairwise(setups):
        if before.second_source is after.second_source:
            continue
        if after.second_source is SecondSource.NONE:
            ended.append((after.at, 0.0))
        else:
            breaks.append(after.at)
    held = sorted((*points, *ended), key=lambda point: point[0])
    return Steps(_without_gaps(tuple(held), breaks))


def delivered_share(check: PumpCheck) -> float:
    """Return what a pump delivered as a share of what its setting promised."""
    return sum(check.measured_mL) / len(check.measured_mL) / check.expected_mL


def is_faulty(share: float) -> bool:
    """Return whether a delivered share tells of a fault rather than of wear."""
    return not FAULTY_BELOW_SHARE <= share <= FAULTY_ABOVE_SHARE


def pump_line(facts: Facts) -> Line:
    """Return the delivered share over time: straight between checks, 1 without any.

    The first check holds for the time before it as well, unless it found a large change: then
    that came about in the days before. A check that tells of a fault rewrites nothing.
    """
    points: list[tuple[datetime, float]] = []
    for check in facts.of(PumpCheck):
        share = delivered_share(check)
        if is_faulty(share):
            continue
        held = points[-1][1] if points else 1.0
        if abs(share - held) > _ABRUPT_SHARE:
            start = check.at - _ABRUPT
            if not points or start > points[-1][0]:
                points.append((start, held))
        points.append((check.at, share))
    return Line(tuple(points) or ((facts.now, 1.0),))


def saturated_steps(facts: Facts, setup: Setup) -> Steps:
    """Return the strength of saturated limewater, meq/L: the lime's temperature may change."""
    points = tuple(
        (record.at, saturated_alkalinity_meq_per_L(record.lime_temperature_degC))
        for record in facts.of(Setup)
    )
    if not points:  # dated later than now by a wrong clock
        points = ((facts.now, saturated_alkalinity_meq_per_L(setup.lime_temperature_degC)),)
    earliest = min([facts.now, *(record.at for record in facts.records[:1])]) - _LONG_AGO
    return Steps(((earliest, points[0][1]), *points))


def _way(delivery: Delivery) -> str:
    if delivery in BY_PUMP:
        return "pump"
    return "top_off" if delivery in THROUGH_TOP_OFF else "drip"


def _without_gaps(points: Points, breaks: Iterable[datetime]) -> Points:
    """Return the points since the last moment at which nothing was known."""
    kept: Sequence[tuple[datetime, float]] = points
    for moment in breaks:
        bridged = any(moment <= at <= moment + _SAME_DAY for at, _ in points)
        if not bridged:
            kept = [point for point in kept if point[0] > moment]
    return tuple(kept)
