"""What an answer to a procedure's step adds to the log, or why it adds nothing."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from engine.procedures.amounts import Facts, Held, judge_amount, number_of
from engine.procedures.numbers import written_facts
from engine.procedures.runs import (
    BY_KEEPER,
    CONTINUE,
    CONTINUE_EARLY,
    WAIT_AGAIN,
    Progress,
    RunState,
    amounts,
    missing_fact,
    wait_answers,
)
from engine.procedures.schema import (
    Block,
    Leads,
    Procedure,
    RecordRule,
    Remark,
    Step,
    StepKind,
)
from engine.procedures.sums import with_sums
from engine.records import ProcedureEvent
from engine.vocabulary import PARAMETERS

HELD_CODES: Final = (
    "mix_already_open",
    "mix_not_open",
    "mix_fact_missing",
    "mix_answer_unknown",
    "mix_wait_not_over",
    "mix_amount_above_largest",
    "mix_amount_unusual",
)


@dataclass(frozen=True, slots=True)
class RunDraft:
    """A `ProcedureRun` still without id, times and system."""

    run: str
    procedure: str
    event: ProcedureEvent
    step: str = ""
    answer: str = ""
    delivery: str = ""
    facts: str = ""
    flow: str = ""


@dataclass(frozen=True, slots=True)
class RecordDraft:
    """Another record still without id, times and system; values as the record codec takes them.

    With `changes` it is the record of its kind that is in force with these values changed.
    """

    kind: str
    values: Mapping[str, Any]
    changes: bool = False


@dataclass(frozen=True, slots=True)
class Answered:
    """What to append, all in one batch: either everything is saved or nothing."""

    drafts: tuple[RunDraft | RecordDraft, ...]


def start(
    procedure: Procedure, at: Progress, run: str, facts: Facts, delivery: str = ""
) -> Answered | Held:
    """Begin a run under a new id; held while one is open or a fact is missing.

    The start records the facts and the way of delivery, so that nothing entered on the way
    changes the run's numbers or steps while things stand open.
    """
    if at.state is RunState.OPEN:
        return Held("mix_already_open")
    missing = missing_fact(procedure, facts)
    if missing is not None:
        return Held("mix_fact_missing", {"fact": missing})
    fixed = {
        key: number for key in procedure.facts if (number := number_of(facts, key)) is not None
    }
    written = written_facts(fixed)
    return Answered(
        (RunDraft(run, procedure.key, ProcedureEvent.STARTED, delivery=delivery, facts=written),)
    )


def stop(procedure: Procedure, at: Progress) -> Answered | Held:
    """End an open run because the keeper wants to; powder that went in stays recorded."""
    if at.state is not RunState.OPEN or at.step is None:
        return Held("mix_not_open")
    draft = RunDraft(at.run, procedure.key, ProcedureEvent.STOPPED, at.step.key, BY_KEEPER)
    return Answered((draft,))


def answer_step(
    procedure: Procedure,
    at: Progress,
    answer: str,
    *,
    facts: Facts,
    now: datetime,
    confirmed: bool = False,
) -> Answered | Held:
    """Answer the current step of an open run.

    Parameters
    ----------
    procedure, at : Procedure, Progress
        The procedure and where its run stands.
    answer : str
        An answer's code; of an amount step, the number as typed, in the rule's unit.
    facts : Mapping
        The app's numbers by suffixed key; at least `procedure.facts`.
    now : datetime
        The clock, aware.
    confirmed : bool, optional
        The keeper stands by an unusual amount.

    Returns
    -------
    Answered or Held
        Held codes: `HELD_CODES`, those of engine.entry.fields for an amount, or the sentence key
        that the procedure gives for a refusing answer.
    """
    step = at.step
    if at.state is not RunState.OPEN or step is None:
        return Held("mix_not_open")
    facts = run_facts(procedure, at, facts)
    held: Held | None = None
    if step.kind is StepKind.WAIT:
        held = _held_wait(at, answer, now)
    elif step.amount is not None:
        judged = judge_amount(step.amount, answer, facts, confirmed=confirmed)
        held, answer = (judged, "") if isinstance(judged, Held) else (None, judged)
    else:
        held = _held_option(step, answer, facts)
    return held or _drafts(procedure, at, step, answer, facts)


def run_facts(procedure: Procedure, at: Progress, facts: Facts) -> dict[str, float | str]:
    """Return the app's facts, the numbers entered in the run, and what is worked out of both."""
    return with_sums(procedure.computes, {**facts, **amounts(procedure, at)})


def _held_wait(at: Progress, answer: str, now: datetime) -> Held | None:
    ends = wait_answers(at.waiting, now) if at.waiting is not None else ()
    if answer in ends or (answer == WAIT_AGAIN and at.clock_back):
        return None
    known = answer in (CONTINUE, CONTINUE_EARLY, WAIT_AGAIN)
    return Held("mix_wait_not_over" if known else "mix_answer_unknown")


def _held_option(step: Step, answer: str, facts: Facts) -> Held | None:
    option = step.option(answer)
    if option is None:
        return Held("mix_answer_unknown")
    if option.block is not None and is_blocked(option.block, facts):
        return Held(option.block.reason, dict(facts))
    return Held(option.reason) if option.leads is Leads.STAY else None


def is_blocked(block: Block, facts: Facts) -> bool:
    """Tell whether a fact contradicts an answer; one that is not there does not."""
    if block.fact not in facts:
        return False
    return number_of(facts, block.fact) is None or is_beyond(block, facts)


def is_beyond(bound: Block | Remark, facts: Facts) -> bool:
    """Tell whether a fact that is known is at or above, or below the bound."""
    value = number_of(facts, bound.fact)
    if value is None:
        return False
    high = bound.at_least is not None and value >= bound.at_least
    return high or (bound.below is not None and value < bound.below)


def _drafts(
    procedure: Procedure, at: Progress, step: Step, answer: str, facts: Facts
) -> Answered | Held:
    """Return what an answer that counts adds: itself, its records, and the end of the run."""
    option = step.option(answer)
    leads = option.leads if option is not None else Leads.ON
    event = ProcedureEvent.STOPPED if leads is Leads.STOP else ProcedureEvent.STEP_DONE
    counts = leads is Leads.ON and answer != WAIT_AGAIN
    flow = step.delivery if counts else ""
    drafts: list[RunDraft | RecordDraft] = [
        RunDraft(at.run, procedure.key, event, step.key, answer, flow=flow)
    ]
    if counts:
        if step.amount is not None:
            facts = with_sums(procedure.computes, {**facts, step.amount.name: float(answer)})
        made = [_record(procedure, rule, facts) for rule in step.records]
        missing = next((draft for draft in made if isinstance(draft, Held)), None)
        if missing is not None:
            return missing
        drafts += [draft for draft in made if isinstance(draft, RecordDraft)]
        answers = {**{done.key: done.answer for done in at.done}, step.key: answer}
        if procedure.next_step(step.key, at.delivery, answers) is None:
            drafts.append(RunDraft(at.run, procedure.key, ProcedureEvent.FINISHED))
    return Answered(tuple(drafts))


def _record(procedure: Procedure, rule: RecordRule, facts: Facts) -> RecordDraft | Held:
    """Return a record of facts; held where one is not known, but for an amount passed over."""
    passed_over = {step.amount.name for step in procedure.steps if step.amount} - set(facts)
    for key in rule.facts:
        if key not in passed_over and number_of(facts, key) is None:
            return Held("mix_fact_missing", {"fact": key})
    values: dict[str, Any] = dict(rule.values)
    values |= {name: facts[key] for name, key in rule.numbers.items() if key in facts}
    for name, keys in rule.lists.items():
        values[name] = [facts[key] for key in keys if key in facts]
    if rule.readings:
        values["readings"] = [
            _reading(parameter, facts[key])
            for parameter, key in rule.readings.items()
            if key in facts
        ]
    return RecordDraft(rule.kind, values, rule.changes)


def _reading(parameter: str, value: float | str) -> dict[str, Any]:
    """Return a reading of a water test, in the parameter's own unit."""
    unit = PARAMETERS[parameter].unit
    return {"parameter": parameter, "value": value, "typed": f"{value:.6g}", "typed_unit": unit}
