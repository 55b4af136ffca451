"""What stops limewater whatever else is known: pH, alkalinity above its band, a sudden rise.

Judged on the readings themselves: a smoothed level would hide an accident for days.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from engine.demand.answer import SuspectTest
from engine.demand.facts import BY_PUMP, Facts, Sample
from engine.demand.flows import delivered_share, is_faulty
from engine.log.timeline import days_between
from engine.reasons import Code, Reason, reason
from engine.records import PumpCheck, Setup
from engine.units import to_float
from engine.vocabulary import MEQ_PER_DKH, PARAMETERS, Z90

_ALKALINITY: Final = "total_alkalinity"

# Common practice, no source, as every figure here. pH is on the NBS scale.
PH_CEILING: Final = 8.5
PH_RESUME: Final = 8.4
PH_ACT_NOW: Final = 8.8
PH_EMERGENCY: Final = 9.0
RISE_ACT_NOW_MEQ_PER_L: Final = 1.5 * MEQ_PER_DKH
RISE_EMERGENCY_MEQ_PER_L: Final = 3.0 * MEQ_PER_DKH
# pH swings with the day: a reading counts for a day, a high one until a lower day or a week.
PH_FRESH: Final = timedelta(hours=24)
PH_HIGH_FRESH: Final = timedelta(days=7)
# A rise is looked for among the tests of so long before the newest one, and told for as long.
RISE_WINDOW: Final = timedelta(days=14)
# A doubted newest test above the band is repeated within so long, or it counts as it was read.
REPEAT_WITHIN: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class HighestPH:
    """The highest pH that still counts, and whether it keeps limewater off."""

    value: float  # NBS scale
    stops: bool


def pH_in_force(facts: Facts) -> HighestPH | None:
    """Return the highest pH of the last day or one that still stops; None when none counts.

    Once a reading was at the ceiling, limewater stays off until the readings of a whole day were
    all below the lower threshold; without any newer reading a high one counts for a week.
    """
    samples = facts.samples("pH_nbs", facts.now - PH_HIGH_FRESH)
    today = [s.value for s in samples if s.at >= facts.now - PH_FRESH]
    highs = [s for s in samples if s.value >= PH_CEILING]
    stops = bool(highs) and not _came_down(samples, highs[-1].at, facts.now)
    in_force = [*today, highs[-1].value] if stops else today
    return HighestPH(max(in_force), stops) if in_force else None


def _came_down(samples: Sequence[Sample], since: datetime, now: datetime) -> bool:
    """Tell whether at some moment all readings of the day before it were low, and there was one."""
    later = [s.at for s in samples if s.at > since and s.value < PH_RESUME]
    ends = [s.at + PH_FRESH for s in samples if s.value >= PH_RESUME]
    for moment in (*later, *ends):
        day = [s.value for s in samples if moment - PH_FRESH < s.at <= moment]
        if since < moment <= now and day and max(day) < PH_RESUME:
            return True
    return False


def pH_reasons(pH_nbs: float) -> tuple[Reason, ...]:
    """Return why no limewater is given at this pH, and where to read what to do at once."""
    found = reason(Code.PH_TOO_HIGH, last_pH=pH_nbs, ceiling_pH=PH_CEILING, resume_pH=PH_RESUME)
    return (found, *_card(pH_nbs >= PH_ACT_NOW, pH_nbs >= PH_EMERGENCY))


def pump_fault(facts: Facts, setup: Setup) -> Reason | None:
    """Return that the newest pump check tells of a fault: next to nothing, or far too much."""
    check = facts.last(PumpCheck) if setup.delivery in BY_PUMP else None
    if check is None:
        return None
    share = delivered_share(check)
    if not is_faulty(share):
        return None
    code = Code.PUMP_FAULT_HIGH if share > 1.0 else Code.PUMP_FAULT_LOW
    return reason(code, pump_share=share, age_days=facts.age_days(check.at))


def alkalinity_alarms(
    facts: Facts, setup: Setup, suspects: Sequence[SuspectTest] = ()
) -> tuple[Reason, ...]:
    """Return why the alkalinity tests forbid limewater, the sudden rise first.

    Parameters
    ----------
    facts, setup
        The system.
    suspects : sequence of SuspectTest
        Tests set aside: only the newest of all counts although it is doubted.
    """
    samples = facts.samples(_ALKALINITY)
    if not samples:
        return ()
    older = {suspect.at for suspect in suspects if suspect.at != samples[-1].at}
    samples = tuple(sample for sample in samples if sample.at not in older)
    recent = [s for s in samples if s.at >= samples[-1].at - RISE_WINDOW]
    rise = _rise(recent, facts.now)
    waits = not rise and waiting_to_be_repeated(facts, suspects) is not None
    return (*rise, *_above_band(samples[:-1] if waits else samples, setup))


def waiting_to_be_repeated(facts: Facts, suspects: Sequence[SuspectTest]) -> SuspectTest | None:
    """Return the newest test if it is doubted and may be repeated before it stops anything.

    None where it would be an accident if it were true, once a day has passed, and where the test
    before it was off the same way: that was the repetition.
    """
    samples = facts.samples(_ALKALINITY)
    doubts = {suspect.at: suspect for suspect in suspects}
    doubted = doubts.get(samples[-1].at) if samples else None
    if doubted is None or facts.now - doubted.at > REPEAT_WITHIN:
        return None
    before = doubts.get(samples[-2].at) if len(samples) > 1 else None
    off = _off(doubted)
    repeated = before is not None and _off(before) * off > 0.0
    return None if repeated or off > RISE_ACT_NOW_MEQ_PER_L else doubted


def _off(suspect: SuspectTest) -> float:
    return to_float(suspect.value, "meq/L") - suspect.expected.floats("meq/L").best


def _rise(samples: Sequence[Sample], now: datetime) -> tuple[Reason, ...]:
    """Return the steepest rise to the newest of the tests of RISE_WINDOW, by the day."""
    newest = samples[-1]
    if now - newest.at > RISE_WINDOW:
        return ()
    earlier = samples[:-1]
    rates = [(newest.value - s.value) / max(1.0, days_between(s.at, newest.at)) for s in earlier]
    steepest = max(rates, default=0.0)
    if steepest <= RISE_ACT_NOW_MEQ_PER_L:
        return ()
    before = earlier[rates.index(steepest)]
    found = reason(
        Code.ALKALINITY_JUMPED,
        rise_meq_per_L=newest.value - before.value,
        last_meq_per_L=newest.value,
        rise_days=days_between(before.at, newest.at),
    )
    return (found, *_card(act_now=True, emergency=steepest > RISE_EMERGENCY_MEQ_PER_L))


def _above_band(samples: Sequence[Sample], setup: Setup) -> tuple[Reason, ...]:
    """Return that alkalinity is above its band: from surely above until inside again."""
    band_high = setup.band_high_total_alkalinity_meq_per_L
    error = PARAMETERS[_ALKALINITY].test_error * Z90
    clear = (s.value for s in reversed(samples) if not band_high < s.value <= band_high + error)
    if next(clear, band_high) <= band_high:
        return ()
    numbers = {"last_meq_per_L": samples[-1].value, "band_high_meq_per_L": band_high}
    return (reason(Code.ALKALINITY_ABOVE_BAND, **numbers),)


def _card(act_now: bool, emergency: bool) -> tuple[Reason, ...]:
    """Return the pointer to the emergency card."""
    if emergency:
        return (reason(Code.OVERDOSE_EMERGENCY),)
    return (reason(Code.OVERDOSE_ACT_NOW),) if act_now else ()
