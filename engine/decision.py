"""The dosing decision: from the log and a moment to one plan or refusal, with every reason.

`decide` is the whole path: facts, strength, evaporation, demand, need, limits, and what follows
from them. It reads no clock; the same records and moment give the same decision.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from engine.caps import LimitContext, Limits, cap_values, limits_of
from engine.demand.answer import Demand, NoDemand
from engine.demand.estimate import NEW_TANK_MEQ_PER_L_PER_DAY, estimate_demand
from engine.demand.facts import BY_PUMP, THROUGH_TOP_OFF, Facts, future_reasons, gather
from engine.demand.inputs import Inputs, recorded_inputs
from engine.demand.level import AlkalinityNow, alkalinity_now, net_change_now, stopping
from engine.demand.strength import Strength, strength_now
from engine.errors import EngineError
from engine.hazards.incident import incident_reason
from engine.limits import Action, DosePlan, Refusal, admit, precondition, refuse
from engine.plan.alarms import pH_in_force, pH_reasons
from engine.plan.cautions import cautions
from engine.plan.change import change_for_plan, change_for_refusal
from engine.plan.change_made import Change
from engine.plan.context import limit_context
from engine.plan.dosing import DoseNeed, dose_need
from engine.plan.evaporation import Evaporation, evaporation_now, evaporation_span
from engine.plan.remainder import Remainder, remainder
from engine.plan.second_source import as_running
from engine.plan.setting import SettingConsequence, setting_consequence
from engine.plan.stop_safe import StopSafe
from engine.reasons import Code, Reason, reason
from engine.records import PumpCheck, Record, Setup
from engine.stock.powder import Powder, powder_now
from engine.units import Estimate, Span, estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class LimewaterNow:
    """The limewater that reaches the sump."""

    share: Span  # of saturation
    strength: Estimate  # meq/L at the temperature where the lime dissolves
    source: str  # "assumed" or "measured"
    measured_at: datetime | None
    pump_share: float | None  # delivered of set by the last pump check, None without any
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """Everything that Today and Plan say.

    Without a set-up every field but `now`, `plan`, `change` and `reasons` is None.
    """

    now: datetime
    setup: Setup | None
    limewater: LimewaterNow | None
    evaporation: Evaporation | Reason | None
    alkalinity: AlkalinityNow | None
    demand: Demand | NoDemand | None
    need: DoseNeed | None
    plan: DosePlan | Refusal
    remainder: Remainder | None
    setting: SettingConsequence | None
    stop_safe: StopSafe | Reason | None
    powder: Powder | Reason | None
    change: Change
    cautions: tuple[Reason, ...]
    reasons: tuple[Reason, ...]  # about the log as a whole


def decide(records: Iterable[Record], *, system: str, now: datetime) -> Decision:
    """Return the decision for a system at a moment.

    Parameters
    ----------
    records : iterable of Record
        The log, in any order, amendments included.
    system : str
        The system asked about.
    now : datetime
        The moment, with its zone. Records of later moments are left out, with a reason.
    """
    facts = gather(records, system=system, now=now)
    return _without_setup(facts) if facts.setup is None else _decide(facts, facts.setup)


def _without_setup(facts: Facts) -> Decision:
    pH = pH_in_force(facts)
    incident = incident_reason(facts)
    stops = (
        *(() if incident is None else (incident,)),
        *(pH_reasons(pH.value) if pH is not None and pH.stops else ()),
    )
    reasons = (*stops, reason(Code.SETUP_MISSING))
    refusal = Refusal(
        code=Code(reasons[0].code),
        action=Action.STOP if stops else Action.HOLD,
        limit=None,
        asked=None,
        lower_to=None,
        reasons=reasons,
    )
    return Decision(
        now=facts.now,
        setup=None,
        limewater=None,
        evaporation=None,
        alkalinity=None,
        demand=None,
        need=None,
        plan=refusal,
        remainder=None,
        setting=None,
        stop_safe=None,
        powder=None,
        change=change_for_refusal(refusal, shown=None, share=1.0, delivery=None),
        cautions=(),
        reasons=future_reasons(facts),
    )


def _decide(facts: Facts, setup: Setup) -> Decision:
    strength = strength_now(facts, setup)
    evaporation, inputs = _water(facts, setup, strength)
    evaporated = evaporation_span(evaporation)
    demand = estimate_demand(facts, setup, inputs)
    net = net_change_now(demand, setup, inputs)
    level = alkalinity_now(facts, setup, inputs, demand)
    limits = limits_of(setup)
    context = limit_context(
        facts, setup, inputs, strength=strength, evaporation_L_per_day=evaporated, demand=demand
    )
    need = _need(setup, demand, level, strength)
    plan = _plan(demand, need, limits, context)
    left, change = _follow_up(
        plan,
        need,
        setup=setup,
        inputs=inputs,
        strength=strength,
        limits=limits,
        context=context,
        evaporated=evaporated,
        level=level,
        net=net,
    )
    demand_meq = demand.per_day_meq.best if isinstance(demand, Demand) else 0.0
    return Decision(
        now=facts.now,
        setup=setup,
        limewater=_limewater(facts, strength, inputs),
        evaporation=evaporation,
        alkalinity=level,
        demand=demand,
        need=need,
        plan=plan,
        remainder=left,
        setting=setting_consequence(
            facts,
            setup,
            inputs,
            context=context,
            caps=cap_values(limits, context, demand_meq),
            evaporation_L_per_day=evaporated,
            net_change_meq_per_L_per_day=net,
        ),
        stop_safe=stopping(setup, inputs, demand, level),
        powder=powder_now(facts, setup, inputs, strength),
        change=change,
        cautions=cautions(facts, setup, inputs, demand=demand, plan=plan),
        reasons=future_reasons(facts),
    )


def _water(facts: Facts, setup: Setup, strength: Strength) -> tuple[Evaporation | Reason, Inputs]:
    """Return evaporation and inputs; where the top-off draws on lime each tells the other."""
    inputs = recorded_inputs(facts, setup, strength, None)
    evaporation = evaporation_now(facts, setup, inputs)
    if setup.delivery in THROUGH_TOP_OFF or setup.top_off_alkalinity_meq_per_L > 0.0:
        inputs = recorded_inputs(facts, setup, strength, evaporation_span(evaporation))
    return evaporation, inputs


def _need(
    setup: Setup, demand: Demand | NoDemand, level: AlkalinityNow | None, strength: Strength
) -> DoseNeed | None:
    if isinstance(demand, NoDemand) or level is None:
        return None
    return dose_need(
        setup,
        demand_meq_per_day=demand.per_day_meq,
        level_meq_per_L=level.span.best,
        planning_meq_per_L=strength.planning_meq_per_L,
    )


def _plan(
    demand: Demand | NoDemand,
    need: DoseNeed | None,
    limits: Limits,
    context: LimitContext,
) -> DosePlan | Refusal:
    if isinstance(demand, Demand) and need is not None:
        new_tank = _new_tank(demand, context)
        if new_tank is None:
            return admit(need, limits, context)
        blocked = precondition(limits, context)
        return blocked or refuse(
            Code.NEW_TANK, Action.HOLD, new_tank, limits=limits, context=context
        )
    blocked = precondition(limits, context)
    refused = _refuse_without_demand(demand, limits, context)
    if blocked is None:
        return refused
    # Alkalinity that rises although the tank takes none stops limewater, whatever else is amiss.
    if refused.action is Action.STOP and blocked.action is not Action.STOP:
        return replace(refused, reasons=(*refused.reasons, *blocked.reasons))
    return blocked


def _new_tank(demand: Demand, context: LimitContext) -> Reason | None:
    """Return why a tank that takes next to nothing, and gets no lime yet, needs none."""
    best = demand.per_litre_meq.best
    if best >= NEW_TANK_MEQ_PER_L_PER_DAY or context.current_L_per_day > 0.0:
        return None
    return reason(
        Code.NEW_TANK,
        demand_meq_per_L_per_day=best,
        enough_meq_per_L_per_day=NEW_TANK_MEQ_PER_L_PER_DAY,
    )


def _refuse_without_demand(
    demand: Demand | NoDemand, limits: Limits, context: LimitContext
) -> Refusal:
    code = Code(demand.reasons[0].code)
    running = context.current_L_per_day > 0.0
    stop = code is Code.DEMAND_NOT_POSITIVE and running
    action = Action.STOP if stop else Action.HOLD
    return refuse(code, action, *demand.reasons, limits=limits, context=context)


def _follow_up(
    plan: DosePlan | Refusal,
    need: DoseNeed | None,
    *,
    setup: Setup,
    inputs: Inputs,
    strength: Strength,
    limits: Limits,
    context: LimitContext,
    evaporated: Span | None,
    level: AlkalinityNow | None,
    net: Span | None,
) -> tuple[Remainder | None, Change]:
    """Return what is left for the second source, and the one change to make."""
    now = inputs.facts.now
    if isinstance(plan, Refusal):
        shown = inputs.settings.at(now) if context.can_be_set else None
        return None, change_for_refusal(
            plan, shown=shown, share=inputs.pump.at(now), delivery=setup.delivery
        )
    if need is None or level is None or evaporated is None:
        raise EngineError("plan_without_need")  # admit needs all three
    running = as_running(setup, inputs.facts)
    left = remainder(
        plan, need, setup=running, limits=limits, context=context, level_meq_per_L=level.span
    )
    change = change_for_plan(
        plan,
        need,
        setup=setup,
        inputs=inputs,
        strength=strength,
        remainder=left,
        evaporation_L_per_day=evaporated,
        level_meq_per_L=level.span,
        net_change_meq_per_L_per_day=net,
    )
    return left, change


def _limewater(facts: Facts, strength: Strength, inputs: Inputs) -> LimewaterNow:
    check = facts.last(PumpCheck)
    share = inputs.pump.at(facts.now)
    pump = reason(Code.PUMP_UNCHECKED)
    if check is not None:
        pump = reason(Code.PUMP_CHECKED, pump_share=share, age_days=facts.age_days(check.at))
    by_pump = inputs.setup.delivery in BY_PUMP
    return LimewaterNow(
        share=strength.share,
        strength=estimate(strength.meq_per_L, "meq/L"),
        source=strength.source,
        measured_at=strength.measured_at,
        pump_share=share if check is not None and by_pump else None,
        reasons=(*strength.reasons, pump) if by_pump else strength.reasons,
    )
