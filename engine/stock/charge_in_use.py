"""The charge in use: what was weighed in, what went out, and how sure each of these is.

Only the last charge counts: an older bed is carbonate and sludge as likely as lime.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from engine.chemistry.constants import MEQ_PER_GRAM_CALCIUM_HYDROXIDE
from engine.demand.facts import BY_PUMP, Facts
from engine.demand.inputs import CHECKED_PUMP_ERROR_SHARE, UNCHECKED_PUMP_ERROR_SHARE, Inputs
from engine.demand.strength import WEAK_SHARE, Strength
from engine.limewater import (
    SOLUBILITY_HIGH_FACTOR,
    SOLUBILITY_LOW_FACTOR,
    solubility_g_per_L,
)
from engine.records import (
    Container,
    LimewaterStrength,
    ProcedureEvent,
    ProcedureRun,
    PumpCheck,
    Recharge,
    Setup,
    StrengthMethod,
    VesselEmptied,
)
from engine.stock.belief import Check
from engine.stock.charge import (
    ASSAY_ERROR,
    DRY_SHARE,
    SLUDGE_SHARE,
    calcium_hydroxide_g_per_day,
    carbonate_share,
    usable_share,
)
from engine.units import Span

# A tenth of the vessel is drawn off at a recharge and must be saturated anew (common practice).
DRAWN_OFF_SHARE: Final = 0.10
# As much of an old bed may still be lime, one standard deviation above none (estimate).
OLD_BED_SHARE: Final = 0.25
# Output below this tells of a spent bed; from here to 0.9 it may be either (estimate, no source).
SPENT_SHARE: Final = 0.75
SCALE_ERROR_SHARE: Final = 0.01  # of the kitchen scale, one standard deviation
# Scoops of one recharge are recorded within so long.
_ONE_RECHARGE: Final = timedelta(days=1)
_Z90: Final = 1.645
# Finished runs of these have emptied the vessel: at their end, or, where the run itself puts
# powder in, before they began.
_EMPTYING: Final = {"clean_scale": ProcedureEvent.FINISHED, "new_vessel": ProcedureEvent.STARTED}


@dataclass(frozen=True, slots=True, kw_only=True)
class InUse:
    """One charge, with what is known about it."""

    facts: Facts
    setup: Setup
    inputs: Inputs
    strength: Strength
    container: Container
    charges: tuple[Recharge, ...]

    @property
    def since(self) -> datetime:
        """When the powder went in."""
        return self.charges[-1].at

    @property
    def now(self) -> datetime:
        """The moment asked about, never before the charge."""
        return max(self.since, self.facts.now)

    @property
    def charged_g(self) -> float:
        """The powder of the charge, g as weighed: scoops of one recharge together."""
        return sum(r.powder_g for r in self.charges if r.at >= self.since - _ONE_RECHARGE)

    @property
    def before(self) -> Recharge | None:
        """The charge before this one."""
        older = [r for r in self.charges if r.at < self.since - _ONE_RECHARGE]
        return older[-1] if older else None

    def dosed_g(self, until: datetime, since: datetime | None = None) -> float:
        """Return the lime that left since the charge, as reckoned, carbonate included, g."""
        meq = self.inputs.lime_meq(since or self.since, until)
        carbonate = 1.0 + carbonate_share(self.setup).best
        return meq / MEQ_PER_GRAM_CALCIUM_HYDROXIDE * carbonate

    def use_g_per_day(self, strength_meq_per_L: float) -> float:
        """Return the pure lime that leaves at a strength and the delivery of now, g/day."""
        litres = self.inputs.lime_L_per_day(self.facts.now)
        return calcium_hydroxide_g_per_day(litres, strength_meq_per_L)

    @property
    def rate_g_per_day(self) -> float:
        """How fast the charge is used up while it still gives what it gives now."""
        carbonate = 1.0 + carbonate_share(self.setup).best
        return self.use_g_per_day(self.strength.meq_per_L.best) * carbonate


def emptied_at(facts: Facts, container: Container) -> datetime | None:
    """Return when a vessel or container was last emptied of its bed, None when never."""
    times = [r.at for r in facts.of(VesselEmptied) if r.container == container]
    if container is Container.VESSEL:
        runs = facts.of(ProcedureRun)
        finished = {run.run for run in runs if run.event is ProcedureEvent.FINISHED}
        times += [
            run.at
            for run in runs
            if run.run in finished and run.event is _EMPTYING.get(run.procedure)
        ]
    return max(times, default=None)


def usable_g(use: InUse, emptied: datetime | None) -> Span:
    """Return what the charge can give, less what the water itself takes up first, g."""
    setup = use.setup
    best = use.charged_g * usable_share(setup) - _filling_g(use, emptied)
    return Span(best, max(0.0, best), best)


def _filling_g(use: InUse, emptied: datetime | None) -> float:
    """Return the lime that saturates the vessel's own water, g: all of it after an empty-out."""
    if use.container is not Container.VESSEL or use.setup.vessel_L is None or emptied is None:
        return 0.0
    before = use.before
    is_first = before is None or before.at < emptied
    share = 1.0 if is_first else DRAWN_OFF_SHARE
    return share * use.setup.vessel_L * solubility_g_per_L(use.setup.lime_temperature_degC)


def usable_sd_g(use: InUse, best_g: float, emptied: datetime | None) -> tuple[float, float]:
    """Return the standard deviation of the usable powder, below and above, g."""
    flat = 12.0**0.5  # a range in which every value is as likely
    shares = (
        ASSAY_ERROR / use.setup.powder_assay,
        (SLUDGE_SHARE.high - SLUDGE_SHARE.low) / flat / (1.0 - SLUDGE_SHARE.best),
        (DRY_SHARE.high - DRY_SHARE.low) / flat / DRY_SHARE.best,
        SCALE_ERROR_SHARE,
    )
    below = best_g * sum(share**2 for share in shares) ** 0.5
    old = OLD_BED_SHARE * _left_before_g(use, emptied)
    return below, (below**2 + old**2) ** 0.5


def _left_before_g(use: InUse, emptied: datetime | None) -> float:
    """Return what the charge before this one had left when this one came, g; 0 after emptying."""
    before = use.before
    if before is None or (emptied is not None and emptied > before.at):
        return 0.0
    if use.inputs.settings.at(before.at) is None:
        return 0.0
    charged = before.powder_g * usable_share(use.setup)
    return max(0.0, charged - use.dosed_g(use.since, before.at))


def old_bed_g(use: InUse, emptied: datetime | None) -> float:
    """Return what lies in the vessel from before the last charge, g: all of it counts as sludge."""
    known_from = use.inputs.settings.known_from
    older = [
        r
        for r in use.charges
        if r.at < use.since - _ONE_RECHARGE and (emptied is None or r.at > emptied)
    ]
    if not older:
        return 0.0
    charged = sum(r.powder_g for r in older)
    if known_from is None or known_from >= use.since:
        return charged
    return max(0.0, charged - use.dosed_g(use.since, max(older[0].at, known_from)))


def dose_sd_share(use: InUse) -> float:
    """Return how sure the dosed lime is: strength, solubility, pump and carbonate together."""
    strength, setup = use.strength, use.setup
    best = max(strength.share.best, 0.05)
    parts = [(strength.share.high - strength.share.low) / 2.0 / _Z90 / best]
    if strength.source == "assumed" or _by_meter(use):
        parts.append((SOLUBILITY_HIGH_FACTOR - SOLUBILITY_LOW_FACTOR) / 2.0 / _Z90)
    if setup.delivery in BY_PUMP:
        checked = use.facts.last(PumpCheck) is not None
        error = CHECKED_PUMP_ERROR_SHARE if checked else UNCHECKED_PUMP_ERROR_SHARE
        parts.append(error / _Z90)
    carbonate = carbonate_share(setup)
    parts.append((carbonate.high - carbonate.low) / 12.0**0.5)
    return sum(part**2 for part in parts) ** 0.5


def _by_meter(use: InUse) -> bool:
    check = use.facts.last(LimewaterStrength)
    return check is not None and check.method is StrengthMethod.CONDUCTIVITY


def checks_since(use: InUse) -> tuple[Check, ...]:
    """Return the strength checks since the recharge that tell of a spent bed or of powder left."""
    return tuple(
        Check(use.dosed_g(check.at), check.fraction_of_saturation < SPENT_SHARE)
        for check in use.facts.of(LimewaterStrength)
        if check.at > use.since and not SPENT_SHARE <= check.fraction_of_saturation < WEAK_SHARE
    )
