"""The plots of the hazards: the course of the fault that takes time, and with it mended."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from engine.demand.facts import gather
from engine.hazards.bands import BAND_LIMITS, Band
from engine.hazards.case import HazardCase
from engine.hazards.course import Lime, closed_course, open_course
from engine.hazards.hazard import Hazards, assess
from engine.hazards.point import HazardPoint
from engine.hazards.safe_setup import SafeSetup
from mobile.state.dangers import Dangers
from mobile.state.hazard import words
from mobile.state.hazard_what_if import with_tried
from mobile.state.plot_view import Area, Curve, PlotView, Point, Role, ticks
from mobile.state.sentences import ALKALINITY_UNITS, sentence, trimmed
from mobile.state.snapshot import Snapshot
from mobile.texts.hazard import BANDS, KINDS
from mobile.texts.hazard_page import TEXTS

POINTS: Final = 41
_TOP_PH: Final = 9.75  # past 9.5 there is only a band
_ROLES: Final[dict[Band, Role]] = {
    Band.STOP_LIME: "quiet",
    Band.ACT_NOW: "warn",
    Band.EMERGENCY: "danger",
    Band.EXPECT_LOSSES: "danger",
}


def plots(snapshot: Snapshot, dangers: Dangers) -> tuple[PlotView, ...]:
    """Return pH and alkalinity of the worst fault that takes time, and pH with it mended.

    None where every fault is over at once, or nothing is known.
    """
    case = running_case(dangers.hazards)
    start = dangers.hazards.start
    if case is None or start is None:
        return ()
    course = closed_course(case.middle, points=POINTS)
    bad = closed_course(worst_lime(case), points=POINTS)
    last_h = case.middle.ends_h
    in_air = open_course(
        case.middle, air_pCO2_uatm=start.room_pCO2_uatm, hours=last_h, step_h=last_h / POINTS
    )
    found = [
        _pH_plot(case, course, bad, in_air),
        _alkalinity_plot(course, bad, snapshot.alkalinity_unit),
        _after_plot(snapshot, case, dangers.safe, bad),
    ]
    return tuple(view for view in found if view is not None)


def running_case(hazards: Hazards) -> HazardCase | None:
    """Return the worst warned accident that takes time."""
    taking = (c for c in hazards.warnable if c.middle.rate_L_per_h and c.middle.litres > 0.0)
    return next(taking, None)


def worst_lime(case: HazardCase) -> Lime:
    """Return the end of a case that ends highest."""
    return max(case.bad, key=lambda lime: lime.pH_nbs_at(lime.horizon_h))


def _pH_plot(
    case: HazardCase,
    course: Sequence[HazardPoint],
    bad: Sequence[HazardPoint],
    in_air: Sequence[HazardPoint],
) -> PlotView | None:
    closed = _pH(course)
    if len(closed) < 2:
        return None
    end_h, end_pH = closed[-1]
    open_pH = _pH(in_air)
    known = {"kind": KINDS[case.kind], "start_pH": closed[0][1], "end_hours": end_h}
    says = sentence(TEXTS, "plot_pH_says_past", known)
    if len(closed) == len(course) and in_air and len(open_pH) == len(in_air):
        known = {**known, "end_pH": end_pH, "open_pH": open_pH[-1][1]}
        says = sentence(TEXTS, "plot_pH_says", known)
    return _drawn(
        says,
        (
            Curve(name=TEXTS["plot_closed"], points=closed),
            Curve(name=TEXTS["plot_worst"], points=_pH(bad), look="dashed", role="danger"),
            Curve(name=TEXTS["plot_open"], points=open_pH, look="dashed", role="good"),
        ),
    )


def _drawn(says: str, curves: tuple[Curve, ...]) -> PlotView:
    """Return a plot of pH against hours, with the bands that it comes near."""
    heights = [y for curve in curves for _, y in curve.points]
    top = min(_TOP_PH, max(*heights, BAND_LIMITS[1].pH_nbs))
    y_ticks = ticks([min(heights), top], lambda value: f"{value:.1f}")
    limits = [*(each.pH_nbs for each in BAND_LIMITS[1:]), 14.0]
    areas = tuple(
        Area(
            name=words("plot_band", band=BANDS[each.band], band_pH=each.pH_nbs),
            low=each.pH_nbs,
            high=upper,
            role=_ROLES[each.band],
            depth=depth,
        )
        for depth, (each, upper) in enumerate(zip(BAND_LIMITS, limits, strict=True), start=1)
        if each.pH_nbs < y_ticks[-1][0]
    )
    return PlotView(
        says=says,
        y_label=TEXTS["plot_pH"],
        x_label=TEXTS["plot_hours"],
        y_ticks=y_ticks,
        x_ticks=_hours([x for curve in curves for x, _ in curve.points]),
        curves=curves,
        areas=areas,
    )


def _pH(points: Sequence[HazardPoint]) -> tuple[Point, ...]:
    return tuple((p.hours, p.pH_nbs) for p in points if p.pH_nbs is not None)


def _hours(values: Sequence[float]) -> tuple[tuple[float, str], ...]:
    return ticks([0.0, *values], lambda value: trimmed(value, 2))


def _alkalinity_plot(
    course: Sequence[HazardPoint], bad: Sequence[HazardPoint], unit: str
) -> PlotView | None:
    factor, name, _ = ALKALINITY_UNITS[unit]

    def curve(points: Sequence[HazardPoint]) -> tuple[Point, ...]:
        return tuple(
            (p.hours, p.total_alkalinity_meq_per_L * factor)
            for p in points
            if p.total_alkalinity_meq_per_L is not None
        )

    middle, worst = curve(course), curve(bad)
    if len(middle) < 2:
        return None
    says = words(
        "plot_alkalinity_says",
        unit,
        start_meq_per_L=middle[0][1] / factor,
        end_meq_per_L=middle[-1][1] / factor,
        end_hours=middle[-1][0],
    )
    return PlotView(
        says=says,
        y_label=words("plot_alkalinity", unit=name),
        x_label=TEXTS["plot_hours"],
        y_ticks=ticks([y for _, y in (*middle, *worst)], lambda value: trimmed(value, 2)),
        x_ticks=_hours([x for x, _ in (*middle, *worst)]),
        curves=(
            Curve(name=TEXTS["plot_closed"], points=middle),
            Curve(name=TEXTS["plot_worst"], points=worst, look="dashed", role="danger"),
        ),
    )


def _after_plot(
    snapshot: Snapshot, case: HazardCase, safe: SafeSetup, bad: Sequence[HazardPoint]
) -> PlotView | None:
    """Return the bad end as it is and with the recommended container."""
    setup = snapshot.setup
    part_L = safe.with_break_L or safe.container_L
    if setup is None or not part_L or not safe.reaches_band:
        return None
    facts = gather(snapshot.records, system=snapshot.system, now=snapshot.now)
    changed = with_tried(setup, {"container": part_L})
    if safe.with_break_L:
        changed = replace(changed, siphon_break=True)
    mended = assess(replace(facts, setup=changed))
    after = next((c for c in mended.cases if c.kind is case.kind), None)
    if after is None:
        return None
    course = _held(closed_course(worst_lime(after), points=POINTS), bad[-1].hours)
    if len(course) < 2:
        return None
    key = "change_break" if safe.with_break_L else "change_container"
    change = words(key, part_L=part_L)
    return _drawn(
        words("plot_after_says", change=change, after_pH=max(y for _, y in course)),
        (
            Curve(name=TEXTS["plot_before"], points=_pH(bad), look="dashed", role="danger"),
            Curve(name=TEXTS["plot_after"], points=course),
        ),
    )


def _held(points: Sequence[HazardPoint], until_h: float) -> tuple[Point, ...]:
    """Return the course, level from its end on: closed to the air nothing changes any more."""
    found = _pH(points)
    if found and found[-1][0] < until_h:
        found = (*found, (until_h, found[-1][1]))
    return found
