"""A run of a procedure: derived from its records alone, and no gate of it can be skipped."""

from datetime import UTC, datetime, timedelta

import pytest

from engine.procedures.answers import HELD_CODES, Answered, Held, RecordDraft, start, stop
from engine.procedures.runs import (
    BY_KEEPER,
    CONTINUE,
    CONTINUE_EARLY,
    WAIT_AGAIN,
    RunState,
    delivery_pause,
)
from engine.procedures.schema import Leads, StepKind
from engine.records import Recharge
from mobile.procedures import load_procedure
from tests.support.procedure_runs import Log, right_answer

NOW = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)
PROCEDURE = load_procedure("recharge_vessel")
STEPS = {step.key: step for step in PROCEDURE.steps}
WAITS = [step.key for step in PROCEDURE.steps if step.kind is StepKind.WAIT]
REFUSALS = [
    (step.key, option.answer)
    for step in PROCEDURE.steps
    for option in step.options
    if option.leads is not Leads.ON
]


def opened(until: str = "") -> Log:
    log = Log(PROCEDURE, NOW)
    log.begin()
    if until:
        log.walk_to(until)
    return log


def held(found: Answered | Held) -> str:
    assert isinstance(found, Held)
    return found.code


def test_before_any_record_there_is_no_run():
    at = Log(PROCEDURE, NOW).at
    assert at.state is RunState.NONE
    assert at.step is None
    assert at.done == ()


def test_walked_to_the_end_every_step_was_answered_once_and_in_order():
    log = opened()
    log.walk_through()
    at = log.at
    assert at.state is RunState.FINISHED
    assert [done.key for done in at.done] == list(STEPS)
    assert at.ignored == 0
    assert at.delivery_off_since is None


def test_walk_makes_one_recharge_of_the_weighed_powder():
    log = opened("weigh")
    log.give("104")
    log.walk_through()
    (recharge,) = [record for record in log.records if isinstance(record, Recharge)]
    assert recharge.powder_g == 104.0
    assert recharge.container == "vessel"


@pytest.mark.parametrize("key", STEPS)
def test_killed_at_any_step_the_run_resumes_there(key: str):
    log = opened(key)
    before = log.at
    log.now += timedelta(days=3)
    again = Log(PROCEDURE, log.now, list(reversed(log.records)))  # read anew, in any order
    assert again.at.step == STEPS[key]
    assert again.at.done == before.done
    assert again.at.run == before.run
    again.walk_through()
    assert again.at.state is RunState.FINISHED


@pytest.mark.parametrize(("key", "answer"), REFUSALS)
def test_refusing_answer_never_leads_on(key: str, answer: str):
    log = opened(key)
    option = STEPS[key].option(answer)
    assert option is not None
    found = log.give(answer)
    at = log.at
    match option.leads:
        case Leads.STAY:
            assert held(found) == option.reason
            assert at.step == STEPS[key]
        case Leads.STOP:
            assert at.state is RunState.STOPPED
            assert (at.step, at.stopped_answer) == (STEPS[key], answer)
            assert held(log.give(right_answer(STEPS[key]))) == "mix_not_open"
        case Leads.BACK:
            assert at.step == STEPS[option.to]
        case Leads.ON:
            pytest.fail("not a refusal")


def test_every_gate_was_refused_above():
    gates = {s.key for s in PROCEDURE.steps if s.kind in (StepKind.GATE, StepKind.CHECK)}
    assert gates == {key for key, _ in REFUSALS}
    assert len(gates) >= 15


@pytest.mark.parametrize("key", list(STEPS)[1:])
def test_answering_a_later_step_changes_nothing(key: str):
    log = opened()
    log.append(
        "procedure_run",
        run="run-1",
        procedure=PROCEDURE.key,
        event="step_done",
        step=key,
        answer=right_answer(STEPS[key]),
    )
    assert log.at.step == PROCEDURE.steps[0]
    assert log.at.ignored == 1


@pytest.mark.parametrize(("key", "answer"), REFUSALS)
def test_refusing_answer_recorded_as_done_does_not_lead_on(key: str, answer: str):
    log = opened(key)
    log.append(
        "procedure_run",
        run="run-1",
        procedure=PROCEDURE.key,
        event="step_done",
        step=key,
        answer=answer,
    )
    assert key not in {done.key for done in log.at.done}


def test_finished_record_does_not_finish_a_run_with_open_gates():
    log = opened("goggles")
    log.append(
        "procedure_run", run="run-1", procedure=PROCEDURE.key, event="finished", step="", answer=""
    )
    assert log.at.state is RunState.OPEN
    assert log.at.step == STEPS["goggles"]


def test_run_whose_finished_record_was_lost_is_finished():
    log = opened()
    log.walk_through()
    log.records.pop()
    assert log.at.state is RunState.FINISHED


def test_unknown_answer_is_held():
    assert held(opened().give("maybe")) == "mix_answer_unknown"


# --- conditions -------------------------------------------------------------------------------


def test_recorded_high_pH_withholds_the_answer_that_it_is_low():
    log = opened("pH")
    log.facts["last_pH"] = 8.4
    assert held(log.give("below")) == "mix_pH_block"
    log.facts["last_pH"] = 8.39
    assert isinstance(log.give("below"), Answered)


def test_wrong_label_stops_before_anything_is_opened():
    log = opened("label")
    log.give("other")
    assert log.at.state is RunState.STOPPED
    assert log.at.delivery_off_since is None
    assert not log.at.powder_in


def test_run_does_not_start_without_its_facts():
    log = Log(PROCEDURE, NOW)
    for fact in PROCEDURE.facts:
        found = start(PROCEDURE, log.at, "r", {k: v for k, v in log.facts.items() if k != fact})
        assert held(found) == "mix_fact_missing"
        assert isinstance(found, Held)
        assert found.numbers == {"fact": fact}


def test_second_run_does_not_start_while_one_is_open():
    assert held(start(PROCEDURE, opened().at, "run-2", Log(PROCEDURE, NOW).facts)) == (
        "mix_already_open"
    )


def test_second_run_starts_afresh_after_a_stop():
    log = opened("mask")
    log.give("missing")
    log.begin("run-2")
    assert log.at.run == "run-2"
    assert log.at.step == PROCEDURE.steps[0]
    assert log.at.done == ()


# --- amounts ----------------------------------------------------------------------------------

WRONG_AMOUNTS = {
    "": "entry_empty",
    "0": "entry_zero",
    "-110": "entry_negative",
    "110 g": "entry_letters",
    "1e2": "entry_exponent",
    "nan": "entry_not_finite",
    "inf": "entry_not_finite",
    "1,1,0": "entry_two_separators",
    "999999": "entry_outside_range_g",
    "150.1": "mix_amount_above_largest",
    "1100": "mix_amount_above_largest",
    "122": "mix_amount_unusual",
    "54": "mix_amount_unusual",
    "1.10": "mix_amount_unusual",
}


@pytest.mark.parametrize(("text", "code"), WRONG_AMOUNTS.items())
def test_wrong_amount_is_held(text: str, code: str):
    log = opened("weigh")
    found = log.give(text)
    assert held(found) == code
    assert log.at.step == STEPS["weigh"]
    assert isinstance(found, Held)
    assert found.may_confirm is (code == "mix_amount_unusual")


def test_unusual_amount_counts_once_confirmed_but_never_above_the_largest():
    log = opened("weigh")
    assert held(log.give("151", confirmed=True)) == "mix_amount_above_largest"
    assert held(log.give("0", confirmed=True)) == "entry_zero"
    assert isinstance(log.give("54", confirmed=True), Answered)
    log.walk_through()
    (recharge,) = [record for record in log.records if isinstance(record, Recharge)]
    assert recharge.powder_g == 54.0


@pytest.mark.parametrize("fact", ["recharge_powder_g", "largest_charge_powder_g"])
def test_amount_is_not_judged_without_its_facts(fact: str):
    log = opened("weigh")
    del log.facts[fact]
    assert held(log.give("110", confirmed=True)) == "mix_fact_missing"


def test_recharge_is_recorded_when_the_powder_goes_in_not_when_it_is_weighed():
    log = opened("pour")
    assert not any(isinstance(record, Recharge) for record in log.records)
    assert not log.at.powder_in
    found = log.give("done")
    assert isinstance(found, Answered)
    assert [type(draft) for draft in found.drafts][1:] == [RecordDraft]
    assert log.at.powder_in


# --- waits ------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", WAITS)
def test_wait_cannot_be_ended_before_its_least_time(key: str):
    log = opened(key)
    at = log.at
    timer = STEPS[key].timer
    assert at.waiting is not None
    assert timer is not None
    assert at.waiting.since == at.done[-1].at
    assert at.waiting.least_until == at.waiting.since + timedelta(minutes=timer.least_min)
    log.now = at.waiting.least_until - timedelta(seconds=1)
    for answer in (CONTINUE, CONTINUE_EARLY, WAIT_AGAIN):
        assert held(log.give(answer)) == "mix_wait_not_over"
    assert held(log.give("done")) == "mix_answer_unknown"
    assert log.at.step == STEPS[key]


def test_rest_is_four_hours_two_at_least():
    log = opened("rest")
    since = log.at.waiting.since
    assert log.at.waiting.advised_until == since + timedelta(hours=4)
    log.now = since + timedelta(hours=2)
    assert held(log.give(CONTINUE)) == "mix_wait_not_over"
    assert isinstance(log.give(CONTINUE_EARLY), Answered)
    assert log.at.step == STEPS["goggles_again"]


def test_wait_survives_a_kill_and_tells_when_it_ended():
    log = opened("rest")
    since = log.now
    log.now += timedelta(hours=9)
    again = Log(PROCEDURE, log.now, list(log.records))
    assert again.at.waiting.advised_until == since + timedelta(hours=4)
    assert isinstance(again.give(CONTINUE), Answered)


@pytest.mark.parametrize("key", WAITS)
def test_record_that_ends_a_wait_too_early_does_not_count(key: str):
    log = opened(key)
    log.now += timedelta(minutes=1)
    for answer in (CONTINUE, CONTINUE_EARLY):
        log.append(
            "procedure_run",
            run="run-1",
            procedure=PROCEDURE.key,
            event="step_done",
            step=key,
            answer=answer,
        )
    assert log.at.step == STEPS[key]
    assert log.at.ignored == 2


def test_clock_moved_back_lengthens_a_wait_and_it_can_be_started_anew():
    log = opened("rest")
    assert held(log.give(WAIT_AGAIN)) == "mix_wait_not_over"  # only after a moved clock
    log.now -= timedelta(days=400)
    assert log.at.clock_back
    assert held(log.give(CONTINUE)) == "mix_wait_not_over"
    assert isinstance(log.give(WAIT_AGAIN), Answered)
    assert not log.at.clock_back
    assert log.at.waiting.since == log.now
    log.walk_through()
    assert log.at.state is RunState.FINISHED


def test_clock_moved_back_between_steps_keeps_their_order():
    log = opened("goggles")
    log.now -= timedelta(hours=1)
    log.walk_to("pour")
    assert [done.key for done in log.at.done] == list(STEPS)[: len(log.at.done)]


# --- milky ------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", ["clear", "look"])
def test_milky_overflow_rests_again_with_limewater_off(key: str):
    log = opened(key)
    log.give("milky")
    assert log.at.step == STEPS["outlet_in_jug"]
    assert log.at.delivery_off_since is not None
    assert log.at.powder_in
    log.walk_to("rest")
    assert log.at.waiting.since == log.now
    log.walk_through()
    assert sum(isinstance(record, Recharge) for record in log.records) == 1


# --- the flow of limewater --------------------------------------------------------------------


def test_limewater_is_paused_from_switching_off_until_switched_on():
    log = opened("pump_off")
    assert delivery_pause([PROCEDURE], log.runs) is None
    log.give("off")
    pause = delivery_pause([PROCEDURE], log.runs)
    assert pause is not None
    assert (pause.run, pause.since, pause.stopped) == ("run-1", log.now, False)
    since = log.now
    log.walk_to("all_on")
    assert log.at.delivery_off_since == since
    log.give("done")
    assert delivery_pause([PROCEDURE], log.runs) is None


def test_pause_outlives_a_stop_and_a_later_run_that_never_switched_anything():
    log = opened("mask")
    log.walk_to("swirl")
    stopped = stop(PROCEDURE, log.at)
    assert isinstance(stopped, Answered)
    log.add(stopped)
    assert log.at.stopped_answer == BY_KEEPER
    log.now += timedelta(hours=1)
    log.begin("run-2")
    log.walk_to("label")
    log.give("other")
    pause = delivery_pause([PROCEDURE], log.runs)
    assert pause is not None
    assert (pause.run, pause.stopped) == ("run-1", True)
    log.now += timedelta(hours=1)
    log.begin("run-3")
    log.walk_through()
    assert delivery_pause([PROCEDURE], log.runs) is None


def test_stop_is_held_without_an_open_run():
    assert held(stop(PROCEDURE, Log(PROCEDURE, NOW).at)) == "mix_not_open"


def test_every_held_code_is_shown_by_an_example():
    seen = {
        held(start(PROCEDURE, opened().at, "x", {})),
        held(start(PROCEDURE, Log(PROCEDURE, NOW).at, "x", {})),
        held(Log(PROCEDURE, NOW).give("done")),
        held(opened().give("maybe")),
        held(opened("rest").give(CONTINUE)),
        held(opened("weigh").give("1100")),
        held(opened("weigh").give("54")),
    }
    assert seen == set(HELD_CODES)
