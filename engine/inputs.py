"""What went into the tank between two moments, from the recorded settings and additions."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from engine.facts import (
    BY_PUMP,
    THROUGH_TOP_OFF,
    Facts,
    delivery_settings,
    pump_line,
    second_source_settings,
)
from engine.records import Addition, PumpCheck, SecondSource, Setup, WaterChange
from engine.strength import Strength, strength_line
from engine.timeline import Line, Steps, integrate
from engine.units import Span

# Half-width of the 90 % interval of what a pump gives, as a share (common practice, no source).
UNCHECKED_PUMP_ERROR_SHARE: Final = 0.10
CHECKED_PUMP_ERROR_SHARE: Final = 0.03
# Both parts of a two-part bring about the same water as the alkalinity part alone, again.
TWO_PART_PARTS: Final = 2.0
ML_PER_L: Final = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """The recorded inputs of a system as functions of time."""

    facts: Facts
    setup: Setup
    settings: Steps  # L/day as set
    second: Steps  # meq/day
    pump: Line  # delivered share
    strength: Line  # share of saturation
    saturated_meq_per_L: float
    lime_error_share: float  # half-width of the 90 % interval of limewater's alkalinity

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
        return (self.settings.at(moment) or 0.0) * self.pump.at(moment)

    def second_meq_per_day(self, moment: datetime) -> float:
        """Return what the second source gave at a moment, meq/day."""
        return self.second.at(moment) or 0.0

    def lime_L(self, start: datetime, end: datetime) -> float:
        """Return the limewater delivered in an interval, L."""
        return integrate(self.lime_L_per_day, start, end, self._breaks())

    def lime_meq(self, start: datetime, end: datetime) -> float:
        """Return the alkalinity that limewater brought in an interval, meq."""

        def rate(moment: datetime) -> float:
            return self.lime_L_per_day(moment) * self.strength.at(moment)

        return integrate(rate, start, end, self._breaks()) * self.saturated_meq_per_L

    def second_meq(self, start: datetime, end: datetime) -> float:
        """Return what the second source brought in an interval, meq."""
        return integrate(self.second_meq_per_day, start, end, self._breaks())

    def added_meq(self, start: datetime, end: datetime) -> float:
        """Return the one-off additions in (start, end], meq."""
        return sum(a.alkalinity_meq for a in self.facts.of(Addition) if start < a.at <= end)

    def water_changes(self, start: datetime, end: datetime) -> tuple[WaterChange, ...]:
        """Return the water changes in (start, end]."""
        return tuple(c for c in self.facts.of(WaterChange) if start < c.at <= end)

    def two_part_water_L(self, alkalinity_meq: float) -> float:
        """Return the water that a two-part brings with so much alkalinity, L."""
        strength = self.setup.two_part_meq_per_mL
        if self.setup.second_source is not SecondSource.TWO_PART or strength is None:
            return 0.0
        return TWO_PART_PARTS * alkalinity_meq / strength / ML_PER_L

    def _breaks(self) -> list[datetime]:
        lines = (self.settings, self.second, self.pump, self.strength)
        return [moment for line in lines for moment, _ in line.points]


def recorded_inputs(facts: Facts, setup: Setup, strength: Strength, top_off: Span | None) -> Inputs:
    """Return the inputs on record.

    Parameters
    ----------
    facts, setup, strength
        The system.
    top_off : Span or None
        Evaporation, L/day: where the top-off draws on lime and no setting is recorded, all of it
        is limewater.
    """
    settings = delivery_settings(facts)
    if setup.delivery in THROUGH_TOP_OFF and not settings.points and top_off is not None:
        # No record is older than this, so it holds for all of them.
        always = facts.records[0].at - timedelta(days=1)
        settings = Steps(((always, top_off.best),))
    return Inputs(
        facts=facts,
        setup=setup,
        settings=settings,
        second=second_source_settings(facts),
        pump=pump_line(facts) if setup.delivery in BY_PUMP else Line(((facts.now, 1.0),)),
        strength=strength_line(facts),
        saturated_meq_per_L=strength.saturated_meq_per_L,
        lime_error_share=_lime_error_share(facts, setup, strength),
    )


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
