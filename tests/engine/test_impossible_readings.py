"""A stored reading that cannot be real: it opens, it is shown, and no number comes from it."""

from itertools import product

import pytest

from engine.demand.facts import gather
from engine.diagnosis.drift import diagnose
from engine.hazards.hazard_report import hazard_report
from engine.limits import Action, DosePlan, Refusal
from engine.log.record_codec import from_dict, to_dict
from engine.reasons import Code
from engine.vocabulary import PARAMETERS, can_be_real
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, kettle

ODD = (0.0, -1.0, 45.0, 1_000_000.0)
BEFORE = (None, 0.0)


def drifting(dKH_per_test: float) -> KeeperLog:
    log = KeeperLog().setup().pump(60.0, 5.3)
    for number, days_ago in enumerate((21.0, 18.0, 15.0, 12.0, 9.0, 6.0, 3.0, 0.5)):
        log.test(days_ago, 8.0 + dKH_per_test * number)
    return log


@pytest.mark.parametrize("parameter", PARAMETERS)
def test_no_stored_value_makes_a_function_raise(parameter):
    """Salinity 0 divided by zero in the causes of a rise; a pH below 0 raised in the decision."""
    for first, second, drift in product(BEFORE, ODD, (-0.25, 0.12)):
        log = drifting(drift)
        if first is not None:
            log.read(5.0, **{parameter: first})
        log.read(0.2, **{parameter: second})
        decision = log.decide()
        facts = gather(log.records, system=SYSTEM, now=NOW)
        assert diagnose(decision, facts).reasons
        assert hazard_report(facts)["reasons"] is not None
        if not can_be_real(parameter, second):
            assert isinstance(decision.plan, Refusal)
            assert not isinstance(decision.plan, DosePlan)


def test_it_is_stored_and_read_back_as_it_is():
    record = kettle().read(0.1, salinity=0.0).records[-1]
    assert from_dict(to_dict(record)) == record


def test_it_holds_for_two_weeks_and_then_is_only_left_out():
    assert kettle().read(13.9, salinity=0.0).decide().plan.code is Code.READING_IMPOSSIBLE
    later, without = kettle().read(14.1, salinity=0.0).decide(), kettle().decide()
    assert isinstance(later.plan, DosePlan)
    assert later.plan == without.plan


def test_nothing_is_raised_meanwhile_and_a_stop_stays_a_stop():
    held = kettle().read(0.1, calcium=0.0).decide()
    assert isinstance(held.plan, Refusal)
    assert held.plan.action is Action.HOLD
    stopped = kettle().read(0.1, calcium=0.0).read(0.1, pH_nbs=8.6).decide()
    assert isinstance(stopped.plan, Refusal)
    assert stopped.plan.action is Action.STOP


def test_an_alkalinity_too_high_to_be_real_stops_all_the_same():
    for meq_per_L in (14.5, 50.0, 1_000_000.0):
        plan = kettle().read(0.1, total_alkalinity=meq_per_L).decide().plan
        assert isinstance(plan, Refusal)
        assert plan.action is Action.STOP


def test_a_pH_too_high_to_be_real_stops_all_the_same():
    for pH in (12.7, 82.0, 1_000_000.0):
        plan = kettle().read(0.1, pH_nbs=pH).decide().plan
        assert isinstance(plan, Refusal)
        assert (plan.code, plan.action) == (Code.PH_TOO_HIGH, Action.STOP)
