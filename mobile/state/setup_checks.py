"""What contradicts itself among the answers of the set-up."""

from collections.abc import Container, Sequence
from dataclasses import fields
from typing import Final

from engine.demand.entered_demand import USUAL_DEMAND_MEQ_PER_L_PER_DAY
from engine.records import SecondSource, Setup
from mobile.state.sentences import alkalinity
from mobile.state.setup_asks import MONTH_UNKNOWN, Draft, Page
from mobile.state.setup_pages import PAGES, held_demand_meq_per_L_per_day
from mobile.texts.setup import TEXTS

_DAY_H: Final = 24.0
_ENTERED: Final = "entered_demand_meq_per_L_per_day"
_LARGEST_DEMAND_MEQ_PER_L_PER_DAY: Final[float] = next(
    field.metadata["high"] for field in fields(Setup) if field.name == _ENTERED
)


def problems(
    draft: Draft, pages: Sequence[Page] = PAGES, alkalinity_unit: str = "dKH"
) -> tuple[str, ...]:
    """Return what contradicts itself or is missing in the answers to these pages, as sentences."""
    asked = {ask.key for page in pages for ask in page.asks}
    checks = (
        _out_of_order(draft, "evaporation_low_L_per_day", "evaporation_high_L_per_day"),
        _out_of_order(
            draft, "band_low_total_alkalinity_meq_per_L", "band_high_total_alkalinity_meq_per_L"
        ),
        _out_of_order(
            draft, "band_low_total_alkalinity_meq_per_L", "target_total_alkalinity_meq_per_L"
        ),
        _out_of_order(
            draft, "target_total_alkalinity_meq_per_L", "band_high_total_alkalinity_meq_per_L"
        ),
        _out_of_order(
            draft, "floor_total_alkalinity_meq_per_L", "band_low_total_alkalinity_meq_per_L"
        ),
        _reactor_order(draft),
    )
    found = [
        TEXTS["out_of_order"].format(low=TEXTS[f"field_{low}"], high=TEXTS[f"field_{high}"])
        for low, high in (pair for pair in checks if pair)
        if low in asked or high in asked
    ]
    found += [TEXTS[code] for key, code in _contradictions(draft) if key in asked]
    if "holds_steady" in asked and draft.get("holds_steady") == "yes":
        demand = held_demand_meq_per_L_per_day(draft)
        if demand is not None and demand > _LARGEST_DEMAND_MEQ_PER_L_PER_DAY:
            shown = alkalinity(demand, alkalinity_unit, rate=True)
            found.append(TEXTS["demand_too_large"].format(demand=shown))
    return tuple(found)


def doubts(draft: Draft, typed: Container[str], alkalinity_unit: str = "dKH") -> tuple[str, ...]:
    """Return what is possible but unusual among the answers just given; it is asked about once."""
    demand = draft.get(_ENTERED) if _ENTERED in typed else None
    if "holds_steady" in typed and draft.get("holds_steady") == "yes":
        demand = held_demand_meq_per_L_per_day(draft)
    low, high = USUAL_DEMAND_MEQ_PER_L_PER_DAY
    if demand is None or low <= demand <= high:
        return ()
    shown = {
        name: alkalinity(value, alkalinity_unit, rate=True)
        for name, value in (("demand", demand), ("low", low), ("high", high))
    }
    return (TEXTS["demand_unusual"].format(**shown),)


def _reactor_order(draft: Draft) -> tuple[str, str] | None:
    """Return the pair when a reactor's water has less alkalinity than the tank is to have."""
    if draft.get("second_source") != SecondSource.REACTOR:
        return None
    return _out_of_order(draft, "target_total_alkalinity_meq_per_L", "reactor_effluent_meq_per_L")


def _contradictions(draft: Draft) -> list[tuple[str, str]]:
    """Return (field, code of the sentence) of answers that cannot stand together."""
    on, off = draft.get("lights_on_hours"), draft.get("lights_off_hours")
    found: list[tuple[str, str]] = []
    if (on is None) != (off is None):
        found.append(("lights_on_hours", "lamps_one"))
    elif on is not None and off is not None and on % _DAY_H == off % _DAY_H:
        found.append(("lights_on_hours", "lamps_same"))
    elif on is None and draft.get("doses_at_night") == "yes":
        found.append(("doses_at_night", "night_needs_lamps"))
    high = draft.get("evaporation_high_month")
    if high not in (None, MONTH_UNKNOWN) and high == draft.get("evaporation_low_month"):
        found.append(("evaporation_high_month", "months_same"))
    return found


def _out_of_order(draft: Draft, low: str, high: str) -> tuple[str, str] | None:
    below, above = draft.get(low), draft.get(high)
    return (low, high) if below is not None and above is not None and below > above else None
