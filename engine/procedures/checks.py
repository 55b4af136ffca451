"""Rules of safety that every procedure file must keep; one that breaks them is not used."""

from collections.abc import Iterable, Sequence

from engine.errors import InvalidQuantity
from engine.log.record_setup import Delivery
from engine.procedures.schema import (
    DONE,
    GEAR,
    AmountRule,
    Leads,
    Option,
    Procedure,
    Step,
    StepKind,
    When,
)
from engine.procedures.sums import COMPUTED
from engine.records import KINDS

_ASKED = (StepKind.GATE, StepKind.CHECK)


class InvalidProcedure(InvalidQuantity):
    """A procedure file that must not be used; `field` says where, `reason` why."""

    def __init__(self, field: str, reason: str) -> None:
        super().__init__(code="invalid_procedure", field=field, value=reason)
        self.reason = reason

    def __str__(self) -> str:
        return f"{self.field}: {self.reason}"


def _need(held: object, where: str, reason: str) -> None:
    if not held:
        raise InvalidProcedure(where, reason)


def check_procedure(procedure: Procedure) -> None:
    """Check a parsed procedure as a whole.

    Raises
    ------
    InvalidProcedure
        Naming the step and the rule.
    """
    keys = [step.key for step in procedure.steps]
    _need(keys and len(set(keys)) == len(keys), "steps", "none, or a key that occurs twice")
    _need(procedure.tools and procedure.risks, "procedure", "no tools or nothing that can go wrong")
    _need(set(procedure.computes) <= set(COMPUTED), "computes", "an unknown sum")
    _need(set(procedure.deliveries) <= set(Delivery), "deliveries", "unknown")
    for place, step in enumerate(procedure.steps):
        before = procedure.steps[:place]
        _check_answers(step)
        _check_belonging(step, before)
        for option in step.options:
            _check_option(option, step, before)
        _check_numbers(step, known_facts(procedure, before))
    for delivery in Delivery:
        run = [step for step in procedure.steps if not step.only or delivery in step.only]
        _check_delivery(run, leaves_off=procedure.leaves_off)
        _check_gear(run)


def known_facts(procedure: Procedure, before: Iterable[Step]) -> set[str]:
    """Return the facts that a step may use after the steps before it."""
    known = {*procedure.facts, *procedure.live}
    known |= {step.amount.name for step in before if step.amount is not None}
    for code in procedure.computes:
        known |= set(COMPUTED[code].gives)
    return known


def _check_answers(step: Step) -> None:
    leads = {option.leads for option in step.options}
    answers = {option.answer for option in step.options}
    _need(len(answers) == len(step.options), step.key, "an answer that occurs twice")
    if step.kind in _ASKED:
        _need(Leads.ON in leads, step.key, "no answer leads on")
        _need(leads - {Leads.ON}, step.key, "no answer refuses")
    elif step.kind is StepKind.CHOICE:
        _need(leads == {Leads.ON} and len(answers) > 1, step.key, "not a choice of ways on")
    else:
        plain = {DONE} if step.kind in (StepKind.ACT, StepKind.RESULT) else set[str]()
        _need(answers == plain, step.key, "answers not of its kind")
    timed, measured = step.timer is not None, step.amount is not None
    _need(timed is (step.kind is StepKind.WAIT), step.key, "a timer and a wait belong")
    _need(measured is (step.kind is StepKind.AMOUNT), step.key, "an amount rule is missing")
    if step.timer is not None:
        least, advised = step.timer.least_min, step.timer.advised_min
        _need(0.0 < least <= advised, step.key, "a wait without end")


def _check_belonging(step: Step, before: Sequence[Step]) -> None:
    _need(set(step.only) <= set(Delivery), step.key, "an unknown way of delivery")
    _need(step.handles in GEAR, step.key, "unknown what is handled")
    _need(step.delivery in ("", "off", "on"), step.key, "delivery is neither off nor on")
    _need(not (step.delivery and step.when), step.key, "delivery that depends on an answer")
    asked = {other.key: {o.answer for o in other.options} for other in before}
    for when in step.when:
        possible = asked.get(when.step, set())
        _need(when.answers and set(when.answers) <= possible, step.key, "an answer never asked for")


def _check_option(option: Option, step: Step, before: Sequence[Step]) -> None:
    refuses = option.leads is not Leads.ON
    _need(bool(option.reason) is refuses, step.key, "a reason where it refuses")
    _need(bool(option.to) is (option.leads is Leads.BACK), step.key, "a target where it goes back")
    if option.to:
        target = [place for place, other in enumerate(before) if other.key == option.to]
        _need(target, step.key, "it goes back to no earlier step")
        again = before[target[0] :]
        _need(not any(s.records for s in again), step.key, "a record would be made twice")


def _check_numbers(step: Step, known: set[str]) -> None:
    bounds = [option.block for option in step.options if option.block] + list(step.remarks)
    for bound in bounds:
        one = (bound.at_least is None) is not (bound.below is None)
        _need(one and bound.fact in known, step.key, "a bound of nothing known")
    if step.amount is not None:
        _check_amount(step.key, step.amount, known)
    for rule in step.records:
        _need(rule.kind in KINDS, step.key, "an unknown kind of record")
        own = {step.amount.name} if step.amount is not None else set[str]()
        _need(set(rule.facts) <= known | own, step.key, "a record of nothing measured")


def _check_amount(key: str, rule: AmountRule, known: set[str]) -> None:
    wanted = {fact for fact in (rule.advised, rule.near, rule.largest) if fact}
    _need(wanted <= known, key, "a fact not asked for")
    ranged = rule.low is not None and rule.high is not None and rule.low < rule.high
    _need(bool(rule.field) is not ranged, key, "neither a field nor a range, or both")
    compared = bool(rule.advised or rule.near)
    shares = 0.0 <= rule.ask_below_share < rule.ask_above_share
    _need(shares if compared else rule.ask_above_share == 0.0, key, "shares of nothing")


def _check_delivery(steps: Sequence[Step], *, leaves_off: bool) -> None:
    effects = [step.delivery for step in steps if step.delivery]
    last = "off" if leaves_off else "on"
    _need(not effects or effects[0] == "off", "steps", "delivery is not off first")
    _need(not effects or effects[-1] == last, "steps", f"delivery is not {last} at the end")


def _check_gear(steps: Sequence[Step]) -> None:
    """Every piece is asked for by a gate of its own before it is needed, and again once off."""
    worn: list[tuple[str, set[When]]] = []
    for step in steps:
        sure = {piece for piece, when in worn if when <= set(step.when)}
        _need(set(step.gear) <= sure, step.key, "gear that no gate asked for")
        _need(not step.wears or step.kind is StepKind.GATE, step.key, "gear without a gate")
        if step.wears:
            worn.append((step.wears, set(step.when)))
        if step.takes_off:
            worn.clear()
