"""Every procedure: walked to the end on every way, each gate refused, each amount wrong.

A kill is a log read anew at each step. The whole cross product stands behind `long`.
"""

from datetime import UTC, datetime, timedelta

import pytest

from engine.procedures.answers import Answered, Held
from engine.procedures.runs import CONTINUE, CONTINUE_EARLY, RunState, delivery_pause
from engine.procedures.schema import Leads, Procedure, Step
from engine.records import Delivery
from mobile.procedures import all_procedures, load_procedure
from tests.support.procedure_runs import Log, right_answer, ways

NOW = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)
PROCEDURES = all_procedures()


def fitting(procedure: Procedure) -> tuple[str, ...]:
    return procedure.deliveries or tuple(str(way) for way in Delivery)


RUNS = [
    pytest.param(p.key, delivery, choices, id=f"{p.key}-{delivery}-{n}")
    for p in PROCEDURES
    for delivery in fitting(p)
    for n, choices in enumerate(ways(p))
]
# One way of delivery each, every way through the choices.
SAMPLE = [
    pytest.param(p.key, fitting(p)[0], choices, id=f"{p.key}-{n}")
    for p in PROCEDURES
    for n, choices in enumerate(ways(p))
]


def opened(key: str, delivery: str, choices: dict[str, str]) -> Log:
    log = Log(load_procedure(key), NOW, delivery=delivery, choices=choices)
    log.begin()
    return log


def walk(log: Log):
    """Yield each step that is current on the way to the end."""
    while (step := log.at.step) is not None:
        yield step
        log.go_on()


@pytest.mark.parametrize(("key", "delivery", "choices"), RUNS)
def test_walked_to_the_end_on_every_way(key: str, delivery: str, choices: dict[str, str]):
    log = opened(key, delivery, choices)
    expected = log.procedure.path(delivery, choices)
    assert list(walk(log)) == list(expected)
    at = log.at
    assert at.state is RunState.FINISHED
    assert at.ignored == 0
    assert (at.delivery_off_since is not None) is log.procedure.leaves_off
    assert (delivery_pause([log.procedure], log.runs) is not None) is log.procedure.leaves_off
    assert [run.flow for run in log.runs if run.step] == [step.delivery for step in expected]
    assert all(step.applies(delivery, choices) for step in expected)


@pytest.mark.parametrize(("key", "delivery", "choices"), SAMPLE)
def test_records_follow_the_rules_and_are_made_once(key, delivery, choices):
    log = opened(key, delivery, choices)
    log.walk_through()
    wanted = sorted(
        rule.kind for step in log.procedure.path(delivery, choices) for rule in step.records
    )
    made = sorted(record.kind for record in log.records if record.kind != "procedure_run")
    assert made == wanted


def copied(log: Log) -> Log:
    """Return the log as a killed app finds it, read in any order."""
    return Log(
        log.procedure,
        log.now,
        list(reversed(log.records)),
        delivery=log.delivery,
        choices=log.choices,
    )


@pytest.mark.parametrize(("key", "delivery", "choices"), SAMPLE)
def test_killed_at_each_step_the_run_is_where_it_was(key, delivery, choices):
    log = opened(key, delivery, choices)
    for step in walk(log):
        again = copied(log)
        assert again.at == log.at
        assert again.at.step == step
        assert again.known == log.known
        if again.at.waiting is not None:  # the timer goes on while nobody looks
            again.now += timedelta(days=30)
            assert again.at.waiting == log.at.waiting
            assert isinstance(again.give(CONTINUE), Answered)


def check_refusals(log: Log, step: Step) -> None:
    for option in step.options:
        if option.leads is Leads.ON:
            continue
        trial = copied(log)
        before = len(trial.records)
        found = trial.give(option.answer)
        made = [r.kind for r in trial.records[before:] if r.kind != "procedure_run"]
        assert made == [], (step.key, option.answer)
        if option.leads is Leads.STAY:
            assert isinstance(found, Held)
            assert found.code == option.reason
            assert trial.at.step == step
        elif option.leads is Leads.STOP:
            assert trial.at.state is RunState.STOPPED
        else:
            assert trial.at.step is not None
            assert trial.at.step.key == option.to


@pytest.mark.parametrize(("key", "delivery", "choices"), SAMPLE)
def test_each_gate_refused_makes_no_record_and_never_leads_on(key, delivery, choices):
    log = opened(key, delivery, choices)
    for step in walk(log):
        check_refusals(log, step)
        if step.options:
            found = copied(log).give("no_such_answer")
            assert isinstance(found, Held)
            assert found.code == "mix_answer_unknown"
        for option in step.options:
            check_block(log, step, option)


def check_block(log: Log, step: Step, option) -> None:
    """A recorded fact that contradicts an answer withholds it."""
    if option.block is None or option.block.fact in log.procedure.computes:
        return
    bound = option.block.at_least
    contradicting = bound if bound is not None else option.block.below - 1.0
    trial = copied(log)
    trial.facts = {**trial.facts, option.block.fact: contradicting}
    if trial.known[option.block.fact] != contradicting:
        return  # worked out in the run: its own test gives readings that do not agree
    found = trial.give(option.answer)
    assert isinstance(found, Held)
    assert found.code == option.block.reason
    assert trial.at.step == step


def wrong_amounts(log: Log, step: Step) -> list[str]:
    rule = step.amount
    assert rule is not None
    wrong = ["", "-1", "abc", "1e3", "nan", "inf", "1,2,3", "1 2", "9" * 9]
    if not rule.may_be_zero:
        wrong.append("0")
    if rule.largest:
        wrong.append(f"{float(log.known[rule.largest]) * 1.2:.6g}")
    return wrong


@pytest.mark.parametrize(("key", "delivery", "choices"), SAMPLE)
def test_each_wrong_amount_is_held_even_when_confirmed(key, delivery, choices):
    log = opened(key, delivery, choices)
    for step in walk(log):
        if step.amount is None:
            continue
        for text in wrong_amounts(log, step):
            for confirmed in (False, True):
                found = log.give(text, confirmed=confirmed)
                assert isinstance(found, Held), (step.key, text)
                assert not found.may_confirm
            assert log.at.step == step


@pytest.mark.parametrize(("key", "delivery", "choices"), SAMPLE)
def test_unusual_amount_is_asked_about_and_counts_once_confirmed(key, delivery, choices):
    log = opened(key, delivery, choices)
    for step in walk(log):
        rule = step.amount
        compared = rule.advised or rule.near if rule else ""
        if rule is None or not compared or not rule.ask_below_share or rule.unit in ("dKH", "%"):
            continue
        value = 0.9 * rule.ask_below_share * float(log.known[compared])
        text = f"{int(value) if rule.name.endswith('_count') else round(value, 4):g}"
        found = copied(log).give(text)
        assert isinstance(found, Held), (step.key, text)
        assert (found.code, found.may_confirm) == (rule.unusual, True)
        assert isinstance(copied(log).give(text, confirmed=True), Answered)


@pytest.mark.parametrize(("key", "delivery", "choices"), SAMPLE)
def test_no_wait_can_be_ended_before_its_least_time(key, delivery, choices):
    log = opened(key, delivery, choices)
    for _ in walk(log):
        at = log.at
        if at.waiting is None:
            continue
        trial = copied(log)
        trial.now = at.waiting.least_until - timedelta(seconds=1)
        for answer in (CONTINUE, CONTINUE_EARLY):
            assert isinstance(trial.give(answer), Held)
        trial.now = at.waiting.least_until
        ends = CONTINUE if at.waiting.least_until == at.waiting.advised_until else CONTINUE_EARLY
        assert isinstance(trial.give(ends), Answered)


@pytest.mark.parametrize("procedure", PROCEDURES, ids=lambda p: p.key)
def test_nothing_starts_without_its_facts(procedure: Procedure):
    for fact in procedure.facts:
        log = Log(procedure, NOW)
        del log.facts[fact]
        with pytest.raises(AssertionError):
            log.begin()
        assert log.records == []


@pytest.mark.parametrize(("key", "delivery", "choices"), SAMPLE)
def test_changed_set_up_changes_no_step_of_an_open_run(key, delivery, choices):
    log = opened(key, delivery, choices)
    before = log.procedure.path(delivery, choices)
    log.delivery = str(Delivery.DRIP)
    assert list(walk(log)) == list(before)


@pytest.mark.long
@pytest.mark.parametrize(("key", "delivery", "choices"), RUNS)
def test_every_answer_at_every_step_after_a_kill(key, delivery, choices):
    """The cross product: at each step a killed app gets every answer that the procedure knows."""
    log = opened(key, delivery, choices)
    every = {o.answer for s in log.procedure.steps for o in s.options} | {"", "0", CONTINUE}
    every |= {right_answer(s, log.known) for s in log.procedure.steps if s.amount is None}
    for step in walk(log):
        for answer in sorted(every):
            trial = copied(log)
            found = trial.give(answer)
            option = step.option(answer)
            if isinstance(found, Held) or trial.at.state is RunState.STOPPED:
                continue
            assert step.amount is not None or step.timer is not None or option is not None
