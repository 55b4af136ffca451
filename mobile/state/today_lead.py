"""What leads on Today: the first thing to do, and the few reasons right below it.

A table of situations in the order of urgency: the first that fits has the word. What a keeper
must do before a number is believed (look, test, repeat) comes before the number.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from engine.caps import NO_RAISE_DAYS
from engine.decision import Decision
from engine.demand.facts import BY_PUMP
from engine.limits import DosePlan, Refusal
from engine.plan.change import Change
from engine.plan.evaporation import Evaporation
from engine.plan.withheld import WITHHOLDS
from engine.reasons import Code, Reason
from engine.records import Delivery
from engine.units import to_float
from mobile.state import plan_drift, second_source
from mobile.state.hazard import warning
from mobile.state.running import Running, running
from mobile.state.sentences import told
from mobile.state.snapshot import Snapshot, Tone
from mobile.texts.plan import TEXTS as PLAN
from mobile.texts.today import TEXTS

CALM: Final = frozenset({Code.NOTHING_TO_DO, Code.TOP_OFF_RIGHT, Code.NO_LIME_NEEDED})
# Alkalinity climbs although nothing was changed: the animals come before the dose.
ANIMALS: Final = frozenset({Code.ALKALINITY_ROSE, Code.ALKALINITY_RISING})
SHORT: Final = frozenset(
    {
        Code.SHORT_OF_ALKALINITY,
        Code.SHORT_BELOW_BAND,
        Code.SHORT_PASSES_BAND,
        Code.HELD_SHORT,
        Code.HELD_SHORT_BELOW_BAND,
    }
)
_LEAVE: Final = {Delivery.DRIP: "leave_drip"}
_MOST_REASONS: Final = 3
_SLUGS: Final = (Code.SLUG_UNTESTED, Code.SLUG_SIZED)
# Equipment is mended first: what limits a dose is no matter.
EQUIPMENT: Final = (Code.RECHARGE_FIRST, Code.NEW_TUBE_FIRST)
_AS_SET_SHARE: Final = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """The decision in a sentence, why, and what comes next."""

    tone: Tone
    text: str
    why: tuple[str, ...]
    next_test: str = ""  # a key of the words; empty: by the usual interval
    tells: frozenset[Code] = frozenset()  # what need not be said again further down
    tells_waiting: bool = False  # how long the tank can wait is said here
    tells_drift: bool = False  # what drifts, and why


def said(snapshot: Snapshot, found: Reason) -> str:
    """Return the sentence of a reason in the keeper's units."""
    own = second_source.told(snapshot, found)
    return told(PLAN, own.code, own.numbers, snapshot.alkalinity_unit)


def headline(snapshot: Snapshot, decision: Decision) -> str:
    """Return the decision's sentence; a ceiling that a refusal gives is never told as a plan."""
    first = decision.change.reasons[0]
    ceiling = f"ceiling_{first.code}"
    if isinstance(decision.plan, Refusal) and ceiling in TEXTS:
        return told(TEXTS, ceiling, first.numbers, snapshot.alkalinity_unit)
    return said(snapshot, first)


def change_tone(change: Change) -> Tone:
    """Return how a change is to be looked at."""
    if change.code is Code.STOP:
        return "danger"
    if change.code in CALM:
        return "good"
    return "warn" if change.code in (Code.HOLD, Code.LOWER_PUMP) else "note"


def lead(snapshot: Snapshot, decision: Decision) -> Lead:
    """Return what leads on Today."""
    for situation in _SITUATIONS:
        found = situation(snapshot, decision)
        if found is not None:
            return found
    return as_decided(snapshot, decision)


def held(snapshot: Snapshot, decision: Decision) -> Lead | None:
    """Return what leads while a procedure rules the limewater: keeps it off, or below the plan."""
    run = running(snapshot)
    if run is None:
        return None
    if run.paused:
        return _paused(snapshot, decision, run)
    return _in_stages(snapshot, decision, run) if run.in_stages else None


def _in_stages(snapshot: Snapshot, decision: Decision, run: Running) -> Lead | None:
    """Return that a part of the plan stays set; None where less or nothing is to be given."""
    plan, setting = decision.plan, decision.setting
    if not isinstance(plan, DosePlan) or setting is None or decision.change.code is Code.STOP:
        return None
    if plan.L_per_day <= to_float(setting.delivered, "L/day"):
        return None
    return Lead(
        tone="note",
        text=_leave(snapshot, decision),
        why=(
            TEXTS["in_stages"].format(procedure=run.title),
            *(text for text in (run.step, run.wait) if text),
        ),
        next_test="test_daily",
    )


def _paused(snapshot: Snapshot, decision: Decision, run: Running) -> Lead:
    ahead = (TEXTS["then"].format(steps=run.next_steps),) if run.next_steps else ()
    now = (run.step, run.wait)
    return Lead(
        tone="warn",
        text=run.paused,
        why=(
            *(text for text in now if text),
            *ahead,
            TEXTS["paused_hold"],
            *waiting(snapshot, decision),
        ),
        tells_waiting=True,
    )


def doubted(decision: Decision) -> Reason | None:
    """Return the ask to repeat the newest test, where it does not fit the others."""
    demand, now = decision.demand, decision.alkalinity
    if demand is None or now is None:
        return None
    if not any(suspect.at == now.tested_at for suspect in demand.suspects):
        return None
    codes = (Code.SUSPECT_TEST, Code.SUSPECT_NEW_SOURCE)
    return next((r for r in reversed(demand.reasons) if r.code in codes), None)


def waiting(snapshot: Snapshot, decision: Decision) -> tuple[str, ...]:
    """Return how long the tank can wait without limewater."""
    stop = decision.stop_safe
    if stop is None:
        return ()
    reasons = (stop,) if isinstance(stop, Reason) else stop.reasons
    return tuple(said(snapshot, found) for found in reasons)


def _stopped(snapshot: Snapshot, decision: Decision) -> Lead | None:
    if decision.change.code is not Code.STOP:
        return None
    reasons = (*decision.change.reasons[1:], *decision.plan.reasons[:_MOST_REASONS])
    untested = any(found.code in _SLUGS for found in reasons)
    cause = plan_drift.cause_today(snapshot)
    return Lead(
        tone="danger",
        text=headline(snapshot, decision),
        why=(
            *_each(snapshot, reasons),
            *((cause,) if cause else ()),
            *waiting(snapshot, decision),
        ),
        next_test="test_now" if untested else "test_daily",
        tells_waiting=True,
        tells_drift=True,
    )


def held_back(snapshot: Snapshot, decision: Decision) -> Lead | None:
    """Return that nothing may be raised, where entries or a part of the decision are missing."""
    why = next((found for found in decision.plan.reasons if found.code in WITHHOLDS), None)
    if why is None:
        return None
    first, lowers = headline(snapshot, decision), decision.change.code is Code.LOWER_PUMP
    asks = TEXTS[f"lead_{why.code}"]
    others = [found for found in decision.plan.reasons if found.code not in WITHHOLDS]
    return Lead(
        tone="warn",
        text=first if lowers else asks,
        why=(asks if lowers else first, *_each(snapshot, others[:_MOST_REASONS])),
        next_test="test_now",
    )


def _animals_first(snapshot: Snapshot, decision: Decision) -> Lead | None:
    climbs = next((c for c in decision.cautions if c.code in ANIMALS), None)
    if climbs is None:
        return None
    checks = "checked_right" if _checked(decision) else "check_them"
    return Lead(
        tone="warn",
        text=f"{TEXTS['animals_first']} {headline(snapshot, decision)}",
        why=(said(snapshot, climbs), TEXTS[checks]),
        next_test="test_tomorrow",
        tells=ANIMALS,
    )


def _checked(decision: Decision) -> bool:
    """Tell whether strength and pump were measured, and neither explains a rise."""
    lime = decision.limewater
    if lime is None or lime.source != "measured":
        return False
    if decision.setup is None or decision.setup.delivery not in BY_PUMP:
        return True
    return lime.pump_share is not None and lime.pump_share <= 1.0 + _AS_SET_SHARE


def _doubtful(snapshot: Snapshot, decision: Decision) -> Lead | None:
    doubt = doubted(decision)
    if doubt is None or decision.change.code not in CALM:
        return None
    return Lead(
        tone="warn",
        text=f"{TEXTS['repeat_test']} {_leave(snapshot, decision)}",
        why=_each(snapshot, (doubt,)),
        next_test="test_again",
        tells=frozenset({Code.SUSPECT_TEST, Code.SUSPECT_NEW_SOURCE}),
    )


def _untested(snapshot: Snapshot, decision: Decision) -> Lead | None:
    now = decision.alkalinity
    if now is None or isinstance(decision.plan, Refusal) or decision.change.code not in CALM:
        return None
    age = to_float(now.age, "day")
    if age <= NO_RAISE_DAYS:
        return None
    ask = told(TEXTS, "untested", {"age_days": age})
    return Lead(
        tone="warn",
        text=f"{ask} {_leave(snapshot, decision)}",
        why=(TEXTS["untested_until"], *waiting(snapshot, decision)),
        next_test="test_due",
        tells_waiting=True,
    )


def _not_enough(snapshot: Snapshot, decision: Decision) -> Lead | None:
    """Return that no more limewater is allowed, and that the tank needs more."""
    if decision.change.code is not Code.NOTHING_TO_DO or not _short(decision):
        return None
    return Lead(
        tone="warn",
        text=f"{_leave(snapshot, decision)} {TEXTS['not_enough']}",
        why=_each(snapshot, _why(decision)),
        next_test="test_daily",
    )


def as_decided(snapshot: Snapshot, decision: Decision) -> Lead:
    """Return the decision's own lead; "nothing to do" is not said of an unsafe set-up."""
    doubt = doubted(decision)
    reasons = (*_why(decision), *((doubt,) if doubt else ()))
    unsafe = _unsafe(snapshot, decision)
    return Lead(
        tone="warn" if unsafe else change_tone(decision.change),
        text=unsafe or headline(snapshot, decision),
        why=_each(snapshot, reasons),
        next_test="test_daily" if _short(decision) else "",
        tells=frozenset({Code.SUSPECT_TEST, Code.SUSPECT_NEW_SOURCE}),
    )


def _unsafe(snapshot: Snapshot, decision: Decision) -> str:
    """Return the lead in place of "nothing to do" while one fault could reach the livestock."""
    found = decision.change.reasons[0]
    code = f"unsafe_{found.code}"
    if code not in TEXTS or not warning(snapshot.dangers, snapshot.alkalinity_unit):
        return ""
    return told(TEXTS, code, found.numbers, snapshot.alkalinity_unit)


# In the order of urgency.
_SITUATIONS: Final[tuple[Callable[[Snapshot, Decision], Lead | None], ...]] = (
    _stopped,
    held_back,
    _animals_first,
    _doubtful,
    _untested,
    _not_enough,
)


def _each(snapshot: Snapshot, reasons: Iterable[Reason]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(said(snapshot, found) for found in reasons))


def _leave(snapshot: Snapshot, decision: Decision) -> str:
    """Return that what is set stays as it is, with its figure where there is one."""
    setup, was = decision.setup, decision.change.was
    if setup is None or was is None:
        return TEXTS["leave_as_it_is"]
    key = _LEAVE.get(setup.delivery, "leave_pump")
    return told(TEXTS, key, {"was_L_per_day": to_float(was, "L/day")}, snapshot.alkalinity_unit)


def _why(decision: Decision) -> tuple[Reason, ...]:
    """Return the few reasons that Today gives; Plan gives all."""
    change, plan = decision.change, decision.plan
    first = change.reasons[1:]
    if change.code in EQUIPMENT:
        return first
    if isinstance(plan, Refusal):
        refused = change.code in (Code.HOLD, Code.LOWER_PUMP)
        return (*first, *plan.reasons[:2]) if refused else first
    return (*first, *_what_limits(decision, plan), *_what_is_left(decision))


def _what_limits(decision: Decision, plan: DosePlan) -> tuple[Reason, ...]:
    """Return why the plan gives what it does: the limit that binds, else what the tank needs."""
    binding = tuple(r for r in plan.reasons if r.code.startswith("cap_"))[:1]
    if not binding:
        return plan.reasons[:2] if decision.change.code is Code.LOWER_PUMP else ()
    if decision.change.code in CALM and not _short(decision):
        return ()
    evaporation = decision.evaporation
    fell = evaporation.reasons if isinstance(evaporation, Evaporation) else ()
    by_water = binding[0].code == Code.CAP_EVAPORATION
    return (*(r for r in fell if by_water and r.code == Code.EVAPORATION_FELL), *binding)


def _what_is_left(decision: Decision) -> tuple[Reason, ...]:
    """Return what the limewater of a plan leaves over, where something is to be done about it."""
    left = decision.remainder
    if left is None:
        return ()
    calm = decision.change.code in CALM and not _short(decision)
    return () if calm else tuple(r for r in left.reasons if r.code != Code.SETTLES)


def _short(decision: Decision) -> bool:
    left = decision.remainder
    return left is not None and any(r.code in SHORT for r in left.reasons)
