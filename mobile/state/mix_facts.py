"""The numbers that a procedure fills into its sentences, from the log and the decision."""

from collections.abc import Iterator
from typing import Final

from engine.decision import Decision
from engine.limits import DosePlan
from engine.procedure_facts import recharge_facts
from engine.procedures import amount_of
from engine.records import DeliverySetting, ProcedureEvent, ProcedureRun
from engine.stock import Charge, saturated_recharge
from engine.units import to_float
from mobile.state.snapshot import Snapshot

WEIGHED: Final = "recharge_powder_g"


def mix_facts(snapshot: Snapshot, run: str = "") -> dict[str, float | str]:
    """Return what is known: a fact that is missing here makes its procedure say so.

    Within a run the powder to weigh is the one that its start recorded: nothing that is entered
    on the way (a pump set to 0, a test) changes it while the vessel stands open.
    """
    if snapshot.setup is None:
        return {}
    facts = recharge_facts(snapshot.setup, _charge(snapshot), snapshot.standing, snapshot.now)
    begun = _powder_at_start(snapshot, run) if run else None
    return facts if begun is None else {**facts, WEIGHED: begun}


def _powder_at_start(snapshot: Snapshot, run: str) -> float | None:
    for record in snapshot.standing:
        if isinstance(record, ProcedureRun) and record.run == run:
            started = record.event is ProcedureEvent.STARTED
            return amount_of(record.answer) if started else None
    return None


def _charge(snapshot: Snapshot) -> Charge | None:
    """Return the powder for a usual charge at saturated strength, whatever the old one gives."""
    setup, decision = snapshot.setup, snapshot.decision
    if setup is None or setup.vessel_L is None or decision is None:
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
