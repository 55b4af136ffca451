"""Plots: round ticks that enclose what is shown, no peak lost, words for what is drawn."""

import itertools
import math

import flet_charts as charts
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mobile.components.plot import plot
from mobile.state.plot_view import Area, Curve, PlotView, thinned, ticks
from tests.support.app import texts_below
from tests.support.screen import walk

VALUES = st.lists(st.floats(-1e4, 1e4), min_size=1, max_size=30)


@given(VALUES)
def test_ticks_enclose_every_value_at_even_steps(values):
    found = [value for value, _ in ticks(values, str)]
    assert found[0] <= min(values) + 1e-6
    assert found[-1] >= max(values) - 1e-6
    steps = {round(b - a, 9) for a, b in itertools.pairwise(found)}
    assert len(found) >= 2
    assert max(steps) - min(steps) <= 1e-6 * max(steps)


@pytest.mark.parametrize("values", [[], [math.nan], [math.inf, -math.inf]])
def test_ticks_of_nothing_still_make_an_axis(values):
    assert [value for value, _ in ticks(values, str)] == [0.0, 0.25, 0.5, 0.75, 1.0]


def test_ticks_are_round_numbers():
    said = [words for _, words in ticks([7.62, 9.11], lambda value: f"{value:.1f}")]
    assert said == ["7.5", "8.0", "8.5", "9.0", "9.5"]


@given(st.lists(st.floats(-10, 10), min_size=300, max_size=900))
def test_thinning_keeps_both_ends_and_every_extreme(heights):
    points = tuple(enumerate(map(float, heights)))
    kept = thinned(points, most=100)
    assert len(kept) <= 110
    assert (kept[0], kept[-1]) == (points[0], points[-1])
    assert max(y for _, y in kept) == max(heights)
    assert min(y for _, y in kept) == min(heights)
    assert list(kept) == sorted(kept, key=lambda point: point[0])


def test_a_plot_says_in_words_what_it_draws():
    view = PlotView(
        says="Alkalinity stayed between 8.0 and 8.4 dKH.",
        y_label="Alkalinity, dKH",
        x_label="Days ago",
        y_ticks=ticks([8.0, 8.4], str),
        x_ticks=ticks([-7.0, 0.0], str),
        curves=(
            Curve(name="Tests", points=((-7.0, 8.1), (0.0, 8.3)), look="dots"),
            Curve(name="Expected", points=((-7.0, 8.0), (0.0, 8.4)), look="dashed"),
            Curve(name="Nothing yet", points=()),
        ),
        areas=(Area(name="Target band", low=7.5, high=8.2),),
    )
    drawn = plot(view, key="levels")
    words = texts_below(drawn)
    assert view.says in words
    assert {"Tests", "Expected", "Target band"} <= set(words)
    assert "Nothing yet" not in words
    (chart,) = [found for found in walk(drawn) if isinstance(found, charts.LineChart)]
    band, dots, dashed = chart.data_series
    assert (band.below_line_cutoff_y, band.points[0].y) == (chart.min_y, 8.2)
    assert dots.point
    assert dashed.dash_pattern
