"""Readings of one quantity over time, beside their band, and the limewater's litres below."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from engine.demand.usual_bands import band_of
from engine.log.timeline import days_between
from engine.records import DeliverySetting, Setup, WaterTest
from engine.vocabulary import PARAMETERS
from mobile.state.plot_view import Area, Curve, PlotView, Point, Tick, thinned, ticks
from mobile.state.recorded import quantity_name, unit_of
from mobile.state.sentences import ALKALINITY_UNITS, counted, told, trimmed, unit_label
from mobile.state.snapshot import Snapshot
from mobile.texts.history_plot import TEXTS

SPANS: Final = (30, 90, 365)
FIRST: Final = "total_alkalinity"


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryPlotView:
    """The page, in the order of reading."""

    title: str
    parameters: tuple[tuple[str, str], ...]  # code and name of what there is to choose
    spans: tuple[tuple[str, str], ...]
    readings: PlotView | None
    empty: str  # why there is no plot; empty where there is one
    litres: PlotView | None
    no_litres: str


@dataclass(frozen=True, slots=True)
class _Scale:
    """How a quantity is written: from its canonical unit to the keeper's."""

    factor: float
    unit: str
    decimals: int

    def said(self, value: float) -> str:
        """Return a value in the canonical unit as people read it."""
        return f"{self.tick(value * self.factor)} {self.unit}".strip()

    def tick(self, shown: float) -> str:
        """Return a value in the shown unit without that unit."""
        return trimmed(shown, self.decimals)


def history_plot(snapshot: Snapshot, parameter: str, span_days: int) -> HistoryPlotView | None:
    """Return the page of a quantity, or None where there is no such quantity."""
    setup = snapshot.setup
    found = _readings(snapshot, parameter)
    if setup is None or not (found or parameter in PARAMETERS):
        return None
    shown = tuple((x, y) for x, y in found if x >= -span_days)
    span = TEXTS[f"span_{span_days}"].lower()
    litres = _litres(snapshot, span_days, span)
    readings = (
        _plot(snapshot, setup, parameter, shown, span_days=span_days, span=span) if shown else None
    )
    empty = "" if shown else TEXTS["empty" if found else "empty_ever"].format(span=span)
    return HistoryPlotView(
        title=quantity_name(parameter),
        parameters=_parameters(snapshot, parameter),
        spans=tuple((str(days), TEXTS[f"span_{days}"]) for days in SPANS),
        readings=readings,
        empty=empty,
        litres=litres,
        no_litres="" if litres else TEXTS["litres_none"],
    )


def _parameters(snapshot: Snapshot, chosen: str) -> tuple[tuple[str, str], ...]:
    recorded = {
        reading.parameter
        for record in snapshot.standing
        if isinstance(record, WaterTest)
        for reading in record.readings
    }
    offered = recorded | {FIRST, chosen}
    codes = (*PARAMETERS, *sorted(offered - set(PARAMETERS)))
    return tuple((code, quantity_name(code)) for code in codes if code in offered)


def _readings(snapshot: Snapshot, parameter: str) -> tuple[Point, ...]:
    """Return day before now (0 or less) and value in the canonical unit, oldest first."""
    return tuple(
        (-days_between(record.at, snapshot.now), reading.value)
        for record in snapshot.standing
        if isinstance(record, WaterTest) and record.at <= snapshot.now
        for reading in record.readings
        if reading.parameter == parameter
    )


def _scale(snapshot: Snapshot, parameter: str) -> _Scale:
    if parameter == FIRST:
        factor, unit, decimals = ALKALINITY_UNITS[snapshot.alkalinity_unit]
        return _Scale(factor, unit, decimals)
    described = PARAMETERS.get(parameter)
    if described is None:
        return _Scale(1.0, _unit_of_unknown(snapshot, parameter), 3)
    return _Scale(1.0, unit_label(described.unit), 2 if described.test_error < 0.2 else 1)


def _unit_of_unknown(snapshot: Snapshot, parameter: str) -> str:
    """Return the unit of a quantity that this version does not know, where all readings agree."""
    units = {
        unit_of(reading)
        for record in snapshot.standing
        if isinstance(record, WaterTest)
        for reading in record.readings
        if reading.parameter == parameter
    }
    return unit_label(units.pop()) if len(units) == 1 else ""


def _plot(
    snapshot: Snapshot,
    setup: Setup,
    parameter: str,
    shown: tuple[Point, ...],
    *,
    span_days: int,
    span: str,
) -> PlotView:
    scale = _scale(snapshot, parameter)
    band = band_of(parameter, setup)
    doubted = _doubted(snapshot) if parameter == FIRST else frozenset[float]()
    dots = [(x, y * scale.factor) for x, y in shown]
    expected = _expected(snapshot, scale) if parameter == FIRST else None
    edges = [edge * scale.factor for edge in band or ()]
    beside = [y for _, y in expected.points] if expected else []
    return PlotView(
        says=_says(scale, shown, band, span),
        y_label=f"{quantity_name(parameter)} {scale.unit}".strip(),
        x_label=TEXTS["x_label"],
        y_ticks=ticks([*(y for _, y in dots), *edges, *beside], scale.tick),
        x_ticks=_days(snapshot, span_days),
        curves=(
            Curve(
                name=TEXTS["readings"],
                points=thinned([dot for dot in dots if dot[0] not in doubted]),
                look="dots",
            ),
            Curve(
                name=TEXTS["set_aside"],
                points=tuple(dot for dot in dots if dot[0] in doubted),
                look="dots",
                role="warn",
            ),
            *((expected,) if expected else ()),
        ),
        areas=(_area(scale, parameter, band),) if band else (),
    )


def _area(scale: _Scale, parameter: str, band: tuple[float, float]) -> Area:
    low, high = band
    words = TEXTS["own_band" if parameter == FIRST else "usual_band"]
    return Area(
        name=words.format(low=scale.tick(low * scale.factor), high=scale.said(high)),
        low=low * scale.factor,
        high=high * scale.factor,
    )


def _doubted(snapshot: Snapshot) -> frozenset[float]:
    """Return the days of the tests that were set aside."""
    demand = snapshot.decision.demand if snapshot.decision else None
    suspects = demand.suspects if demand else ()
    return frozenset(-days_between(suspect.at, snapshot.now) for suspect in suspects)


def _expected(snapshot: Snapshot, scale: _Scale) -> Curve | None:
    """Return the range that the filter expects at this moment, as an upright line."""
    now = snapshot.decision.alkalinity if snapshot.decision else None
    if now is None or now.expected is None:
        return None
    low, _best, high = now.expected.floats("meq/L")
    name = TEXTS["expected"].format(low=scale.tick(low * scale.factor), high=scale.said(high))
    points = ((0.0, low * scale.factor), (0.0, high * scale.factor))
    return Curve(name=name, points=points, role="other")


def _says(
    scale: _Scale, shown: tuple[Point, ...], band: tuple[float, float] | None, span: str
) -> str:
    values = [y for _, y in shown]
    numbers = {
        "count": counted(len(values), TEXTS["reading"]),
        "span": span,
        "low": scale.tick(min(values) * scale.factor),
        "high": scale.said(max(values)),
        "last": scale.said(values[-1]),
    }
    says = TEXTS["says_one" if len(values) == 1 else "says"].format_map(numbers)
    if band is None:
        return says
    low, high = band
    within = TEXTS["says_band"].format(
        inside=sum(low <= value <= high for value in values),
        count=len(values),
        band_low=scale.tick(low * scale.factor),
        band_high=scale.said(high),
    )
    return f"{says} {within}"


def _days(snapshot: Snapshot, span_days: int) -> tuple[Tick, ...]:
    """Return few ticks: they must not run into each other at large text."""

    def named(back: float) -> str:
        day = (snapshot.now - timedelta(days=back)).astimezone(snapshot.now.tzinfo)
        return f"{day.day} {day:%b}"

    half = span_days / 2.0
    return (
        (-float(span_days), named(span_days)),
        (-half, named(half)),
        (0.0, TEXTS["today"]),
    )


def _litres(snapshot: Snapshot, span_days: int, span: str) -> PlotView | None:
    settings: list[Point] = [
        (-days_between(record.at, snapshot.now), record.limewater_L_per_day)
        for record in snapshot.standing
        if isinstance(record, DeliverySetting) and record.at <= snapshot.now
    ]
    if not settings:
        return None
    steps = _held(settings, -float(span_days))
    values = [value for _, value in steps]
    moved = min(values) != max(values)
    numbers = {
        "now_delivered_L_per_day": values[-1],
        "low_delivered_L_per_day": min(values),
        "high_delivered_L_per_day": max(values),
        "span": span,
    }
    return PlotView(
        says=told(TEXTS, "litres_moved" if moved else "litres_kept", numbers),
        y_label=TEXTS["litres_y"],
        x_label=TEXTS["x_label"],
        y_ticks=ticks([0.0, *values], lambda value: trimmed(value, 1), about=4),
        x_ticks=_days(snapshot, span_days),
        curves=(Curve(name=TEXTS["litres_line"], points=steps, look="step"),),
    )


def _held(settings: list[Point], start: float) -> tuple[Point, ...]:
    """Return the settings from `start` on, the one before held into it, the last held to now."""
    before = [value for x, value in settings if x <= start]
    inside = [(x, value) for x, value in settings if x > start]
    first = [(start, before[-1])] if before else []
    return (*first, *inside, (0.0, settings[-1][1]))
