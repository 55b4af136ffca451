"""Guided procedures as data: what a procedure file may hold.

Files hold codes only. Every gate has an answer that refuses it; nothing is answered beforehand.
Parsed by `engine.procedures.file`, judged by `engine.procedures.checks`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Final

DONE: Final = "done"  # the answer of a plain act


class StepKind(StrEnum):
    """What a step asks of the keeper."""

    GATE = "gate"  # a condition that must hold: one separate answer
    ACT = "act"  # one thing to do
    WAIT = "wait"  # time that must pass
    AMOUNT = "amount"  # a number to measure out or to read
    CHECK = "check"  # a look at the result
    CHOICE = "choice"  # which way to go on; no answer refuses
    RESULT = "result"  # what the app worked out


class Leads(StrEnum):
    """Where an answer leads."""

    ON = "on"
    STAY = "stay"  # not yet: advice, nothing recorded
    BACK = "back"  # to an earlier step
    STOP = "stop"  # the run ends


class Group(StrEnum):
    """When a procedure is needed."""

    CARE = "care"  # daily and weekly
    HAPPENED = "happened"  # after something happened
    EQUIPMENT = "equipment"  # new or changed equipment
    AWAY = "away"  # before a journey


class Handles(StrEnum):
    """What the hands are in while a step is done."""

    DUST = "dust"
    SOLUTION = "solution"
    ACID = "acid"


# What must be worn for it (GHS P280; a particle mask against dust, P261).
GEAR: Final[Mapping[str, tuple[str, ...]]] = {
    "": (),
    Handles.DUST: ("goggles", "mask", "gloves"),
    Handles.SOLUTION: ("goggles", "gloves"),
    Handles.ACID: ("goggles", "gloves"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A fact that contradicts an answer and so withholds it: at or above, or below a bound."""

    fact: str
    reason: str
    at_least: float | None = None
    below: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """A note that shows only while a fact is at or above, or below a bound."""

    note: str
    fact: str
    at_least: float | None = None
    below: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class When:
    """A step belongs to the run only after one of these answers to an earlier step."""

    step: str
    answers: tuple[str, ...]


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
    """How a typed amount is judged; `name`, `advised`, `near` and `largest` are fact keys.

    Asked about are amounts away from the advised one (offered for one tap) or from `near` (not
    offered), by the shares, or outside the fixed bounds. Above `largest` nothing counts.
    """

    name: str  # the fact that the number becomes; its suffix is the unit that it is kept in
    unit: str  # that it is typed in
    field: str = ""  # "kind.field" of engine.records, whose range holds; else `low` to `high`
    low: float | None = None
    high: float | None = None
    advised: str = ""
    near: str = ""
    largest: str = ""
    ask_below_share: float = 0.0
    ask_above_share: float = 0.0
    ask_below: float | None = None
    ask_above: float | None = None
    above: str = "mix_amount_above_largest"  # sentence keys
    unusual: str = "mix_amount_unusual"
    may_be_zero: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordRule:
    """A record made when the step is done; its numbers are facts by then.

    The number of an amount step that did not belong to the run is left out.
    """

    kind: str
    numbers: Mapping[str, Any] = field(default_factory=dict[str, Any])  # field: fact
    lists: Mapping[str, Any] = field(default_factory=dict[str, Any])  # field: [facts]
    readings: Mapping[str, Any] = field(default_factory=dict[str, Any])  # parameter: fact
    values: Mapping[str, Any] = field(default_factory=dict[str, Any])  # field: constant
    changes: bool = False  # the set-up in force with these fields changed

    @property
    def facts(self) -> tuple[str, ...]:
        """Return the facts that it takes its numbers from."""
        listed = (fact for facts in self.lists.values() for fact in facts)
        return (*self.numbers.values(), *listed, *self.readings.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of a procedure."""

    key: str
    kind: StepKind
    sentence: str
    notes: tuple[str, ...] = ()
    remarks: tuple[Remark, ...] = ()
    options: tuple[Option, ...] = ()
    timer: Timer | None = None
    amount: AmountRule | None = None
    records: tuple[RecordRule, ...] = ()
    delivery: str = ""  # "off" or "on": what this step does to the flow of limewater
    handles: str = ""  # a code of `Handles`
    wears: str = ""  # the piece of gear that this gate asks for
    takes_off: bool = False  # gear and gloves are off after it
    only: tuple[str, ...] = ()  # codes of engine.records.Delivery; empty for all
    when: tuple[When, ...] = ()

    def option(self, answer: str) -> Option | None:
        """Return the option of an answer, or None."""
        return next((option for option in self.options if option.answer == answer), None)

    @property
    def gear(self) -> tuple[str, ...]:
        """Return what must be worn."""
        return GEAR[self.handles]

    def applies(self, delivery: str, answers: Mapping[str, str]) -> bool:
        """Tell whether it belongs to a run; with no delivery known all steps do."""
        fits = not self.only or not delivery or delivery in self.only
        return fits and all(answers.get(when.step) in when.answers for when in self.when)


@dataclass(frozen=True, slots=True, kw_only=True)
class Procedure:
    """A guided procedure, its steps in order."""

    key: str
    group: Group
    hazards: tuple[str, ...]
    tools: tuple[str, ...]  # sentence keys: what must be at hand
    risks: tuple[str, ...]  # sentence keys: what can go wrong
    facts: tuple[str, ...]  # numbers that the app must provide; fixed at the start of a run
    live: tuple[str, ...] = ()  # numbers looked up at the step that needs them
    computes: tuple[str, ...] = ()  # codes of engine.procedures.sums
    deliveries: tuple[str, ...] = ()  # that it is meant for; empty for all
    leaves_off: bool = False  # limewater stays off until another procedure brings it back
    steps: tuple[Step, ...]

    def position(self, key: str) -> int:
        """Return the place of a step, counted from 0."""
        return next(place for place, step in enumerate(self.steps) if step.key == key)

    def next_step(self, after: str, delivery: str, answers: Mapping[str, str]) -> Step | None:
        """Return the step that follows another one (empty: the first), None after the last."""
        place = self.position(after) + 1 if after else 0
        rest = self.steps[place:]
        return next((step for step in rest if step.applies(delivery, answers)), None)

    def path(self, delivery: str, answers: Mapping[str, str]) -> tuple[Step, ...]:
        """Return the steps that belong to a run, an open choice taken as its first answer."""
        taken, found = dict(answers), list[Step]()
        for step in self.steps:
            if step.applies(delivery, taken):
                found.append(step)
                if step.key not in taken and step.options:
                    taken[step.key] = step.options[0].answer
        return tuple(found)
