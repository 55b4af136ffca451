"""The minder's sheet: what is normal, what to do each day, what to leave alone, what if."""

from dataclasses import dataclass
from math import floor
from typing import Final

from engine.decision import Decision
from engine.demand.facts import BY_PUMP, THROUGH_TOP_OFF, THROUGH_VESSEL
from engine.limits import Action, Refusal
from engine.plan.evaporation import evaporation_span
from engine.plan.horizon import HORIZON_DAYS
from engine.plan.stop_safe import StopSafe
from engine.records import Delivery, SecondSource, Setup
from engine.units import Span, to_float
from mobile.state.running import running
from mobile.state.sentences import date, days_at_least, sentence, told
from mobile.state.snapshot import Snapshot
from mobile.texts.minder import EYES, NEVER, SKIN, STEPS, TEXTS
from mobile.texts.setup import TEXTS as SETUP

# How far temperature may stray from what is set before it is no longer usual (common practice).
_TEMPERATURE_DEGC: Final = 1.0
_CALM_DAYS: Final = 2.0  # a shorter wait is told as such


@dataclass(frozen=True, slots=True, kw_only=True)
class MinderView:
    """The sheet in the order of reading; every text may hold what the keeper typed."""

    title: str
    made: str
    normal: tuple[tuple[str, str], ...]
    practice: str
    daily: tuple[str, ...]
    leave: tuple[str, ...]
    wait: tuple[str, ...]
    emergency_when: str
    steps: tuple[str, ...]
    bands: str
    never: tuple[str, ...]
    eyes: tuple[str, ...]
    skin: tuple[str, ...]
    acid: str
    phones: tuple[tuple[str, str], ...]  # (whose, number)

    @property
    def has_phones(self) -> bool:
        """Whether a number is set."""
        return bool(self.phones)


def minder(snapshot: Snapshot) -> MinderView | None:
    """Return the sheet; None without a set-up and a decision."""
    setup, decision = snapshot.setup, snapshot.decision
    if setup is None or decision is None:
        return None
    runs = _runs(snapshot, decision)
    evaporation = None
    if decision.evaporation is not None:
        evaporation = evaporation_span(decision.evaporation)
    return MinderView(
        title=TEXTS["title"].format(name=setup.name),
        made=TEXTS["made"].format(date=date(snapshot.now, snapshot.now)),
        normal=_normal(snapshot, decision, setup, evaporation, runs=runs),
        practice=TEXTS["practice"],
        daily=_daily(setup, evaporation, runs=runs),
        leave=tuple(TEXTS[key] for key in _LEAVE),
        wait=_wait(decision),
        emergency_when=TEXTS["emergency_when"],
        steps=STEPS,
        bands=TEXTS["bands"],
        never=NEVER,
        eyes=EYES,
        skin=SKIN,
        acid=TEXTS["acid"],
        phones=_phones(setup),
    )


_LEAVE: Final = (
    "leave_powder",
    "leave_setting",
    "leave_catch_up",
    "leave_bottles",
    "leave_doubt",
)


def _runs(snapshot: Snapshot, decision: Decision) -> bool:
    """Tell whether limewater may flow now: set above nothing, not paused, nothing stops it."""
    if is_stopped(decision):
        return False
    under_way = running(snapshot)
    if under_way is not None and under_way.paused:
        return False
    if decision.setting is None:
        return decision.setup is not None and decision.setup.delivery in THROUGH_TOP_OFF
    return to_float(decision.setting.delivered, "L/day") > 0.0


def is_stopped(decision: Decision) -> bool:
    """Tell whether limewater must be off: an alarm, or an overdose that runs."""
    return isinstance(decision.plan, Refusal) and decision.plan.action is Action.STOP


def _normal(
    snapshot: Snapshot, decision: Decision, setup: Setup, evaporation: Span | None, *, runs: bool
) -> tuple[tuple[str, str], ...]:
    unit = snapshot.alkalinity_unit
    ends = {
        "low_meq_per_L": setup.band_low_total_alkalinity_meq_per_L,
        "high_meq_per_L": setup.band_high_total_alkalinity_meq_per_L,
    }
    band = told(TEXTS, "alkalinity_value", ends, unit)
    degrees = {
        "low_degC": setup.tank_temperature_degC - _TEMPERATURE_DEGC,
        "high_degC": setup.tank_temperature_degC + _TEMPERATURE_DEGC,
    }
    rows = [
        (TEXTS["limewater"], _limewater(decision, setup, runs=runs)),
        (TEXTS["alkalinity"], band),
        (TEXTS["pH"], TEXTS["pH_value"]),
        (TEXTS["temperature"], told(TEXTS, "temperature_value", degrees)),
        (TEXTS["salinity"], TEXTS["salinity_value"]),
    ]
    if evaporation is not None:
        litres = _tenths(evaporation)
        rows.append((TEXTS["evaporation"], told(TEXTS, "evaporation_value", litres)))
    return tuple(rows)


def _limewater(decision: Decision, setup: Setup, *, runs: bool) -> str:
    if is_stopped(decision):
        return TEXTS["limewater_stopped"]
    if not runs:
        return TEXTS["limewater_off"]
    if setup.delivery in THROUGH_TOP_OFF or decision.setting is None:
        return TEXTS["limewater_top_off"]
    numbers = {
        "lime_L_per_day": to_float(decision.setting.limewater_set, "L/day"),
        "doses_count": float(setup.doses_per_day),
    }
    code = "limewater_value" if setup.delivery in BY_PUMP else "limewater_drip"
    return sentence(TEXTS, code, numbers)


def _daily(setup: Setup, evaporation: Span | None, *, runs: bool) -> tuple[str, ...]:
    keys = ["daily_animals", "daily_flow", "daily_level"]
    if runs:
        keys.append("daily_drop")
        keys.append("daily_bar" if setup.delivery in THROUGH_VESSEL else "daily_clear")
        if setup.delivery is Delivery.DRIP:
            keys.append("daily_drip")
    if setup.second_source is not SecondSource.NONE:
        keys.append("daily_second")
    return (*(TEXTS[key] for key in keys), _fill(setup, evaporation), TEXTS["daily_food"])


def _fill(setup: Setup, evaporation: Span | None) -> str:
    """Return how often fresh water must be filled in, by the most that evaporates."""
    size = setup.fresh_water_container_L
    if size is None or evaporation is None or evaporation.high <= 0.0:
        return TEXTS["daily_fill_unknown"]
    whole = max(1.0, float(floor(size / evaporation.high)))
    return told(TEXTS, "daily_fill", {"fill_days": whole, **_tenths(evaporation)})


def _tenths(evaporation: Span) -> dict[str, float | str]:
    """Return the least and the most that evaporates, to a tenth of a litre."""
    low, _, high = evaporation
    return {"low_L_per_day": round(low, 1), "high_L_per_day": round(high, 1)}


def _wait(decision: Decision) -> tuple[str, ...]:
    """Return how long the tank can wait without limewater, the near end of what is known."""
    stop = decision.stop_safe
    if not isinstance(stop, StopSafe):
        return (TEXTS["wait_unknown"], TEXTS["wait_never_restart"])
    low = stop.to_floor.floats("day").low
    code = "wait_days" if low >= _CALM_DAYS else "wait_short"
    if low >= HORIZON_DAYS:
        code = "wait_month"
    elif low <= 0.0:
        code = "wait_now"
    said = TEXTS[code].format(wait_low_days=days_at_least(low))
    return (said, TEXTS["wait_never_restart"])


def _phones(setup: Setup) -> tuple[tuple[str, str], ...]:
    known = (
        (SETUP["field_phone_emergency"], setup.phone_emergency),
        (SETUP["field_phone_poison_centre"], setup.phone_poison_centre),
        (SETUP["field_phone_vet"], setup.phone_vet),
    )
    return tuple((whose, number) for whose, number in known if number)
