"""A decision on years of records, printed: `.venv/bin/python -m tests.bench years`.

Three tests a week, a refill a day, four settings a month. "Replay" reads the log from its JSON
form and decides; the others add one record to a log that is in memory already, and decide.
"""

import json
from collections.abc import Callable
from dataclasses import replace
from random import Random
from time import process_time

from engine.decision import decide
from engine.log.record_codec import from_dict, to_dict
from engine.records import Amendment, Record
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog

YEARS = (1, 3, 10)
REPEAT = 9
clock = process_time  # the browser's Python has none of its own: tests/bench/browser.py puts one in
MORE = ("test", "refill", "amendment")


def years_of_records(years: int) -> tuple[Record, ...]:
    """Return the log of so many years."""
    rng = Random(years)
    days = years * 365
    log = KeeperLog().setup(days + 1.0, shared_container=True).pump(days + 0.5, 5.3)
    for back in range(days, 0, -1):
        log.refill(back - 0.3, 6.5 + rng.gauss(0.0, 0.4))
        if back % 7 in (0, 2, 4):
            log.test(back - 0.4, 8.3 + rng.gauss(0.0, 0.25))
        if back % 7 == 5:
            log.pump(back - 0.5, 5.3 + rng.gauss(0.0, 0.05))
    return tuple(log.records)


def best(task: Callable[[], object]) -> float:
    """Return the shortest of some runs, s."""
    times: list[float] = []
    for _ in range(REPEAT):
        start = clock()
        task()
        times.append(clock() - start)
    return min(times)


class Log:
    """A log in memory that grows by one record at a time."""

    def __init__(self, records: tuple[Record, ...]) -> None:
        self.records = records
        self._number = 0
        decide(self.records, system=SYSTEM, now=NOW)

    def add(self, make: Callable[[KeeperLog], object]) -> None:
        """Add one record and decide."""
        self._number += 1
        new = KeeperLog()
        make(new)
        (record,) = new.records
        self.records = (*self.records, replace(record, id=f"more:{self._number}"))
        decide(self.records, system=SYSTEM, now=NOW)

    @property
    def _days_ago(self) -> float:
        return 0.3 - 0.01 * self._number

    def test(self) -> None:
        """A test of alkalinity: demand is found anew."""
        self.add(lambda log: log.test(self._days_ago, 8.3))

    def refill(self) -> None:
        """A refill."""
        self.add(lambda log: log.refill(self._days_ago, 6.5))

    def amendment(self) -> None:
        """A record taken back: what stands is found anew."""
        old = self.records[-2 * self._number - 1].id
        self.add(lambda log: log.add(Amendment, self._days_ago, supersedes=old, replacement=None))


def measured(years: int) -> tuple[int, float, dict[str, float]]:
    """Return the number of records, a full replay and one more record of each kind, s."""
    records = years_of_records(years)
    text = json.dumps([to_dict(record) for record in records])

    def replay() -> None:
        read = [from_dict(item) for item in json.loads(text)]
        decide(read, system=SYSTEM, now=NOW)

    more = {name: best(getattr(Log(records), name)) for name in MORE}
    return len(records), best(replay), more


def main() -> None:
    heads = "".join(f"{'+ ' + name:>14}" for name in MORE)
    print(f"{'years':>5} {'records':>8} {'replay':>10} {heads} {'worst / replay':>16}")
    replays: dict[int, float] = {}
    for years in YEARS:
        count, replay, more = measured(years)
        replays[years] = replay
        each = "".join(f"{seconds * 1e3:11.1f} ms" for seconds in more.values())
        share = max(more.values()) / replay
        print(f"{years:5} {count:8} {replay * 1e3:7.1f} ms {each} {share:16.2f}")
    print(f"ten years over one: {replays[10] / replays[1]:.1f}   (aim <= 12)")
