"""What Plan says: the daily dose, its limits, its reasons, and what stopping would mean."""

from dataclasses import dataclass

from engine.caps import CapValue
from engine.decision import Decision
from engine.demand.answer import Demand
from engine.limits import DosePlan
from engine.plan.setting import SettingConsequence
from engine.reasons import Code, Reason
from engine.units import to_float
from mobile.state.hazard import container_lost
from mobile.state.plan_pages import PLAN_PAGES
from mobile.state.second_source import own_units, shown
from mobile.state.sentences import counted, number, told
from mobile.state.snapshot import Snapshot, Tone
from mobile.state.today_lead import held, lead, said
from mobile.texts.plan_page import TEXTS


@dataclass(frozen=True, slots=True, kw_only=True)
class CapLine:
    """One limit: what it allows, and whether it is the one that holds the dose down."""

    name: str
    allows: str
    binds: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CloserPage:
    """A page behind Plan, with its line."""

    key: str
    title: str
    line: str
    route: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanView:
    """Everything on Plan, in the order of reading."""

    tone: Tone
    lead: str
    why_first: tuple[str, ...]
    dose_title: str
    dose: str  # litres a day; empty without a plan, and while limewater is paused
    doses: str
    demand: str
    rest: tuple[str, ...]  # second source, or where alkalinity goes without one
    stopping: tuple[str, ...]
    setting: tuple[str, ...]
    caps: tuple[CapLine, ...]
    why: tuple[str, ...]
    powder: tuple[str, ...]
    mind: tuple[str, ...]
    closer: tuple[CloserPage, ...]


def plan(snapshot: Snapshot, decision: Decision) -> PlanView:
    """Return what Plan says of a decision."""
    admitted = decision.plan if isinstance(decision.plan, DosePlan) else None
    by_run = held(snapshot, decision)
    first = by_run or lead(snapshot, decision)
    title, dose, doses = ("", "", "") if by_run or not admitted else _dose(decision, admitted)
    rest, stopping = _rest(snapshot, decision), _said_all(snapshot, _reasons_of(decision.stop_safe))
    return PlanView(
        tone=first.tone,
        lead=first.text,
        why_first=tuple(text for text in first.why if text not in (*rest, *stopping)),
        dose_title=title,
        dose=dose,
        doses=doses,
        demand=_demand(snapshot, decision),
        rest=rest,
        stopping=stopping,
        setting=_setting(snapshot, decision),
        caps=tuple(_cap(snapshot, cap, admitted) for cap in admitted.caps) if admitted else (),
        why=_said_all(snapshot, _why(decision)),
        powder=_said_all(snapshot, _reasons_of(decision.powder)),
        mind=(
            *_said_all(snapshot, decision.cautions),
            *container_lost(snapshot.dangers, snapshot.alkalinity_unit),
        ),
        closer=closer(snapshot),
    )


def closer(snapshot: Snapshot) -> tuple[CloserPage, ...]:
    """Return the pages behind Plan."""
    return tuple(
        CloserPage(key=page.key, title=page.title, line=page.line(snapshot), route=page.route)
        for page in PLAN_PAGES
    )


def _dose(decision: Decision, admitted: DosePlan) -> tuple[str, str, str]:
    """Return title, figure and line of the dose: one number to set, delivered litres named so."""
    planned = number("x_L_per_day", admitted.L_per_day)
    change, setting = decision.change, decision.change.setting
    if setting is None:
        return TEXTS["dose_title"], planned, _doses(admitted)
    shown_on_pump = number("setting_L_per_day", to_float(setting, "L/day"))
    if change.code is Code.NOTHING_TO_DO and decision.setting is not None:
        about = TEXTS["keep_about"].format(delivered=_delivered(decision.setting), planned=planned)
        return TEXTS["keep_title"], shown_on_pump, about
    about = TEXTS["set_about"].format(planned=planned, doses=_doses(admitted))
    return TEXTS["set_title"], shown_on_pump, about


def _delivered(setting: SettingConsequence) -> str:
    return number("x_L_per_day", to_float(setting.delivered, "L/day"))


def _rest(snapshot: Snapshot, decision: Decision) -> tuple[str, ...]:
    """Return what is left for a second source; first what is kept, where both stay as set."""
    change = decision.change
    if decision.remainder is None:
        return ()
    planned = _said_all(snapshot, decision.remainder.reasons)
    if change.code is not Code.NOTHING_TO_DO or change.second_was is None:
        return planned
    was = own_units(snapshot, to_float(change.second_was, "meq/day"))
    return (TEXTS["rest_kept"].format(value=shown(was)), *planned)


def _doses(admitted: DosePlan) -> str:
    dose = number("x_mL", to_float(admitted.dose, "mL"))
    return TEXTS["doses"].format(doses=counted(admitted.doses_per_day, "dose"), dose=dose)


def _setting(snapshot: Snapshot, decision: Decision) -> tuple[str, ...]:
    """Return what is set now and what that does."""
    setting = decision.setting
    if setting is None:
        return ()
    is_set = TEXTS["is_set"].format(
        set=number("set_L_per_day", to_float(setting.limewater_set, "L/day")),
        delivered=_delivered(setting),
    )
    return (is_set, *_said_all(snapshot, setting.reasons))


def _demand(snapshot: Snapshot, decision: Decision) -> str:
    demand = decision.demand
    if not isinstance(demand, Demand):
        return ""
    low, best, high = demand.per_litre.floats("meq/L/day")
    numbers = {
        "best_meq_per_L_per_day": best,
        "low_meq_per_L_per_day": low,
        "high_meq_per_L_per_day": high,
        "x_meq_per_day": demand.per_day.floats("meq/day").best,
        "test_count": float(demand.test_count),
    }
    return told(TEXTS, f"demand_{demand.source}", numbers, snapshot.alkalinity_unit)


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
