"""Why alkalinity or pH drifts: what is seen, and its causes ranked by the evidence of the log.

Alkalinity drifts when its course with the inputs of now is surely not level, beyond what the plan
itself brings about, or when the tests run away from what a filter that expects little change
foretold: a CUSUM of its innovations [PAG54].
The causes are weighed in engine/diagnosis/causes.py.
"""

from collections.abc import Sequence
from typing import Final

from engine.decision import Decision
from engine.demand.answer import Demand
from engine.demand.evidence import Situation, ranked
from engine.demand.facts import Facts
from engine.demand.inputs import recorded_inputs
from engine.demand.strength import strength_now
from engine.diagnosis.causes import alkalinity_falls, alkalinity_rises, pH_is_high, pH_is_low
from engine.diagnosis.codes import Cause, CauseCode, Diagnosis, Finding, Likelihood, finding_reason
from engine.limits import Refusal
from engine.plan.evaporation import evaporation_span
from engine.plan.ph_guard import CEILING_PH
from engine.reasons import Code, Reason
from engine.records import SecondSource
from engine.units import Span
from engine.vocabulary import MEQ_PER_DKH

# CUSUM in standard deviations: the usual choice for a shift of about one.
CUSUM_SLACK: Final = 0.5
CUSUM_ALARM: Final = 4.0
_CUSUM_CLIP: Final = 3.0
_RECENT_TESTS: Final = 6
# A drift below this is left alone (common practice, no source).
DRIFT_MEQ_PER_L_PER_DAY: Final = 0.05 * MEQ_PER_DKH
LOW_PH: Final = 7.9  # of the day's highest (common practice, no source)
_PH_DAYS: Final = 3.0


def diagnose(decision: Decision, facts: Facts) -> Diagnosis:
    """Return what is seen and why it may be.

    Parameters
    ----------
    decision : Decision
        Of the same log.
    facts : Facts
        Of `engine.demand.facts.gather`.
    """
    situation = _situation(decision, facts)
    if situation is None:
        reason = finding_reason(Finding.NO_DEMAND)
        return Diagnosis(finding=Finding.NO_DEMAND, reasons=(reason,), causes=())
    finding, seen = _seen(situation)
    causes = ranked(_CAUSES[finding](situation) if finding in _CAUSES else [])
    return Diagnosis(finding=finding, reasons=(*_first(finding, causes), seen), causes=causes)


_CAUSES: Final = {
    Finding.FALLS: alkalinity_falls,
    Finding.RUNS_LOW: alkalinity_falls,
    Finding.RISES: alkalinity_rises,
    Finding.RUNS_HIGH: alkalinity_rises,
    Finding.PH_HIGH: pH_is_high,
    Finding.PH_LOW: pH_is_low,
}


def _situation(decision: Decision, facts: Facts) -> Situation | None:
    setup, demand = decision.setup, decision.demand
    if setup is None or not isinstance(demand, Demand) or demand.source != "tests":
        return None
    span = None if decision.evaporation is None else evaporation_span(decision.evaporation)
    strength = strength_now(facts, setup)
    return Situation(
        facts=facts,
        setup=setup,
        demand=demand,
        strength=strength,
        inputs=recorded_inputs(facts, setup, strength, span),
        decision=decision,
        drift_meq_per_day=demand.balance.net_change_meq_per_L_per_day.best * setup.net_volume_L,
    )


def _seen(situation: Situation) -> tuple[Finding, Reason]:
    """Return what stands out most."""
    net = situation.demand.balance.net_change_meq_per_L_per_day
    foreseen = _foreseen_meq_per_L_per_day(situation)
    if net.high < 0.0 and net.best <= min(0.0, foreseen) - DRIFT_MEQ_PER_L_PER_DAY:
        return Finding.FALLS, finding_reason(Finding.FALLS, **_speed(net))
    if net.low > 0.0 and net.best >= max(0.0, foreseen) + DRIFT_MEQ_PER_L_PER_DAY:
        return Finding.RISES, finding_reason(Finding.RISES, **_speed(net))
    ran = cusum(situation.demand.innovations)
    if ran:
        finding = Finding.RUNS_HIGH if ran > 0.0 else Finding.RUNS_LOW
        return finding, finding_reason(finding)
    pH = _highest_pH(situation.facts)
    if pH is not None and pH > (situation.setup.ceiling_pH or CEILING_PH):
        return Finding.PH_HIGH, finding_reason(Finding.PH_HIGH, highest_pH=pH)
    if pH is not None and pH < LOW_PH:
        return Finding.PH_LOW, finding_reason(Finding.PH_LOW, highest_pH=pH)
    return Finding.STEADY, finding_reason(Finding.STEADY)


def _foreseen_meq_per_L_per_day(situation: Situation) -> float:
    """Return the change that the plan brings about: its approach, what it leaves missing."""
    decision, demand = situation.decision, situation.demand.per_day_meq.best
    if isinstance(decision.plan, Refusal):
        to_water_changes = decision.plan.code is Code.NEW_TANK
        return -demand / situation.setup.net_volume_L if to_water_changes else 0.0
    given = decision.plan.L_per_day * situation.strength.planning_meq_per_L
    left = decision.remainder
    if left is not None and left.source is not SecondSource.NONE:
        given += left.meq_per_day
    return (given - demand) / situation.setup.net_volume_L


def _speed(net: Span) -> dict[str, float]:
    low, high = sorted((abs(net.low), abs(net.high)))
    return {"net_low_meq_per_L_per_day": low, "net_high_meq_per_L_per_day": high}


def cusum(innovations: Sequence[float]) -> float:
    """Return how far the last tests ran away, in deviations; 0 where they did not.

    Parameters
    ----------
    innovations : sequence of float
        Of a filter that expects little change, in standard deviations; each counts 3 at most.
    """
    up = down = 0.0
    ran = 0.0
    for number, innovation in enumerate(innovations):
        value = min(_CUSUM_CLIP, max(-_CUSUM_CLIP, innovation))
        up, down = max(0.0, up + value - CUSUM_SLACK), max(0.0, down - value - CUSUM_SLACK)
        if max(up, down) > CUSUM_ALARM:
            recent = number >= len(innovations) - _RECENT_TESTS
            ran = (up if up > down else -down) if recent else 0.0
            up = down = 0.0
    return ran


def _highest_pH(facts: Facts) -> float | None:
    values = [s.value for s in facts.samples("pH_nbs") if facts.age_days(s.at) <= _PH_DAYS]
    return max(values, default=None)


def _first(finding: Finding, causes: Sequence[Cause]) -> tuple[Reason, ...]:
    """Return the first sentence where the animals may take less: look at them."""
    may = any(
        cause.code is CauseCode.DEMAND_DOWN and cause.likelihood is not Likelihood.UNLIKELY
        for cause in causes
    )
    if finding in (Finding.RISES, Finding.RUNS_HIGH) and may:
        return (finding_reason(Finding.LOOK_AT_ANIMALS),)
    return ()
