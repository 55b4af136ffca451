"""What contradicts itself among the answers of the set-up."""

from collections.abc import Sequence
from dataclasses import fields
from typing import Final

from engine.records import Setup
from mobile.state.sentences import alkalinity
from mobile.state.setup_pages import PAGES, Draft, Page, held_demand_meq_per_L_per_day
from mobile.texts.setup import TEXTS

_LARGEST_DEMAND_MEQ_PER_L_PER_DAY: Final[float] = next(
    field.metadata["high"]
    for field in fields(Setup)
    if field.name == "entered_demand_meq_per_L_per_day"
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
    )
    found = [
        TEXTS["out_of_order"].format(low=TEXTS[f"field_{low}"], high=TEXTS[f"field_{high}"])
        for low, high in (pair for pair in checks if pair)
        if low in asked
    ]
    if "holds_steady" in asked and draft.get("holds_steady") == "yes":
        demand = held_demand_meq_per_L_per_day(draft)
        if demand is not None and demand > _LARGEST_DEMAND_MEQ_PER_L_PER_DAY:
            shown = alkalinity(demand, alkalinity_unit, rate=True)
            found.append(TEXTS["demand_too_large"].format(demand=shown))
    return tuple(found)


def _out_of_order(draft: Draft, low: str, high: str) -> tuple[str, str] | None:
    below, above = draft.get(low), draft.get(high)
    return (low, high) if below is not None and above is not None and below > above else None
