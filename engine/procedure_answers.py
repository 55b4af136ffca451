"""What an answer to a procedure's step adds to the log, or why it adds nothing."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from math import isfinite
from typing import Final

from engine.entry import Refused
from engine.entry_fields import Amount, DoubtfulAmount, read_amount
from engine.errors import InvalidQuantity
from engine.procedure_schema import AmountRule, Block, Leads, Procedure, RecordRule, Step, StepKind
from engine.procedures import (
    BY_KEEPER,
    CONTINUE,
    CONTINUE_EARLY,
    WAIT_AGAIN,
    Progress,
    RunState,
    amount_of,
    missing_fact,
    wait_answers,
)
from engine.records import ProcedureEvent

Facts = Mapping[str, float | str]

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


@dataclass(frozen=True, slots=True)
class RecordDraft:
    """Another record still without id, times and system; values as the record codec takes them."""

    kind: str
    values: Mapping[str, float | str]


@dataclass(frozen=True, slots=True)
class Answered:
    """What to append, all in one batch: either everything is saved or nothing."""

    drafts: tuple[RunDraft | RecordDraft, ...]


@dataclass(frozen=True, slots=True)
class Held:
    """Nothing to append: the step stays.

    With `may_confirm` the same answer counts once it is given as confirmed.
    """

    code: str
    numbers: Mapping[str, float | str] = field(default_factory=dict[str, "float | str"])
    may_confirm: bool = False


def start(procedure: Procedure, at: Progress, run: str, facts: Facts) -> Answered | Held:
    """Begin a run under a new id; held while one is open or a fact is missing."""
    if at.state is RunState.OPEN:
        return Held("mix_already_open")
    missing = missing_fact(procedure, facts)
    if missing is not None:
        return Held("mix_fact_missing", {"fact": missing})
    return Answered((RunDraft(run, procedure.key, ProcedureEvent.STARTED),))


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
        Held codes: `HELD_CODES`, those of engine.entry_fields for an amount, or the sentence key
        that the procedure gives for a refusing answer.
    """
    step = at.step
    if at.state is not RunState.OPEN or step is None:
        return Held("mix_not_open")
    held: Held | None = None
    if step.kind is StepKind.WAIT:
        held = _held_wait(at, answer, now)
    elif step.amount is not None:
        judged = judge_amount(step.amount, answer, facts, confirmed=confirmed)
        held, answer = (judged, "") if isinstance(judged, Held) else (None, judged)
    else:
        held = _held_option(step, answer, facts)
    return held or Answered(_drafts(procedure, at, step, answer))


def judge_amount(
    rule: AmountRule, text: str, facts: Facts, *, confirmed: bool = False
) -> str | Held:
    """Return the answer of an amount, a number in the rule's unit, or why it does not count."""
    advised, largest = (_number(facts, key) for key in (rule.advised, rule.largest))
    if advised is None or largest is None:
        return Held("mix_fact_missing", {"fact": rule.advised if advised is None else rule.largest})
    expected = (rule.ask_below_share * advised, rule.ask_above_share * advised)
    found = read_amount(rule.field, text, rule.unit, expected=expected)
    if isinstance(found, Refused):
        return Held(found.fault.code, found.fault.numbers)
    value = found.value if isinstance(found, Amount) else found.amount.value
    typed = {"typed": value, "advised": advised, "largest": largest}
    suffix = rule.field.rpartition("_")[2]
    numbers = {f"{key}_{suffix}": number for key, number in typed.items()}
    if value > largest:
        return Held("mix_amount_above_largest", numbers)
    if isinstance(found, DoubtfulAmount) and not confirmed:
        return Held("mix_amount_unusual", numbers, may_confirm=True)
    return f"{value:.6g}"


def _number(facts: Facts, key: str) -> float | None:
    value = facts.get(key)
    return float(value) if isinstance(value, float | int) and isfinite(value) else None


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
    """Tell whether a recorded fact contradicts an answer; a fact that is not there does not."""
    if block.fact not in facts:
        return False
    value = _number(facts, block.fact)
    return value is None or value >= block.at_least


def _drafts(
    procedure: Procedure, at: Progress, step: Step, answer: str
) -> tuple[RunDraft | RecordDraft, ...]:
    """Return what an answer that counts adds: itself, its record, and the end of the run."""
    option = step.option(answer)
    leads = option.leads if option is not None else Leads.ON
    event = ProcedureEvent.STOPPED if leads is Leads.STOP else ProcedureEvent.STEP_DONE
    drafts: list[RunDraft | RecordDraft] = [
        RunDraft(at.run, procedure.key, event, step.key, answer)
    ]
    if leads is Leads.ON and step.record is not None:
        drafts.append(_record(at, step.record))
    if leads is Leads.ON and answer != WAIT_AGAIN and step.key == procedure.steps[-1].key:
        drafts.append(RunDraft(at.run, procedure.key, ProcedureEvent.FINISHED))
    return tuple(drafts)


def _record(at: Progress, rule: RecordRule) -> RecordDraft:
    (amount,) = (amount_of(done.answer) for done in at.done if done.key == rule.amount_of)
    if amount is None:  # replay lets no such answer through
        raise InvalidQuantity(rule.field, amount)
    return RecordDraft(rule.kind, {rule.field: amount, **rule.values})
