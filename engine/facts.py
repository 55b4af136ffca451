"""What the log says at a moment: one system, amendments applied, nothing from the future."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final, TypeVar, cast

from engine.log import effective, setup_in_force
from engine.reasons import Code, Reason, reason
from engine.records import Delivery, Record, Setup, WaterTest
from engine.timeline import days_between

R = TypeVar("R", bound=Record)

# A phone's clock and the moment a screen was drawn may differ from a record's by so much.
CLOCK_TOLERANCE: Final = timedelta(minutes=10)

THROUGH_TOP_OFF: Final = (Delivery.TOP_OFF_VESSEL, Delivery.TOP_OFF_CONTAINER)
THROUGH_VESSEL: Final = (Delivery.PUMP_VESSEL, Delivery.TOP_OFF_VESSEL)
BY_PUMP: Final = (Delivery.PUMP_VESSEL, Delivery.PUMP_CONTAINER)


@dataclass(frozen=True, slots=True)
class Sample:
    """One value of one parameter, in its canonical unit."""

    at: datetime
    value: float
    lot: str = ""  # of the reagent, where given
    tester: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """Everything that the decision reads, with the moment it is read for."""

    now: datetime
    records: tuple[Record, ...]  # oldest first, none later than now
    setup: Setup | None
    future_count: int  # records dated later than now: left out
    entered_later_count: int  # records entered later than now: this clock cannot be right
    by_class: Mapping[type[Record], tuple[Record, ...]] = field(repr=False, compare=False)

    def of(self, record_class: type[R]) -> tuple[R, ...]:
        """Return the records of a class, oldest first."""
        return cast("tuple[R, ...]", self.by_class.get(record_class, ()))

    def last(self, record_class: type[R]) -> R | None:
        """Return the newest record of a class."""
        found = self.of(record_class)
        return found[-1] if found else None

    def age_days(self, moment: datetime) -> float:
        """Return how long ago a moment was, never less than 0."""
        return max(0.0, days_between(moment, self.now))

    def samples(self, parameter: str) -> tuple[Sample, ...]:
        """Return the values of a parameter, oldest first."""
        return tuple(
            Sample(test.at, reading.value, test.reagent_lot, test.tester)
            for test in self.of(WaterTest)
            for reading in test.readings
            if reading.parameter == parameter
        )

    def last_sample(self, parameter: str) -> Sample | None:
        """Return the newest value of a parameter."""
        samples = self.samples(parameter)
        return samples[-1] if samples else None


def gather(records: Iterable[Record], *, system: str, now: datetime) -> Facts:
    """Return the facts about a system at a moment.

    Parameters
    ----------
    records : iterable of Record
        The log, in any order.
    system : str
        The system asked about.
    now : datetime
        The moment, with its zone.
    """
    own = [record for record in records if record.system == system]
    mine = effective(own)
    limit = now + CLOCK_TOLERANCE
    present = tuple(record for record in mine if record.at <= limit)
    setup = setup_in_force(own)
    left_out = [record for record in mine if record.at > limit and record != setup]
    return Facts(
        now=now,
        records=present,
        setup=setup,
        future_count=len(left_out),
        entered_later_count=sum(record.recorded_at > limit for record in mine),
        by_class=_by_class(present),
    )


def _by_class(records: Iterable[Record]) -> dict[type[Record], tuple[Record, ...]]:
    groups: dict[type[Record], list[Record]] = {}
    for record in records:
        groups.setdefault(type(record), []).append(record)
    return {record_class: tuple(group) for record_class, group in groups.items()}


def future_reasons(facts: Facts) -> tuple[Reason, ...]:
    """Return the reason that records of the future are left out, when there are any."""
    if not facts.future_count:
        return ()
    return (reason(Code.FUTURE_RECORDS, future_count=float(facts.future_count)),)
