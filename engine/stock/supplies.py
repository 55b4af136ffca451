"""Second-source solutions and test kits: what is left, for how many days, until when good.

A solution is used by what the second source is set to give; a kit by the tests on record.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from engine.demand.facts import Facts
from engine.demand.inputs import Inputs
from engine.log.timeline import days_between
from engine.reasons import Reason
from engine.records import SecondSource, SupplyItem, SupplyStock
from engine.stock.codes import StockCode, stock_reason
from engine.units import Span

# Solutions are assumed to be used in equal volumes of both parts, as two-part is sold and mixed.
PARTS: Final = (SupplyItem.ALKALINITY_PART, SupplyItem.CALCIUM_PART)
TESTED: Final = {
    SupplyItem.ALKALINITY_KIT: "total_alkalinity",
    SupplyItem.CALCIUM_KIT: "calcium",
    SupplyItem.MAGNESIUM_KIT: "magnesium",
    SupplyItem.NITRATE_KIT: "nitrate",
    SupplyItem.PHOSPHATE_KIT: "phosphate",
}
# What was measured out, and how many tests the coming weeks bring: half-widths of a 90 %
# interval (estimate, no source).
SOLUTION_ERROR_SHARE: Final = 0.10
KIT_ERROR_SHARE: Final = 0.30
# The pace of testing is that of the last four weeks.
PACE_DAYS: Final = 28.0
LONGEST_DAYS: Final = 365.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """One solution or kit."""

    item: SupplyItem
    left: float  # mL or tests
    use_per_day: float | None  # None where nothing tells it
    days_left: Span | None
    expires_days: float | None  # from now; below 0 it has passed; None where no date is known
    reasons: tuple[Reason, ...]

    @property
    def runs_out_days(self) -> float | None:
        """The nearer of used up and expired, the unsafe end, days from now."""
        ends = [self.days_left.low if self.days_left else None, self.expires_days]
        known = [end for end in ends if end is not None]
        return min(known) if known else None


def supplies(facts: Facts, inputs: Inputs) -> tuple[Supply, ...]:
    """Return every solution and kit that was ever bought or counted, in the items' own order."""
    stocks = {item: [r for r in facts.of(SupplyStock) if r.item is item] for item in SupplyItem}
    return tuple(_supply(facts, inputs, item, own) for item, own in stocks.items() if own)


def _supply(facts: Facts, inputs: Inputs, item: SupplyItem, stocks: list[SupplyStock]) -> Supply:
    is_solution = item in PARTS
    first = next((place for place in reversed(range(len(stocks))) if stocks[place].counted), 0)
    start, held = stocks[first].at, sum(_amount(r) for r in stocks[first:])
    used = _used_mL(inputs, start) if is_solution else _tests_since(facts, item, start)
    left = max(0.0, held - (used or 0.0))
    pace = _mL_per_day(inputs) if is_solution else _tests_per_day(facts, item)
    error = SOLUTION_ERROR_SHARE if is_solution else KIT_ERROR_SHARE
    days = None if pace is None or pace <= 0.0 else _days(left, pace, error)
    expires = _expires_days(facts, stocks)
    return Supply(
        item=item,
        left=left,
        use_per_day=pace,
        days_left=days,
        expires_days=expires,
        reasons=_reasons(item, left, days, expires),
    )


def _amount(stock: SupplyStock) -> float:
    return stock.solution_mL or stock.tests_count or 0.0


def _used_mL(inputs: Inputs, start: datetime) -> float | None:
    strength = inputs.setup.two_part_meq_per_mL
    if strength is None or inputs.setup.second_source is not SecondSource.TWO_PART:
        return None
    return inputs.second_meq(start, inputs.facts.now) / strength


def _mL_per_day(inputs: Inputs) -> float | None:
    strength = inputs.setup.two_part_meq_per_mL
    if strength is None or inputs.setup.second_source is not SecondSource.TWO_PART:
        return None
    return inputs.second_meq_per_day(inputs.facts.now) / strength


def _tests_since(facts: Facts, item: SupplyItem, start: datetime) -> float:
    return float(sum(sample.at > start for sample in facts.samples(TESTED[item])))


def _tests_per_day(facts: Facts, item: SupplyItem) -> float | None:
    since = facts.now - timedelta(days=PACE_DAYS)
    count = sum(sample.at > since for sample in facts.samples(TESTED[item]))
    return count / PACE_DAYS if count else None


def _days(left: float, pace: float, error: float) -> Span:
    return Span(
        *(min(LONGEST_DAYS, left / (pace * factor)) for factor in (1.0 + error, 1.0, 1.0 - error))
    )


def _expires_days(facts: Facts, stocks: list[SupplyStock]) -> float | None:
    """Return when the newest one of known date is no longer good, days from now."""
    dated = [r for r in stocks if r.good_for_days is not None]
    if not dated:
        return None
    good_for = dated[-1].good_for_days or 0.0
    return good_for - days_between(dated[-1].at, facts.now)


def _reasons(
    item: SupplyItem, left: float, days: Span | None, expires: float | None
) -> tuple[Reason, ...]:
    if item in PARTS:
        found = [stock_reason(StockCode.SUPPLY_LEFT_ML, item=item.value, left_mL=left)]
    else:
        found = [stock_reason(StockCode.SUPPLY_LEFT_TESTS, item=item.value, left_count=left)]
    if days is None:
        found.append(stock_reason(StockCode.SUPPLY_USE_UNKNOWN))
    else:
        numbers = {"supply_low_days": days.low, "supply_high_days": days.high}
        found.append(stock_reason(StockCode.SUPPLY_DAYS, **numbers))
    if expires is not None:
        code = StockCode.SUPPLY_EXPIRES if expires > 0.0 else StockCode.SUPPLY_EXPIRED
        found.append(stock_reason(code, expires_in_days=abs(expires)))
    return tuple(found)
