"""A decision on years of records, printed: `.venv/bin/python -m tests.bench.years`.

Three tests a week, a refill a day, four settings a month. "Replay" reads the log from its JSON
form and decides; "one more" decides on records that are in memory already.
"""

import json
from random import Random
from time import perf_counter

from engine.decision import decide
from engine.record_codec import from_dict, to_dict
from engine.records import Record
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog

YEARS = (1, 3, 10)
REPEAT = 5


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


def best(task) -> float:
    """Return the shortest of some runs, s."""
    times = []
    for _ in range(REPEAT):
        start = perf_counter()
        task()
        times.append(perf_counter() - start)
    return min(times)


def measured(years: int) -> tuple[int, float, float]:
    """Return the number of records, a full replay and one more record, s."""
    records = years_of_records(years)
    text = json.dumps([to_dict(record) for record in records])

    def replay() -> None:
        read = [from_dict(item) for item in json.loads(text)]
        decide(read, system=SYSTEM, now=NOW)

    def one_more() -> None:
        decide(records, system=SYSTEM, now=NOW)

    return len(records), best(replay), best(one_more)


def main() -> None:
    print(f"{'years':>5} {'records':>8} {'replay':>10} {'one more':>10} {'one more / replay':>18}")
    replays = {}
    for years in YEARS:
        count, replay, more = measured(years)
        replays[years] = replay
        print(
            f"{years:5} {count:8} {replay * 1e3:7.1f} ms {more * 1e3:7.1f} ms {more / replay:18.2f}"
        )
    print(f"ten years over one: {replays[10] / replays[1]:.1f}   (aim <= 12)")


if __name__ == "__main__":
    main()
