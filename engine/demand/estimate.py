"""What the animals take up a day: from alkalinity tests, or as the keeper entered it.

The filter of engine/demand/fit.py finds it from the tests with every recorded input taken out;
here the errors of strength, pump and volume join the tests' own.
"""

from typing import Final

from engine.demand.alkalinity_tests import (
    ALKALINITY,
    TEST_ERROR_MEQ_PER_L,
    Series,
    usable_tests,
)
from engine.demand.answer import Balance, Demand, NoDemand, SuspectTest, Trend
from engine.demand.calcium import calcium_ratio_mg_per_meq
from engine.demand.doubts import Suspect
from engine.demand.entered_demand import HELD_SHARE, entered_demand_meq_per_L_per_day
from engine.demand.facts import Facts
from engine.demand.fit import DemandFit, fit_demand
from engine.demand.inputs import Inputs
from engine.demand.reasons import doubt_reasons, ratio_reason, reasons_from_tests
from engine.reasons import Code, Reason, reason
from engine.records import Setup
from engine.units import Span, estimate, quantity
from engine.vocabulary import MEQ_PER_DKH, Z90

# No plan when the 90 % half-width is more than this share of the demand (design section 3).
WIDEST_SHARE: Final = 0.5
# Below this a tank needs water changes, not lime (common practice, no source).
NEW_TANK_MEQ_PER_L_PER_DAY: Final = 0.3 * MEQ_PER_DKH
# How well a keeper knows a demand that he enters (common practice, no source).
ENTERED_ERROR_SHARE: Final = 0.2
# An entry that is what is given holds the tank steady: the drift is no more than this (common
# practice, no source).
HELD_DRIFT_MEQ_PER_L_PER_DAY: Final = 0.2 * MEQ_PER_DKH
_SHORT_SPAN_DAYS: Final = 4.0


def estimate_demand(facts: Facts, setup: Setup, inputs: Inputs) -> Demand | NoDemand:
    """Return the demand, or why there is none.

    Parameters
    ----------
    facts, setup, inputs
        The system and everything that went into it.

    Notes
    -----
    Tests before the first recorded setting are not used: what went in then is not known. Age is
    judged by the caller: here the newest test may be old.
    """
    measured = _from_tests(facts, setup, inputs)
    if isinstance(measured, Demand) or setup.entered_demand_meq_per_L_per_day is None:
        return measured
    return _entered(facts, setup, inputs, measured)


def _from_tests(facts: Facts, setup: Setup, inputs: Inputs) -> Demand | NoDemand:
    if inputs.known_from is None:
        return NoDemand(reasons=(_unrecorded(inputs),))
    samples = usable_tests(facts, inputs)
    if len({sample.at for sample in samples}) < 2:  # noqa: PLR2004
        return NoDemand(reasons=(reason(Code.TESTS_TOO_FEW, test_count=float(len(samples))),))
    fit = fit_demand(samples, setup, inputs)
    found = fit.found
    per_litre = per_litre_span(fit, setup, inputs)
    suspects = tuple(_suspect(suspect) for suspect in fit.suspects)
    ratio = _calcium_ratio(facts, setup, inputs, fit)
    objection = _objection(found, per_litre)
    if objection is not None:
        doubts = doubt_reasons(facts, fit)
        return NoDemand(reasons=(objection, *doubts), per_litre=per_litre, suspects=suspects)
    return Demand(
        per_litre=estimate(per_litre, "meq/L/day"),
        per_day=estimate(_per_day(fit, setup, inputs), "meq/day"),
        source="tests",
        test_count=len(samples),
        span=quantity(found.span_days, "day"),
        age=quantity(facts.age_days(samples[-1].at), "day"),
        balance=_balance(facts, fit, setup, inputs),
        level=_around(fit.level, fit.level_error),
        level_at=found.points[-1].sample.at,
        reasons=(
            *reasons_from_tests(facts, fit, inputs, per_litre),
            *(() if ratio is None else (ratio_reason(ratio),)),
        ),
        trend=_trend(fit),
        suspects=suspects,
        calcium_ratio=None if ratio is None else estimate(ratio, "mg/meq"),
        test_error=quantity(fit.test_error, "meq/L"),
        innovations=fit.innovations,
        stepped_at=None if fit.step is None else found.points[fit.step.number - 1].sample.at,
        stepped_up=fit.step is not None and fit.step.up,
    )


def _suspect(suspect: Suspect) -> SuspectTest:
    return SuspectTest(
        at=suspect.sample.at,
        value=quantity(suspect.sample.value, "meq/L"),
        expected=estimate(suspect.expected, "meq/L"),
        first_of_source=suspect.first_of_source,
    )


def _trend(fit: DemandFit) -> Trend | None:
    if fit.trend is None:
        return None
    change = estimate(_around(fit.trend, fit.trend_error), "meq/L/day")
    return Trend(change=change, over=quantity(fit.trend_days, "day"))


def _calcium_ratio(facts: Facts, setup: Setup, inputs: Inputs, fit: DemandFit) -> Span | None:
    return calcium_ratio_mg_per_meq(facts, setup, inputs, demand_meq_per_L_per_day=fit.demand)


def _unrecorded(inputs: Inputs) -> Reason:
    if inputs.settings.known_from is None:
        return reason(Code.DELIVERY_UNRECORDED)
    return reason(Code.SECOND_SOURCE_UNRECORDED)


def _around(best: float, error: float) -> Span:
    return Span(best - error, best, best + error)


def _root(*errors: float) -> float:
    return sum(error**2 for error in errors) ** 0.5


def per_litre_span(fit: DemandFit, setup: Setup, inputs: Inputs) -> Span:
    """Return the demand, meq/L/day, the errors of volume and limewater included."""
    error = _root(
        fit.demand_error,
        fit.mean_inputs * setup.net_volume_error_share,
        fit.mean_lime * inputs.lime_error_share,
    )
    return _around(fit.demand, error)


def _per_day(fit: DemandFit, setup: Setup, inputs: Inputs) -> Span:
    volume = setup.net_volume_L
    # What the inputs held steady does not depend on the volume; only the drift of alkalinity does.
    error = _root(
        fit.demand_error,
        (fit.mean_inputs - fit.demand) * setup.net_volume_error_share,
        fit.mean_lime * inputs.lime_error_share,
    )
    return _around(fit.demand * volume, error * volume)


def _balance(facts: Facts, fit: DemandFit, setup: Setup, inputs: Inputs) -> Balance:
    lime_L, second = inputs.lime_L_per_day(facts.now), inputs.second_meq_per_day(facts.now)
    other = second + inputs.top_off_meq_per_day
    given = (inputs.lime_meq_per_day(facts.now) + other) / setup.net_volume_L
    moved = given - fit.mean_inputs
    error_share = _root(inputs.lime_error_share, setup.net_volume_error_share)
    return Balance(
        lime_L_per_day=lime_L,
        second_meq_per_day=second,
        net_change_meq_per_L_per_day=_around(
            given - fit.demand, _root(fit.demand_error, moved * error_share)
        ),
    )


def _objection(found: Series, per_litre: Span) -> Reason | None:
    low, best, high = per_litre
    numbers = {
        "demand_low_meq_per_L_per_day": max(0.0, low),
        "demand_high_meq_per_L_per_day": max(0.0, high),
        "test_count": float(len(found.points)),
        "span_days": found.span_days,
    }
    if best <= 0.0 and high <= NEW_TANK_MEQ_PER_L_PER_DAY:
        return reason(Code.DEMAND_NOT_POSITIVE, **numbers)
    if high - best <= WIDEST_SHARE * best:
        return None
    if found.span_days < _SHORT_SPAN_DAYS:
        return reason(Code.TESTS_TOO_CLOSE, **numbers)
    return reason(Code.DEMAND_UNCERTAIN, **numbers)


def _entered(facts: Facts, setup: Setup, inputs: Inputs, measured: NoDemand) -> Demand | NoDemand:
    best = entered_demand_meq_per_L_per_day(facts, setup, inputs) or 0.0
    tests = measured.per_litre
    if best <= 0.0:
        return measured
    if tests is not None and not tests.low <= best <= tests.high:
        against = reason(
            Code.ENTERED_CONTRADICTED,
            entered_meq_per_L_per_day=best,
            demand_low_meq_per_L_per_day=tests.low,
            demand_high_meq_per_L_per_day=tests.high,
        )
        return NoDemand(reasons=(*measured.reasons, against), per_litre=tests)
    last = facts.last_sample(ALKALINITY)
    if last is None:
        return measured
    per_litre = _around(best, best * ENTERED_ERROR_SHARE)
    error = best * _root(ENTERED_ERROR_SHARE, setup.net_volume_error_share)
    return Demand(
        per_litre=estimate(per_litre, "meq/L/day"),
        per_day=estimate(_around(best, error).scaled(setup.net_volume_L), "meq/day"),
        source="entered",
        test_count=len(usable_tests(facts, inputs)),
        span=quantity(0.0, "day"),
        age=quantity(facts.age_days(last.at), "day"),
        balance=_entered_balance(facts, setup, inputs, per_litre),
        level=_around(last.value, Z90 * _test_error(setup)),
        level_at=last.at,
        reasons=(*measured.reasons, reason(Code.DEMAND_ENTERED, demand_meq_per_L_per_day=best)),
        suspects=measured.suspects,
    )


def _test_error(setup: Setup) -> float:
    return setup.alkalinity_test_error_meq_per_L or TEST_ERROR_MEQ_PER_L


def _entered_balance(facts: Facts, setup: Setup, inputs: Inputs, per_litre: Span) -> Balance:
    """Return where the limits start from when nothing was measured.

    A keeper whose entry is what he gives says that it holds the tank steady: then from there.
    Otherwise every drop counts against the low end of the demand.
    """
    low, best, high = per_litre
    lime_L, second = inputs.lime_L_per_day(facts.now), inputs.second_meq_per_day(facts.now)
    given = (inputs.lime_meq_per_day(facts.now) + second) / setup.net_volume_L
    if abs(given - best) <= HELD_SHARE * best:
        return Balance(
            lime_L_per_day=lime_L,
            second_meq_per_day=second,
            net_change_meq_per_L_per_day=_around(given - best, HELD_DRIFT_MEQ_PER_L_PER_DAY),
        )
    return Balance(
        lime_L_per_day=0.0,
        second_meq_per_day=0.0,
        net_change_meq_per_L_per_day=Span(-high, -best, -low),
    )
