"""How fast the air works on one's own tank, from two pairs of readings in the log, lime off.

Proposed so that the low end which the limits reckon with is never above the measured one.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from engine.carbonate import pCO2_uatm_from_dry_air_ppm
from engine.chemistry.exchange_rate import exchange_rate_with_interval
from engine.chemistry.gas_exchange import Rates
from engine.chemistry.uncertainty import Estimate, Uncertain
from engine.errors import EngineError, check_positive
from engine.plan.ph_guard import Water
from engine.reasons import Reason
from engine.vocabulary import MEQ_PER_DKH

LEAST_HOURS: Final = 2.0
MOST_HOURS: Final = 14.0
LEAST_CHANGE_PH: Final = 0.05
# High over low end of the 90 % interval beyond which a result says no more than what is usual.
WIDEST: Final = 6.0
# One standard deviation each, common practice and estimates, no source: how well a probe repeats
# itself, its calibration, an alkalinity test, the room's monitor, a room never measured, and what
# animals breathe out in the dark.
_REPEAT_PH: Final = 0.01
_OFFSET_PH: Final = 0.05
_TEST_MEQ_PER_L: Final = 0.3 * MEQ_PER_DKH
_MONITOR_PPM: Final = 75.0
_UNKNOWN_ROOM: Final = (650.0, 150.0)
_DARK: Final = Uncertain(value=0.05, sd=0.03, low=0.0)  # mmol/L/day
_POINTS: Final = 32
_ENGINE_SHARE: Final = 0.3  # engine.plan.ph_guard's error of an entered rate
_H_PER_DAY: Final = 24.0
_ENTERED_RANGE: Final = (0.1, 500.0)  # of Setup.gas_exchange_per_day


class ExchangeCode(StrEnum):
    """Every answer of this module; sentences stand in mobile/texts/air.py."""

    FOUND = "air_found"
    ROOM_ASSUMED = "air_room_assumed"
    TOO_SOON = "air_too_soon"
    TOO_LATE = "air_too_late"
    TOO_LITTLE = "air_too_little"
    ALKALINITY_ROSE = "air_alkalinity_rose"
    NOT_EXPLAINED = "air_not_explained"
    TOO_UNSURE = "air_too_unsure"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two readings of alkalinity and pH, some hours apart, in the dark and with no lime between."""

    before_meq_per_L: float
    before_pH_nbs: float
    after_meq_per_L: float
    after_pH_nbs: float
    hours: float
    room_ppm: float | None  # carbon dioxide of the room, None when it was not measured


@dataclass(frozen=True, slots=True)
class OwnExchange:
    """The rate to enter, None where the pair tells none, and why."""

    rate_per_day: float | None
    reasons: tuple[Reason, ...]


def own_exchange(pair: Pair, *, salinity: float, temperature_degC: float) -> OwnExchange:
    """Return the exchange rate to propose, or the reason that there is none.

    Parameters
    ----------
    pair : Pair
        The readings, with their hours above 0.
    salinity, temperature_degC : float
        Of the tank, within the range of the carbonate constants.
    """
    check_positive("hours", pair.hours, "h")
    refused = _objection(pair)
    if refused is not None:
        return OwnExchange(None, (refused,))
    water = Water(
        alkalinity_meq_per_L=pair.before_meq_per_L,
        salinity=salinity,
        temperature_degC=temperature_degC,
    )
    try:
        found = _estimate(pair, water)
    except EngineError:
        return OwnExchange(None, (Reason(ExchangeCode.NOT_EXPLAINED, {}),))
    return _proposed(found, pair)


def _objection(pair: Pair) -> Reason | None:
    hours = {"apart_hours": pair.hours, "least_hours": LEAST_HOURS, "most_hours": MOST_HOURS}
    if pair.hours < LEAST_HOURS:
        return Reason(ExchangeCode.TOO_SOON, hours)
    if pair.hours > MOST_HOURS:
        return Reason(ExchangeCode.TOO_LATE, hours)
    rise = pair.after_meq_per_L - pair.before_meq_per_L
    if rise > 2.0 * _TEST_MEQ_PER_L:
        return Reason(ExchangeCode.ALKALINITY_ROSE, {"rise_meq_per_L": rise})
    change = abs(pair.after_pH_nbs - pair.before_pH_nbs)
    if change < LEAST_CHANGE_PH:
        return Reason(ExchangeCode.TOO_LITTLE, {"change_pH": change, "least_pH": LEAST_CHANGE_PH})
    return None


def _estimate(pair: Pair, water: Water) -> Estimate:
    to_umol_per_kg = 1000.0 / water.kg_per_L
    fall = max(0.0, pair.before_meq_per_L - pair.after_meq_per_L)
    grown = fall / 2.0 * _H_PER_DAY / pair.hours
    ppm, error = _UNKNOWN_ROOM if pair.room_ppm is None else (pair.room_ppm, _MONITOR_PPM)
    at = {"salinity": water.salinity, "temperature_degC": water.temperature_degC}
    return exchange_rate_with_interval(
        total_alkalinity_umol_per_kg=Uncertain(
            value=pair.before_meq_per_L * to_umol_per_kg, sd=_TEST_MEQ_PER_L * to_umol_per_kg
        ),
        pH_nbs_before=Uncertain(value=pair.before_pH_nbs, sd=_REPEAT_PH),
        pH_nbs_after=Uncertain(value=pair.after_pH_nbs, sd=_REPEAT_PH),
        probe_offset_sd=_OFFSET_PH,
        hours=pair.hours,
        air_pCO2_uatm=Uncertain(value=pCO2_uatm_from_dry_air_ppm(ppm, **at), sd=error),
        respiration_mmol_per_L_per_day=_DARK,
        rates=Rates(calcification_mmol=grown),
        points=_POINTS,
        **at,
    )


def _proposed(found: Estimate, pair: Pair) -> OwnExchange:
    numbers = {"low_times": found.low, "best_times": found.value, "high_times": found.high}
    room = () if pair.room_ppm is not None else (Reason(ExchangeCode.ROOM_ASSUMED, {}),)
    low, high = _ENTERED_RANGE
    if found.high > WIDEST * found.low:
        return OwnExchange(None, (Reason(ExchangeCode.TOO_UNSURE, numbers), *room))
    rate = min(found.value, found.low / (1.0 - _ENGINE_SHARE))
    if not low <= rate <= high:
        return OwnExchange(None, (Reason(ExchangeCode.NOT_EXPLAINED, {}), *room))
    told = Reason(ExchangeCode.FOUND, {**numbers, "rate_times": rate})
    return OwnExchange(rate, (told, *room))
