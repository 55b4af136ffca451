"""One-off additions of weighed salts: how much, over how many days, in which order, what apart.

Magnesium first, then calcium, alkalinity last, each on days of its own with a test between. The
grams are for the smallest the tank may be: the test before the next part tells what is left.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil
from typing import Final

from engine.chemistry.salts import (
    CALCIUM_HYDROXIDE,
    COMPOUNDS,
    SODIUM_BICARBONATE,
    Compound,
    effect,
    grams_for_alkalinity,
    grams_for_calcium,
    grams_for_magnesium,
)
from engine.demand.facts import Facts
from engine.errors import check_between, check_not_negative
from engine.hazards.incident import running
from engine.plan.alarms import PH_ACT_NOW, alkalinity_alarms, pH_in_force
from engine.reasons import Reason
from engine.records import Incident, Setup
from engine.seawater import USUAL_SALINITY
from engine.vocabulary import MEQ_PER_DKH

# Common practice, no source: rises a day, and when carbonate or a stronger base is too much.
ALKALINITY_RISE_MEQ_PER_L: Final = 0.3 * MEQ_PER_DKH
CALCIUM_RISE_MG_PER_L: Final = 20.0
MAGNESIUM_RISE_MG_PER_L: Final = 50.0
STARVED_MEQ_PER_L: Final = 6.0 * MEQ_PER_DKH
CARBONATE_BELOW_PH: Final = 8.3
SALINITY_OFF_PSU: Final = 1.0
APART_MINUTES: Final = 30.0
RETEST_HOURS: Final = 12.0
NEXT_PART_HOURS: Final = 24.0  # the limits are for a day
_ROUNDING: Final = 1e-9


class What(StrEnum):
    """What is raised, in the order in which it is."""

    MAGNESIUM = "magnesium"  # mg/L
    CALCIUM = "calcium"  # mg/L
    ALKALINITY = "alkalinity"  # meq/L


class AdditionCode(StrEnum):
    """Every reason of this module; sentences stand in mobile/texts/additions.py."""

    NOTHING_TO_ADD = "add_nothing"
    ORDER = "add_order"
    APART = "add_apart"
    RETEST = "add_retest"
    TOTAL_ALKALINITY = "add_total_alkalinity"
    TOTAL_CALCIUM = "add_total_calcium"
    TOTAL_MAGNESIUM = "add_total_magnesium"
    SULFATE = "add_sulfate"
    WRONG_SALT = "add_wrong_salt"
    NO_LIME = "add_no_lime"
    STARVED = "add_starved"
    PH_TOO_HIGH = "add_pH_too_high"
    SALINITY_FIRST = "add_salinity_first"
    INCIDENT = "add_incident"
    ALARM = "add_alarm"


def addition_reason(code: AdditionCode, **numbers: float | str) -> Reason:
    """Return a reason; each keyword's name carries its unit."""
    return Reason(code, numbers)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One parameter to raise. Values in meq/L for alkalinity, mg/L for the others."""

    what: What
    now: float
    target: float
    salt: str  # a code of engine.chemistry.salts.COMPOUNDS, its hydrate included
    assay: float  # mass of the compound as its formula states it, per mass of product


@dataclass(frozen=True, slots=True, kw_only=True)
class AdditionDay:
    """What to weigh on one day."""

    day: int  # 1 is the first
    what: What
    salt: str
    grams: float
    rise: float  # meq/L or mg/L at the nominal volume
    alkalinity_meq: float  # to be recorded with it


@dataclass(frozen=True, slots=True, kw_only=True)
class AdditionPlan:
    """Everything to weigh, day by day; empty where nothing may or needs be added."""

    days: tuple[AdditionDay, ...]
    reasons: tuple[Reason, ...]


def plan_additions(
    wishes: Sequence[Wish],
    setup: Setup,
    *,
    salinity: float | None = None,
    pH_nbs: float | None = None,
    halt: Reason | None = None,
) -> AdditionPlan:
    """Return the additions spread over days.

    Parameters
    ----------
    wishes : sequence of Wish
        At most one for each parameter.
    setup : Setup
        Volume with its error, and the keeper's limit on the rise of alkalinity.
    salinity : float, optional
        On record; far from 35 it is corrected first, since it moves calcium and magnesium.
    pH_nbs : float, optional
        The day's highest; too high, and carbonate is refused, from `PH_ACT_NOW` on everything.
    halt : Reason, optional
        From `halt_of`: nothing is added while it stands.
    """
    if halt is None and pH_nbs is not None and pH_nbs >= PH_ACT_NOW:
        halt = addition_reason(AdditionCode.ALARM)
    if halt is not None:
        return AdditionPlan(days=(), reasons=(halt,))
    ordered = sorted(wishes, key=lambda wish: list(What).index(wish.what))
    objections = [
        objection
        for wish in ordered
        if (objection := _objection(wish, salinity, pH_nbs)) is not None
    ]
    if objections:
        return AdditionPlan(days=(), reasons=tuple(objections))
    days: list[AdditionDay] = []
    for wish in ordered:
        days += _spread(wish, setup, len(days) + 1)
    if not days:
        return AdditionPlan(days=(), reasons=(addition_reason(AdditionCode.NOTHING_TO_ADD),))
    return AdditionPlan(days=tuple(days), reasons=tuple(_reasons(ordered, days, setup)))


def halt_of(facts: Facts, setup: Setup) -> Reason | None:
    """Return why nothing may be added now: an overdose runs, or an alarm stops limewater."""
    if running(facts.of(Incident)) is not None:
        return addition_reason(AdditionCode.INCIDENT)
    highest = pH_in_force(facts)
    if (highest is not None and highest.stops) or alkalinity_alarms(facts, setup):
        return addition_reason(AdditionCode.ALARM)
    return None


def _objection(wish: Wish, salinity: float | None, pH_nbs: float | None) -> Reason | None:
    check_not_negative("now", wish.now)
    check_not_negative("target", wish.target)
    check_between("additions", "assay", wish.assay, 0.01, 1.005)
    if wish.salt == CALCIUM_HYDROXIDE.code:
        return addition_reason(AdditionCode.NO_LIME)
    compound = COMPOUNDS.get(wish.salt)
    if compound is None or _per_mol(compound, wish.what) <= 0.0:
        return addition_reason(AdditionCode.WRONG_SALT)
    if wish.target <= wish.now:
        return None
    if wish.what is What.ALKALINITY:
        return None if compound is SODIUM_BICARBONATE else _carbonate_objection(wish, pH_nbs)
    return _salinity_objection(wish, salinity)


def _carbonate_objection(wish: Wish, pH_nbs: float | None) -> Reason | None:
    if wish.now < STARVED_MEQ_PER_L:
        return addition_reason(AdditionCode.STARVED, level_meq_per_L=wish.now)
    if pH_nbs is None or pH_nbs >= CARBONATE_BELOW_PH:
        return addition_reason(AdditionCode.PH_TOO_HIGH, below_pH=CARBONATE_BELOW_PH)
    return None


def _salinity_objection(wish: Wish, salinity: float | None) -> Reason | None:
    if salinity is None or abs(salinity - USUAL_SALINITY) <= SALINITY_OFF_PSU:
        return None
    return addition_reason(
        AdditionCode.SALINITY_FIRST,
        salinity_PSU=salinity,
        now_mg_per_L=wish.now,
        corrected_mg_per_L=wish.now * USUAL_SALINITY / salinity,
    )


def _per_mol(compound: Compound, what: What) -> float:
    return {
        What.ALKALINITY: compound.alkalinity_eq_per_mol,
        What.CALCIUM: compound.calcium_mol_per_mol,
        What.MAGNESIUM: compound.magnesium_mol_per_mol,
    }[what]


def _largest_rise(what: What, setup: Setup) -> float:
    """Return the most that one day may bring."""
    own = setup.net_rise_meq_per_L_per_day
    if what is What.ALKALINITY:
        return ALKALINITY_RISE_MEQ_PER_L if own is None else min(own, ALKALINITY_RISE_MEQ_PER_L)
    return CALCIUM_RISE_MG_PER_L if what is What.CALCIUM else MAGNESIUM_RISE_MG_PER_L


def _spread(wish: Wish, setup: Setup, first_day: int) -> list[AdditionDay]:
    """Return equal portions, none above the day's limit in the smallest the tank may be."""
    rise, most = wish.target - wish.now, _largest_rise(wish.what, setup)
    if rise <= 0.0 or most <= 0.0:
        return []
    count = ceil(rise / most - _ROUNDING)
    compound = COMPOUNDS[wish.salt]
    volume_L = setup.net_volume_L * (1.0 - setup.net_volume_error_share)
    grams = _grams(compound, wish.what, rise / count, volume_L, wish.assay)
    brought = effect(compound, grams, volume_L=setup.net_volume_L, assay=wish.assay)
    reached = {
        What.ALKALINITY: brought.alkalinity_meq_per_L,
        What.CALCIUM: brought.calcium_mg_per_L,
        What.MAGNESIUM: brought.magnesium_mg_per_L,
    }[wish.what]
    return [
        AdditionDay(
            day=first_day + number,
            what=wish.what,
            salt=wish.salt,
            grams=grams,
            rise=reached,
            alkalinity_meq=brought.alkalinity_meq_per_L * setup.net_volume_L,
        )
        for number in range(count)
    ]


def _grams(compound: Compound, what: What, rise: float, volume_L: float, assay: float) -> float:
    by_what = {
        What.ALKALINITY: grams_for_alkalinity,
        What.CALCIUM: grams_for_calcium,
        What.MAGNESIUM: grams_for_magnesium,
    }
    return by_what[what](compound, rise, volume_L=volume_L, assay=assay)


_TOTALS: Final = {
    What.ALKALINITY: AdditionCode.TOTAL_ALKALINITY,
    What.CALCIUM: AdditionCode.TOTAL_CALCIUM,
    What.MAGNESIUM: AdditionCode.TOTAL_MAGNESIUM,
}


def _reasons(wishes: Sequence[Wish], days: Sequence[AdditionDay], setup: Setup) -> list[Reason]:
    found: list[Reason] = []
    for wish in wishes:
        mine = [day for day in days if day.what is wish.what]
        if not mine:
            continue
        numbers = {"day_count": float(len(mine)), "each_g": mine[0].grams}
        found.append(addition_reason(_TOTALS[wish.what], **numbers))
        grams = sum(day.grams for day in mine)
        brought = effect(COMPOUNDS[wish.salt], grams, volume_L=setup.net_volume_L, assay=wish.assay)
        if brought.sulfate_mg_per_L > 0.0:
            sulfate = {"sulfate_mg_per_L": brought.sulfate_mg_per_L}
            found.append(addition_reason(AdditionCode.SULFATE, **sulfate))
    if len({day.what for day in days}) > 1:
        found.append(addition_reason(AdditionCode.ORDER))
    return [
        *found,
        addition_reason(AdditionCode.APART, apart_hours=APART_MINUTES / 60.0),
        addition_reason(AdditionCode.RETEST, retest_hours=RETEST_HOURS),
    ]
