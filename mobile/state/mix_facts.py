"""The numbers that a procedure fills into its sentences, from the log and the decision."""

from typing import Final

from engine.procedure_facts import recharge_facts
from engine.stock import Charge, recharge
from engine.units import to_float
from mobile.state.snapshot import Snapshot

CHARGE_DAYS: Final = 14.0  # a fortnight; common practice, no source


def mix_facts(snapshot: Snapshot) -> dict[str, float | str]:
    """Return what is known: a fact that is missing here makes its procedure say so."""
    if snapshot.setup is None:
        return {}
    return recharge_facts(snapshot.setup, _charge(snapshot), snapshot.standing, snapshot.now)


def _charge(snapshot: Snapshot) -> Charge | None:
    """Return the powder for a fortnight at what is delivered now, or else at what is planned."""
    setup, decision = snapshot.setup, snapshot.decision
    if setup is None or decision is None or decision.limewater is None or setup.vessel_L is None:
        return None
    if decision.setting is not None:
        litres = to_float(decision.setting.delivered, "L/day")
    else:
        litres = getattr(decision.plan, "L_per_day", 0.0)
    if litres <= 0.0:
        return None
    return recharge(
        setup,
        limewater_L_per_day=litres,
        strength_meq_per_L=decision.limewater.strength.floats("meq/L").best,
        days=CHARGE_DAYS,
    )
