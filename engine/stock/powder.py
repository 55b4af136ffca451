"""Powder in use: what lies in the vessel or lime container, how sure that is, when it runs weak.

Charged x assay x dryness, less sludge, less what was dosed and what air turned to carbonate. Only
the last charge counts: an older bed is carbonate and sludge as likely as lime.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from engine.demand.facts import THROUGH_VESSEL, Facts
from engine.demand.inputs import Inputs
from engine.demand.strength import Strength
from engine.reasons import Code, Reason, reason
from engine.records import Container, Recharge, Setup
from engine.stock.belief import Belief, belief
from engine.stock.charge_in_use import (
    InUse,
    checks_since,
    dose_sd_share,
    emptied_at,
    old_bed_g,
    usable_g,
    usable_sd_g,
)
from engine.stock.on_shelf import shelf_g
from engine.units import Estimate, Quantity, Span, estimate, quantity

# A recharge is due before less than this share of the charge is left (common practice).
RECHARGE_AT_SHARE: Final = 0.25
LONGEST_DAYS: Final = 90.0  # nothing is said about a time further off
_NO_TIME_DAYS: Final = 1.0 / 24.0  # less is said as used up


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


def powder_now(facts: Facts, setup: Setup, inputs: Inputs, strength: Strength) -> Powder | Reason:
    """Return the powder balance since the last recharge, or why there is none."""
    container = Container.VESSEL if setup.delivery in THROUGH_VESSEL else Container.LIME
    charges = tuple(r for r in facts.of(Recharge) if r.container is container)
    emptied = emptied_at(facts, container)
    if not charges or inputs.settings.at(charges[-1].at) is None:
        return reason(Code.POWDER_UNKNOWN)
    if emptied is not None and emptied > charges[-1].at:
        return reason(Code.POWDER_UNKNOWN)
    use = InUse(
        facts=facts,
        setup=setup,
        inputs=inputs,
        strength=strength,
        container=container,
        charges=charges,
    )
    return _powder(use, emptied)


def _powder(use: InUse, emptied: datetime | None) -> Powder:
    usable = usable_g(use, emptied)
    checks = checks_since(use)
    believed = belief(usable, usable_sd_g(use, usable.best, emptied), dose_sd_share(use), checks)
    dosed, rate = use.dosed_g(use.now), use.rate_g_per_day
    kept = RECHARGE_AT_SHARE * usable.best

    def days(kept_g: float) -> Span:
        found = believed.span(lambda u, s: _days(u - dosed * s - kept_g, rate * s))
        middle = _days(usable.best - dosed - kept_g, rate)
        return found if checks else Span(min(found.low, middle), middle, max(found.high, middle))

    days_left, due = days(0.0), days(kept)
    shelf = shelf_g(use.facts)
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
        old_bed_g=old_bed_g(use, emptied),
        checked=bool(checks),
        found_weak=last_weak,
        weak_despite_powder=last_weak and spent.low > 0.0,
        course=_course(use, believed, usable.best, checked=bool(checks)),
        shelf=None if shelf is None else quantity(shelf, "g"),
        reasons=(_reason(flow, days_left, due),),
    )


def _left(believed: Belief, usable_g: float, dosed_g: float, *, checked: bool) -> Span:
    found = believed.span(lambda usable, share: max(0.0, usable - dosed_g * share))
    if checked:
        return found
    middle = max(0.0, usable_g - dosed_g)
    return Span(min(found.low, middle), middle, max(found.high, middle))


def _course(
    use: InUse, believed: Belief, usable_g: float, *, checked: bool
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
