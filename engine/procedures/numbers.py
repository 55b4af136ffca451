"""Numbers as the records of a guided procedure's run hold them: answers, and facts of the start."""

from collections.abc import Mapping
from math import isfinite

from engine.procedures.schema import Step


def amount_of(step: Step, answer: str) -> float | None:
    """Return the number in the answer of an amount step, or None where it holds none that counts.

    It must be finite and above 0, or 0 where the step's rule allows that.
    """
    try:
        amount = float(answer)
    except ValueError:
        return None
    zero = step.amount is not None and step.amount.may_be_zero and amount == 0.0
    return amount if isfinite(amount) and (amount > 0.0 or zero) else None


def written_facts(facts: Mapping[str, float]) -> str:
    """Return facts as the start of a run records them."""
    return " ".join(f"{key}={value:.6g}" for key, value in sorted(facts.items()))


def read_facts(text: str) -> dict[str, float]:
    """Return the facts of a run's start; what cannot be read is left out."""
    found: dict[str, float] = {}
    for part in text.split():
        key, _, value = part.partition("=")
        try:
            number = float(value)
        except ValueError:
            continue
        if isfinite(number):
            found[key] = number
    return found
