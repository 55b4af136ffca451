"""A decision as plain values whose keys carry their units: for the command line and tests."""

from collections.abc import Iterable
from typing import Any

from engine.caps import CapValue
from engine.decision import Decision
from engine.demand.answer import Demand, NoDemand, Trend
from engine.limits import DosePlan, Refusal
from engine.plan.evaporation import Evaporation
from engine.plan.remainder import Remainder
from engine.plan.setting import SettingConsequence
from engine.plan.stop_safe import StopSafe
from engine.reasons import Reason
from engine.stock.powder import Powder
from engine.units import Estimate, Quantity, to_float


def report(decision: Decision) -> dict[str, Any]:
    """Return the decision as JSON-ready values."""
    return {
        "now": decision.now.isoformat(),
        "change": _change(decision),
        "plan": _plan(decision.plan),
        "remainder": _remainder(decision.remainder),
        "alkalinity": _alkalinity(decision),
        "demand": _demand(decision.demand),
        "evaporation": _evaporation(decision.evaporation),
        "limewater": _limewater(decision),
        "setting": _setting(decision.setting),
        "stop_safe": _stop_safe(decision.stop_safe),
        "powder": _powder(decision.powder),
        "cautions": reasons(decision.cautions),
        "reasons": reasons(decision.reasons),
    }


def reasons(found: Iterable[Reason]) -> list[dict[str, Any]]:
    """Return reasons as plain objects."""
    return [{"code": str(item.code), **dict(item.numbers)} for item in found]


def _one(value: Quantity | None, name: str, unit: str) -> dict[str, float | None]:
    return {name: None if value is None else to_float(value, unit)}


def _three(value: Estimate | None, name: str, suffix: str, unit: str) -> dict[str, float | None]:
    if value is None:
        return {f"{name}_{suffix}": None}
    low, best, high = value.floats(unit)
    return {
        f"{name}_low_{suffix}": low,
        f"{name}_{suffix}": best,
        f"{name}_high_{suffix}": high,
    }


def _unknown(found: Reason | None) -> dict[str, Any] | None:
    return None if found is None else {"reasons": reasons((found,))}


def _caps(caps: Iterable[CapValue]) -> dict[str, float]:
    return {f"{cap.code}_L_per_day": cap.L_per_day for cap in caps}


def _change(decision: Decision) -> dict[str, Any]:
    change = decision.change
    return {
        "code": str(change.code),
        **_one(change.setting, "setting_L_per_day", "L/day"),
        **_one(change.was, "was_L_per_day", "L/day"),
        **_one(change.second_source, "second_source_meq_per_day", "meq/day"),
        **_one(change.second_was, "second_was_meq_per_day", "meq/day"),
        "mix_share": change.mix_share,
        **_one(change.mix_powder, "mix_powder_g", "g"),
        "reasons": reasons(change.reasons),
    }


def _plan(plan: DosePlan | Refusal) -> dict[str, Any]:
    if isinstance(plan, Refusal):
        return {
            "refused": str(plan.code),
            "action": str(plan.action),
            **_one(plan.limit, "limit_L_per_day", "L/day"),
            **_one(plan.asked, "asked_L_per_day", "L/day"),
            **_one(plan.lower_to, "lower_to_L_per_day", "L/day"),
            "reasons": reasons(plan.reasons),
        }
    return {
        "refused": None,
        **_one(plan.limewater, "limewater_L_per_day", "L/day"),
        **_one(plan.dose, "dose_mL", "mL"),
        "doses_per_day": plan.doses_per_day,
        **_one(plan.asked, "asked_L_per_day", "L/day"),
        "caps": _caps(plan.caps),
        "binding": [str(code) for code in plan.binding],
        "reasons": reasons(plan.reasons),
    }


def _remainder(left: Remainder | None) -> dict[str, Any] | None:
    if left is None:
        return None
    return {
        "source": str(left.source),
        **_three(left.alkalinity, "alkalinity", "meq_per_day", "meq/day"),
        **_three(left.two_part, "each_part", "mL_per_day", "mL/day"),
        **_three(left.effluent, "effluent", "L_per_day", "L/day"),
        **_three(left.days_to_band_low, "to_band_low", "days", "day"),
        **_three(left.days_to_floor, "to_floor", "days", "day"),
        **_three(left.settles, "settles", "meq_per_L", "meq/L"),
        **_three(left.effluent_alkalinity, "effluent", "meq_per_L", "meq/L"),
        "reasons": reasons(left.reasons),
    }


def _alkalinity(decision: Decision) -> dict[str, Any] | None:
    level = decision.alkalinity
    if level is None:
        return None
    return {
        **_one(level.last, "last_meq_per_L", "meq/L"),
        "tested_at": level.tested_at.isoformat(),
        **_one(level.age, "age_days", "day"),
        **_three(level.expected, "expected", "meq_per_L", "meq/L"),
    }


def _demand(demand: Demand | NoDemand | None) -> dict[str, Any] | None:
    if demand is None:
        return None
    if isinstance(demand, NoDemand):
        return {"source": None, "reasons": reasons(demand.reasons)}
    return {
        "source": demand.source,
        **_three(demand.per_litre, "demand", "meq_per_L_per_day", "meq/L/day"),
        **_three(demand.per_day, "demand", "meq_per_day", "meq/day"),
        "test_count": demand.test_count,
        **_one(demand.span, "span_days", "day"),
        **_one(demand.age, "age_days", "day"),
        "trend": _trend(demand.trend),
        "suspects": [
            {
                "at": suspect.at.isoformat(),
                **_one(suspect.value, "value_meq_per_L", "meq/L"),
                **_three(suspect.expected, "expected", "meq_per_L", "meq/L"),
            }
            for suspect in demand.suspects
        ],
        **_three(demand.calcium_ratio, "calcium_ratio", "mg_per_meq", "mg/meq"),
        **_one(demand.test_error, "test_error_meq_per_L", "meq/L"),
        "reasons": reasons(demand.reasons),
    }


def _trend(trend: Trend | None) -> dict[str, Any] | None:
    if trend is None:
        return None
    return {
        **_three(trend.change, "change", "meq_per_L_per_day", "meq/L/day"),
        **_one(trend.over, "over_days", "day"),
    }


def _evaporation(evaporation: Evaporation | Reason | None) -> dict[str, Any] | None:
    if not isinstance(evaporation, Evaporation):
        return _unknown(evaporation)
    return {
        "source": evaporation.source,
        **_one(evaporation.low, "low_L_per_day", "L/day"),
        **_one(evaporation.high, "high_L_per_day", "L/day"),
        **_one(evaporation.span, "span_days", "day"),
        "reasons": reasons(evaporation.reasons),
    }


def _limewater(decision: Decision) -> dict[str, Any] | None:
    lime = decision.limewater
    if lime is None:
        return None
    return {
        "source": lime.source,
        "measured_at": None if lime.measured_at is None else lime.measured_at.isoformat(),
        "share_of_saturation_low": lime.share.low,
        "share_of_saturation": lime.share.best,
        "share_of_saturation_high": lime.share.high,
        **_three(lime.strength, "strength", "meq_per_L", "meq/L"),
        "pump_share": lime.pump_share,
        "reasons": reasons(lime.reasons),
    }


def _setting(setting: SettingConsequence | None) -> dict[str, Any] | None:
    if setting is None:
        return None
    return {
        **_one(setting.limewater_set, "limewater_set_L_per_day", "L/day"),
        **_one(setting.delivered, "delivered_L_per_day", "L/day"),
        **_three(setting.net_change, "net_change", "meq_per_L_per_day", "meq/L/day"),
        **_one(setting.rise_if_stopped, "rise_if_stopped_meq_per_L_per_day", "meq/L/day"),
        **_one(setting.dose_rise, "dose_rise_meq_per_L", "meq/L"),
        **_three(setting.salinity_change, "salinity_change", "PSU_per_day", "PSU/day"),
        "over": _caps(setting.over),
        "reasons": reasons(setting.reasons),
    }


def _stop_safe(found: StopSafe | Reason | None) -> dict[str, Any] | None:
    if not isinstance(found, StopSafe):
        return _unknown(found)
    return {
        **_three(found.to_band_low, "to_band_low", "days", "day"),
        **_three(found.to_floor, "to_floor", "days", "day"),
        "second_source_runs": found.second_source_runs,
        "reasons": reasons(found.reasons),
    }


def _powder(powder: Powder | Reason | None) -> dict[str, Any] | None:
    if not isinstance(powder, Powder):
        return _unknown(powder)
    return {
        "container": str(powder.container),
        **_three(powder.use, "use", "g_per_day", "g/day"),
        **_three(powder.left, "left", "g", "g"),
        **_three(powder.days_left, "left", "days", "day"),
        **_three(powder.days_to_recharge, "recharge_in", "days", "day"),
        **_one(powder.shelf, "shelf_g", "g"),
        "reasons": reasons(powder.reasons),
    }
