"""The rows of the keeper's table held against the log: what is new, here already, or left out.

Nothing is guessed here and nothing is dropped in silence: each cell that stays out is a `Finding`
with its line and the reason.
"""

import asyncio
import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from engine.entry.checks import Accepted, Doubtful, read_reading
from engine.entry.fields import FUTURE_TOLERANCE
from engine.records import EARLIEST_YEAR, Amendment, Reading, Record, WaterTest
from mobile.state.sheet import columns
from mobile.state.sheet.cells import is_blank, number_text, plain_text, without_thousands
from mobile.state.sheet.dates import Moment, Order, read_moment
from mobile.state.sheet.table import Table
from mobile.storage.restore import Refusal, check_value

SOURCE: Final = "table"
_ROWS_AT_ONCE: Final = 100
_SAME: Final = 1e-4  # relative: a value that went out in another unit comes back rounded
_LONGEST: Final = {columns.NOTE: 2000, columns.TESTER: 60, columns.LOT: 60}

_Key = tuple[str, int | str]
Local = Callable[[datetime], datetime]
"""Gives a moment the offset that this place had then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """How the table is to be read.

    Attributes
    ----------
    roles : tuple of str
        What each column holds; see `columns`.
    order : Order or None
        What comes first in a date of numbers; None until it is known.
    sign : str
        The decimal sign, "." or ",".
    unusual : bool
        Values outside the usual range are taken too, as the keeper's word.
    """

    roles: tuple[str, ...]
    needs_order: bool = False
    order: Order | None = None
    sign: str = "."
    unusual: bool = False

    def index(self, role: str) -> int | None:
        """Return the column of a role."""
        return self.roles.index(role) if role in self.roles else None

    @property
    def readings(self) -> tuple[tuple[int, str, str], ...]:
        """Index, parameter and unit of each column of readings."""
        return tuple(
            (index, *columns.parameter_and_unit(role))
            for index, role in enumerate(self.roles)
            if role not in columns.PLAIN
        )

    @property
    def open_question(self) -> str:
        """What must be answered before anything can be read: date, order, unit, readings, or no."""
        if columns.DATE not in self.roles:
            return "date"
        if self.needs_order and self.order is None:
            return "order"
        if not self.readings:
            return "readings"
        return "unit" if any(u == columns.UNSAID for _, _, u in self.readings) else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A cell, or a row, that stays out, and why; keys of `numbers` carry their unit."""

    line: int
    column: int | None
    code: str
    numbers: Mapping[str, float | str] = field(default_factory=dict[str, "float | str"])


@dataclass(slots=True, kw_only=True)
class SheetPreview:
    """What importing the table would do; counts are of readings."""

    tests: list[WaterTest] = field(default_factory=list[WaterTest])
    new: int = 0
    same: int = 0
    withdrawn: int = 0
    unusual: int = 0
    conflicting: list[Finding] = field(default_factory=list[Finding])
    rejected: list[Finding] = field(default_factory=list[Finding])
    without_time: int = 0
    first: datetime | None = None
    last: datetime | None = None


@dataclass(frozen=True, slots=True)
class Log:
    """What the log says already: ids as written, and standing values by parameter and minute."""

    ids: frozenset[str]
    withdrawn: frozenset[str]
    values: Mapping["_Key", float]


def log_of(written: Iterable[Record], standing: Iterable[Record]) -> Log:
    """Return what a system's log says."""
    all_written = tuple(written)
    values = {
        (reading.parameter, when): reading.value
        for test in standing
        if isinstance(test, WaterTest)
        for reading in test.readings
        for when in (_minute(test.at), _wall(test.at))
    }
    gone = (r.supersedes for r in all_written if isinstance(r, Amendment) and r.replacement is None)
    return Log(frozenset(record.id for record in all_written), frozenset(gone), values)


async def preview(
    table: Table, choices: Choices, log: Log, *, system: str, now: datetime, local: Local
) -> SheetPreview:
    """Return what the table would add; other tasks run meanwhile.

    `choices.open_question` must be empty.
    """
    reader = _Reader(choices=choices, log=log, system=system, now=now, local=local)
    for number, (line, row) in enumerate(table.rows):
        if line in table.too_wide:  # perhaps 8,1 in two cells: no value of it can be trusted
            finding = Finding(line=line, column=None, code="table_too_wide")
            reader.found.rejected.append(finding)
        else:
            reader.take(line, row)
        if number % _ROWS_AT_ONCE == 0:
            await asyncio.sleep(0)
    return reader.found


@dataclass(slots=True, kw_only=True)
class _Reader:
    choices: Choices
    log: Log
    system: str
    now: datetime
    local: Local
    found: SheetPreview = field(default_factory=SheetPreview)
    values: dict["_Key", float] = field(default_factory=dict["_Key", float])

    def take(self, line: int, row: tuple[str, ...]) -> None:
        """Sort one row."""
        typed = [(i, p, u) for i, p, u in self.choices.readings if not is_blank(row[i])]
        if not typed:
            return  # a row about something else
        found = self._moment(line, row)
        words = None if found is None else self._words(line, row)
        if found is None or words is None:
            return
        when = _When(*found)
        read = [(c[0], self._reading(line, row[c[0]], c, when.at)) for c in typed]
        self._sort(line, when, [(i, reading) for i, reading in read if reading], words)

    def _sort(
        self, line: int, when: "_When", readings: list[tuple[int, Reading]], words: dict[str, str]
    ) -> None:
        whole = self._test(when, [reading for _, reading in readings], words)
        if whole.id in self.log.withdrawn:
            self.found.withdrawn += len(readings)
            return
        if whole.id in self.log.ids:
            self.found.same += len(readings)
            return
        fresh = [reading for index, reading in readings if self._is_new(line, index, when, reading)]
        if fresh:
            self._add(self._test(when, fresh, words))

    def _add(self, test: WaterTest) -> None:
        if test.id in self.log.withdrawn:
            self.found.withdrawn += len(test.readings)
            return
        self.found.tests.append(test)
        self.found.new += len(test.readings)
        self.found.first = min(self.found.first or test.at, test.at)
        self.found.last = max(self.found.last or test.at, test.at)

    def _is_new(self, line: int, index: int, when: "_When", reading: Reading) -> bool:
        keys = [(reading.parameter, each) for each in when.keys]
        for code, known in (("table_conflict", self.log.values), ("table_twice", self.values)):
            key = next((each for each in keys if each in known), None)
            if key is None:
                continue
            if abs(known[key] - reading.value) <= _SAME * abs(known[key]):
                self.found.same += 1
            else:
                numbers = {"typed": f"{reading.typed} {reading.typed_unit}".strip()}
                self.found.conflicting.append(
                    Finding(line=line, column=index, code=code, numbers=numbers)
                )
            return False
        self.values.update(dict.fromkeys(keys, reading.value))
        return True

    def _moment(self, line: int, row: tuple[str, ...]) -> tuple[datetime, Moment] | None:
        date, time, zone = (
            self._cell(row, role) for role in (columns.DATE, columns.TIME, columns.ZONE)
        )
        moment = read_moment(date, time, zone, self.choices.order)
        if moment is None:
            return self._refuse(line, columns.DATE, "table_bad_date" if date else "table_no_date")
        at = self._aware(moment)
        if not moment.has_time and at.date() == self.now.astimezone(at.tzinfo).date():
            at = min(at, self.now.replace(second=0, microsecond=0))
        if at.year < EARLIEST_YEAR:
            return self._refuse(line, columns.DATE, "table_too_old")
        if at - self.now > FUTURE_TOLERANCE:
            return self._refuse(line, columns.DATE, "table_future")
        self.found.without_time += not moment.has_time
        return at, moment

    def _aware(self, moment: Moment) -> datetime:
        """Give a time on the wall the offset that this place had then."""
        zone = moment.zone or self.local(moment.wall.replace(tzinfo=self.now.tzinfo)).tzinfo
        return moment.wall.replace(tzinfo=zone)

    def _refuse(self, line: int, role: str, code: str) -> None:
        finding = Finding(line=line, column=self.choices.index(role), code=code)
        self.found.rejected.append(finding)

    def _words(self, line: int, row: tuple[str, ...]) -> dict[str, str] | None:
        words = {role: self._cell(row, role) for role in _LONGEST}
        for role, text in words.items():
            try:
                check_value(text)
            except Refusal:
                return self._refuse(line, role, "table_bad_text")
            if len(text) > _LONGEST[role]:
                return self._refuse(line, role, "table_long_text")
        return words

    def _cell(self, row: tuple[str, ...], role: str) -> str:
        index = self.choices.index(role)
        return "" if index is None or is_blank(row[index]) else plain_text(row[index])

    def _reading(
        self, line: int, cell: str, column: tuple[int, str, str], at: datetime
    ) -> Reading | None:
        index, parameter, unit = column
        text = without_thousands(number_text(cell), self.choices.sign)
        answer = read_reading(parameter, text, unit, at=at)
        if isinstance(answer, Accepted):
            return answer.reading
        fault = answer.doubts[0] if isinstance(answer, Doubtful) else answer.fault
        if isinstance(answer, Doubtful):
            self.found.unusual += 1
            if self.choices.unusual:
                return answer.kept
        self.found.rejected.append(
            Finding(
                line=line,
                column=index,
                code=fault.code,
                numbers={**fault.numbers, "typed": cell.strip()[:40]},
            )
        )
        return None

    def _test(self, when: "_When", readings: list[Reading], words: dict[str, str]) -> WaterTest:
        fields: dict[str, Any] = {
            "note": words[columns.NOTE],
            "tester": words[columns.TESTER],
            "reagent_lot": words[columns.LOT],
        }
        return WaterTest(
            id=_id_of(self.system, when, readings, fields),
            at=when.at,
            recorded_at=when.at,
            system=self.system,
            readings=tuple(readings),
            source=SOURCE,
            **fields,
        )


@dataclass(frozen=True, slots=True)
class _When:
    """When a row's test was done: as an instant, and as the table says it.

    Without an offset in the table the time on the wall counts: it is the same in every zone, so
    that the same table read abroad brings nothing twice.
    """

    at: datetime
    moment: Moment

    @property
    def said(self) -> float | str:
        return _wall(self.moment.wall) if self.moment.zone is None else self.at.timestamp()

    @property
    def keys(self) -> tuple[int | str, ...]:
        """Where the log's values of that time are found, the surest first."""
        instant = _minute(self.at)
        return (instant,) if self.moment.zone else (_wall(self.moment.wall), instant)


def _id_of(
    system: str, when: "_When", readings: Iterable[Reading], fields: Mapping[str, str]
) -> str:
    """Return an id made from the content, so that the same row is the same record."""
    said = sorted((r.parameter, r.typed, r.typed_unit) for r in readings)
    body = json.dumps([system, when.said, said, sorted(fields.items())], ensure_ascii=False)
    return f"table-{hashlib.sha256(body.encode()).hexdigest()[:24]}:1"


def _wall(at: datetime) -> str:
    return f"{at:%Y-%m-%dT%H:%M}"


def _minute(at: datetime) -> int:
    return int(at.timestamp() // 60)
