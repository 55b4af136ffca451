"""What is said about a measured demand: its tests, doubts about single ones, steps and trends."""

from typing import Final

from engine.demand.alkalinity_tests import Series
from engine.demand.calcium import (
    BALANCED_MG_PER_L_PER_DKH,
    RATIO_FITS_SHARE,
)
from engine.demand.doubts import Suspect
from engine.demand.facts import Facts
from engine.demand.fit import DemandFit
from engine.demand.inputs import Inputs
from engine.reasons import Code, Reason, reason
from engine.units import Span
from engine.vocabulary import MEQ_PER_DKH

# A step this old is part of the log by now.
STEP_FRESH_DAYS: Final = 21.0
# A trend is worth a sentence when it is surely real and moves the dose by so much.
_TREND_SHARE: Final = 0.1
_SUSPECT_FRESH_DAYS: Final = 14.0


def reasons_from_tests(
    facts: Facts, fit: DemandFit, inputs: Inputs, per_litre: Span
) -> tuple[Reason, ...]:
    """Return every reason about a demand from tests, the tests themselves first."""
    return (
        reason(
            Code.DEMAND_FROM_TESTS,
            demand_meq_per_L_per_day=per_litre.best,
            demand_low_meq_per_L_per_day=per_litre.low,
            demand_high_meq_per_L_per_day=per_litre.high,
            test_count=float(len(fit.found.points)),
            span_days=fit.found.span_days,
        ),
        *doubt_reasons(facts, fit),
        *_trend(fit),
        *_offsets(fit),
        *_water_changes(fit.found, inputs),
    )


def doubt_reasons(facts: Facts, fit: DemandFit) -> tuple[Reason, ...]:
    """Return which tests are set aside, and whether demand stepped."""
    return (*_suspects(facts, fit), *_step(facts, fit))


def _suspects(facts: Facts, fit: DemandFit) -> list[Reason]:
    return [
        _suspect(suspect, facts.age_days(suspect.sample.at))
        for suspect in fit.suspects
        if facts.age_days(suspect.sample.at) <= _SUSPECT_FRESH_DAYS
    ]


def _suspect(suspect: Suspect, age_days: float) -> Reason:
    sample, expected = suspect.sample, suspect.expected
    numbers: dict[str, float | str] = {
        "test_meq_per_L": sample.value,
        "off_meq_per_L": abs(sample.value - expected.best),
        "expected_low_meq_per_L": expected.low,
        "expected_high_meq_per_L": expected.high,
        "age_days": age_days,
    }
    if not suspect.first_of_source:
        return reason(Code.SUSPECT_TEST, **numbers)
    name = source_name(sample.lot, sample.tester)
    return reason(Code.SUSPECT_NEW_SOURCE, **numbers, source_name=name)


def source_name(lot: str, tester: str) -> str:
    """Return a bottle and its tester as the keeper named them."""
    return " / ".join(part for part in (lot, tester) if part)


def _step(facts: Facts, fit: DemandFit) -> list[Reason]:
    if fit.step is None:
        return []
    before = fit.found.points[fit.step.number - 1].sample.at
    since = facts.age_days(before)
    if fit.step.surely_demand:
        code = Code.DEMAND_STEP_UP if fit.step.up else Code.DEMAND_STEP_DOWN
    else:
        code = Code.TESTS_SHIFTED_DOWN if fit.step.up else Code.TESTS_SHIFTED_UP
    return [reason(code, since_days=since)] if since <= STEP_FRESH_DAYS else []


def _trend(fit: DemandFit) -> list[Reason]:
    if fit.trend is None:
        return []
    change = abs(fit.trend)
    if change <= fit.trend_error or change < _TREND_SHARE * abs(fit.demand):
        return []
    code = Code.TREND_UP if fit.trend > 0.0 else Code.TREND_DOWN
    return [reason(code, change_meq_per_L_per_day=change, span_days=fit.trend_days)]


def _offsets(fit: DemandFit) -> list[Reason]:
    """Return what a bottle or tester reads beside the first, where that is surely not nothing."""
    reasons: list[Reason] = []
    for span, (lot, tester) in zip(fit.offsets, fit.found.sources[1:], strict=True):
        if span.low <= 0.0 <= span.high:
            continue
        code = Code.SOURCE_READS_HIGH if span.best > 0.0 else Code.SOURCE_READS_LOW
        name = source_name(lot, tester)
        reasons.append(reason(code, source_name=name, offset_meq_per_L=abs(span.best)))
    return reasons


def _water_changes(found: Series, inputs: Inputs) -> list[Reason]:
    first, last = found.points[0].sample.at, found.points[-1].sample.at
    unknown = [
        change
        for change in inputs.water_changes(first, last)
        if change.new_total_alkalinity_meq_per_L is None
    ]
    return [reason(Code.WATER_CHANGE_UNKNOWN, change_count=float(len(unknown)))] if unknown else []


def ratio_reason(ratio: Span) -> Reason:
    """Return what a known ratio of calcium to alkalinity, mg/meq, says for each dKH."""
    usual = BALANCED_MG_PER_L_PER_DKH
    ratio = ratio.scaled(MEQ_PER_DKH)
    numbers = {
        "ratio_low_mg_per_L": ratio.low,
        "ratio_high_mg_per_L": ratio.high,
        "usual_mg_per_L": usual,
    }
    if ratio.high < usual * (1.0 - RATIO_FITS_SHARE):
        return reason(Code.CALCIUM_RATIO_LOW, **numbers)
    if ratio.low > usual:
        return reason(Code.CALCIUM_RATIO_HIGH, **numbers)
    return reason(Code.CALCIUM_RATIO, **numbers)
