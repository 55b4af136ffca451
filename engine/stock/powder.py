"""Powder in use: what lies in the vessel or lime container, how sure that is, when it runs weak.

Charged x assay x dryness, less sludge, less what was dosed and what air turned to carbonate. Only
the last charge counts: an older bed is carbonate and sludge as likely as lime.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from engine.chemistry.constants import MEQ_PER_GRAM_CALCIUM_HYDROXIDE
from engine.demand.facts import BY_PUMP, THROUGH_VESSEL, Facts
from engine.demand.inputs import CHECKED_PUMP_ERROR_SHARE, UNCHECKED_PUMP_ERROR_SHARE, Inputs
from engine.demand.strength import WEAK_SHARE, Strength
from engine.limewater import (
    SOLUBILITY_HIGH_FACTOR,
    SOLUBILITY_LOW_FACTOR,
    solubility_g_per_L,
)
from engine.log.ledger import merged
from engine.reasons import Code, Reason, reason
from engine.records import (
    Container,
    LimewaterStrength,
    PowderStock,
    ProcedureEvent,
    ProcedureRun,
    PumpCheck,
    Recharge,
    Setup,
    StrengthMethod,
    VesselEmptied,
)
from engine.stock.belief import Belief, Check, belief
from engine.stock.charge import (
    ASSAY_ERROR,
    DRY_SHARE,
    SLUDGE_SHARE,
    Charge,
    calcium_hydroxide_g_per_day,
    carbonate_share,
    largest_charge_g,
    lime_container_powder_g,
    recharge,
    saturated_recharge,
    usable_share,
)
from engine.units import Estimate, Quantity, Span, estimate, quantity

__all__ = [
    "ASSAY_ERROR",
    "Charge",
    "Powder",
    "calcium_hydroxide_g_per_day",
    "largest_charge_g",
    "lime_container_powder_g",
    "powder_now",
    "recharge",
    "saturated_recharge",
]

# A recharge is due before less than this share of the charge is left (common practice).
RECHARGE_AT_SHARE: Final = 0.25
LONGEST_DAYS: Final = 90.0  # nothing is said about a time further off
# A tenth of the vessel is drawn off at a recharge and must be saturated anew (common practice).
DRAWN_OFF_SHARE: Final = 0.10
# As much of an old bed may still be lime, one standard deviation above none (estimate).
OLD_BED_SHARE: Final = 0.25
# Output below this tells of a spent bed; from here to 0.9 it may be either (estimate, no source).
SPENT_SHARE: Final = 0.75
SCALE_ERROR_SHARE: Final = 0.01  # of the kitchen scale, one standard deviation
# Scoops of one recharge are recorded within so long.
_ONE_RECHARGE: Final = timedelta(days=1)
_NO_TIME_DAYS: Final = 1.0 / 24.0  # less is said as used up
_Z90: Final = 1.645
# Runs of these procedures, when finished, have emptied the vessel.
_EMPTYING: Final = ("clean_scale", "new_vessel")


@dataclass(frozen=True, slots=True, kw_only=True)
class Powder:
    """The powder in use and on the shelf."""

    container: Container  # VESSEL or LIME
    since: datetime  # the last charge
    charged_g: float  # as weighed
    dosed_g: float  # of lime since, carbonate included
    use: Estimate  # g/day of pure calcium hydroxide at the delivery of now
    left: Estimate  # g of pure, usable calcium hydroxide
    days_left: Estimate  # until spent; 90 means 90 or more
    days_to_recharge: Estimate  # until a quarter of the charge is left
    old_bed_g: float  # sludge and leftovers since the last empty-out, this charge's own left out
    checked: bool  # a strength check since the recharge narrowed the interval
    found_weak: bool  # the last check since the recharge was weak, whatever the balance says
    weak_despite_powder: bool  # the last check was weak although powder should be there
    course: tuple[tuple[float, Span], ...]  # days from now -> g left, from the charge to its end
    shelf: Quantity | None  # g of powder on the shelf, None when never counted
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _InUse:
    """One charge, with what is known about it."""

    facts: Facts
    setup: Setup
    inputs: Inputs
    strength: Strength
    container: Container
    charges: tuple[Recharge, ...]

    @property
    def since(self) -> datetime:
        return self.charges[-1].at

    @property
    def now(self) -> datetime:
        return max(self.since, self.facts.now)

    @property
    def charged_g(self) -> float:
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
        litres = self.inputs.lime_L_per_day(self.facts.now)
        return calcium_hydroxide_g_per_day(litres, strength_meq_per_L)

    @property
    def rate_g_per_day(self) -> float:
        """How fast the charge is used up while it still gives what it gives now."""
        carbonate = 1.0 + carbonate_share(self.setup).best
        return self.use_g_per_day(self.strength.meq_per_L.best) * carbonate


def powder_now(facts: Facts, setup: Setup, inputs: Inputs, strength: Strength) -> Powder | Reason:
    """Return the powder balance since the last recharge, or why there is none."""
    container = Container.VESSEL if setup.delivery in THROUGH_VESSEL else Container.LIME
    charges = tuple(r for r in facts.of(Recharge) if r.container is container)
    emptied = emptied_at(facts, container)
    if not charges or inputs.settings.at(charges[-1].at) is None:
        return reason(Code.POWDER_UNKNOWN)
    if emptied is not None and emptied > charges[-1].at:
        return reason(Code.POWDER_UNKNOWN)
    use = _InUse(
        facts=facts,
        setup=setup,
        inputs=inputs,
        strength=strength,
        container=container,
        charges=charges,
    )
    return _powder(use, emptied)


def emptied_at(facts: Facts, container: Container) -> datetime | None:
    """Return when a vessel or container was last emptied of its bed, None when never."""
    times = [r.at for r in facts.of(VesselEmptied) if r.container == container]
    if container is Container.VESSEL:
        times += [
            run.at
            for run in facts.of(ProcedureRun)
            if run.procedure in _EMPTYING and run.event is ProcedureEvent.FINISHED
        ]
    return max(times, default=None)


def _powder(use: _InUse, emptied: datetime | None) -> Powder:
    usable = _usable_g(use, emptied)
    checks = _checks(use)
    believed = belief(usable, _usable_sd_g(use, usable.best, emptied), _dose_sd_share(use), checks)
    dosed, rate = use.dosed_g(use.now), use.rate_g_per_day
    kept = RECHARGE_AT_SHARE * usable.best

    def days(kept_g: float) -> Span:
        found = believed.span(lambda u, s: _days(u - dosed * s - kept_g, rate * s))
        middle = _days(usable.best - dosed - kept_g, rate)
        return found if checks else Span(min(found.low, middle), middle, max(found.high, middle))

    days_left, due = days(0.0), days(kept)
    spent = _left(believed, usable.best, dosed, checked=False)
    last_weak = bool(checks) and checks[-1].weak
    flow = Span(*(use.use_g_per_day(value) for value in use.strength.meq_per_L))
    return Powder(
        container=use.container,
        since=use.since,
        charged_g=use.charged_g,
        dosed_g=dosed,
        use=estimate(flow, "g/day"),
        left=estimate(_left(believed, usable.best, dosed, checked=bool(checks)), "g"),
        days_left=estimate(days_left, "day"),
        days_to_recharge=estimate(due, "day"),
        old_bed_g=_old_bed_g(use, emptied),
        checked=bool(checks),
        found_weak=last_weak,
        weak_despite_powder=last_weak and spent.low > 0.0,
        course=_course(use, believed, usable.best, checked=bool(checks)),
        shelf=_shelf(use.facts),
        reasons=(_reason(flow, days_left, due),),
    )


def _left(believed: Belief, usable_g: float, dosed_g: float, *, checked: bool) -> Span:
    found = believed.span(lambda usable, share: max(0.0, usable - dosed_g * share))
    if checked:
        return found
    middle = max(0.0, usable_g - dosed_g)
    return Span(min(found.low, middle), middle, max(found.high, middle))


def _usable_g(use: _InUse, emptied: datetime | None) -> Span:
    """Return what the charge can give, less what the water itself takes up first, g."""
    setup = use.setup
    best = use.charged_g * usable_share(setup) - _filling_g(use, emptied)
    return Span(best, max(0.0, best), best)


def _filling_g(use: _InUse, emptied: datetime | None) -> float:
    """Return the lime that saturates the vessel's own water, g: all of it after an empty-out."""
    if use.container is not Container.VESSEL or use.setup.vessel_L is None or emptied is None:
        return 0.0
    before = use.before
    is_first = before is None or before.at < emptied
    share = 1.0 if is_first else DRAWN_OFF_SHARE
    return share * use.setup.vessel_L * solubility_g_per_L(use.setup.lime_temperature_degC)


def _usable_sd_g(use: _InUse, usable_g: float, emptied: datetime | None) -> tuple[float, float]:
    """Return the standard deviation of the usable powder, below and above, g."""
    flat = 12.0**0.5  # a range in which every value is as likely
    shares = (
        ASSAY_ERROR / use.setup.powder_assay,
        (SLUDGE_SHARE.high - SLUDGE_SHARE.low) / flat / (1.0 - SLUDGE_SHARE.best),
        (DRY_SHARE.high - DRY_SHARE.low) / flat / DRY_SHARE.best,
        SCALE_ERROR_SHARE,
    )
    below = usable_g * sum(share**2 for share in shares) ** 0.5
    old = OLD_BED_SHARE * _left_before_g(use, emptied)
    return below, (below**2 + old**2) ** 0.5


def _left_before_g(use: _InUse, emptied: datetime | None) -> float:
    """Return what the charge before this one had left when this one came, g; 0 after emptying."""
    before = use.before
    if before is None or (emptied is not None and emptied > before.at):
        return 0.0
    if use.inputs.settings.at(before.at) is None:
        return 0.0
    charged = before.powder_g * usable_share(use.setup)
    return max(0.0, charged - use.dosed_g(use.since, before.at))


def _old_bed_g(use: _InUse, emptied: datetime | None) -> float:
    """Return what lies in the vessel from before the last charge, g: all of it counts as sludge."""
    known_from = use.inputs.settings.known_from
    older = [
        r
        for r in use.charges
        if r.at < use.since - _ONE_RECHARGE and (emptied is None or r.at > emptied)
    ]
    if not older or known_from is None:
        return 0.0
    start = max(older[0].at, known_from)
    return max(0.0, sum(r.powder_g for r in older) - use.dosed_g(use.since, start))


def _dose_sd_share(use: _InUse) -> float:
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


def _by_meter(use: _InUse) -> bool:
    check = use.facts.last(LimewaterStrength)
    return check is not None and check.method is StrengthMethod.CONDUCTIVITY


def _checks(use: _InUse) -> tuple[Check, ...]:
    return tuple(
        Check(use.dosed_g(check.at), check.fraction_of_saturation < SPENT_SHARE)
        for check in use.facts.of(LimewaterStrength)
        if check.at > use.since and not SPENT_SHARE <= check.fraction_of_saturation < WEAK_SHARE
    )


def _course(
    use: _InUse, believed: Belief, usable_g: float, *, checked: bool
) -> tuple[tuple[float, Span], ...]:
    """Return the powder left over time: what was, day by day, then ahead until it is spent."""
    past = max(0.0, (use.now - use.since).total_seconds() / 86_400.0)
    step = max(1.0, past / 14.0)
    points: list[tuple[float, Span]] = []
    day = -past
    while day < 0.0:
        at = use.now + timedelta(days=day)
        dosed = use.dosed_g(at)
        points.append((day, _left(believed, usable_g, dosed, checked=checked)))
        day += step
    now, rate = use.dosed_g(use.now), use.rate_g_per_day
    ahead = 0.0
    while ahead <= LONGEST_DAYS:
        left = _left(believed, usable_g, now + rate * ahead, checked=checked)
        points.append((ahead, left))
        if left.high <= 0.0 or rate <= 0.0:
            break
        ahead += max(1.0, ahead / 8.0)
    return tuple(points)


def _days(grams: float, rate_g_per_day: float) -> float:
    if grams <= 0.0:
        return 0.0
    return min(LONGEST_DAYS, grams / rate_g_per_day) if rate_g_per_day > 0.0 else LONGEST_DAYS


def _reason(use: Span, days_left: Span, due: Span) -> Reason:
    numbers = {"use_g_per_day": use.best, "left_high_days": days_left.high}
    if days_left.high < _NO_TIME_DAYS:
        return reason(Code.POWDER_SPENT)
    if due.best <= 0.0:
        return reason(Code.POWDER_LOW, **numbers)
    return reason(Code.POWDER_LEFT, **numbers, left_low_days=days_left.low)


def _shelf(facts: Facts) -> Quantity | None:
    shelf_g = None
    for record in merged(facts.of(PowderStock), facts.of(Recharge)):
        if isinstance(record, PowderStock):
            shelf_g = record.powder_g if record.counted else (shelf_g or 0.0) + record.powder_g
        elif isinstance(record, Recharge) and shelf_g is not None:
            shelf_g = max(0.0, shelf_g - record.powder_g)
    return None if shelf_g is None else quantity(shelf_g, "g")
