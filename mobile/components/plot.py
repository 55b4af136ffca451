"""A plot with its sentence, its axes and a legend that needs no colour to be read."""

from typing import Final

import flet as ft
import flet_charts as charts

from mobile import theme
from mobile.components import basics
from mobile.state.plot_view import Area, Curve, PlotView, Role, Tick

HEIGHT: Final = 240
# Room for labels at 200 % text.
_LEFT: Final = 56
_BELOW: Final = 40
_COLOURS: Final[dict[Role, str]] = {
    "main": theme.ACCENT,
    "other": theme.INK,
    "quiet": theme.QUIET,
    "good": theme.GOOD,
    "warn": theme.WARN,
    "danger": theme.DANGER,
}
_DASHES: Final = [7, 5]
# Fill of a band by its depth: each step is seen beside the one before, in both themes.
_FILLS: Final = (0.10, 0.16, 0.26, 0.42)


def plot(view: PlotView, *, key: str) -> ft.Control:
    """Return the plot of a view; `key` names its chart."""
    return basics.column(
        basics.paragraph(view.says, key=f"{key}-says"),
        ft.Text(view.y_label, size=theme.SMALL, color=theme.QUIET),
        ft.Semantics(
            label=view.says,
            exclude_semantics=True,
            content=ft.Container(_chart(view, key), padding=ft.Padding.only(right=12)),
        ),
        ft.Text(view.x_label, size=theme.SMALL, color=theme.QUIET, text_align=ft.TextAlign.RIGHT),
        _legend(view),
        spacing=6,
    )


def _chart(view: PlotView, key: str) -> ft.Control:
    return charts.LineChart(
        key=key,
        height=HEIGHT,
        interactive=False,
        animation=0,
        min_x=view.x_ticks[0][0],
        max_x=view.x_ticks[-1][0],
        min_y=view.y_ticks[0][0],
        max_y=view.y_ticks[-1][0],
        border=ft.Border(left=ft.BorderSide(1, theme.LINE), bottom=ft.BorderSide(1, theme.LINE)),
        horizontal_grid_lines=charts.ChartGridLines(
            interval=view.y_ticks[1][0] - view.y_ticks[0][0],
            color=ft.Colors.with_opacity(0.3, theme.LINE),
            width=1,
        ),
        left_axis=_axis(view.y_ticks, _LEFT),
        bottom_axis=_axis(view.x_ticks, _BELOW),
        data_series=[
            *(_area(area, view) for area in view.areas),
            *(_curve(curve) for curve in view.curves if curve.points),
        ],
    )


def _axis(labelled: tuple[Tick, ...], room: float) -> charts.ChartAxis:
    return charts.ChartAxis(
        label_size=room,
        label_spacing=labelled[1][0] - labelled[0][0],
        labels=[
            charts.ChartAxisLabel(
                value=value,
                label=ft.Text(words, size=13, color=theme.QUIET, no_wrap=True),
            )
            for value, words in labelled
        ],
    )


def _area(area: Area, view: PlotView) -> charts.LineChartData:
    low, high = max(area.low, view.y_ticks[0][0]), min(area.high, view.y_ticks[-1][0])
    colour = _COLOURS[area.role]
    return charts.LineChartData(
        points=[
            charts.LineChartDataPoint(view.x_ticks[0][0], high),
            charts.LineChartDataPoint(view.x_ticks[-1][0], high),
        ],
        color=ft.Colors.with_opacity(0.9, colour),
        stroke_width=1,
        point=False,
        below_line_bgcolor=_fill(area),
        below_line_cutoff_y=low,
    )


def _fill(area: Area) -> str:
    return ft.Colors.with_opacity(_FILLS[area.depth - 1], _COLOURS[area.role])


def _curve(curve: Curve) -> charts.LineChartData:
    colour = _COLOURS[curve.role]
    dots = curve.look == "dots"
    return charts.LineChartData(
        points=[charts.LineChartDataPoint(x, y) for x, y in curve.points],
        color=ft.Colors.TRANSPARENT if dots else colour,
        stroke_width=2.5,
        dash_pattern=_DASHES if curve.look == "dashed" else None,
        step_direction=0.0 if curve.look == "step" else None,
        point=charts.ChartCirclePoint(color=colour, radius=4) if dots else False,
    )


def _legend(view: PlotView) -> ft.Control:
    named: list[tuple[ft.Control, str]] = [
        *((_sample(curve), curve.name) for curve in view.curves if curve.points and curve.name),
        *((_patch(area), area.name) for area in view.areas if area.name),
    ]
    return ft.Row(
        [
            ft.Row(
                [sample, ft.Text(name, size=theme.SMALL, color=theme.INK)], spacing=8, tight=True
            )
            for sample, name in named
        ],
        wrap=True,
        spacing=18,
        run_spacing=4,
    )


def _sample(curve: Curve) -> ft.Control:
    colour = _COLOURS[curve.role]
    if curve.look == "dots":
        return ft.Container(width=9, height=9, border_radius=5, bgcolor=colour)
    pieces = 3 if curve.look == "dashed" else 1
    return ft.Row(
        [ft.Container(width=24 / pieces - 2, height=3, bgcolor=colour) for _ in range(pieces)],
        spacing=3,
        tight=True,
    )


def _patch(area: Area) -> ft.Control:
    colour = _COLOURS[area.role]
    return ft.Container(
        width=20,
        height=14,
        bgcolor=_fill(area),
        border=ft.Border(top=ft.BorderSide(1, colour)),
    )
