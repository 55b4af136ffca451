"""What Plan says: the daily dose, its limits, its reasons, and what stopping would mean."""

from dataclasses import dataclass

from engine.caps import CapValue
from engine.decision import Decision
from engine.demand import Demand
from engine.limits import DosePlan
from engine.reasons import Reason
from engine.units import to_float
from mobile.state.sentences import alkalinity, counted, number
from mobile.state.snapshot import Snapshot, Tone
from mobile.state.today import change_tone, said
from mobile.texts.plan_page import TEXTS


@dataclass(frozen=True, slots=True, kw_only=True)
class CapLine:
    """One limit: what it allows, and whether it is the one that holds the dose down."""

    name: str
    allows: str
    binds: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanView:
    """Everything on Plan, in the order of reading."""

    tone: Tone
    lead: str
    dose: str  # litres a day; empty without a plan
    doses: str
    demand: str
    rest: tuple[str, ...]  # second source, or where alkalinity goes without one
    stopping: tuple[str, ...]
    setting: tuple[str, ...]
    caps: tuple[CapLine, ...]
    why: tuple[str, ...]
    powder: tuple[str, ...]
    mind: tuple[str, ...]


def plan(snapshot: Snapshot, decision: Decision) -> PlanView:
    """Return what Plan says of a decision."""
    admitted = decision.plan if isinstance(decision.plan, DosePlan) else None
    return PlanView(
        tone=change_tone(decision.change),
        lead=said(snapshot, decision.change.reasons[0]),
        dose=number("x_L_per_day", admitted.L_per_day) if admitted else "",
        doses=_doses(admitted) if admitted else "",
        demand=_demand(snapshot, decision),
        rest=_said_all(snapshot, decision.remainder.reasons if decision.remainder else ()),
        stopping=_said_all(snapshot, _reasons_of(decision.stop_safe)),
        setting=_said_all(snapshot, decision.setting.reasons if decision.setting else ()),
        caps=tuple(_cap(snapshot, cap, admitted) for cap in admitted.caps) if admitted else (),
        why=_said_all(snapshot, _why(decision)),
        powder=_said_all(snapshot, _reasons_of(decision.powder)),
        mind=_said_all(snapshot, decision.cautions),
    )


def _doses(admitted: DosePlan) -> str:
    dose = number("x_mL", to_float(admitted.dose, "mL"))
    return TEXTS["doses"].format(doses=counted(admitted.doses_per_day, "dose"), dose=dose)


def _demand(snapshot: Snapshot, decision: Decision) -> str:
    demand = decision.demand
    if not isinstance(demand, Demand):
        return ""
    unit = snapshot.alkalinity_unit
    low, best, high = demand.per_litre.floats("meq/L/day")
    daily = demand.per_day.floats("meq/day")
    return TEXTS[f"demand_{demand.source}"].format(
        best=alkalinity(best, unit, rate=True),
        low=alkalinity(low, unit, rate=True),
        high=alkalinity(high, unit, rate=True),
        meq=number("x_meq_per_day", daily.best),
        count=demand.test_count,
    )


def _cap(snapshot: Snapshot, cap: CapValue, admitted: DosePlan) -> CapLine:
    del snapshot
    return CapLine(
        name=TEXTS[cap.code],
        allows=number("x_L_per_day", cap.L_per_day),
        binds=cap.code in admitted.binding[:1],
    )


def _why(decision: Decision) -> tuple[Reason, ...]:
    found: list[Reason] = [*decision.change.reasons[1:], *decision.plan.reasons]
    if isinstance(decision.demand, Demand):
        found += decision.demand.reasons
    if decision.limewater is not None:
        found += decision.limewater.reasons
    found += _reasons_of(decision.evaporation)
    return tuple(found)


def _reasons_of(found: object) -> tuple[Reason, ...]:
    if found is None:
        return ()
    if isinstance(found, Reason):
        return (found,)
    return getattr(found, "reasons", ())


def _said_all(snapshot: Snapshot, reasons: tuple[Reason, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(said(snapshot, found) for found in reasons))
