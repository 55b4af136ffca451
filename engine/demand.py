"""What the animals take up a day: from alkalinity tests, or as the keeper entered it.

A weighted straight line through the tests after every recorded input is taken out. Its slope is
the demand. The error is the larger of what the tests are known to scatter and what they did
scatter.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from engine.alkalinity_fit import ALKALINITY, TEST_ERROR_MEQ_PER_L, Z90, Fit, fit_line
from engine.facts import Facts, Sample
from engine.inputs import Inputs
from engine.reasons import Code, Reason, reason
from engine.records import Setup
from engine.units import Estimate, Quantity, Span, estimate, quantity
from engine.vocabulary import MEQ_PER_DKH

WINDOW_DAYS: Final = 28.0
# No plan when the 90 % half-width is more than this share of the demand (design section 3).
WIDEST_SHARE: Final = 0.5
# Below this a tank needs water changes, not lime (common practice, no source).
NEW_TANK_MEQ_PER_L_PER_DAY: Final = 0.3 * MEQ_PER_DKH
# How well a keeper knows a demand that he enters (common practice, no source).
ENTERED_ERROR_SHARE: Final = 0.2
# "What I dose now holds steady": the entry is what is given, and the drift no more than this
# (common practice, no source).
HELD_SHARE: Final = 0.05
HELD_DRIFT_MEQ_PER_L_PER_DAY: Final = 0.2 * MEQ_PER_DKH
_SHORT_SPAN_DAYS: Final = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """Where alkalinity goes with the inputs as they are now: what the limits start from.

    Errors of strength and volume that the tests have already felt are not counted a second time:
    `net_change` is the measured slope, moved by what was changed since.
    """

    lime_L_per_day: float
    second_meq_per_day: float
    net_change_meq_per_L_per_day: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """Consumption with its 90 % interval."""

    per_litre: Estimate  # meq/L/day
    per_day: Estimate  # meq/day, the net volume's interval included
    source: str  # "tests" or "entered"
    test_count: int
    span: Quantity  # days from first to last test used; 0 for an entered demand
    age: Quantity  # days since the newest alkalinity test
    balance: Balance
    level: Span  # meq/L at the newest test, smoothed
    reasons: tuple[Reason, ...]

    @property
    def per_litre_meq(self) -> Span:
        """Consumption in meq/L/day as floats."""
        return self.per_litre.floats("meq/L/day")

    @property
    def per_day_meq(self) -> Span:
        """Consumption in meq/day as floats."""
        return self.per_day.floats("meq/day")


@dataclass(frozen=True, slots=True, kw_only=True)
class NoDemand:
    """No number, and why; `per_litre` when the tests gave one that is too wide to use."""

    reasons: tuple[Reason, ...]
    per_litre: Span | None = None


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


def usable_tests(facts: Facts, inputs: Inputs) -> tuple[Sample, ...]:
    """Return the alkalinity tests of the window since which every input is on record."""
    known_from = inputs.known_from
    samples = facts.samples(ALKALINITY)
    if known_from is None or not samples:
        return ()
    since = max(known_from, samples[-1].at - timedelta(days=WINDOW_DAYS))
    return tuple(sample for sample in samples if sample.at >= since)


def _from_tests(facts: Facts, setup: Setup, inputs: Inputs) -> Demand | NoDemand:
    if inputs.known_from is None:
        return NoDemand(reasons=(_unrecorded(inputs),))
    samples = usable_tests(facts, inputs)
    if len({sample.at for sample in samples}) < 2:  # noqa: PLR2004
        return NoDemand(reasons=(reason(Code.TESTS_TOO_FEW, test_count=float(len(samples))),))
    fit = fit_line(samples, setup, inputs)
    per_litre = _per_litre(fit, setup, inputs)
    objection = _objection(fit, per_litre)
    if objection is not None:
        return NoDemand(reasons=(objection,), per_litre=per_litre)
    per_day = _per_day(fit, setup, inputs)
    extra = _water_change_reasons(inputs, samples)
    return Demand(
        per_litre=estimate(per_litre, "meq/L/day"),
        per_day=estimate(per_day, "meq/day"),
        source="tests",
        test_count=fit.count,
        span=quantity(fit.span_days, "day"),
        age=quantity(facts.age_days(samples[-1].at), "day"),
        balance=_balance(facts, fit, setup, inputs),
        level=_around(fit.level, fit.level_error),
        reasons=(_tests_reason(fit, per_litre), *extra),
    )


def _unrecorded(inputs: Inputs) -> Reason:
    if inputs.settings.known_from is None:
        return reason(Code.DELIVERY_UNRECORDED)
    return reason(Code.SECOND_SOURCE_UNRECORDED)


def _water_change_reasons(inputs: Inputs, samples: Sequence[Sample]) -> tuple[Reason, ...]:
    unknown = [
        change
        for change in inputs.water_changes(samples[0].at, samples[-1].at)
        if change.new_total_alkalinity_meq_per_L is None
    ]
    if not unknown:
        return ()
    return (reason(Code.WATER_CHANGE_UNKNOWN, change_count=float(len(unknown))),)


def _around(best: float, error: float) -> Span:
    return Span(best - error, best, best + error)


def _root(*errors: float) -> float:
    return sum(error**2 for error in errors) ** 0.5


def _per_litre(fit: Fit, setup: Setup, inputs: Inputs) -> Span:
    volume = setup.net_volume_L
    error = _root(
        fit.slope_error,
        fit.mean_input_meq_per_day / volume * setup.net_volume_error_share,
        fit.mean_lime_meq_per_day / volume * inputs.lime_error_share,
    )
    return _around(-fit.slope, error)


def _per_day(fit: Fit, setup: Setup, inputs: Inputs) -> Span:
    volume = setup.net_volume_L
    best = -fit.slope * volume
    # What the inputs held steady does not depend on the volume; only the drift of alkalinity does.
    drift_meq_per_day = fit.mean_input_meq_per_day - best
    error = _root(
        fit.slope_error * volume,
        drift_meq_per_day * setup.net_volume_error_share,
        fit.mean_lime_meq_per_day * inputs.lime_error_share,
    )
    return _around(best, error)


def _balance(facts: Facts, fit: Fit, setup: Setup, inputs: Inputs) -> Balance:
    lime_L, second = inputs.lime_L_per_day(facts.now), inputs.second_meq_per_day(facts.now)
    now_meq = lime_L * inputs.strength.at(facts.now) * inputs.saturated_meq_per_L + second
    moved = (now_meq - fit.mean_input_meq_per_day) / setup.net_volume_L
    error_share = _root(inputs.lime_error_share, setup.net_volume_error_share)
    return Balance(
        lime_L_per_day=lime_L,
        second_meq_per_day=second,
        net_change_meq_per_L_per_day=_around(
            now_meq / setup.net_volume_L + fit.slope, _root(fit.slope_error, moved * error_share)
        ),
    )


def _objection(fit: Fit, per_litre: Span) -> Reason | None:
    low, best, high = per_litre
    numbers = {
        "demand_low_meq_per_L_per_day": max(0.0, low),
        "demand_high_meq_per_L_per_day": max(0.0, high),
        "test_count": float(fit.count),
        "span_days": fit.span_days,
    }
    if best <= 0.0 and high <= NEW_TANK_MEQ_PER_L_PER_DAY:
        return reason(Code.DEMAND_NOT_POSITIVE, **numbers)
    if high - best <= WIDEST_SHARE * best:
        return None
    if fit.span_days < _SHORT_SPAN_DAYS:
        return reason(Code.TESTS_TOO_CLOSE, **numbers)
    return reason(Code.DEMAND_UNCERTAIN, **numbers)


def _tests_reason(fit: Fit, per_litre: Span) -> Reason:
    return reason(
        Code.DEMAND_FROM_TESTS,
        demand_meq_per_L_per_day=per_litre.best,
        demand_low_meq_per_L_per_day=per_litre.low,
        demand_high_meq_per_L_per_day=per_litre.high,
        test_count=float(fit.count),
        span_days=fit.span_days,
    )


def _entered(facts: Facts, setup: Setup, inputs: Inputs, measured: NoDemand) -> Demand | NoDemand:
    best = setup.entered_demand_meq_per_L_per_day or 0.0
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
        level=_around(last.value, TEST_ERROR_MEQ_PER_L * Z90),
        reasons=(*measured.reasons, reason(Code.DEMAND_ENTERED, demand_meq_per_L_per_day=best)),
    )


def _entered_balance(facts: Facts, setup: Setup, inputs: Inputs, per_litre: Span) -> Balance:
    """Return where the limits start from when nothing was measured.

    A keeper whose entry is what he gives says that it holds the tank steady: then from there.
    Otherwise every drop counts against the low end of the demand.
    """
    low, best, high = per_litre
    lime_L, second = inputs.lime_L_per_day(facts.now), inputs.second_meq_per_day(facts.now)
    lime_meq = lime_L * inputs.strength.at(facts.now) * inputs.saturated_meq_per_L
    given = (lime_meq + second) / setup.net_volume_L
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
