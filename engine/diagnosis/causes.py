"""The causes of a drift, each weighed by what the log says of it.

A cause that was measured is weighed by how much of the drift it explains; one that was not, by how
often it is the one and how long nobody looked. Weights are common practice, no source: they rank,
they are no probabilities.
"""

from typing import Final

from engine.demand.alkalinity_tests import ALKALINITY, TEST_ERROR_MEQ_PER_L, labels_of
from engine.demand.evidence import (
    EVENT_DAYS,
    PUMP_DAYS,
    STRENGTH_DAYS,
    Evidence,
    Situation,
    age_days,
    equipment_is_right,
    explaining,
    recently,
)
from engine.demand.facts import BY_PUMP, THROUGH_TOP_OFF
from engine.diagnosis.codes import CauseCode, Measure
from engine.plan.evaporation import last_evaporation_change
from engine.plan.happenings import DEMAND_JUMPS, LEVEL_JUMPS, PUMP_STOPPED
from engine.records import Happening, LimewaterStrength, PumpCheck, Recharge, SecondSource
from engine.stock.powder import Powder
from engine.units import to_float

_SALINITY_DAYS: Final = 30.0
_LATEST_TESTS: Final = 6  # a bottle opened among these may explain a drift
_NITRATE_DAYS: Final = 60.0
# Nitrate takes 1 meq for each mmol that stays in the water; molar mass of NO3 [STOICHIOMETRY].
MEQ_PER_MG_NITRATE: Final = 1.0 / 62.0049
_USUAL_ROOM_PPM: Final = (500.0, 900.0)
_SALINITY_ERROR_PSU: Final = 0.7


def alkalinity_falls(s: Situation) -> list[Evidence | None]:
    """Return what may make alkalinity fall."""
    return [
        _weak_lime(s),
        _pump_worn(s),
        _pump_stopped(s),
        _demand(s, CauseCode.DEMAND_UP, up=True),
        _evaporation(s, CauseCode.EVAPORATION_DOWN),
        _second_source_off(s),
        _reagent(s),
        _salinity(s, falls=True),
        _nitrate(s),
    ]


def alkalinity_rises(s: Situation) -> list[Evidence | None]:
    """Return what may make alkalinity rise; that the animals take less stands first in doubt."""
    return [
        _demand(s, CauseCode.DEMAND_DOWN, up=False),
        _pump_gives_more(s),
        _recharged(s),
        _slug(s),
        _evaporation(s, CauseCode.EVAPORATION_UP),
        _second_source_more(s),
        _reagent(s),
        _salinity(s, falls=False),
    ]


def pH_is_high(s: Situation) -> list[Evidence | None]:
    """Return what may hold pH high."""
    return [_room(s, CauseCode.ROOM_CO2_LOW), _probe(0.8), _slug(s), _pump_gives_more(s)]


def pH_is_low(s: Situation) -> list[Evidence | None]:
    """Return what may hold pH low."""
    return [
        _room(s, CauseCode.ROOM_CO2_HIGH),
        _probe(0.8),
        _lime_stopped(s),
        _weak_lime(s),
    ]


def _weak_lime(s: Situation) -> Evidence | None:
    if s.lime_L_per_day <= 0.0:
        return None
    if s.strength.source == "measured":
        missing = s.lime_L_per_day * (s.strength.saturated_meq_per_L - s.strength.meq_per_L.best)
        share, weight = explaining(s, missing)
        numbers = {"strength_share": s.strength.share.best, "missing_meq_per_day": missing}
        if not s.strength.is_weak:
            weight = min(weight, 0.4)
        return Evidence(CauseCode.WEAK_LIME, weight, Measure.STRENGTH, dict(numbers), share)
    powder = s.decision.powder
    spent = isinstance(powder, Powder) and powder.days_to_recharge.floats("day").best <= 0.0
    age = age_days(s, LimewaterStrength)
    unchecked = age is None or age > STRENGTH_DAYS
    weight = 2.2 if spent else 1.2 if unchecked else 0.6
    numbers = {"full_meq_per_day": s.lime_L_per_day * s.strength.saturated_meq_per_L}
    return Evidence(CauseCode.WEAK_LIME_UNCHECKED, weight, Measure.STRENGTH, dict(numbers))


def _pump_worn(s: Situation) -> Evidence | None:
    if s.setup.delivery not in BY_PUMP or s.lime_L_per_day <= 0.0:
        return None
    age = age_days(s, PumpCheck)
    if age is None or age > PUMP_DAYS:
        return _pump_unchecked(s, 1.0)
    given = s.inputs.pump.at(s.facts.now)
    set_meq = (s.inputs.settings.at(s.facts.now) or 0.0) * s.strength.meq_per_L.best
    missing = max(0.0, 1.0 - given) * set_meq
    share, weight = explaining(s, missing)
    numbers = {"pump_share": given, "missing_meq_per_day": missing}
    return Evidence(CauseCode.PUMP_WORN, weight, Measure.PUMP, dict(numbers), share)


def _pump_unchecked(s: Situation, weight: float) -> Evidence:
    numbers = {"set_L_per_day": s.inputs.settings.at(s.facts.now) or 0.0}
    return Evidence(CauseCode.PUMP_UNCHECKED, weight, Measure.PUMP, dict(numbers))


def _pump_stopped(s: Situation) -> Evidence | None:
    if s.lime_L_per_day <= 0.0:
        return None
    lime_meq = s.inputs.lime_meq_per_day(s.facts.now)
    share, fits = explaining(s, lime_meq)
    told = recently(s, {PUMP_STOPPED})
    weight = 3.0 if told else 0.5 * fits
    return Evidence(
        CauseCode.PUMP_STOPPED, weight, Measure.LOOK, {"lime_meq_per_day": lime_meq}, share
    )


def _pump_gives_more(s: Situation) -> Evidence | None:
    if s.setup.delivery not in BY_PUMP or s.lime_L_per_day <= 0.0:
        return None
    given = s.inputs.pump.at(s.facts.now)
    age = age_days(s, PumpCheck)
    if age is None or age > PUMP_DAYS:
        return _pump_unchecked(s, 0.9)
    set_meq = (s.inputs.settings.at(s.facts.now) or 0.0) * s.strength.meq_per_L.best
    more = max(0.0, given - 1.0) * set_meq
    share, weight = explaining(s, more)
    numbers = {"pump_share": given, "more_meq_per_day": more}
    return Evidence(CauseCode.PUMP_GIVES_MORE, weight, Measure.PUMP, dict(numbers), share)


def _demand(s: Situation, code: CauseCode, *, up: bool) -> Evidence:
    """Weigh that the animals take more or less: by a step, an event, and by what was ruled out."""
    weight = 1.0
    if s.demand.stepped_at is not None and s.demand.stepped_up is up:
        weight += 0.75
    if recently(s, DEMAND_JUMPS):
        weight += 0.75
    if equipment_is_right(s):
        weight += 1.0
    trend = s.demand.trend
    if trend is not None:
        low, _, high = trend.change.floats("meq/L/day")
        weight += 0.5 if (low > 0.0 if up else high < 0.0) else 0.0
    drift = abs(s.drift_meq_per_day)
    return Evidence(code, weight, Measure.SAME_HOUR, {"drift_meq_per_day": drift})


def _evaporation(s: Situation, code: CauseCode) -> Evidence | None:
    """Weigh that evaporation changed: only where it carries the lime."""
    if s.setup.delivery not in THROUGH_TOP_OFF:
        return None
    changed = last_evaporation_change(s.facts)
    told = changed is not None and s.facts.age_days(changed) <= EVENT_DAYS
    numbers = {"limewater_L_per_day": s.lime_L_per_day}
    return Evidence(code, 2.2 if told else 1.3, Measure.REFILLS, dict(numbers))


def _second_source_off(s: Situation) -> Evidence | None:
    second = s.inputs.second_meq_per_day(s.facts.now)
    if s.setup.second_source is SecondSource.NONE or second <= 0.0:
        return None
    share, fits = explaining(s, second)
    numbers: dict[str, float | str] = {"second_meq_per_day": second}
    weight = 0.6 + 0.4 * fits
    return Evidence(CauseCode.SECOND_SOURCE_OFF, weight, Measure.SECOND_SOURCE, numbers, share)


def _second_source_more(s: Situation) -> Evidence | None:
    second = s.inputs.second_meq_per_day(s.facts.now)
    if s.setup.second_source is SecondSource.NONE or second <= 0.0:
        return None
    numbers: dict[str, float | str] = {"second_meq_per_day": second}
    return Evidence(CauseCode.SECOND_SOURCE_MORE, 0.8, Measure.SECOND_SOURCE, numbers)


def _recharged(s: Situation) -> Evidence | None:
    """Weigh that the lime is fresh again after a weak spell whose setting stayed raised."""
    charge = s.facts.last(Recharge)
    if charge is None or s.facts.age_days(charge.at) > EVENT_DAYS:
        return None
    before = [c for c in s.facts.of(LimewaterStrength) if c.at <= charge.at]
    weak = before[-1].fraction_of_saturation if before else 1.0
    more = max(0.0, 1.0 - weak) * s.inputs.lime_meq_per_day(s.facts.now)
    share, fits = explaining(s, more)
    numbers = {"age_days": s.facts.age_days(charge.at), "more_meq_per_day": more}
    return Evidence(
        CauseCode.RECHARGED, max(0.6, fits), Measure.STRENGTH, dict(numbers), share or None
    )


def _slug(s: Situation) -> Evidence | None:
    happened = [
        h
        for h in s.facts.of(Happening)
        if h.what in LEVEL_JUMPS and s.facts.age_days(h.at) <= EVENT_DAYS
    ]
    if not happened and s.setup.delivery not in THROUGH_TOP_OFF:
        return None
    weight = 2.4 if happened else 0.8
    numbers = {"litre_meq": s.strength.meq_per_L.best}
    return Evidence(CauseCode.SLUG, weight, Measure.LOOK, dict(numbers))


def _reagent(s: Situation) -> Evidence:
    """Weigh that the test tells something else than before."""
    samples = s.facts.samples(ALKALINITY)
    doubted = any(suspect.at == samples[-1].at for suspect in s.demand.suspects)
    labels = set(labels_of(samples)[-_LATEST_TESTS:])
    weight = 0.7 + (1.0 if doubted else 0.0) + (1.0 if len(labels) > 1 else 0.0)
    error = s.demand.test_error
    spread = TEST_ERROR_MEQ_PER_L if error is None else to_float(error, "meq/L")
    numbers: dict[str, float | str] = {"error_meq_per_L": spread}
    return Evidence(CauseCode.REAGENT, weight, Measure.REFERENCE, numbers)


def _salinity(s: Situation, *, falls: bool) -> Evidence | None:
    """Weigh that all salts moved with salinity: alkalinity by the same share."""
    recent = [x for x in s.facts.samples("salinity") if s.facts.age_days(x.at) <= _SALINITY_DAYS]
    if len(recent) < 2:  # noqa: PLR2004
        return None
    change = recent[-1].value - recent[0].value
    if abs(change) < _SALINITY_ERROR_PSU or (change < 0.0) is not falls:
        return None
    days = max(1.0, s.facts.age_days(recent[0].at) - s.facts.age_days(recent[-1].at))
    level = s.demand.level.best
    moved = abs(change) / recent[0].value * level / days * s.setup.net_volume_L
    share, weight = explaining(s, moved)
    numbers = {"change_PSU": abs(change), "moved_meq_per_day": moved}
    return Evidence(
        CauseCode.SALINITY, max(0.8, weight), Measure.SALINITY, dict(numbers), share or None
    )


def _nitrate(s: Situation) -> Evidence | None:
    recent = [x for x in s.facts.samples("nitrate") if s.facts.age_days(x.at) <= _NITRATE_DAYS]
    if len(recent) < 2:  # noqa: PLR2004
        numbers = {"ten_meq_per_L": 10.0 * MEQ_PER_MG_NITRATE}
        return Evidence(CauseCode.NITRATE_UNTESTED, 0.4, Measure.NITRATE, dict(numbers))
    days = max(1.0, s.facts.age_days(recent[0].at) - s.facts.age_days(recent[-1].at))
    rise = recent[-1].value - recent[0].value
    taken = max(0.0, rise) * MEQ_PER_MG_NITRATE / days * s.setup.net_volume_L
    share, weight = explaining(s, taken)
    numbers = {"rise_mg_per_L": max(0.0, rise), "taken_meq_per_day": taken}
    return Evidence(CauseCode.NITRATE, weight, Measure.NITRATE, dict(numbers), share or None)


def _room(s: Situation, code: CauseCode) -> Evidence:
    pH_high = code is CauseCode.ROOM_CO2_LOW
    measure = Measure.WINDOW_SHUT if pH_high else Measure.WINDOW
    sample = s.facts.last_sample("room_co2")
    fresh = sample is not None and s.facts.age_days(sample.at) <= EVENT_DAYS
    if sample is None or not fresh:
        return Evidence(CauseCode.ROOM_UNMEASURED, 1.5, measure, {})
    low, high = _USUAL_ROOM_PPM
    speaks = sample.value >= high if code is CauseCode.ROOM_CO2_HIGH else sample.value <= low
    return Evidence(code, 2.5 if speaks else 0.4, measure, {"room_ppm": sample.value})


def _probe(weight: float) -> Evidence:
    return Evidence(CauseCode.PROBE, weight, Measure.PROBE, {})


def _lime_stopped(s: Situation) -> Evidence | None:
    points = [point for point in s.inputs.settings.points if point[0] <= s.facts.now]
    if len(points) < 2 or points[-1][1] >= points[-2][1]:  # noqa: PLR2004
        return None
    if s.facts.age_days(points[-1][0]) > EVENT_DAYS:
        return None
    numbers = {"was_L_per_day": points[-2][1], "now_L_per_day": points[-1][1]}
    return Evidence(CauseCode.LIME_STOPPED, 1.8, Measure.LOOK, dict(numbers))
