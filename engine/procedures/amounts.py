"""Whether a number typed in a guided procedure counts, is asked about or is held."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf, isfinite

from engine.entry.checks import Refused
from engine.entry.fields import Amount, DoubtfulAmount, name_suffix, read_amount, read_number
from engine.procedures.schema import AmountRule

Facts = Mapping[str, float | str]


@dataclass(frozen=True, slots=True)
class Held:
    """Nothing to append: the step stays.

    With `may_confirm` the same answer counts once it is given as confirmed.
    """

    code: str
    numbers: Mapping[str, float | str] = field(default_factory=dict[str, "float | str"])
    may_confirm: bool = False


def judge_amount(
    rule: AmountRule, text: str, facts: Facts, *, confirmed: bool = False
) -> str | Held:
    """Return the answer of an amount, a number in the rule's unit, or why it does not count."""
    compared = rule.advised or rule.near
    for key in (rule.advised, rule.largest):
        if key and number_of(facts, key) is None:
            return Held("mix_fact_missing", {"fact": key})
    found = _read(rule, text, _expected(rule, number_of(facts, compared)))
    if isinstance(found, Refused):
        return Held(found.fault.code, found.fault.numbers)
    value = found.value if isinstance(found, Amount) else found.amount.value
    if value == 0.0 and not rule.may_be_zero:
        return Held("entry_zero")  # replay would not count it either
    suffix = name_suffix(rule.name)
    numbers = {f"typed_{suffix}": value}
    for name, key in (("advised", compared), ("largest", rule.largest)):
        known = number_of(facts, key)
        if known is not None:
            numbers[f"{name}_{suffix}"] = known
    if value > numbers.get(f"largest_{suffix}", value):
        return Held(rule.above, numbers)
    if isinstance(found, DoubtfulAmount) and not confirmed:
        return _unusual(rule, found, numbers)
    return f"{value:.6g}"


def _unusual(rule: AmountRule, found: DoubtfulAmount, numbers: Mapping[str, float]) -> Held:
    """Return the question about an amount: beside the advised one, or beside the usual range."""
    if rule.advised or rule.near:
        return Held(rule.unusual, dict(numbers), may_confirm=True)
    return Held(found.doubt.code, {**found.doubt.numbers, **numbers}, may_confirm=True)


def _expected(rule: AmountRule, compared: float | None) -> tuple[float, float] | None:
    if compared is not None and compared > 0.0:
        return rule.ask_below_share * compared, rule.ask_above_share * compared
    if rule.ask_below is None and rule.ask_above is None:
        return None
    low = 0.0 if rule.ask_below is None else rule.ask_below
    return low, inf if rule.ask_above is None else rule.ask_above


def _read(
    rule: AmountRule, text: str, expected: tuple[float, float] | None
) -> Amount | DoubtfulAmount | Refused:
    if rule.field:
        return read_amount(rule.field, text, rule.unit, expected=expected)
    bounds = (rule.low or 0.0, inf if rule.high is None else rule.high)
    return read_number(rule.name, text, rule.unit, bounds, expected=expected, zero=rule.may_be_zero)


def number_of(facts: Facts, key: str) -> float | None:
    """Return a fact as a number, None where it is none that is known."""
    value = facts.get(key)
    return float(value) if isinstance(value, float | int) and isfinite(value) else None
