"""What the page that measures the gas exchange says: the pair it found, and what that tells."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from engine.chemistry.own_exchange import (
    LEAST_HOURS,
    MOST_HOURS,
    OwnExchange,
    Pair,
    own_exchange,
)
from engine.demand.facts import gather
from engine.plan.ph_guard import tank_water
from engine.records import Record, Setup
from mobile.state.record import reading_of
from mobile.state.sentences import alkalinity, sentence, significant, when
from mobile.state.snapshot import Snapshot
from mobile.texts.air import TEXTS

_TOGETHER: Final = timedelta(hours=1)  # pH and alkalinity of one moment
_FRESH: Final = timedelta(hours=24)
_ROOM: Final = timedelta(days=30)


@dataclass(frozen=True, slots=True, kw_only=True)
class AirView:
    """What the page shows."""

    pair: tuple[str, ...]  # the readings in words; empty without a pair
    sentences: tuple[str, ...] = ()  # the answer and its reasons
    rate_per_day: float | None = None
    use: str = ""  # words of the button
    typed: str = ""  # the readings, to be kept with the set-up


def air(snapshot: Snapshot, sure: str) -> AirView:
    """Return what the page says; `sure` is the answer to whether all was off, "" until given."""
    found = _moments(snapshot)
    if found is None or snapshot.setup is None:
        return AirView(pair=())
    pair, lines = found
    if sure != "yes":
        return AirView(pair=lines, sentences=(TEXTS["not_off"],) if sure == "no" else ())
    answer = _answer(snapshot, snapshot.setup, pair)
    said = tuple(
        sentence(TEXTS, each.code, each.numbers, snapshot.alkalinity_unit)
        for each in answer.reasons
    )
    if answer.rate_per_day is None:
        return AirView(pair=lines, sentences=said)
    rate = significant(answer.rate_per_day, 2)
    return AirView(
        pair=lines,
        sentences=said,
        rate_per_day=float(rate),
        use=TEXTS["use"].format(rate=rate),
        typed=f"gas_exchange_per_day: {rate} a day {TEXTS['saved_as']}",
    )


def _answer(snapshot: Snapshot, setup: Setup, pair: Pair) -> OwnExchange:
    facts = gather(snapshot.records, system=snapshot.system, now=snapshot.now)
    water = tank_water(facts, setup, pair.before_meq_per_L)
    return own_exchange(pair, salinity=water.salinity, temperature_degC=water.temperature_degC)


@dataclass(frozen=True, slots=True)
class _Moment:
    record: Record
    pH: float
    meq_per_L: float

    def line(self, which: str, snapshot: Snapshot) -> str:
        return TEXTS[which].format(
            pH=f"{self.pH:.2f}",
            alkalinity=alkalinity(self.meq_per_L, snapshot.alkalinity_unit),
            when=when(self.record.at, snapshot.now),
        )


def _moments(snapshot: Snapshot) -> tuple[Pair, tuple[str, ...]] | None:
    """Return the newest pH with alkalinity, and the highest one before it in reach."""
    known = [moment for moment in map(_with_alkalinity(snapshot), snapshot.standing) if moment]
    known = [m for m in known if timedelta(0) <= snapshot.now - m.record.at <= _FRESH]
    if not known:
        return None
    after = known[-1]
    least, most = timedelta(hours=LEAST_HOURS), timedelta(hours=MOST_HOURS)
    earlier = [m for m in known if least <= after.record.at - m.record.at <= most]
    if not earlier:
        return None
    before = max(earlier, key=lambda moment: moment.pH)
    pair = Pair(
        before_meq_per_L=before.meq_per_L,
        before_pH_nbs=before.pH,
        after_meq_per_L=after.meq_per_L,
        after_pH_nbs=after.pH,
        hours=(after.record.at - before.record.at).total_seconds() / 3600.0,
        room_ppm=_room(snapshot),
    )
    return pair, (before.line("before", snapshot), after.line("after", snapshot))


def _with_alkalinity(snapshot: Snapshot) -> Callable[[Record], _Moment | None]:
    tests = [
        (record.at, reading.value)
        for record in snapshot.standing
        if (reading := reading_of(record, "total_alkalinity"))
    ]

    def moment(record: Record) -> _Moment | None:
        pH = reading_of(record, "pH_nbs")
        near = [(abs(at - record.at), value) for at, value in tests]
        if pH is None or not near or min(near)[0] > _TOGETHER:
            return None
        return _Moment(record, pH.value, min(near)[1])

    return moment


def _room(snapshot: Snapshot) -> float | None:
    for record in reversed(snapshot.standing):
        reading = reading_of(record, "room_co2")
        if reading is not None:
            return reading.value if snapshot.now - record.at <= _ROOM else None
    return None
