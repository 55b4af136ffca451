"""The rate k of gas exchange of one's own tank, from two pH readings some hours apart."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from engine.carbonate import CarbonateState, solve
from engine.chemistry.gas_exchange import EXCHANGE_RANGE_PER_DAY, Air, Rates, Segment, run_course
from engine.chemistry.uncertainty import DEFAULT_SHARE, Estimate, Uncertain, propagate
from engine.errors import OutsideValidity, check_positive
from engine.seawater import density_kg_per_m3

if TYPE_CHECKING:
    from collections.abc import Callable

DEFAULT_RATE_POINTS: Final = 128
_STEPS: Final = 24
_TRIED_PER_DAY: Final = (
    EXCHANGE_RANGE_PER_DAY[0],
    2.0,
    8.0,
    32.0,
    128.0,
    EXCHANGE_RANGE_PER_DAY[1],
)
_ITERATIONS: Final = 60
_RELATIVE_TOLERANCE: Final = 1e-9


def exchange_rate_per_day(
    start: CarbonateState,
    *,
    pH_nbs_after: float,
    hours: float,
    air_pCO2_uatm: float,
    rates: Rates | None = None,
) -> float:
    """Exchange rate k that explains how far pH moved between two readings, 1/d.

    Parameters
    ----------
    start : CarbonateState
        The tank at the first reading, best right after a dose of lime mixed in.
    pH_nbs_after : float
        pH (NBS) at the second reading.
    hours : float
        Time between them, h; best with the lamps unchanged.
    air_pCO2_uatm : float
        The room, at the water surface.
    rates : Rates, optional
        What else happened meanwhile; by default nothing.

    Returns
    -------
    float
        k of the integrated course, 0 to 1000.

    Raises
    ------
    OutsideValidity
        Code `exchange_not_identifiable`: pH moved the wrong way, further than any exchange
        explains, or as more than one would; its limits are the DIC that some exchange gives.
    """
    rates = rates or Rates()
    check_positive("hours", hours, "h")
    target = _dic_from_reading(start, rates, hours, pH_nbs_after)

    def excess(k: float) -> float:
        air = Air(pCO2_uatm=air_pCO2_uatm, exchange_per_day=k)
        segment = Segment(hours=hours, rates=rates)
        return (
            run_course(start, air, (segment,), step_h=hours / _STEPS)[-1].dic_umol_per_kg - target
        )

    tried = [(k, excess(k)) for k in _TRIED_PER_DAY]
    brackets = [pair for pair in pairwise(tried) if pair[0][1] * pair[1][1] < 0.0]
    # With respiration a slow and a fast exchange can end alike: then the pair tells neither.
    if len(brackets) != 1:
        ends = [target + each for _, each in tried]
        raise OutsideValidity(
            "exchange_rate",
            "dic_umol_per_kg",
            target,
            min(ends),
            max(ends),
            code="exchange_not_identifiable",
        )
    return _root(excess, *brackets[0])


def exchange_rate_with_interval(
    *,
    total_alkalinity_umol_per_kg: Uncertain,
    salinity: float,
    temperature_degC: float,
    pH_nbs_before: Uncertain,
    pH_nbs_after: Uncertain,
    probe_offset_sd: float,
    hours: float,
    air_pCO2_uatm: Uncertain,
    respiration_mmol_per_L_per_day: Uncertain,
    rates: Rates | None = None,
    share: float = DEFAULT_SHARE,
    points: int = DEFAULT_RATE_POINTS,
) -> Estimate:
    """Exchange rate k with its interval, 1/d.

    Parameters
    ----------
    total_alkalinity_umol_per_kg : Uncertain
        At the first reading, dose included.
    pH_nbs_before, pH_nbs_after : Uncertain
        Readings; `sd` is how well the probe repeats itself.
    probe_offset_sd : float
        Standard deviation of the probe's calibration, which both readings share.
    air_pCO2_uatm, respiration_mmol_per_L_per_day : Uncertain
        The room, and the animals' net respiration meanwhile (replaces that of `rates`).
    hours, rates : as in `exchange_rate_per_day`.
    share : float
        Probability inside the interval.
    points : int
        Size of the sample; each costs some hundred solutions of the carbonate system.

    Raises
    ------
    OutsideValidity
        Code `exchange_not_identifiable`, also when more than 5 % of the plausible readings tell
        nothing: repeat with a larger change of pH or a longer wait.
    """
    rates = rates or Rates()

    def k(
        *, alkalinity: float, before: float, after: float, offset: float, air: float, animals: float
    ) -> float:
        start = solve(
            total_alkalinity_umol_per_kg=alkalinity,
            salinity=salinity,
            temperature_degC=temperature_degC,
            pH_nbs=before + offset,
        )
        return exchange_rate_per_day(
            start,
            pH_nbs_after=after + offset,
            hours=hours,
            air_pCO2_uatm=air,
            rates=replace(rates, respiration_mmol=animals),
        )

    inputs = {
        "alkalinity": total_alkalinity_umol_per_kg,
        "before": pH_nbs_before,
        "after": pH_nbs_after,
        "offset": Uncertain(value=0.0, sd=probe_offset_sd),
        "air": air_pCO2_uatm,
        "animals": respiration_mmol_per_L_per_day,
    }
    return propagate(k, inputs, share=share, points=points)


def _dic_from_reading(
    start: CarbonateState, rates: Rates, hours: float, pH_nbs_after: float
) -> float:
    """DIC that the second pH reading implies, umol/kg."""
    litres_per_kg = 1000.0 / density_kg_per_m3(start.salinity, start.temperature_degC)
    change = rates.alkalinity_meq * hours / 24.0 * 1000.0 * litres_per_kg
    return solve(
        total_alkalinity_umol_per_kg=start.total_alkalinity_umol_per_kg + change,
        salinity=start.salinity,
        temperature_degC=start.temperature_degC,
        pH_nbs=pH_nbs_after,
    ).dic_umol_per_kg


def _root(
    function: Callable[[float], float], first: tuple[float, float], second: tuple[float, float]
) -> float:
    """Root between two points of opposite sign, by false position (Illinois)."""
    (a, at_a), (b, at_b) = first, second
    for _ in range(_ITERATIONS):
        middle = b - at_b * (b - a) / (at_b - at_a)
        at_middle = function(middle)
        if at_middle * at_b < 0.0:
            a, at_a = b, at_b
        else:
            at_a *= 0.5
        closed = abs(middle - b) <= _RELATIVE_TOLERANCE * abs(middle)
        b, at_b = middle, at_middle
        if closed or at_b == 0.0:
            break
    return b
