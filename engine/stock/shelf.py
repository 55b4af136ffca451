"""Powder on the shelf: packs, the day it is used up, the day to reorder, what a year takes.

Use follows the season where evaporation through the year is known (engine/plan/season.py), else it
is taken as it is now.
"""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from engine.decision import Decision
from engine.demand.facts import Facts
from engine.errors import LARGEST_MAGNITUDE
from engine.limewater import saturated_alkalinity_meq_per_L
from engine.limits import DosePlan
from engine.plan.season import Season
from engine.reasons import Reason
from engine.records import PackOpened, PowderStock, Recharge, Setup
from engine.stock.charge import usable_share, weighed_g_per_day
from engine.stock.codes import StockCode, stock_reason
from engine.stock.on_shelf import shelf_g
from engine.stock.powder import Powder
from engine.units import Quantity, Span, quantity, to_float

# Lead time of a purchase, and what is kept in hand: offered, common practice, no source.
LEAD_DAYS: Final = 7.0
MARGIN_DAYS: Final = 14.0
# A pack once opened takes up moisture and carbon dioxide: use it within so long (practice).
OPENED_PACK_DAYS: Final = 365.0
# How well the use of the months ahead, and what stands on the shelf, are known: half-widths of
# a 90 % interval (estimate, no source).
USE_ERROR_SHARE: Final = 0.15
COUNT_ERROR_SHARE: Final = 0.03
HORIZON_DAYS: Final = 730
YEAR_DAYS: Final = 365
_NOTHING_G: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """The powder on the shelf and what it means."""

    powder: Quantity  # g
    pack_g: float | None  # what one pack holds, by the newest purchase that said so
    closed_packs: int | None
    open_g: float | None  # in the open pack
    opened_at: datetime | None
    empty_days: Span | None  # from now, until shelf and vessel are used up; None without a use
    reorder_days: float | None  # from now; below 0 it has passed
    year_g: float | None  # as weighed
    year_packs: float | None
    year_price: float | None  # in the keeper's own currency
    by_season: bool
    reasons: tuple[Reason, ...]


def lead_days(setup: Setup) -> float:
    """Return how long a purchase takes, days."""
    return LEAD_DAYS if setup.powder_lead_days is None else setup.powder_lead_days


def margin_days(setup: Setup) -> float:
    """Return the safety margin that the keeper wants in hand, days."""
    return MARGIN_DAYS if setup.powder_margin_days is None else setup.powder_margin_days


def shelf_now(decision: Decision, facts: Facts, season: Season | None) -> Shelf | Reason:
    """Return the shelf, or why nothing can be said of it.

    Parameters
    ----------
    decision : Decision
        Of a system with a set-up.
    facts : Facts
        The log that it was made from.
    season : Season or None
        The year ahead of `engine.plan.season.year`; None where it cannot be told.
    """
    setup, grams = decision.setup, shelf_g(facts)
    if setup is None or grams is None:
        return stock_reason(StockCode.SHELF_UNKNOWN)
    use = _Use.of(decision, setup, season)
    empty = None if use is None else _empty_days(decision, setup, grams, use)
    reorder = None if empty is None else empty.low - lead_days(setup) - margin_days(setup)
    year = None if use is None else sum(use.on(decision.now, day) for day in range(YEAR_DAYS))
    pack_g = _pack_g(facts)
    closed, open_g, opened = _packs(facts, grams, pack_g)
    price = _price_per_g(facts)
    found = Shelf(
        powder=quantity(grams, "g"),
        pack_g=pack_g,
        closed_packs=closed,
        open_g=open_g,
        opened_at=opened,
        empty_days=empty,
        reorder_days=reorder,
        year_g=year,
        year_packs=None if year is None or pack_g is None else year / pack_g,
        year_price=None if year is None or price is None else _year_price(year, price),
        by_season=use is not None and bool(use.months),
        reasons=(),
    )
    return _told(found, setup, facts)


@dataclass(frozen=True, slots=True)
class _Use:
    """Powder that a day takes, g as weighed, by month where the season is known."""

    now_g: float
    months: dict[tuple[int, int], float]

    @classmethod
    def of(cls, decision: Decision, setup: Setup, season: Season | None) -> "_Use | None":
        litres = litres_per_day(decision)
        if litres is None or litres <= 0.0:
            return None
        saturated = saturated_alkalinity_meq_per_L(setup.lime_temperature_degC)
        months = {
            (month.year, month.month): weighed_g_per_day(
                setup, month.limewater_L_per_day, saturated
            )
            for month in (season.months if season else ())
        }
        return cls(weighed_g_per_day(setup, litres, saturated), months)

    def on(self, now: datetime, day: int) -> float:
        """Return the use so many days ahead; beyond the year the same month's again."""
        moment = now + timedelta(days=day)
        for year in (moment.year, moment.year - 1, moment.year - 2):
            if (year, moment.month) in self.months:
                return self.months[year, moment.month]
        return self.now_g


def litres_per_day(decision: Decision) -> float | None:
    """Return the limewater of now: given, else planned, L/day."""
    if decision.setting is not None:
        given = to_float(decision.setting.delivered, "L/day")
        if given > 0.0:
            return given
    return decision.plan.L_per_day if isinstance(decision.plan, DosePlan) else None


def _empty_days(decision: Decision, setup: Setup, grams: float, use: _Use) -> Span:
    """Return when shelf and vessel are used up, days from now, at most two years."""
    left = Span(0.0, 0.0, 0.0)
    if isinstance(decision.powder, Powder):
        left = decision.powder.left.floats("g").scaled(1.0 / usable_share(setup))
    low_g = grams * (1.0 - COUNT_ERROR_SHARE) + left.low
    high_g = grams * (1.0 + COUNT_ERROR_SHARE) + left.high
    return Span(
        _day_empty(low_g, use, decision.now, 1.0 + USE_ERROR_SHARE),
        _day_empty(grams + left.best, use, decision.now, 1.0),
        _day_empty(high_g, use, decision.now, 1.0 - USE_ERROR_SHARE),
    )


def _day_empty(grams: float, use: _Use, now: datetime, factor: float) -> float:
    for day in range(HORIZON_DAYS):
        taken = use.on(now, day) * factor
        if taken >= grams:
            return day + (grams / taken if taken > 0.0 else 0.0)
        grams -= taken
    return float(HORIZON_DAYS)


def _pack_g(facts: Facts) -> float | None:
    sizes = [r.pack_g for r in facts.of(PowderStock) if r.pack_g is not None]
    return sizes[-1] if sizes else None


def _year_price(year_g: float, price_per_g: float) -> float | None:
    """Return what a year's powder costs, None where a slip made it more than anybody pays."""
    cost = year_g * price_per_g
    return cost if cost <= LARGEST_MAGNITUDE else None


def _price_per_g(facts: Facts) -> float | None:
    paid = [
        r.price / r.powder_g
        for r in facts.of(PowderStock)
        if r.price is not None and not r.counted and r.powder_g > 0.0
    ]
    return paid[-1] if paid else None


def _packs(
    facts: Facts, grams: float, pack_g: float | None
) -> tuple[int | None, float | None, datetime | None]:
    """Return closed packs, grams in the open one, and when that was opened.

    What is not in whole packs stands in the open one; a pack counts as opened when that was
    recorded, or when powder was taken from it.
    """
    opened = facts.last(PackOpened)
    at = None if opened is None else opened.at
    if pack_g is None:
        return None, None, at
    closed = int(grams / pack_g + 1e-9)
    open_g = grams - closed * pack_g
    if open_g < _NOTHING_G and closed and opened is not None and _untouched_since(facts, opened.at):
        return closed - 1, pack_g, at
    return closed, open_g, at


def _untouched_since(facts: Facts, moment: datetime) -> bool:
    return not any(r.at > moment for r in (*facts.of(Recharge), *facts.of(PowderStock)))


def _told(shelf: Shelf, setup: Setup, facts: Facts) -> Shelf:
    """Return the shelf with its reasons."""
    found = [*_on_shelf(shelf, facts), *_reorder(shelf, setup), *_year(shelf, setup)]
    return replace(shelf, reasons=(*found, stock_reason(StockCode.STORE)))


def _on_shelf(shelf: Shelf, facts: Facts) -> list[Reason]:
    grams = to_float(shelf.powder, "g")
    if grams <= 0.0:
        return [stock_reason(StockCode.SHELF_EMPTY)]
    found = [stock_reason(StockCode.SHELF, shelf_g=grams)]
    if shelf.closed_packs is not None and shelf.open_g is not None and shelf.pack_g is not None:
        found = [
            stock_reason(
                StockCode.SHELF_PACKS,
                shelf_g=grams,
                closed_count=float(shelf.closed_packs),
                pack_g=shelf.pack_g,
                open_g=shelf.open_g,
            )
        ]
    if shelf.opened_at is not None:
        age = facts.age_days(shelf.opened_at)
        code = StockCode.PACK_OLD if age > OPENED_PACK_DAYS else StockCode.PACK_AGE
        found.append(stock_reason(code, opened_days=age))
    return found


def _reorder(shelf: Shelf, setup: Setup) -> list[Reason]:
    if shelf.empty_days is None or shelf.reorder_days is None:
        return []
    numbers = {
        "empty_low_days": shelf.empty_days.low,
        "empty_high_days": shelf.empty_days.high,
        "reorder_in_days": max(0.0, shelf.reorder_days),
        "lead_days": lead_days(setup),
        "margin_days": margin_days(setup),
    }
    code = StockCode.REORDER_BY if shelf.reorder_days > 0.0 else StockCode.REORDER_NOW
    if shelf.empty_days.low >= HORIZON_DAYS:
        code = StockCode.REORDER_LATER
    season = StockCode.SEASON_INCLUDED if shelf.by_season else StockCode.SEASON_LEFT_OUT
    return [stock_reason(code, **numbers), stock_reason(season)]


def _year(shelf: Shelf, setup: Setup) -> list[Reason]:
    if shelf.year_g is None:
        return []
    found = [stock_reason(StockCode.YEAR, year_kg=shelf.year_g / 1000.0)]
    if shelf.year_packs is not None and shelf.pack_g is not None:
        packs = {"year_packs": round(shelf.year_packs, 1), "pack_g": shelf.pack_g}
        found = [stock_reason(StockCode.YEAR_PACKS, year_kg=shelf.year_g / 1000.0, **packs)]
    if shelf.year_price is not None:
        money = {"year_price": shelf.year_price, "currency": setup.currency}
        found.append(stock_reason(StockCode.YEAR_MONEY, **money))
    return found
