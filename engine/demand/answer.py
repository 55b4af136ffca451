"""What the animals take up a day, as the decision reads it: a demand with its interval, or none."""

from dataclasses import dataclass
from datetime import datetime

from engine.reasons import Reason
from engine.units import Estimate, Quantity, Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """Where alkalinity goes with the inputs as they are now: what the limits start from.

    Errors of strength and volume that the tests have already felt are not counted a second time:
    `net_change` is what the tests showed, moved by what the inputs of now differ from theirs.
    """

    lime_L_per_day: float
    second_meq_per_day: float
    net_change_meq_per_L_per_day: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """How demand moved, with its 90 % interval."""

    change: Estimate  # meq/L/day
    over: Quantity  # days


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectTest:
    """A test that all others speak against; it is set aside."""

    at: datetime
    value: Quantity  # meq/L
    expected: Estimate  # meq/L
    first_of_source: bool = False  # the first one of its bottle or tester


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """Consumption with its 90 % interval."""

    per_litre: Estimate  # meq/L/day
    per_day: Estimate  # meq/day, the net volume's interval included
    source: str  # "tests" or "entered"
    test_count: int
    span: Quantity  # days from first to last test used; 0 for an entered demand
    age: Quantity  # days since the newest alkalinity test
    balance: Balance
    level: Span  # meq/L at the newest test, smoothed
    level_at: datetime
    reasons: tuple[Reason, ...]
    trend: Trend | None = None  # None for an entered demand, and before three weeks of tests
    suspects: tuple[SuspectTest, ...] = ()  # oldest first
    calcium_ratio: Estimate | None = None  # mg of calcium per meq, once it is known within 20 %
    test_error: Quantity | None = None  # meq/L, one standard deviation, as the tests tell
    innovations: tuple[float, ...] = ()  # of the tests used, in standard deviations
    stepped_at: datetime | None = None  # the test after which demand stepped
    stepped_up: bool = False  # demand rose

    @property
    def per_litre_meq(self) -> Span:
        """Consumption in meq/L/day as floats."""
        return self.per_litre.floats("meq/L/day")

    @property
    def per_day_meq(self) -> Span:
        """Consumption in meq/day as floats."""
        return self.per_day.floats("meq/day")


@dataclass(frozen=True, slots=True, kw_only=True)
class NoDemand:
    """No number, and why; `per_litre` when the tests gave one that is too wide to use."""

    reasons: tuple[Reason, ...]
    per_litre: Span | None = None
    suspects: tuple[SuspectTest, ...] = ()
