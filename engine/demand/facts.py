"""What the log says at a moment: one system, amendments applied, nothing from the future."""

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final, TypeVar, cast

from engine.log.ledger import Ledger, Sample, between, ledger_of_system, since, until
from engine.log.timeline import days_between
from engine.reasons import Code, Reason, reason
from engine.records import Delivery, Record, Setup

R = TypeVar("R", bound=Record)

# A phone's clock and the moment a screen was drawn may differ from a record's by so much.
CLOCK_TOLERANCE: Final = timedelta(minutes=10)

THROUGH_TOP_OFF: Final = (Delivery.TOP_OFF_VESSEL, Delivery.TOP_OFF_CONTAINER)
THROUGH_VESSEL: Final = (Delivery.PUMP_VESSEL, Delivery.TOP_OFF_VESSEL)
BY_PUMP: Final = (Delivery.PUMP_VESSEL, Delivery.PUMP_CONTAINER)


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """Everything that the decision reads, with the moment it is read for."""

    now: datetime
    records: Sequence[Record]  # oldest first, none later than now
    setup: Setup | None
    future_count: int  # records dated later than now: left out
    entered_later_count: int  # records entered later than now: this clock cannot be right
    by_class: Mapping[type[Record], Sequence[Record]] = field(repr=False, compare=False)
    by_parameter: Mapping[str, Sequence[Sample]] = field(repr=False, compare=False)

    def of(self, record_class: type[R]) -> Sequence[R]:
        """Return the records of a class, oldest first."""
        return cast("Sequence[R]", self.by_class.get(record_class, ()))

    def last(self, record_class: type[R]) -> R | None:
        """Return the newest record of a class."""
        found = self.of(record_class)
        return found[-1] if found else None

    def age_days(self, moment: datetime) -> float:
        """Return how long ago a moment was, never less than 0."""
        return max(0.0, days_between(moment, self.now))

    def since(self, record_class: type[R], moment: datetime) -> Sequence[R]:
        """Return the records of a class from a moment on, oldest first."""
        return since(self.of(record_class), moment)

    def between(self, record_class: type[R], start: datetime, end: datetime) -> Sequence[R]:
        """Return the records of a class in (start, end], oldest first."""
        return between(self.of(record_class), start, end)

    def samples(self, parameter: str, moment: datetime | None = None) -> Sequence[Sample]:
        """Return the values of a parameter, or only those from a moment on, oldest first."""
        found = self.by_parameter.get(parameter, ())
        return found if moment is None else since(found, moment)

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
    return facts_at(ledger_of_system(records, system), now)


def facts_at(ledger: Ledger, now: datetime) -> Facts:
    """Return the facts about the system of a ledger at a moment."""
    limit = now + CLOCK_TOLERANCE
    present = until(ledger.standing, limit)
    left_out = [r for r in ledger.standing[len(present) :] if r != ledger.setup]
    by_class, by_parameter = ledger.by_class, ledger.samples
    if len(present) < len(ledger.standing):
        by_class = {record_class: until(own, limit) for record_class, own in by_class.items()}
        by_parameter = {name: until(own, limit) for name, own in by_parameter.items()}
    return Facts(
        now=now,
        records=present,
        setup=ledger.setup,
        future_count=len(left_out),
        entered_later_count=len(ledger.entered) - bisect_right(ledger.entered, limit),
        by_class=by_class,
        by_parameter=by_parameter,
    )


def future_reasons(facts: Facts) -> tuple[Reason, ...]:
    """Return the reason that records of the future are left out, when there are any."""
    if not facts.future_count:
        return ()
    return (reason(Code.FUTURE_RECORDS, future_count=float(facts.future_count)),)
