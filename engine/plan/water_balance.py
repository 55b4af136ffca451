"""Level and salinity ahead: what comes in beside what evaporates, skimmate, salt of a two-part.

Fresh water beyond evaporation stays: the sump rises until it overflows, and from then on tank
water leaves with its salt. Wet skimmate and splashes take salt with them and fresh water takes
their place. A two-part leaves common salt behind, limewater none (chemistry section 9).
"""

from dataclasses import dataclass
from typing import Final

from engine.chemistry.constants import MOLAR_MASS_SODIUM_CHLORIDE
from engine.decision import Decision
from engine.demand.facts import Facts
from engine.demand.inputs import most_two_part_water_L
from engine.limits import DosePlan
from engine.plan.evaporation import evaporation_span
from engine.plan.salinity_drift import (
    dilution_days,
    dilution_PSU_per_day,
    excess_L_per_day,
    salinity_now,
)
from engine.plan.season_codes import SeasonCode, season_reason
from engine.reasons import Reason
from engine.records import SecondSource, Setup
from engine.seawater import density_kg_per_m3
from engine.units import Span, to_float
from engine.vocabulary import PARAMETERS, Z90

# Common practice, no source.
SALINITY_BAND: Final = (34.0, 35.5)
# Half-width of the 90 % interval of a salinity test; one assumed is no better known.
SALINITY_ERROR_PSU: Final = Z90 * PARAMETERS["salinity"].test_error
HORIZON_DAYS: Final = 365.0
_STEADY_PSU_PER_DAY: Final = 0.002
# A test may be off by more than what is left to the end of the band: then it may be there.
_THERE_DAYS: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterBalance:
    """One way of dosing: what becomes of level and salinity. Days of 365 mean 365 or more."""

    limewater_L_per_day: float
    two_part_L_per_day: float
    evaporation_L_per_day: Span
    excess_L_per_day: Span  # fresh water beyond evaporation, 0 or more
    salinity: float  # now
    salinity_change_PSU_per_day: Span
    days_to_band_end: Span | None  # until salinity leaves its band; None while it holds
    days_to_overflow: Span | None  # None without an excess, or without the sump's room
    reasons: tuple[Reason, ...]


def water_balance_as_set(decision: Decision, facts: Facts) -> WaterBalance | Reason:
    """Return level and salinity ahead with what is set now."""
    lime_L = 0.0
    if decision.setting is not None:
        lime_L = to_float(decision.setting.delivered, "L/day")
    second = decision.change.second_was
    return _balance(decision, facts, lime_L, 0.0 if second is None else to_float(second, "meq/day"))


def water_balance_by_plan(decision: Decision, facts: Facts) -> WaterBalance | Reason:
    """Return level and salinity ahead with the plan and its second source."""
    if not isinstance(decision.plan, DosePlan):
        return season_reason(SeasonCode.SEASON_NO_PLAN)
    left = decision.remainder
    has_second = left is not None and left.source is not SecondSource.NONE
    second = left.meq_per_day if left is not None and has_second else 0.0
    return _balance(decision, facts, decision.plan.L_per_day, second)


def _balance(
    decision: Decision, facts: Facts, lime_L_per_day: float, second_meq_per_day: float
) -> WaterBalance | Reason:
    setup = decision.setup
    evaporation = None if decision.evaporation is None else evaporation_span(decision.evaporation)
    if setup is None or evaporation is None:
        return season_reason(SeasonCode.WATER_UNKNOWN)
    two_part_L = most_two_part_water_L(setup, second_meq_per_day)
    excess = excess_L_per_day(
        setup,
        lime_L_per_day=lime_L_per_day,
        two_part_L_per_day=two_part_L,
        evaporation=evaporation,
    )
    salinity, is_recorded = salinity_now(facts)
    salt = _salt_PSU_per_day(setup, second_meq_per_day, salinity)
    leaving = (each + setup.skimmate_L_per_day for each in reversed(excess))
    change = Span(
        *(salt + dilution_PSU_per_day(salinity, each, setup.net_volume_L) for each in leaving)
    )
    ends = _days_to_band_end(salinity, change)
    overflow = _days_to_overflow(setup, excess)
    return WaterBalance(
        limewater_L_per_day=lime_L_per_day,
        two_part_L_per_day=two_part_L,
        evaporation_L_per_day=evaporation,
        excess_L_per_day=excess,
        salinity=salinity,
        salinity_change_PSU_per_day=change,
        days_to_band_end=ends,
        days_to_overflow=overflow,
        reasons=(
            *_level_reasons(setup, lime_L_per_day, evaporation, excess, overflow),
            *_salinity_reasons(salinity, change, ends, assumed=not is_recorded),
            *_part_reasons(setup, salt, salinity),
        ),
    )


def salt_left_g_per_L(alkalinity_meq_per_L: float) -> float:
    """Return the sodium chloride that a balanced two-part leaves once corals took their part, g/L.

    One mole of salt for each equivalent of alkalinity [STOICHIOMETRY].
    """
    return alkalinity_meq_per_L * MOLAR_MASS_SODIUM_CHLORIDE / 1000.0


def _salt_PSU_per_day(setup: Setup, second_meq_per_day: float, salinity: float) -> float:
    """Return the rise of salinity by the salt of a two-part, about g/kg a day."""
    if setup.second_source is not SecondSource.TWO_PART:
        return 0.0
    grams_per_L = salt_left_g_per_L(second_meq_per_day / setup.net_volume_L)
    kg_per_L = density_kg_per_m3(salinity, setup.tank_temperature_degC) / 1000.0
    return grams_per_L / kg_per_L


def _days_to_band_end(salinity: float, change: Span) -> Span | None:
    """Return the days until salinity passes the end of its band that it drifts towards."""
    drift = _drift(change)
    if drift == 0.0:
        return None
    end = SALINITY_BAND[0] if drift < 0.0 else SALINITY_BAND[1]
    gap = end - salinity
    if gap * drift <= 0.0:
        return Span(0.0, 0.0, 0.0)
    # Where the tank really stands the test tells only within its error.
    near, far = (-1.0, 1.0) if drift < 0.0 else (1.0, -1.0)
    early = min(_days(salinity + near * SALINITY_ERROR_PSU, end, each, salinity) for each in change)
    late = max(_days(salinity + far * SALINITY_ERROR_PSU, end, each, salinity) for each in change)
    return Span(early, _days(salinity, end, drift, salinity), late)


def _days(start: float, end: float, change: float, salinity: float) -> float:
    """Return the days from a start to the end; 0 beyond it, the horizon the other way.

    `change` is that of the salinity on record, PSU/day.
    """
    if change == 0.0:
        return HORIZON_DAYS
    if (end - start) * change <= 0.0:
        return 0.0 if (end - start) * _towards(end) <= 0.0 else HORIZON_DAYS
    # A share leaves each day, so the way down is an exponential; up, salt comes evenly.
    falls = change < 0.0
    days = dilution_days(start, end, -change / salinity) if falls else (end - start) / change
    return min(HORIZON_DAYS, days)


def _towards(end: float) -> float:
    """Return which way salinity leaves its band at this end."""
    return -1.0 if end == SALINITY_BAND[0] else 1.0


def _drift(change: Span) -> float:
    """Return which way salinity goes, PSU/day: the best estimate, or a fall that may be."""
    if abs(change.best) >= _STEADY_PSU_PER_DAY:
        return change.best
    return change.low if change.low <= -_STEADY_PSU_PER_DAY else 0.0


def _days_to_overflow(setup: Setup, excess: Span) -> Span | None:
    if setup.sump_room_L is None or excess.high <= 0.0:
        return None
    room = setup.sump_room_L
    days = [min(HORIZON_DAYS, room / each) if each > 0.0 else HORIZON_DAYS for each in excess]
    return Span(days[2], days[1], days[0])


def _level_reasons(
    setup: Setup, lime_L: float, evaporation: Span, excess: Span, overflow: Span | None
) -> list[Reason]:
    if excess.high <= 0.0:
        numbers = {
            "limewater_L_per_day": lime_L,
            "evaporation_low_L_per_day": evaporation.low,
            "evaporation_high_L_per_day": evaporation.high,
        }
        return [season_reason(SeasonCode.WATER_BALANCED, **numbers)]
    numbers = {"excess_low_L_per_day": excess.low, "excess_high_L_per_day": excess.high}
    found = [season_reason(SeasonCode.WATER_EXCESS, **numbers)]
    if overflow is not None:
        days = {"overflow_low_days": overflow.low, "overflow_high_days": overflow.high}
        found.append(season_reason(SeasonCode.WATER_OVERFLOW, **days))
    elif setup.sump_room_L is None:
        found.append(season_reason(SeasonCode.WATER_ROOM_UNSET))
    return found


def _salinity_reasons(
    salinity: float, change: Span, ends: Span | None, *, assumed: bool
) -> list[Reason]:
    found = [season_reason(SeasonCode.SALINITY_ASSUMED, salinity_PSU=salinity)] if assumed else []
    if ends is None:
        return [*found, season_reason(SeasonCode.SALINITY_HOLDS, salinity_PSU=salinity)]
    falls = _drift(change) < 0.0
    end = SALINITY_BAND[0] if falls else SALINITY_BAND[1]
    if ends.best <= 0.0:
        outside = {"salinity_PSU": salinity, "end_PSU": end}
        return [*found, season_reason(SeasonCode.SALINITY_OUTSIDE, **outside)]
    if abs(change.best) < _STEADY_PSU_PER_DAY:
        may = {"change_PSU_per_day": -change.low, "end_PSU": end, "end_low_days": ends.low}
        return [*found, season_reason(SeasonCode.SALINITY_MAY_FALL, **may)]
    numbers = {"change_PSU_per_day": abs(change.best), "end_PSU": end, "end_high_days": ends.high}
    if ends.low < _THERE_DAYS:
        code = SeasonCode.SALINITY_FALLS_PERHAPS if falls else SeasonCode.SALINITY_RISES_PERHAPS
        return [*found, season_reason(code, **numbers)]
    code = SeasonCode.SALINITY_FALLS_TO if falls else SeasonCode.SALINITY_RISES_TO
    return [*found, season_reason(code, **numbers, end_low_days=ends.low)]


def _part_reasons(setup: Setup, salt_PSU_per_day: float, salinity: float) -> list[Reason]:
    found: list[Reason] = []
    if salt_PSU_per_day > 0.0:
        yearly = salt_PSU_per_day * HORIZON_DAYS
        found.append(season_reason(SeasonCode.TWO_PART_SALT, yearly_PSU=yearly))
    if setup.skimmate_L_per_day > 0.0:
        lost = -dilution_PSU_per_day(salinity, setup.skimmate_L_per_day, setup.net_volume_L)
        numbers = {"skimmate_L_per_day": setup.skimmate_L_per_day, "lost_PSU_per_day": lost}
        found.append(season_reason(SeasonCode.SKIMMATE_LOSS, **numbers))
    return found
