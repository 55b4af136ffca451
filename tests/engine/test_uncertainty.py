"""Intervals: against closed forms, with common causes, and without chance."""

from math import exp, sqrt

import pytest

from engine.chemistry.uncertainty import (
    Uncertain,
    from_half_width,
    propagate,
    propagate_first_order,
    relative,
)
from engine.errors import InvalidQuantity, OutsideValidity, check_between

Z90 = 1.6448536269514722


def linear(a, b):
    return 2.0 * a - b


def test_a_linear_function_of_normal_inputs_has_the_textbook_interval():
    inputs = {"a": Uncertain(value=10.0, sd=1.0), "b": Uncertain(value=3.0, sd=2.0)}
    sd = sqrt(4.0 + 4.0)
    first = propagate_first_order(linear, inputs)
    assert (first.value, first.sd) == pytest.approx((17.0, sd))
    assert (first.low, first.high) == pytest.approx((17.0 - Z90 * sd, 17.0 + Z90 * sd))
    sampled = propagate(linear, inputs, points=1024)
    assert sampled.sd == pytest.approx(sd, rel=0.02)
    assert (sampled.low, sampled.high) == pytest.approx((first.low, first.high), abs=0.08 * sd)


@pytest.mark.parametrize("rho", [-0.9, 0.0, 0.5, 1.0])
def test_correlation_enters_as_it_must(rho):
    inputs = {"a": Uncertain(value=0.0, sd=1.0), "b": Uncertain(value=0.0, sd=1.0)}
    sd = sqrt(4.0 + 1.0 - 4.0 * rho)
    for estimate in (
        propagate_first_order(linear, inputs, correlations={("a", "b"): rho}),
        propagate(linear, inputs, correlations={("a", "b"): rho}, points=1024),
    ):
        assert estimate.sd == pytest.approx(sd, rel=0.03)


def test_volume_that_enters_demand_and_dose_cancels_only_when_it_is_one_input():
    def litres(volume_L, dKH_per_day, strength):
        return volume_L * dKH_per_day / 2.80387 / strength

    def rise(volume_L, dKH_per_day, strength):
        return litres(volume_L, dKH_per_day, strength) * strength / volume_L * 2.80387

    inputs = {
        "volume_L": relative(450.0, 0.06),
        "dKH_per_day": Uncertain(value=1.3, sd=0.05),
        "strength": relative(40.6, 0.03),
    }
    assert propagate(rise, inputs).sd == pytest.approx(0.05, rel=0.05)
    assert propagate(litres, inputs).sd / litres(450.0, 1.3, 40.6) == pytest.approx(
        sqrt(0.06**2 + (0.05 / 1.3) ** 2 + 0.03**2), rel=0.05
    )


def exp_of(x):
    return exp(x)


def test_curved_function_keeps_its_skew():
    estimate = propagate(exp_of, {"x": Uncertain(value=0.0, sd=0.5)}, points=2048)
    assert (estimate.low, estimate.high) == pytest.approx(
        (exp(-0.5 * Z90), exp(0.5 * Z90)), rel=0.01
    )


def test_bounds_cut_a_distribution():
    estimate = propagate(lambda x: x, {"x": Uncertain(value=0.1, sd=0.2, low=0.0)})
    assert estimate.low == 0.0
    assert estimate.high > 0.4


def test_the_same_question_has_the_same_answer():
    inputs = {"a": Uncertain(value=10.0, sd=1.0), "b": Uncertain(value=3.0, sd=2.0)}
    assert propagate(linear, inputs) == propagate(linear, inputs)


def test_plus_or_minus_is_a_share_of_probability_within():
    entry = from_half_width(100.0, 10.0)
    estimate = propagate_first_order(lambda x: x, {"x": entry})
    assert (estimate.low, estimate.high) == pytest.approx((90.0, 110.0))


def refuses_above(limit):
    def function(x):
        check_between("test", "x", x, -100.0, limit)
        return x

    return function


def test_a_few_refused_points_are_told_and_many_are_an_error():
    entry = {"x": Uncertain(value=0.0, sd=1.0)}
    few = propagate(refuses_above(2.3), entry)
    assert 0.0 < few.refused_share < 0.03
    with pytest.raises(OutsideValidity):
        propagate(refuses_above(1.0), entry)
    with pytest.raises(OutsideValidity):
        propagate(refuses_above(-1.0), entry)


def test_an_exact_input_adds_nothing():
    inputs = {"a": Uncertain(value=1.0, sd=0.0), "b": Uncertain(value=2.0, sd=0.0)}
    for estimate in (propagate(linear, inputs), propagate_first_order(linear, inputs)):
        assert (estimate.low, estimate.value, estimate.high) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: Uncertain(value=1.0, sd=-1.0),
        lambda: Uncertain(value=float("nan"), sd=1.0),
        lambda: Uncertain(value=1.0, sd=float("inf")),
        lambda: Uncertain(value=-1.0, sd=1.0, low=0.0),
        lambda: propagate(linear, {"a": Uncertain(value=1.0, sd=1.0)}, share=1.0),
        lambda: propagate(
            linear,
            {n: Uncertain(value=1.0, sd=1.0) for n in "ab"},
            correlations={("a", "c"): 0.5},
        ),
        lambda: propagate(
            lambda a, b, c: a + b + c,
            {n: Uncertain(value=1.0, sd=1.0) for n in "abc"},
            correlations={("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9},
        ),
    ],
)
def test_what_makes_no_sense_is_invalid(call):
    with pytest.raises(InvalidQuantity):
        call()
