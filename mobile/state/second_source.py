"""The second source in the keeper's own units: as typed at the start, as told, as last set."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from engine.errors import InvalidQuantity
from engine.log.reading import newest
from engine.plan.second_source import (
    OwnUnits,
    in_own_units,
    reactor_setting,
    setting_in_own_units,
    two_part_setting,
)
from engine.reasons import Reason
from engine.records import Record, SecondSource, SecondSourceSetting, Setup
from mobile.state.record import reading_of
from mobile.state.sentences import number
from mobile.state.snapshot import Snapshot

_SUFFIXED: Final = {
    "two_part_mL_per_day": "each_mL_per_day",
    "flow_L_per_day": "set_flow",
    "alkalinity_meq_per_day": "set_meq_per_day",
}
_ABOUT_SECOND: Final = ("second_meq_per_day", "second_was_meq_per_day")


def set_now(draft: Mapping[str, Any]) -> dict[str, Any]:
    """Return the fields of the setting that the answers of a first run describe; {} for none."""
    volume, flow = draft.get("two_part_mL_per_day"), draft.get("flow_L_per_day")
    source = draft.get("second_source")
    if source == SecondSource.TWO_PART and volume is not None:
        return two_part_setting(volume, draft.get("two_part_meq_per_mL"))
    if source == SecondSource.REACTOR and flow is not None:
        effluent = draft.get("reactor_effluent_meq_per_L")
        return reactor_setting(flow, effluent, draft["target_total_alkalinity_meq_per_L"])
    return {}


def second_meq_per_day(draft: Mapping[str, Any]) -> float | None:
    """Return the alkalinity of that setting, None without one."""
    return set_now(draft).get("alkalinity_meq_per_day")


def tank_alkalinity_meq_per_L(standing: Sequence[Record], setup: Setup | None) -> float | None:
    """Return the tank's alkalinity as last tested, its target without a test."""
    for record in reversed(standing):
        reading = reading_of(record, "total_alkalinity")
        if reading is not None:
            return reading.value
    return None if setup is None else setup.target_total_alkalinity_meq_per_L


def _level(snapshot: Snapshot, setup: Setup) -> float:
    """Return the tank's alkalinity that the plan reckons with, meq/L."""
    known = snapshot.decision.alkalinity if snapshot.decision else None
    return setup.target_total_alkalinity_meq_per_L if known is None else known.span.best


def own_units(snapshot: Snapshot, alkalinity_meq_per_day: float) -> OwnUnits:
    """Return what the keeper sets for so much alkalinity."""
    setup = snapshot.setup
    if setup is None:
        return OwnUnits("alkalinity_meq_per_day", alkalinity_meq_per_day)
    return in_own_units(alkalinity_meq_per_day, setup, _level(snapshot, setup))


def setting_fields(snapshot: Snapshot, alkalinity_meq_per_day: float) -> dict[str, Any]:
    """Return the fields of the setting that gives so much alkalinity."""
    own, setup = own_units(snapshot, alkalinity_meq_per_day), snapshot.setup
    if setup is None:
        return {own.field: own.value}
    return setting_in_own_units(own, setup, _level(snapshot, setup))


def shown(own: OwnUnits) -> str:
    """Return an amount as the keeper sets it; a two-part's is that of each part."""
    return number(_SUFFIXED[own.field], own.value)


def as_set(setting: SecondSourceSetting) -> OwnUnits:
    """Return a recorded setting in the units in which it was set."""
    if setting.two_part_mL_per_day is not None:
        return OwnUnits("two_part_mL_per_day", setting.two_part_mL_per_day)
    if setting.flow_L_per_day is not None:
        return OwnUnits("flow_L_per_day", setting.flow_L_per_day)
    return OwnUnits("alkalinity_meq_per_day", setting.alkalinity_meq_per_day)


def told(snapshot: Snapshot, found: Reason) -> Reason:
    """Return a reason with what it says of the second source in the keeper's own units."""
    if not any(key in found.numbers for key in _ABOUT_SECOND):
        return found
    numbers = dict(found.numbers)
    last = newest(snapshot.standing, SecondSourceSetting, snapshot.now)
    for key in _ABOUT_SECOND:
        value = numbers.get(key)
        if isinstance(value, float):
            was = last is not None and value == last.alkalinity_meq_per_day
            own = as_set(last) if was and last is not None else own_units(snapshot, value)
            if own.field == "alkalinity_meq_per_day":  # one sentence, one unit
                own = own_units(snapshot, value)
            if own.value == 0.0:  # nothing is nothing in any unit: in the one that is set
                own = replace(own_units(snapshot, 1.0), value=0.0)
            numbers[key] = shown(own)
    return Reason(found.code, numbers)


def restated(before: Setup, after: Setup, standing: Sequence[Record]) -> dict[str, Any] | None:
    """Return the running setting reckoned anew when Setup changes the strength it stands on.

    The keeper's millilitres or flow stay; what they bring is another amount. None where nothing
    changes.
    """
    strengths = ("two_part_meq_per_mL", "reactor_effluent_meq_per_L")
    same = all(getattr(before, name) == getattr(after, name) for name in strengths)
    last = next((r for r in reversed(standing) if isinstance(r, SecondSourceSetting)), None)
    if same or last is None or before.second_source is not after.second_source:
        return None
    own, tank = as_set(last), tank_alkalinity_meq_per_L(standing, after)
    if own.field == "alkalinity_meq_per_day" or tank is None:
        return None
    try:
        return setting_in_own_units(own, after, tank)
    except InvalidQuantity:
        return None
