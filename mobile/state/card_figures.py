"""Parts of the emergency card's figures as plain values."""

from typing import Any, Final

from engine.carbonate import CarbonateState
from engine.demand.facts import Facts
from engine.hazards.codes import HazardCode
from engine.hazards.rescue import Rescue
from engine.seawater import density_kg_per_m3
from engine.vocabulary import PARAMETERS
from mobile.state.hazard import said
from mobile.state.sentences import ALKALINITY_UNITS, alkalinity, sentence, trimmed, unit_label
from mobile.texts.card import TEXTS

_AROUND: Final = (HazardCode.CHANGE_BRINGS,)  # what the table itself says


def reading(facts: Facts, parameter: str, alkalinity_unit: str) -> dict[str, str] | None:
    """Return the last value of a parameter as label, value with unit, and time."""
    last = facts.last_sample(parameter)
    if last is None:
        return None
    shown = f"{trimmed(last.value, 1)} {unit_label(PARAMETERS[parameter].unit)}"
    if parameter == "total_alkalinity":
        shown = alkalinity(last.value, alkalinity_unit)
    elif parameter == "pH_nbs":
        shown = f"{last.value:.2f}"
    return {"label": TEXTS[f"reading_{parameter}"], "value": shown, "at": last.at.isoformat()}


def rescue_figures(
    code: str, water: CarbonateState, found: Rescue, alkalinity_unit: str
) -> dict[str, Any]:
    """Return both tables of a rescue and its sentences.

    Parameters
    ----------
    code : str
        Of the sentence that says where it starts.
    water : CarbonateState
        Where it starts.
    found : Rescue
        What brings it back.
    alkalinity_unit : str
        The keeper's.
    """
    factor, _, _ = ALKALINITY_UNITS[alkalinity_unit]
    kg_per_L = density_kg_per_m3(water.salinity, water.temperature_degC) / 1000.0
    numbers = {
        "from_pH": water.pH_nbs,
        "from_meq_per_L": water.total_alkalinity_umol_per_kg * kg_per_L / 1000.0,
    }
    return {
        "from": sentence(TEXTS, code, numbers, alkalinity_unit),
        "alkalinity_unit": alkalinity_unit,
        "changes": [
            {
                "percent": round(row.share * 100.0),
                "pH": [row.pH_nbs.low, row.pH_nbs.best, row.pH_nbs.high],
                "alkalinity": [
                    row.total_alkalinity_meq_per_L.low * factor,
                    row.total_alkalinity_meq_per_L.high * factor,
                ],
                "calcium_mg_per_L": row.calcium_mg_per_L,
            }
            for row in found.changes
            if row.pH_nbs is not None and row.total_alkalinity_meq_per_L is not None
        ],
        "said": [said(r, alkalinity_unit) for r in found.reasons if r.code not in _AROUND],
    }
