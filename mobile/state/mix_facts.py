"""The numbers that a procedure fills into its sentences, from the log and the decision."""

from collections.abc import Iterator
from typing import Final

from engine.decision import Decision
from engine.limits import DosePlan
from engine.plan.withheld import is_withheld
from engine.procedures.answers import run_facts
from engine.procedures.facts import recharge_facts, system_facts
from engine.procedures.numbers import read_facts
from engine.procedures.runs import Progress, RunState
from engine.procedures.schema import Procedure
from engine.records import DeliverySetting, ProcedureEvent, ProcedureRun
from engine.stock.charge import Charge, saturated_recharge
from engine.units import to_float
from mobile.state.snapshot import Snapshot

# What the start of a run recorded as its answer before it recorded its facts (version 1).
_WEIGHED: Final = "recharge_powder_g"

# What steps set of the plan: all of it, or a stage.
_PLANNED: Final = frozenset(
    {"plan_L_per_day", "tonight_L", "half_plan_L_per_day", "three_quarter_plan_L_per_day"}
)

Facts = dict[str, float | str]


def mix_facts(snapshot: Snapshot, procedure: Procedure, at: Progress | None = None) -> Facts:
    """Return what is known: a fact that is missing here makes its procedure say so.

    Within a run the numbers that its start recorded hold: nothing that is entered on the way (a
    pump set to 0, a test) changes them while things stand open.
    """
    if snapshot.setup is None:
        return {}
    known: Facts = {
        **system_facts(snapshot.setup, snapshot.decision, snapshot.standing, snapshot.now),
        **recharge_facts(snapshot.setup, _charge(snapshot), snapshot.standing, snapshot.now),
    }
    if at is not None and at.state is RunState.OPEN:
        known = run_facts(procedure, at, {**known, **_of_version_1(snapshot, at), **at.fixed})
    if may_raise(snapshot):
        return known
    return {key: value for key, value in known.items() if key not in _PLANNED}


def may_raise(snapshot: Snapshot) -> bool:
    """Tell whether a step may set a part of the plan: not while nothing may be raised.

    That holds for a run begun before, too: a stage that it still has to set waits.
    """
    decision = snapshot.decision
    return snapshot.failure is None and (decision is None or not is_withheld(decision))


def _of_version_1(snapshot: Snapshot, at: Progress) -> dict[str, float]:
    for record in snapshot.standing:
        if not isinstance(record, ProcedureRun) or record.run != at.run:
            continue
        if record.event is ProcedureEvent.STARTED and record.answer:
            return read_facts(f"{_WEIGHED}={record.answer}")
    return {}


def _charge(snapshot: Snapshot) -> Charge | None:
    """Return the powder for a usual charge at saturated strength, whatever the old one gives."""
    setup, decision = snapshot.setup, snapshot.decision
    if setup is None or setup.vessel_L is None or decision is None or is_withheld(decision):
        return None
    litres = next((value for value in _litres_per_day(snapshot, decision) if value > 0.0), None)
    if litres is None:
        return None
    return saturated_recharge(setup, litres)


def _litres_per_day(snapshot: Snapshot, decision: Decision) -> Iterator[float]:
    """Yield what the charge may be for: given now, else planned, else the last setting not 0."""
    if decision.setting is not None:
        yield to_float(decision.setting.delivered, "L/day")
    if isinstance(decision.plan, DosePlan):
        yield decision.plan.L_per_day
    for record in reversed(snapshot.standing):
        if isinstance(record, DeliverySetting):
            yield record.limewater_L_per_day
