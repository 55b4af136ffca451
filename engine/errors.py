"""Errors of the engine: a code and structured fields; the sentences for people live in mobile.

Every error also inherits the builtin that fits, so a caller that knows nothing of the engine
still catches it. `check_between` and `check_finite` are the only ways the engine tests a range:
`NaN > cap` is False, so finiteness is always asked first.
"""

from __future__ import annotations

from math import isfinite
from typing import Any


class EngineError(Exception):
    """Base of all errors of the engine.

    Attributes
    ----------
    code : str
        Stable identifier; the text catalogue of the app holds one sentence for each.
    context : dict
        The numbers and names that sentence may quote.
    """

    code: str
    context: dict[str, Any]

    def __init__(self, code: str, context: dict[str, Any] | None = None) -> None:
        self.code = code
        self.context = dict(context or {})
        super().__init__(code, self.context)

    def __str__(self) -> str:
        """Text for developers."""
        fields = ", ".join(f"{name}={value!r}" for name, value in self.context.items())
        return f"{self.code}({fields})"


class InvalidQuantity(EngineError, ValueError):  # noqa: N818 - the name says what is wrong
    """A value that cannot be meant: not finite, negative where that is impossible, wrong unit."""

    def __init__(
        self,
        field: str,
        value: object,
        *,
        unit: str = "",
        low: float | None = None,
        high: float | None = None,
        code: str = "invalid_quantity",
    ) -> None:
        self.field = field
        self.value = value
        self.unit = unit
        self.low = low
        self.high = high
        super().__init__(
            code, {"field": field, "value": value, "unit": unit, "low": low, "high": high}
        )


class OutsideValidity(EngineError, ValueError):  # noqa: N818 - the name says what is wrong
    """A published fit, or a model of ours, is asked outside the range where it holds."""

    def __init__(
        self,
        formula: str,
        variable: str,
        value: float,
        low: float,
        high: float,
        *,
        code: str = "outside_validity",
    ) -> None:
        self.formula = formula
        self.variable = variable
        self.value = value
        self.low = low
        self.high = high
        super().__init__(
            code,
            {"formula": formula, "variable": variable, "value": value, "low": low, "high": high},
        )


# No quantity of a tank is larger, and none that must be positive is smaller: products of a few
# of them can then neither overflow nor vanish.
LARGEST_MAGNITUDE = 1e12
SMALLEST_POSITIVE = 1e-12


def check_finite(field: str, value: float, unit: str = "") -> None:
    """Raise InvalidQuantity unless `value` is a finite number of sane size."""
    _check_within(field, value, unit, -LARGEST_MAGNITUDE, LARGEST_MAGNITUDE)


def check_not_negative(field: str, value: float, unit: str = "") -> None:
    """Raise InvalidQuantity unless `value` is finite, of sane size and at least 0."""
    _check_within(field, value, unit, 0.0, LARGEST_MAGNITUDE)


def check_positive(field: str, value: float, unit: str = "") -> None:
    """Raise InvalidQuantity unless `value` is finite, of sane size and above 0."""
    _check_within(field, value, unit, SMALLEST_POSITIVE, LARGEST_MAGNITUDE)


def check_variance(field: str, value: float) -> None:
    """Raise InvalidQuantity unless `value` is finite and above 0; of any size, being a square."""
    if not isfinite(value) or value <= 0.0:
        raise InvalidQuantity(field, value, low=0.0, code="invalid_variance")


def check_between(formula: str, variable: str, value: float, low: float, high: float) -> None:
    """Raise InvalidQuantity when not finite, OutsideValidity when outside `low` to `high`."""
    if not isfinite(value):
        raise InvalidQuantity(variable, value, low=low, high=high)
    if value < low or value > high:
        raise OutsideValidity(formula, variable, value, low, high)


def _check_within(field: str, value: float, unit: str, low: float, high: float) -> None:
    if not isfinite(value) or value < low or value > high:
        raise InvalidQuantity(field, value, unit=unit, low=low, high=high)
