"""What Today says of records, without an app: the view model and all its sentences."""

import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from engine.demand.facts import gather
from engine.records import Record
from engine.scenario import load
from mobile.state.dangers import dangers_of, key_of
from mobile.state.snapshot import Snapshot
from mobile.state.today import TodayView, today
from mobile.state.updates import decided, with_records
from tests.support.keeper_log import KeeperLog

DATA = Path(__file__).resolve().parents[2] / "demo_data"


class Told:
    """Today, with helpers to read its sentences."""

    def __init__(self, records: Iterable[Record], system: str, now: datetime) -> None:
        self.snapshot = _snapshot(tuple(records), system, now)
        self.view: TodayView = today(self.snapshot)

    @property
    def first(self) -> str:
        """The decision and the reasons right below it."""
        return " ".join((self.view.lead, *self.view.why))

    @property
    def mind(self) -> str:
        return " ".join(line.text for line in self.view.mind)

    @property
    def water(self) -> str:
        return " ".join(line.text for line in self.view.water)

    @property
    def next_up(self) -> str:
        return " ".join(self.view.next_up)

    @property
    def hazard(self) -> str:
        return " ".join(self.view.hazard)

    @property
    def everything(self) -> str:
        return f"{self.first} {self.hazard} {self.mind} {self.water} {self.next_up}"


def of_log(log: KeeperLog) -> Told:
    """Return what Today says of an invented keeper's log."""
    return Told(log.records, log.system, log.now)


def of_scenario(name: str) -> Told:
    """Return what Today says of a scenario."""
    case = load((DATA / f"{name}.json").read_text(encoding="utf-8"))
    return Told(case.records, case.system, case.now)


def numbers(text: str, pattern: str) -> tuple[float, ...]:
    """Return the numbers of a sentence where `#` in a pattern stands for one."""
    asked = re.escape(pattern).replace(r"\#", r"(\d+(?:\.\d+)?)")
    found = re.search(asked, text)
    assert found, f"{pattern!r} is not said in: {text}"
    return tuple(float(group) for group in found.groups())


def _snapshot(records: tuple[Record, ...], system: str, now: datetime) -> Snapshot:
    shown = decided(with_records(Snapshot(now=now), records, system, now))
    key = key_of(shown.standing, shown.setup, system, now)
    return replace(shown, dangers=dangers_of(gather(records, system=system, now=now), key, system))
