"""Scenarios: a log and a moment as one JSON file; a bug report, a demo and a test alike."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Final, cast

from engine.decision import decide
from engine.demand.facts import gather
from engine.errors import InvalidQuantity
from engine.hazards.hazard_report import hazard_report
from engine.log.json_depth import is_deeper_than
from engine.log.record_codec import InvalidRecord, from_dict, parse_time, to_dict
from engine.records import Amendment, Record, Setup
from engine.report import report

FORMAT: Final = "sumpside-scenario"
VERSION: Final = 1
_KEYS: Final = ("format", "version", "name", "about", "now", "records", "expected")


class InvalidScenario(InvalidQuantity):
    """A scenario that cannot be read; its text says what is wrong."""

    def __init__(self, problem: str) -> None:
        super().__init__(code="invalid_scenario", field="scenario", value=problem)
        self.problem = problem

    def __str__(self) -> str:
        return self.problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """A log and the moment to decide for."""

    name: str
    about: str
    now: datetime
    records: tuple[Record, ...]
    expected: Mapping[str, Any]

    @property
    def system(self) -> str:
        """The system of the last set-up in the file."""
        return next(r.system for r in reversed(self.records) if isinstance(r, Setup))

    def shifted(self, to: datetime) -> "Scenario":
        """Return the scenario with every time moved so that `now` becomes another moment."""
        by = to - self.now
        return replace(self, now=to, records=tuple(_shift(record, by) for record in self.records))


def load(text: str) -> Scenario:
    """Return the scenario that a JSON text describes.

    Raises
    ------
    InvalidScenario
        Saying in one sentence what is wrong.
    """
    if is_deeper_than(text):
        raise InvalidScenario("This is not JSON of a scenario: it is nested too deeply.")
    try:
        data = json.loads(text, parse_constant=_refuse_constant)
    except ValueError as error:
        raise InvalidScenario(f"This is not JSON: {error}.") from error
    if not isinstance(data, dict):
        raise InvalidScenario("A scenario is a JSON object.")
    return parse(cast("dict[str, Any]", data))


def parse(data: Mapping[str, Any]) -> Scenario:
    """Return the scenario that a dictionary describes; raises as `load` does."""
    if data.get("format") != FORMAT or data.get("version") != VERSION:
        raise InvalidScenario(f"This is not a {FORMAT} of version {VERSION}.")
    unknown = sorted(key for key in data if key not in _KEYS)
    if unknown:
        raise InvalidScenario(f"A scenario has no field {unknown[0]!r}.")
    try:
        now = parse_time("now", data.get("now"))
    except InvalidRecord as error:
        raise InvalidScenario(f"The scenario's time is wrong: {error}.") from error
    records = _records(data.get("records"))
    if not any(isinstance(record, Setup) for record in records):
        raise InvalidScenario("A scenario needs a record of kind 'setup'.")
    return Scenario(
        name=str(data.get("name", "")),
        about=str(data.get("about", "")),
        now=now,
        records=records,
        expected=cast("dict[str, Any]", data.get("expected") or {}),
    )


def dump(scenario: Scenario) -> dict[str, Any]:
    """Return the scenario as a JSON-ready dictionary; `parse` reads it back."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "name": scenario.name,
        "about": scenario.about,
        "now": scenario.now.isoformat(),
        "records": [to_dict(record) for record in scenario.records],
        "expected": dict(scenario.expected),
    }


def run(scenario: dict[str, Any]) -> dict[str, Any]:
    """Return decision and hazards of a scenario, as JSON-ready values whose keys carry their units.

    Parameters
    ----------
    scenario : dict
        As in demo_data/.

    Raises
    ------
    InvalidScenario
        Saying in one sentence what is wrong.
    """
    return run_parsed(parse(scenario))


def run_parsed(parsed: Scenario) -> dict[str, Any]:
    """Return the decision for a scenario that was read already; see `run`."""
    decision = decide(parsed.records, system=parsed.system, now=parsed.now)
    facts = gather(parsed.records, system=parsed.system, now=parsed.now)
    return {"name": parsed.name, **report(decision), "hazards": hazard_report(facts)}


def _refuse_constant(name: str) -> float:
    raise ValueError(f"{name} is not a number")


def _records(items: Any) -> tuple[Record, ...]:
    if not isinstance(items, list):
        raise InvalidScenario("A scenario needs a list 'records'.")
    return tuple(
        _record(number, item) for number, item in enumerate(cast("list[Any]", items), start=1)
    )


def _record(number: int, item: Any) -> Record:
    if not isinstance(item, Mapping):
        raise InvalidScenario(f"Record {number} is not an object.")
    try:
        return from_dict(cast("Mapping[str, Any]", item))
    except InvalidRecord as error:
        raise InvalidScenario(f"Record {number} cannot be read: {error}.") from error


def _shift(record: Record, by: timedelta) -> Record:
    moved = replace(record, at=record.at + by, recorded_at=record.recorded_at + by)
    if isinstance(moved, Amendment) and moved.replacement is not None:
        return replace(moved, replacement=_shift(moved.replacement, by))
    return moved
