"""Numbers that the guided procedures fill into their sentences and judge amounts by."""

from collections.abc import Sequence
from datetime import datetime
from math import floor, log10
from typing import Final

from engine.decision import Decision
from engine.demand.facts import gather
from engine.demand.flows import delivered_share
from engine.entry.checks import earlier_readings
from engine.limits import DosePlan
from engine.log.meters import drifted
from engine.plan.alarms import PH_FRESH, pH_in_force
from engine.plan.evaporation import evaporation_span
from engine.procedures.keys import COMMISSIONING, TUBE_CHANGE
from engine.records import (
    Delivery,
    DeliverySetting,
    Meter,
    ProcedureEvent,
    ProcedureRun,
    PumpCheck,
    Record,
    Setup,
)
from engine.stock.charge import Charge
from engine.units import to_float

# Share of the vessel drawn off to make room for the slurry (common practice, no source).
DRAW_OFF_SHARE: Final = 0.10
_DIGITS: Final = 3


def recharge_facts(
    setup: Setup, charge: Charge | None, standing: Sequence[Record], now: datetime
) -> dict[str, float | str]:
    """Return the facts of the procedure `recharge_vessel`.

    Parameters
    ----------
    setup : Setup
        The set-up that holds.
    charge : Charge or None
        Powder to weigh, from `engine.stock.powder.recharge`; None where it cannot be worked out.
    standing : sequence of Record
        The system's records with amendments applied.
    now : datetime
        The clock, aware.

    Returns
    -------
    dict
        `draw_off_L`, `recharge_powder_g` (three digits, rounded toward less),
        `largest_charge_powder_g` and `last_pH`, the pH in force for the dose; what is
        unknown is left out, and the procedure then does not start or does not judge by it.
    """
    facts: dict[str, float | str] = {}
    if setup.vessel_L is not None:
        facts["draw_off_L"] = DRAW_OFF_SHARE * setup.vessel_L
    if charge is not None and charge.largest is not None:
        powder_g = _rounded_down(to_float(charge.powder, "g"))
        if powder_g > 0.0:
            facts["recharge_powder_g"] = powder_g
            facts["largest_charge_powder_g"] = to_float(charge.largest, "g")
    pH = pH_in_force(gather(standing, system=setup.system, now=now))
    if pH is not None:
        facts["last_pH"] = pH.value
    return facts


# Share of the plan that a new vessel or tank begins with (common practice, no source).
_FIRST_SHARES: Final = {"half_plan_L_per_day": 0.5, "three_quarter_plan_L_per_day": 0.75}
_FRESH_KINDS: Final = {
    "last_salinity_PSU": "salinity",
    "last_alkalinity_meq_per_L": "total_alkalinity",
}


def system_facts(
    setup: Setup, decision: Decision | None, standing: Sequence[Record], now: datetime
) -> dict[str, float]:
    """Return the facts of the other procedures; what is not known is left out.

    Parameters
    ----------
    setup : Setup
        The set-up that holds.
    decision : Decision or None
        What the engine decided at `now`; without it there is no plan and no evaporation.
    standing : sequence of Record
        The system's records with amendments applied.
    now : datetime
        The clock, aware.
    """
    known: dict[str, float | None] = {
        "net_volume_L": setup.net_volume_L,
        "volume_error_share": setup.net_volume_error_share,
        "lime_degC": setup.lime_temperature_degC,
        "assay_share": setup.powder_assay,
        "vessel_L": setup.vessel_L,
        "lime_container_L": setup.lime_container_L,
        "drain_back_L": setup.drain_back_L,
        "pump_L_per_h": setup.pump_L_per_h,
        "salt_water_ready_L": setup.salt_water_ready_L,
        "set_L_per_day": next(
            (r.limewater_L_per_day for r in reversed(standing) if isinstance(r, DeliverySetting)),
            None,
        ),
        "first_pump_share": _first_share(standing),
        "commissioned_count": float(len(_finished(standing, COMMISSIONING))),
        # Only a top-off container is mixed weaker than saturated; how weak, the decision says.
        "mix_share": 1.0,
    }
    if setup.delivery is Delivery.TOP_OFF_CONTAINER:
        known["mix_share"] = None if decision is None else decision.change.mix_share
    if decision is not None:
        known |= _decided(decision)
    known |= _drifts(standing)
    for key, parameter in _FRESH_KINDS.items():
        recent = [e for e in earlier_readings(standing, parameter) if now - PH_FRESH <= e.at <= now]
        known[key] = recent[-1].value if recent else None
    return {key: value for key, value in known.items() if value is not None}


def _decided(decision: Decision) -> dict[str, float | None]:
    found: dict[str, float | None] = {}
    span = None if decision.evaporation is None else evaporation_span(decision.evaporation)
    if span is not None:
        found["evaporation_high_L_per_day"] = span.high
    if isinstance(decision.plan, DosePlan) and decision.plan.L_per_day > 0.0:
        full = decision.plan.L_per_day
        found["plan_L_per_day"] = full
        found["tonight_L"] = _rounded_down(full)
        found |= {key: _rounded_down(share * full) for key, share in _FIRST_SHARES.items()}
    return found


def _drifts(standing: Sequence[Record]) -> dict[str, float | None]:
    """Return how far each meter that is known to be off was off at its last check."""
    off = drifted(standing)
    probe, kit = off.get(Meter.PH_PROBE), off.get(Meter.ALKALINITY_KIT)
    meter = off.get(Meter.CONDUCTIVITY)
    return {
        "probe_drift_pH": None if probe is None else abs(probe.off_pH or 0.0),
        "meter_drift_share": None if meter is None else abs(meter.off_share or 0.0),
        "kit_drift_share": None if kit is None else abs(kit.off_share or 0.0),
    }


def _first_share(standing: Sequence[Record]) -> float | None:
    """Return what the pump gave at its first check since the last tube change, if any."""
    changes = _finished(standing, TUBE_CHANGE)
    checks = [r for r in standing if isinstance(r, PumpCheck)]
    since = [r for r in checks if not changes or r.at >= changes[-1]]
    return delivered_share(since[0]) if since else None


def _finished(standing: Sequence[Record], procedure: str) -> list[datetime]:
    """Return when runs of a procedure came to their end, oldest first."""
    return [
        r.at
        for r in standing
        if isinstance(r, ProcedureRun)
        and (r.procedure, r.event) == (procedure, ProcedureEvent.FINISHED)
    ]


def _rounded_down(value: float) -> float:
    """Return a positive value at three significant digits, rounded toward less."""
    if value <= 0.0:
        return 0.0
    decimals = _DIGITS - 1 - floor(log10(value))
    return round(floor(value * 10.0**decimals + 1e-9) / 10.0**decimals, max(decimals, 0))
