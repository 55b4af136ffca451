"""Every cap on the limewater of a day, each one small function, in one table.

A cap that cannot be computed is None; `engine.limits.admit` refuses where one that must hold is
missing. Each takes every uncertain figure at its unsafe end.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, NamedTuple

from engine.demand.answer import Balance
from engine.errors import check_not_negative, check_positive
from engine.reasons import Code, Reason, reason
from engine.records import Setup
from engine.units import Quantity, quantity, to_float

# Common practice, no source, as every figure here.
NO_RAISE_DAYS: Final = 7.0
# No single dose is larger, whatever pH says: about 0.14 dKH.
LARGEST_DOSE_MEQ_PER_L: Final = 0.05
# A stronger surge through a stirred vessel lifts the bed.
LARGEST_DOSE_OF_VESSEL_SHARE: Final = 0.10
WEEKLY_RISE_FACTOR: Final = 1.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What the keeper confirmed; None is unset."""

    keeper_cap_L_per_day: float | None
    evaporation_share: float | None
    net_rise_meq_per_L_per_day: float | None
    stopped_rise_meq_per_L_per_day: float | None

    def __post_init__(self) -> None:
        for name in self.__slots__:
            value: float | None = getattr(self, name)
            if value is not None:
                check_not_negative(name, value)

    def unset(self) -> tuple[str, ...]:
        """Return the names of the limits that are not set."""
        return tuple(name for name in self.__slots__ if getattr(self, name) is None)


def limits_of(setup: Setup) -> Limits:
    """Return the limits that a set-up states."""
    return Limits(
        keeper_cap_L_per_day=setup.keeper_cap_L_per_day,
        evaporation_share=setup.evaporation_share,
        net_rise_meq_per_L_per_day=setup.net_rise_meq_per_L_per_day,
        stopped_rise_meq_per_L_per_day=setup.stopped_rise_meq_per_L_per_day,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitContext:
    """The facts that the caps need; every figure at its own unsafe end."""

    net_volume_low_L: float
    net_volume_high_L: float
    unsafe_meq_per_L: float  # the most that a litre of limewater can bring
    low_meq_per_L: float  # the least
    planning_meq_per_L: float
    doses_per_day: int
    pump_step_mL: float
    current_L_per_day: float  # really delivered now
    can_be_set: bool = True  # False where the top-off draws on lime: evaporation sets it
    evaporation_low_L_per_day: float | None = None
    two_part_water_L_per_meq: float = 0.0
    pump_largest_L_per_day: float | None = None
    vessel_L: float | None = None  # only where doses are pumped through it
    week_ago_L_per_day: float | None = None
    restart_L_per_day: float | None = None  # after an overdose: a share of what was given before
    balance: Balance | None = None
    alkalinity_age_days: float | None = None
    pH_nbs: float | None = None  # None: assumed
    pH_stops: bool = False  # a high pH has not come down for a day yet
    incident: Reason | None = None  # an overdose that nobody has ended
    alarms: tuple[Reason, ...] = ()  # what the tests and checks themselves say: stop
    entered_later_count: int = 0  # records entered later than this clock says
    impossible_count: int = 0  # readings of the last days that cannot be real
    pump_fault: Reason | None = None  # the last check found next to nothing
    lime_strength_is_known: bool = True
    largest_dose_meq_per_L: float | None = None  # by pH; None: the plain guard alone
    day_pH_L_per_day: float | None = None  # None: no pH of this week
    pH_model_is_valid: bool = True
    newest_is_suspect: bool = False  # the newest test is set aside until it is repeated

    def __post_init__(self) -> None:
        for name in ("net_volume_low_L", "unsafe_meq_per_L", "low_meq_per_L", "pump_step_mL"):
            check_positive(name, getattr(self, name))
        check_positive("planning_meq_per_L", self.planning_meq_per_L)
        check_positive("doses_per_day", self.doses_per_day)
        check_not_negative("net_volume_high_L", self.net_volume_high_L)
        check_not_negative("two_part_water_L_per_meq", self.two_part_water_L_per_meq)
        check_not_negative("current_L_per_day", self.current_L_per_day)
        for name in (
            "evaporation_low_L_per_day",
            "pump_largest_L_per_day",
            "vessel_L",
            "week_ago_L_per_day",
            "restart_L_per_day",
            "alkalinity_age_days",
            "pH_nbs",
            "largest_dose_meq_per_L",
            "day_pH_L_per_day",
        ):
            value: float | None = getattr(self, name)
            if value is not None:
                check_not_negative(name, value)


@dataclass(frozen=True, slots=True)
class CapValue:
    """One cap as it stands for this system."""

    code: Code
    limewater: Quantity  # L/day

    @property
    def L_per_day(self) -> float:
        """The cap in L/day."""
        return to_float(self.limewater, "L/day")


def evaporation_cap(
    limits: Limits, context: LimitContext, demand_meq_per_day: float
) -> float | None:
    """Return the limewater that evaporation has room for beside the water of a two-part, L/day."""
    if limits.evaporation_share is None or context.evaporation_low_L_per_day is None:
        return None
    room_L = limits.evaporation_share * context.evaporation_low_L_per_day
    water, lime = context.two_part_water_L_per_meq, context.planning_meq_per_L
    if room_L * lime >= demand_meq_per_day:
        return room_L
    # room = lime litres + water of the two-part that supplies the rest
    saved = 1.0 - water * lime
    left_L = room_L - water * demand_meq_per_day
    return max(0.0, left_L / saved if saved > 0.0 else left_L)


def net_rise_cap(limits: Limits, context: LimitContext, _: float) -> float | None:
    """Return the limewater at which alkalinity rises by no more than the keeper's limit, L/day.

    From what is given now, moved by the limit less the high end of the measured net change; the
    second source may be replaced. For an entered demand this is limit plus low end of demand.
    """
    balance = context.balance
    if limits.net_rise_meq_per_L_per_day is None or balance is None:
        return None
    room = limits.net_rise_meq_per_L_per_day - balance.net_change_meq_per_L_per_day.high
    volume = context.net_volume_low_L if room > 0.0 else context.net_volume_high_L
    room_meq = room * volume + balance.second_meq_per_day
    strength = context.unsafe_meq_per_L if room_meq > 0.0 else context.low_meq_per_L
    return max(0.0, balance.lime_L_per_day + room_meq / strength)


def stopped_rise_cap(limits: Limits, context: LimitContext, _: float) -> float | None:
    """Return the limewater that would not raise alkalinity too fast if consumption stopped."""
    if limits.stopped_rise_meq_per_L_per_day is None:
        return None
    return (
        limits.stopped_rise_meq_per_L_per_day * context.net_volume_low_L / context.unsafe_meq_per_L
    )


def keeper_cap(limits: Limits, _context: LimitContext, _: float) -> float | None:
    """Return the keeper's own cap, L/day."""
    return limits.keeper_cap_L_per_day


def pump_range_cap(_limits: Limits, context: LimitContext, _: float) -> float | None:
    """Return what the pump can deliver, L/day."""
    return context.pump_largest_L_per_day


def vessel_surge_cap(_limits: Limits, context: LimitContext, _: float) -> float | None:
    """Return the limewater whose single doses leave the vessel's bed at rest, L/day."""
    if context.vessel_L is None:
        return None
    return context.doses_per_day * LARGEST_DOSE_OF_VESSEL_SHARE * context.vessel_L


def dose_pH_cap(_limits: Limits, context: LimitContext, _: float) -> float | None:
    """Return the limewater whose single doses raise pH, and alkalinity, by no more than allowed."""
    by_pH = context.largest_dose_meq_per_L
    rise = LARGEST_DOSE_MEQ_PER_L if by_pH is None else min(by_pH, LARGEST_DOSE_MEQ_PER_L)
    dose_L = rise * context.net_volume_low_L / context.unsafe_meq_per_L
    return context.doses_per_day * dose_L


def day_pH_cap(_limits: Limits, context: LimitContext, _: float) -> float | None:
    """Return the limewater that keeps the day's highest pH below the ceiling, L/day."""
    return context.day_pH_L_per_day


def suspect_cap(_limits: Limits, context: LimitContext, _: float) -> float | None:
    """Return what is given now while the newest test is doubted: it is repeated first, L/day."""
    return context.current_L_per_day if context.newest_is_suspect else None


def weekly_rise_cap(_limits: Limits, context: LimitContext, _: float) -> float | None:
    """Return 15 % more than was given a week ago, L/day; what is given now is not undone."""
    if context.week_ago_L_per_day is None:
        return None
    return max(WEEKLY_RISE_FACTOR * context.week_ago_L_per_day, context.current_L_per_day)


def restart_cap(_limits: Limits, context: LimitContext, _: float) -> float | None:
    """Return the share of the old dose that an overdose which ended lately leaves, L/day."""
    return context.restart_L_per_day


def untested_cap(_limits: Limits, context: LimitContext, _: float) -> float | None:
    """Return what is given now where the newest test is too old to raise anything, L/day."""
    return context.current_L_per_day if is_untested(context) else None


def is_untested(context: LimitContext) -> bool:
    """Return whether the newest alkalinity test is too old to raise anything."""
    age = context.alkalinity_age_days
    return age is not None and age > NO_RAISE_DAYS


class Cap(NamedTuple):
    """One cap: its code, how it is worked out, and what its figure rests on.

    The sentence stands in mobile/texts/plan.py under the same code. `source` is a key of
    `engine.chemistry.sources`; TRADE is common practice, no source. Where a cap is the keeper's
    own limit, the value that Setup offers is TRADE.
    """

    code: Code
    value: Callable[[Limits, LimitContext, float], float | None]
    source: str


CAPS: Final = (
    Cap(Code.CAP_EVAPORATION, evaporation_cap, "TRADE"),
    Cap(Code.CAP_NET_RISE, net_rise_cap, "TRADE"),
    Cap(Code.CAP_STOPPED_RISE, stopped_rise_cap, "TRADE"),
    Cap(Code.CAP_KEEPER, keeper_cap, "TRADE"),
    Cap(Code.CAP_PUMP_RANGE, pump_range_cap, "TRADE"),
    Cap(Code.CAP_VESSEL_SURGE, vessel_surge_cap, "TRADE"),
    Cap(Code.CAP_DOSE_PH, dose_pH_cap, "TRADE"),
    Cap(Code.CAP_DAY_PH, day_pH_cap, "TRADE"),
    Cap(Code.CAP_WEEKLY_RISE, weekly_rise_cap, "TRADE"),
    Cap(Code.CAP_RESTART, restart_cap, "TRADE"),
    Cap(Code.CAP_UNTESTED, untested_cap, "TRADE"),
    Cap(Code.CAP_SUSPECT, suspect_cap, "TRADE"),
)


def cap_values(
    limits: Limits, context: LimitContext, demand_meq_per_day: float
) -> tuple[CapValue, ...]:
    """Return every cap that can be computed, smallest first."""
    values = [(cap.code, cap.value(limits, context, demand_meq_per_day)) for cap in CAPS]
    known = [
        CapValue(code, quantity(value, "L/day")) for code, value in values if value is not None
    ]
    return tuple(sorted(known, key=lambda cap: cap.L_per_day))


def cap_reason(cap: CapValue) -> Reason:
    """Return a cap as a reason."""
    return reason(cap.code, cap_L_per_day=cap.L_per_day)
