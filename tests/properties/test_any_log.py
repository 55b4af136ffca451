"""No log that passes the door breaks a number: no exception, nothing that is not a number.

200 logs always, with every view of every tenth; 20,000 with `--long`. A failure names its seed.
"""

import pytest

from engine.decision import Decision, decide
from engine.demand.facts import gather
from engine.diagnosis.drift import diagnose
from engine.hazards.hazard import assess
from engine.hazards.hazard_report import hazard_report
from engine.hazards.safe_setup import verdict
from engine.limits import Action, DosePlan, Refusal
from engine.reasons import Code
from mobile.state.ahead import Ahead
from tests.support.all_views import assert_sound, snapshot_of, views
from tests.support.any_log import Log, any_log

FEW = 200
LONG_FROM = 1_000_000
SHARDS = 100
A_SHARD = 200
VIEWS_EVERY = 10
GIVES_LIME = {
    *(Code.NOTHING_TO_DO, Code.RAISE_PUMP, Code.RAISE_DRIP, Code.SET_PUMP_FIRST),
    *(Code.SET_DRIP_FIRST, Code.SET_SECOND_SOURCE, Code.SET_SECOND_SOURCE_FIRST),
}


def check(seed: int) -> Decision:
    try:
        return checked(any_log(seed), with_views=seed % VIEWS_EVERY == 0)
    except Exception as error:
        raise AssertionError(f"seed {seed}: {type(error).__name__}: {error}") from error


def checked(log: Log, *, with_views: bool) -> Decision:
    decision = decide(log.records, system=log.system, now=log.now)
    assert_sound(decision, "decision")
    assert_within_caps(decision)
    assert_stops_at_high_pH(log, decision)
    facts = gather(log.records, system=log.system, now=log.now)
    hazards = assess(facts)
    assert_sound(hazards, "hazards")
    assert_sound(verdict(hazards), "verdict")
    assert_sound(hazard_report(facts), "report")
    assert_sound(diagnose(decision, facts), "causes")
    ahead = Ahead(decision, log.records, log.system)
    assert_sound(ahead, "ahead")
    if decision.setup is not None:
        for part in ("diagnosis", "water", "water_by_plan", "retune", "day", "year", "care"):
            assert getattr(ahead, part) is not None or part == "retune", f"no {part}"
        assert ahead.care_by_season is not None
    if with_views:
        snapshot = snapshot_of(log.records, log.system, log.now)
        assert snapshot.failure is None, snapshot.failure
        assert snapshot.setup is None or snapshot.dangers is not None
        for name, view in views(snapshot):
            assert_sound(view, name)
    return decision


def assert_within_caps(decision: Decision) -> None:
    plan, setup = decision.plan, decision.setup
    if not isinstance(plan, DosePlan):
        return
    assert setup is not None
    for cap in plan.caps:
        assert plan.L_per_day <= cap.L_per_day, cap
    assert setup.keeper_cap_L_per_day is not None
    assert plan.L_per_day <= setup.keeper_cap_L_per_day
    assert plan.L_per_day >= 0.0


def assert_stops_at_high_pH(log: Log, decision: Decision) -> None:
    """By the readings of the last day alone: at 8.5 nothing is given, whatever else is known."""
    facts = gather(log.records, system=log.system, now=log.now)
    high = [s for s in facts.samples("pH_nbs") if facts.age_days(s.at) <= 1.0 and s.value >= 8.5]
    low_since = [s for s in facts.samples("pH_nbs") if high and s.at >= high[-1].at]
    if not high or len(low_since) > 1:
        return
    assert isinstance(decision.plan, Refusal)
    assert decision.plan.action is Action.STOP, decision.plan
    assert decision.change.code not in GIVES_LIME, decision.change


@pytest.mark.parametrize("first", range(0, FEW, 20))
def test_no_log_breaks_a_number(first):
    for seed in range(first, first + 20):
        check(seed)


@pytest.mark.long
@pytest.mark.parametrize("shard", range(SHARDS))
def test_no_log_of_many_breaks_a_number(shard):
    first = LONG_FROM + shard * A_SHARD
    broken: list[str] = []
    for seed in range(first, first + A_SHARD):
        try:
            check(seed)
        except AssertionError as error:
            broken.append(str(error))
    assert broken == []


def test_the_logs_are_no_monotony():
    """Else the sweep would prove nothing: plans, refusals of many kinds, alarms, views."""
    found = [check(seed) for seed in range(FEW)]
    plans = [d for d in found if isinstance(d.plan, DosePlan)]
    refusals = {d.plan.code for d in found if isinstance(d.plan, Refusal)}
    assert len(plans) >= FEW // 10
    assert sum(bool(d.plan.binding) for d in plans) >= FEW // 20
    assert len(refusals) >= 8
    assert {Code.PH_TOO_HIGH, Code.ALKALINITY_ABOVE_BAND} <= refusals
    assert len({d.setup.delivery for d in found if d.setup}) == 5
