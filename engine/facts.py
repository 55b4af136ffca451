"""What the log says at a moment: one system, amendments applied, nothing from the future."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, TypeVar

from engine.log import effective, newest, of_kind
from engine.reasons import Code, Reason, reason
from engine.records import (
    Delivery,
    DeliverySetting,
    PumpCheck,
    Record,
    SecondSourceSetting,
    Setup,
    WaterTest,
)
from engine.timeline import Line, Steps, days_between

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """Everything that the decision reads, with the moment it is read for."""

    now: datetime
    records: tuple[Record, ...]  # oldest first, none later than now
    setup: Setup | None
    future_count: int  # records dated later than now: left out
    entered_later_count: int  # records entered later than now: this clock cannot be right

    def of(self, record_class: type[R]) -> tuple[R, ...]:
        """Return the records of a class, oldest first."""
        return of_kind(self.records, record_class)

    def last(self, record_class: type[R]) -> R | None:
        """Return the newest record of a class."""
        return newest(self.records, record_class, self.records[-1].at) if self.records else None

    def age_days(self, moment: datetime) -> float:
        """Return how long ago a moment was, never less than 0."""
        return max(0.0, days_between(moment, self.now))

    def samples(self, parameter: str) -> tuple[Sample, ...]:
        """Return the values of a parameter, oldest first."""
        return tuple(
            Sample(test.at, reading.value)
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
    mine = [record for record in effective(records) if record.system == system]
    limit = now + CLOCK_TOLERANCE
    present = tuple(record for record in mine if record.at <= limit)
    return Facts(
        now=now,
        records=present,
        setup=newest(present, Setup, limit),
        future_count=len(mine) - len(present),
        entered_later_count=sum(record.recorded_at > limit for record in mine),
    )


def future_reasons(facts: Facts) -> tuple[Reason, ...]:
    """Return the reason that records of the future are left out, when there are any."""
    if not facts.future_count:
        return ()
    return (reason(Code.FUTURE_RECORDS, future_count=float(facts.future_count)),)


def delivery_settings(facts: Facts) -> Steps:
    """Return what the pump was set to give, L/day."""
    return Steps(tuple((s.at, s.limewater_L_per_day) for s in facts.of(DeliverySetting)))


def second_source_settings(facts: Facts) -> Steps:
    """Return what the second source was set to give, meq/day."""
    return Steps(tuple((s.at, s.alkalinity_meq_per_day) for s in facts.of(SecondSourceSetting)))


def delivered_share(check: PumpCheck) -> float:
    """Return what a pump delivered as a share of what its setting promised."""
    return sum(check.measured_mL) / len(check.measured_mL) / check.expected_mL


def pump_line(facts: Facts) -> Line:
    """Return the delivered share over time: straight between checks, 1 without any."""
    checks = facts.of(PumpCheck)
    points = tuple((check.at, delivered_share(check)) for check in checks)
    return Line(points or ((facts.now, 1.0),))
