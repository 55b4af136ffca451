"""What went into the tank between two moments, from the recorded settings and additions."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Final

from engine.demand.facts import BY_PUMP, THROUGH_TOP_OFF, Facts
from engine.demand.flows import (
    delivery_settings,
    flow_steps,
    pump_line,
    saturated_steps,
    second_source_settings,
)
from engine.demand.strength import Strength, strength_line
from engine.log.timeline import Line, Steps, days_between, integrate
from engine.records import Addition, PumpCheck, SecondSource, Setup, WaterChange
from engine.units import Span

# Half-width of the 90 % interval of what a pump gives, as a share (common practice, no source).
UNCHECKED_PUMP_ERROR_SHARE: Final = 0.10
CHECKED_PUMP_ERROR_SHARE: Final = 0.03
# Both parts of a two-part bring about the same water as the alkalinity part alone, again.
TWO_PART_PARTS: Final = 2.0
# Between two strengths that were told it fell at a moment not known: half the difference as one
# standard deviation.
UNKNOWN_FALL_SHARE: Final = 0.5
# Bicarbonate dissolves to a little more than this; from memory.
WEAK_TWO_PART_MEQ_PER_ML: Final = 1.0
ML_PER_L: Final = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """The recorded inputs of a system as functions of time."""

    facts: Facts
    setup: Setup
    settings: Steps  # L/day as set
    flow: Steps  # 0 while a procedure kept limewater off
    second: Steps  # meq/day
    pump: Line  # delivered share
    strength: Line  # share of saturation
    saturated: Steps  # meq/L of saturated limewater
    breaks: tuple[datetime, ...]  # every moment at which one of these changes, oldest first
    top_off_meq_per_day: float  # that plain top-off water brings of its own
    lime_error_share: float  # half-width of the 90 % interval of limewater's alkalinity

    @property
    def saturated_meq_per_L(self) -> float:
        """Alkalinity of saturated limewater now."""
        return self.saturated.at(self.facts.now) or 0.0

    @property
    def known_from(self) -> datetime | None:
        """The moment since which every running input is on record; None when one never was."""
        starts = [self.settings.known_from]
        if self.setup.second_source is not SecondSource.NONE:
            starts.append(self.second.known_from)
        known = [start for start in starts if start is not None]
        return max(known) if len(known) == len(starts) else None

    def lime_L_per_day(self, moment: datetime) -> float:
        """Return the limewater really delivered at a moment, L/day."""
        if self.flow.at(moment) == 0.0:
            return 0.0
        return (self.settings.at(moment) or 0.0) * self.pump.at(moment)

    def lime_meq_per_day(self, moment: datetime) -> float:
        """Return the alkalinity that limewater brings at a moment, meq/day."""
        strength = self.strength.at(moment) * (self.saturated.at(moment) or 0.0)
        return self.lime_L_per_day(moment) * strength

    def other_meq(self, start: datetime, end: datetime) -> float:
        """Return what everything but limewater and one-off additions brought, meq."""
        return self.second_meq(start, end) + self.top_off_meq_per_day * days_between(start, end)

    def second_meq_per_day(self, moment: datetime) -> float:
        """Return what the second source gave at a moment, meq/day."""
        return self.second.at(moment) or 0.0

    def lime_L(self, start: datetime, end: datetime) -> float:
        """Return the limewater delivered in an interval, L."""
        return integrate(self.lime_L_per_day, start, end, self.breaks)

    def lime_meq(self, start: datetime, end: datetime) -> float:
        """Return the alkalinity that limewater brought in an interval, meq."""
        return integrate(self.lime_meq_per_day, start, end, self.breaks)

    def lime_doubt_meq(self, start: datetime, end: datetime) -> float:
        """Return how unsure that is because nobody saw the strength fall, one deviation, meq."""
        squares = 0.0
        for (since, before), (until, after) in pairwise(self.strength.points):
            first, last = max(start, since), min(end, until)
            if before == after or first >= last:
                continue
            full = self.lime_L(first, last) * (self.saturated.at(first) or 0.0)
            squares += (UNKNOWN_FALL_SHARE * (after - before) * full) ** 2
        return squares**0.5

    def second_meq(self, start: datetime, end: datetime) -> float:
        """Return what the second source brought in an interval, meq."""
        return integrate(self.second_meq_per_day, start, end, self.breaks)

    def additions(self, start: datetime, end: datetime) -> Sequence[Addition]:
        """Return the one-off additions in (start, end]."""
        return self.facts.between(Addition, start, end)

    def water_changes(self, start: datetime, end: datetime) -> Sequence[WaterChange]:
        """Return the water changes in (start, end]."""
        return self.facts.between(WaterChange, start, end)

    def two_part_water_L(self, alkalinity_meq: float) -> float:
        """Return the water that a two-part of known strength brings with so much alkalinity, L."""
        known = self.setup.two_part_meq_per_mL is not None
        return self.most_two_part_water_L(alkalinity_meq) if known else 0.0

    def most_two_part_water_L(self, alkalinity_meq: float) -> float:
        """Return the same, a strength that is not known taken as the weakest of the trade."""
        return most_two_part_water_L(self.setup, alkalinity_meq)


def most_two_part_water_L(setup: Setup, alkalinity_meq: float) -> float:
    """Return the water of both parts with so much alkalinity, L; weak where nothing is known."""
    if setup.second_source is not SecondSource.TWO_PART:
        return 0.0
    strength = setup.two_part_meq_per_mL or WEAK_TWO_PART_MEQ_PER_ML
    return TWO_PART_PARTS * alkalinity_meq / strength / ML_PER_L


def recorded_inputs(facts: Facts, setup: Setup, strength: Strength, top_off: Span | None) -> Inputs:
    """Return the inputs on record.

    Parameters
    ----------
    facts, setup, strength
        The system.
    top_off : Span or None
        Evaporation, L/day: where the top-off draws on lime and no setting is recorded, all of it
        is limewater, and a part of it that was set follows it; elsewhere it tells how much plain
        fresh water comes in.
    """
    drawn = top_off.best if top_off is not None and setup.delivery in THROUGH_TOP_OFF else None
    settings = delivery_settings(facts, drawn)
    if setup.delivery in THROUGH_TOP_OFF and not settings.points and top_off is not None:
        settings = Steps(((_top_off_since(facts), top_off.best),))
    flow, second = flow_steps(facts), second_source_settings(facts)
    pump = pump_line(facts) if setup.delivery in BY_PUMP else Line(((facts.now, 1.0),))
    shares = strength_line(facts, setup)
    saturated = saturated_steps(facts, setup)
    lines = (settings, flow, second, pump, shares, saturated)
    return Inputs(
        facts=facts,
        setup=setup,
        settings=settings,
        flow=flow,
        second=second,
        pump=pump,
        strength=shares,
        saturated=saturated,
        breaks=tuple(sorted({at for line in lines for at, _ in line.points})),
        top_off_meq_per_day=_top_off_meq_per_day(setup, top_off, settings.at(facts.now) or 0.0),
        lime_error_share=_lime_error_share(facts, setup, strength),
    )


def _top_off_since(facts: Facts) -> datetime:
    """Return since when the top-off draws on lime: from the change to it, or from the start."""
    setups = facts.of(Setup)
    changed = [b.at for a, b in pairwise(setups) if a.delivery not in THROUGH_TOP_OFF]
    oldest = facts.records[0].at if facts.records else facts.now
    return changed[-1] if changed else oldest - timedelta(days=1)


def _top_off_meq_per_day(setup: Setup, evaporation: Span | None, lime_L_per_day: float) -> float:
    """Return the alkalinity of the plain fresh water beside the limewater, meq/day.

    Limewater made from such water has lost that much of its own; its measured strength tells.
    """
    if evaporation is None or setup.delivery in THROUGH_TOP_OFF:
        return 0.0
    plain_L = max(0.0, evaporation.best - lime_L_per_day)
    return plain_L * setup.top_off_alkalinity_meq_per_L


def _lime_error_share(facts: Facts, setup: Setup, strength: Strength) -> float:
    low, best, high = strength.meq_per_L
    # Very weak limewater is as good as unknown, but no more than that.
    strength_error = min(1.0, (high - low) / 2.0 / best) if best > 0.0 else 1.0
    if strength.is_weak:  # since when it was weak is not known
        strength_error += (1.0 - strength.share.best) / 4.0
    if setup.delivery not in BY_PUMP:
        return strength_error
    checked = facts.last(PumpCheck) is not None
    pump_error = CHECKED_PUMP_ERROR_SHARE if checked else UNCHECKED_PUMP_ERROR_SHARE
    return (strength_error**2 + pump_error**2) ** 0.5
