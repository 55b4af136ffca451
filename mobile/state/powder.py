"""The page on powder and supplies: how long they last, what to weigh, when to order."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from engine.decision import Decision
from engine.plan.withheld import is_withheld
from engine.reasons import Reason
from engine.records import Container
from engine.stock.codes import StockCode
from engine.stock.powder import LONGEST_DAYS, Powder
from engine.stock.shelf import shelf_now
from engine.stock.supplies import Supply
from engine.stock.told import charge_reasons, in_use_reasons, next_charge
from mobile.state.plot_view import Curve, PlotView, Point, ticks
from mobile.state.sentences import date, sentence, told, trimmed
from mobile.state.snapshot import Snapshot, Tone
from mobile.texts.stock import TEXTS

_TONES: Final[dict[str, Tone]] = {
    StockCode.FOUND_WEAK: "warn",
    StockCode.RUN_OUT: "warn",
    StockCode.RUNS_WEAK: "note",
    StockCode.RUNS_WEAK_LATER: "good",
    StockCode.WEAK_DESPITE_POWDER: "warn",
    StockCode.REORDER_NOW: "warn",
    StockCode.SHELF_EMPTY: "warn",
    StockCode.PACK_OLD: "warn",
    StockCode.BED_FULL: "warn",
    StockCode.SUPPLY_EXPIRED: "warn",
}
_SOON_DAYS: Final = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A sentence with its state; plain running text where there is none."""

    text: str
    tone: Tone | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyLines:
    """One solution or kit in words."""

    key: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PowderView:
    """The page, in the order of reading."""

    tone: Tone
    lead: str
    in_use: tuple[Line, ...]
    plot: PlotView | None
    recharge: tuple[Line, ...]
    shelf: tuple[Line, ...]
    supplies: tuple[SupplyLines, ...]
    through_vessel: bool


def powder(snapshot: Snapshot, decision: Decision) -> PowderView:
    """Return the page."""
    first, *rest = in_use_reasons(decision)
    care = snapshot.ahead.care_by_season if snapshot.ahead else None
    setup = decision.setup
    charge = None if is_withheld(decision) else next_charge(decision)
    by_vessel = setup is not None and setup.vessel_L is not None
    told = charge_reasons(decision, charge, setup) if charge and setup else ()
    return PowderView(
        tone=_lead_tone(decision, first),
        lead=said(snapshot, first),
        in_use=_lines(snapshot, rest),
        plot=_plot(snapshot, decision.powder) if isinstance(decision.powder, Powder) else None,
        recharge=_lines(snapshot, told),
        shelf=_lines(snapshot, _shelf(snapshot, decision)),
        supplies=tuple(_supply(snapshot, supply) for supply in (care.supplies if care else ())),
        through_vessel=by_vessel,
    )


def summary(snapshot: Snapshot) -> str:
    """Return when the limewater runs weak, in one line; nothing where that is not known."""
    found = snapshot.decision.powder if snapshot.decision else None
    if not isinstance(found, Powder) or found.container is not Container.VESSEL:
        return ""
    low, _, high = found.days_left.floats("day")
    if found.found_weak:
        return TEXTS["powder_summary_weak"]
    if high <= 0.0:
        return TEXTS["powder_summary_spent"]
    numbers = _dated({"weak_low_days": low, "weak_high_days": high}, snapshot.now)
    return "" if low >= LONGEST_DAYS else sentence(TEXTS, "powder_summary", numbers)


def said(snapshot: Snapshot, found: Reason) -> str:
    """Return the sentence of a reason, each number of days with its day of the calendar."""
    numbers = _dated(found.numbers, snapshot.now)
    item = numbers.get("item")
    if item is not None:
        numbers["item"] = TEXTS[f"item_{item}"]
    return told(TEXTS, found.code, numbers, snapshot.alkalinity_unit)


def _dated(numbers: Mapping[str, float | str], now: datetime) -> dict[str, float | str]:
    days = {key: value for key, value in numbers.items() if key.endswith("_days")}
    dates = {
        f"{key.removesuffix('_days')}_date": date(now + timedelta(days=value), now)
        for key, value in days.items()
        if isinstance(value, float)
    }
    return {**numbers, **dates}


def _lines(snapshot: Snapshot, reasons: tuple[Reason, ...] | list[Reason]) -> tuple[Line, ...]:
    return tuple(Line(text=said(snapshot, r), tone=_TONES.get(r.code)) for r in reasons)


def _lead_tone(decision: Decision, first: Reason) -> Tone:
    found = decision.powder
    if isinstance(found, Powder) and found.days_to_recharge.floats("day").low <= _SOON_DAYS:
        return "warn"
    return _TONES.get(first.code, "note")


def _shelf(snapshot: Snapshot, decision: Decision) -> tuple[Reason, ...]:
    care = snapshot.ahead.care_by_season if snapshot.ahead else None
    if care is None or snapshot.ahead is None:
        return ()
    if care.shelf is not None:
        return care.shelf.reasons
    found = shelf_now(decision, snapshot.ahead.facts, None)
    return (found,) if isinstance(found, Reason) else found.reasons


def _supply(snapshot: Snapshot, supply: Supply) -> SupplyLines:
    return SupplyLines(key=supply.item, lines=_lines(snapshot, supply.reasons))


def _plot(snapshot: Snapshot, found: Powder) -> PlotView:
    """Return the burn-down: what was left since the charge, and what will be, with its band."""
    low, best, high = (_curve(found, place) for place in range(3))
    days = found.days_left.floats("day")
    numbers: dict[str, float | str] = {
        "left_now_g": float(round(found.left.floats("g").best)),
        "weak_low_days": days.low,
        "weak_high_days": days.high,
    }
    code = "powder_plot_later" if days.low >= LONGEST_DAYS else "powder_plot_says"
    return PlotView(
        says=sentence(TEXTS, code, _dated(numbers, snapshot.now)),
        y_label=TEXTS["powder_plot_y"],
        x_label=TEXTS["powder_plot_x"],
        y_ticks=ticks([0.0, *(y for _, y in high)], lambda value: trimmed(value, 0)),
        x_ticks=ticks([x for x, _ in best], lambda value: trimmed(value, 0), about=6),
        curves=(
            Curve(name=TEXTS["powder_plot_best"], points=best),
            Curve(name=TEXTS["powder_plot_low"], points=low, look="dashed", role="quiet"),
            Curve(name=TEXTS["powder_plot_high"], points=high, look="dashed", role="quiet"),
        ),
    )


def _curve(found: Powder, place: int) -> tuple[Point, ...]:
    return tuple((day, left[place]) for day, left in found.course)
