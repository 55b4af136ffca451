"""One way to carry an interval through a calculation, without chance.

`propagate` runs a function over a fixed low-discrepancy set of inputs and takes quantiles: right
for curved functions and for limits that cut a distribution. `propagate_first_order` multiplies
finite differences by standard deviations: enough where the function is nearly straight.

Correlation has two forms. A quantity that enters twice (the tank's volume in the demand and in
the dose) is *one* input of *one* function that does both; then its error cancels where nature
lets it cancel. Two quantities with a common cause (two pH readings of one probe) are two inputs
with a coefficient in `correlations`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, inf, isfinite, sqrt
from statistics import NormalDist
from typing import TYPE_CHECKING, Final

from engine.errors import (
    EngineError,
    InvalidQuantity,
    check_between,
    check_finite,
    check_not_negative,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

DEFAULT_SHARE: Final = 0.9
DEFAULT_POINTS: Final = 256
# More refused points than this and the interval would be a statement about the rest only.
TOLERATED_REFUSED_SHARE: Final = 0.05

_NORMAL: Final = NormalDist()
_DIFFERENCE_SD: Final = 0.5
_ROUNDING: Final = 1e-9
_MIN_POINTS, _MAX_POINTS = 32, 65_536


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertain:
    """An input with its error: normal about `value`, kept within `low` and `high`."""

    value: float
    sd: float
    low: float = -inf
    high: float = inf

    def __post_init__(self) -> None:
        check_finite("value", self.value)
        check_not_negative("sd", self.sd)
        if not self.low <= self.value <= self.high:
            raise InvalidQuantity("value", self.value, low=self.low, high=self.high)

    def at(self, deviation: float) -> float:
        """Value so many standard deviations from the middle, kept within the bounds."""
        return min(max(self.value + deviation * self.sd, self.low), self.high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A result with its interval: `share` of the probability lies between `low` and `high`."""

    value: float
    """The function at the middle of every input."""
    low: float
    high: float
    sd: float
    share: float
    refused_share: float = 0.0
    """Share of the sampled inputs for which the function gave no number."""


def relative(
    value: float, relative_sd: float, *, low: float = -inf, high: float = inf
) -> Uncertain:
    """Make an input whose standard deviation is a share of its value."""
    check_not_negative("relative_sd", relative_sd)
    return Uncertain(value=value, sd=abs(value) * relative_sd, low=low, high=high)


def from_half_width(
    value: float, half_width: float, *, share: float = DEFAULT_SHARE, low: float = -inf
) -> Uncertain:
    """Make an input from "plus or minus so much", `share` of the probability within."""
    _check_share(share)
    return Uncertain(value=value, sd=half_width / _deviation(share), low=low)


def propagate(
    function: Callable[..., float],
    inputs: Mapping[str, Uncertain],
    *,
    correlations: Mapping[tuple[str, str], float] | None = None,
    share: float = DEFAULT_SHARE,
    points: int = DEFAULT_POINTS,
) -> Estimate:
    """Interval of a function's result from its inputs' errors, by a fixed sample.

    Parameters
    ----------
    function : callable
        Takes every input by keyword, returns a float.
    inputs : mapping
        Name to Uncertain.
    correlations : mapping, optional
        Pair of names to correlation coefficient, -1 to 1; pairs left out are independent.
    share : float
        Probability inside the interval, 0 to 1 exclusive.
    points : int
        Size of the sample, 32 to 65 536.

    Returns
    -------
    Estimate

    Raises
    ------
    EngineError
        The function's own, at the middle, or when more than 5 % of the sample is refused.

    Notes
    -----
    Sample: additive recurrence with the generalised golden ratio [ROB18].
    """
    _check_share(share)
    check_between("uncertainty", "points", points, _MIN_POINTS, _MAX_POINTS)
    names = tuple(inputs)
    root = _cholesky(names, correlations or {})
    middle = function(**{name: inputs[name].value for name in names})
    results: list[float] = []
    refusal: EngineError | None = None
    for deviations in _normal_points(len(names), points):
        mixed = (sum(r * d for r, d in zip(row, deviations, strict=True)) for row in root)
        arguments = {name: inputs[name].at(d) for name, d in zip(names, mixed, strict=True)}
        try:
            results.append(function(**arguments))
        except EngineError as error:
            refusal = error
    if refusal is not None and points - len(results) > TOLERATED_REFUSED_SHARE * points:
        raise refusal
    results.sort()
    return Estimate(
        value=middle,
        low=_quantile(results, 0.5 * (1.0 - share)),
        high=_quantile(results, 0.5 * (1.0 + share)),
        sd=_standard_deviation(results),
        share=share,
        refused_share=1.0 - len(results) / points,
    )


def propagate_first_order(
    function: Callable[..., float],
    inputs: Mapping[str, Uncertain],
    *,
    correlations: Mapping[tuple[str, str], float] | None = None,
    share: float = DEFAULT_SHARE,
) -> Estimate:
    """Interval of a function's result by finite differences; parameters as in `propagate`."""
    _check_share(share)
    names = tuple(inputs)
    root = _cholesky(names, correlations or {})
    middle_arguments = {name: inputs[name].value for name in names}
    middle = function(**middle_arguments)
    effects = [_effect_of_one_sd(function, middle_arguments, name, inputs[name]) for name in names]
    # Variance is |effects . root|^2, for root . root^T is the correlation.
    columns = (sum(effects[i] * root[i][j] for i in range(len(names))) for j in range(len(names)))
    sd = sqrt(sum(column * column for column in columns))
    half_width = _deviation(share) * sd
    return Estimate(
        value=middle, low=middle - half_width, high=middle + half_width, sd=sd, share=share
    )


def _effect_of_one_sd(
    function: Callable[..., float], middle: Mapping[str, float], name: str, entry: Uncertain
) -> float:
    above, below = entry.at(_DIFFERENCE_SD), entry.at(-_DIFFERENCE_SD)
    if above == below:
        return 0.0
    rise = function(**{**middle, name: above}) - function(**{**middle, name: below})
    return rise / (above - below) * entry.sd


def _check_share(share: float) -> None:
    if not isfinite(share) or not 0.0 < share < 1.0:
        raise InvalidQuantity("share", share, low=0.0, high=1.0)


def _deviation(share: float) -> float:
    return _NORMAL.inv_cdf(0.5 * (1.0 + share))


def _normal_points(dimensions: int, points: int) -> list[tuple[float, ...]]:
    """Lay out fixed standard normal points: golden-ratio recurrence, inverse normal."""
    golden = _generalised_golden_ratio(dimensions)
    steps = [golden ** -(j + 1) for j in range(dimensions)]
    return [
        tuple(_NORMAL.inv_cdf(_open_unit(0.5 + (i + 1) * step)) for step in steps)
        for i in range(points)
    ]


def _open_unit(number: float) -> float:
    return min(max(number - floor(number), _ROUNDING), 1.0 - _ROUNDING)


def _generalised_golden_ratio(dimensions: int) -> float:
    """Solve x^(d+1) = x + 1 [ROB18]."""
    ratio = 2.0
    for _ in range(60):
        ratio = (1.0 + ratio) ** (1.0 / (dimensions + 1))
    return ratio


def _cholesky(
    names: Sequence[str], correlations: Mapping[tuple[str, str], float]
) -> list[list[float]]:
    """Lower triangular root of the correlation matrix."""
    size = len(names)
    matrix = [[1.0 if i == j else 0.0 for j in range(size)] for i in range(size)]
    for (first, second), coefficient in correlations.items():
        if first not in names or second not in names or first == second:
            raise InvalidQuantity("correlations", (first, second), code="unknown_input")
        check_between("correlation", f"{first},{second}", coefficient, -1.0, 1.0)
        i, j = names.index(first), names.index(second)
        matrix[i][j] = matrix[j][i] = coefficient
    root = [[0.0] * size for _ in range(size)]
    for i in range(size):
        for j in range(i + 1):
            rest = matrix[i][j] - sum(root[i][m] * root[j][m] for m in range(j))
            if i == j:
                if rest < -_ROUNDING:
                    raise InvalidQuantity("correlations", rest, code="impossible_correlations")
                root[i][i] = sqrt(max(rest, 0.0))
            elif root[j][j] > 0.0:
                root[i][j] = rest / root[j][j]
    return root


def _quantile(ordered: Sequence[float], share: float) -> float:
    position = share * (len(ordered) - 1)
    lower, upper = floor(position), ceil(position)
    return ordered[lower] + (position - lower) * (ordered[upper] - ordered[lower])


def _standard_deviation(values: Sequence[float]) -> float:
    mean = sum(values) / len(values)
    return sqrt(sum((value - mean) ** 2 for value in values) / (len(values) - 1))
