"""The numbers that a procedure fills into its sentences, from the log and the decision."""

from datetime import timedelta
from typing import Final

from engine.records import Record, WaterTest
from engine.stock import largest_charge_g, recharge
from engine.units import to_float
from mobile.state.record import reading_of
from mobile.state.snapshot import Snapshot

# Common practice, no source.
CHARGE_DAYS: Final = 14.0
DRAW_OFF_SHARE: Final = 0.10
PH_FRESH: Final = timedelta(hours=24)


def mix_facts(snapshot: Snapshot) -> dict[str, float | str]:
    """Return what is known: a fact that is missing here makes its procedure say so."""
    setup, decision = snapshot.setup, snapshot.decision
    facts: dict[str, float | str] = {}
    if setup is None or decision is None:
        return facts
    last_pH = _last_pH(snapshot)
    if last_pH is not None:
        facts["last_pH"] = last_pH
    litres = _litres_per_day(snapshot)
    if setup.vessel_L is None or decision.limewater is None:
        return facts
    facts["draw_off_L"] = DRAW_OFF_SHARE * setup.vessel_L
    facts["largest_charge_powder_g"] = largest_charge_g(setup.vessel_L)
    if litres:
        charge = recharge(
            setup,
            limewater_L_per_day=litres,
            strength_meq_per_L=decision.limewater.strength.floats("meq/L").best,
            days=CHARGE_DAYS,
        )
        facts["recharge_powder_g"] = to_float(charge.powder, "g")
        facts["charge_days"] = to_float(charge.days, "day")
    return facts


def _litres_per_day(snapshot: Snapshot) -> float | None:
    """Return the limewater that the charge is for: what is set, else what is planned."""
    decision = snapshot.decision
    if decision is None:
        return None
    if decision.setting is not None:
        return to_float(decision.setting.delivered, "L/day")
    planned = getattr(decision.plan, "L_per_day", None)
    return float(planned) if planned else None


def _last_pH(snapshot: Snapshot) -> float | None:
    newest: Record | None = next(
        (r for r in reversed(snapshot.standing) if reading_of(r, "pH_nbs")), None
    )
    if not isinstance(newest, WaterTest) or snapshot.now - newest.at > PH_FRESH:
        return None
    reading = reading_of(newest, "pH_nbs")
    return reading.value if reading else None
