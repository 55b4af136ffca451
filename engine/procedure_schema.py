"""Guided procedures as data: what a procedure file may hold, parsed and checked as a whole.

Files hold codes only. Every gate has an answer that refuses it; nothing is answered beforehand.
"""

import typing
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from engine.errors import InvalidQuantity

FORMAT: Final = "sumpside-procedure"
VERSION: Final = 1
DONE: Final = "done"  # the answer of a plain act


class StepKind(StrEnum):
    """What a step asks of the keeper."""

    GATE = "gate"  # a condition that must hold: one separate answer
    ACT = "act"  # one thing to do
    WAIT = "wait"  # time that must pass
    AMOUNT = "amount"  # a number to measure out and confirm
    CHECK = "check"  # a look at the result


class Leads(StrEnum):
    """Where an answer leads."""

    ON = "on"
    STAY = "stay"  # not yet: advice, nothing recorded
    BACK = "back"  # to an earlier step
    STOP = "stop"  # the run ends


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A recorded fact that contradicts an answer and so withholds it."""

    fact: str
    at_least: float
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One answer to a step."""

    answer: str
    leads: Leads = Leads.ON
    reason: str = ""  # sentence key: why it stops, stays or goes back
    to: str = ""
    block: Block | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Timer:
    """How long a wait lasts: never less than `least_min`, better `advised_min`."""

    least_min: float
    advised_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AmountRule:
    """How a typed amount is judged; `advised` and `largest` are fact keys."""

    field: str  # "kind.field" of engine.records
    unit: str
    advised: str
    largest: str
    ask_below_share: float  # of the advised amount
    ask_above_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordRule:
    """A record made when the step is done; its number was confirmed in an earlier step."""

    kind: str
    field: str
    amount_of: str
    values: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of a procedure."""

    key: str
    kind: StepKind
    sentence: str
    notes: tuple[str, ...] = ()
    options: tuple[Option, ...] = ()
    timer: Timer | None = None
    amount: AmountRule | None = None
    record: RecordRule | None = None
    delivery: str = ""  # "off" or "on": what this step does to the flow of limewater
    gear: tuple[str, ...] = ()  # what must be worn

    def option(self, answer: str) -> Option | None:
        """Return the option of an answer, or None."""
        return next((option for option in self.options if option.answer == answer), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Procedure:
    """A guided procedure, its steps in order."""

    key: str
    hazards: tuple[str, ...]
    facts: tuple[str, ...]  # keys of the numbers that the app must provide
    steps: tuple[Step, ...]

    def position(self, key: str) -> int:
        """Return the place of a step, counted from 0."""
        return next(place for place, step in enumerate(self.steps) if step.key == key)


class InvalidProcedure(InvalidQuantity):
    """A procedure file that must not be used; `field` says where, `reason` why."""

    def __init__(self, field: str, reason: str) -> None:
        super().__init__(code="invalid_procedure", field=field, value=reason)
        self.reason = reason

    def __str__(self) -> str:
        return f"{self.field}: {self.reason}"


def parse_procedure(data: Mapping[str, Any]) -> Procedure:
    """Return the procedure of parsed JSON.

    Raises
    ------
    InvalidProcedure
        Anything missing, unknown, of a wrong type, or a rule of safety not kept.
    """
    body = dict(data)
    if body.pop("format", None) != FORMAT or body.pop("version", None) != VERSION:
        raise InvalidProcedure("format", f"not {FORMAT} version {VERSION}")
    procedure = typing.cast("Procedure", _parse(Procedure, body, "procedure"))
    _check(procedure)
    return procedure


def _parse(hint: Any, value: Any, where: str) -> Any:
    """Return a value of one of the types that the classes above use."""
    if hint is str or hint is float:
        return _scalar(hint, value, where)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        if value not in tuple(hint):
            raise InvalidProcedure(where, f"unknown choice {value!r:.40}")
        return hint(value)
    origin, inner = typing.get_origin(hint), typing.get_args(hint)
    if origin is tuple:
        if not isinstance(value, list):
            raise InvalidProcedure(where, "not a list")
        items = typing.cast("list[Any]", value)
        return tuple(_parse(inner[0], item, f"{where}[{n}]") for n, item in enumerate(items))
    if not isinstance(value, Mapping):
        raise InvalidProcedure(where, "not an object")
    mapping = typing.cast("Mapping[str, Any]", value)
    if origin is not None and issubclass(origin, Mapping):
        return {key: _scalar(str, item, f"{where}.{key}") for key, item in mapping.items()}
    classes: list[Any] = [c for c in inner if c is not type(None)] or [hint]
    return _object(classes[0], mapping, where)


def _scalar(hint: type, value: Any, where: str) -> Any:
    if hint is float and isinstance(value, int) and not isinstance(value, bool):
        value = float(value)
    if not isinstance(value, hint):
        raise InvalidProcedure(where, f"not a {hint.__name__}")
    return value


def _object(cls: Any, value: Mapping[str, Any], where: str) -> Any:
    hints = typing.get_type_hints(cls)
    unknown = next((key for key in value if key not in hints), None)
    if unknown is not None:
        raise InvalidProcedure(f"{where}.{unknown:.40}", "unknown")
    try:
        return cls(
            **{key: _parse(hints[key], item, f"{where}.{key}") for key, item in value.items()}
        )
    except TypeError as error:
        raise InvalidProcedure(where, f"something is missing: {error}") from error


def _check(procedure: Procedure) -> None:
    keys = [step.key for step in procedure.steps]
    if not keys or len(set(keys)) != len(keys):
        raise InvalidProcedure("steps", "none, or a key that occurs twice")
    for place, step in enumerate(procedure.steps):
        _check_step(step, procedure.steps[:place], procedure.facts)
    effects = [step.delivery for step in procedure.steps if step.delivery]
    if set(effects) - {"off", "on"} or (effects and effects[-1] != "on"):
        raise InvalidProcedure("steps", "delivery is not off first and on last")


def _check_step(step: Step, before: Sequence[Step], facts: tuple[str, ...]) -> None:
    def need(held: object, reason: str) -> None:
        if not held:
            raise InvalidProcedure(step.key, reason)

    leads = {option.leads for option in step.options}
    answers = {option.answer for option in step.options}
    need(len(answers) == len(step.options), "an answer that occurs twice")
    if step.kind in (StepKind.GATE, StepKind.CHECK):
        need(Leads.ON in leads, "no answer leads on")
        need(leads - {Leads.ON}, "no answer refuses")
    else:
        need(answers == ({DONE} if step.kind is StepKind.ACT else set()), "answers not of its kind")
    need((step.timer is not None) is (step.kind is StepKind.WAIT), "a timer and a wait belong")
    need((step.amount is not None) is (step.kind is StepKind.AMOUNT), "an amount rule is missing")
    for option in step.options:
        need(bool(option.reason) is (option.leads is not Leads.ON), "a reason where it refuses")
        need(bool(option.to) is (option.leads is Leads.BACK), "a target where it goes back")
        if option.to:
            target = [place for place, other in enumerate(before) if other.key == option.to]
            need(target, "it goes back to no earlier step")
            again = (*before[target[0] :], step)
            need(not any(other.record for other in again), "a record would be made twice")
    if step.timer is not None:
        need(0.0 < step.timer.least_min <= step.timer.advised_min, "a wait without end")
    if step.amount is not None:
        need({step.amount.advised, step.amount.largest} <= set(facts), "a fact not asked for")
    if step.record is not None:
        measured = {other.key for other in before if other.kind is StepKind.AMOUNT}
        need(step.record.amount_of in measured, "the record's amount is not measured before")
