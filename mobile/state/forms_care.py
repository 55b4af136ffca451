"""Entry forms of care: packs, an empty-out, solutions and kits."""

from typing import Any, Final

from engine.records import Emptied, PackOpened, SupplyItem, SupplyStock, VesselEmptied
from engine.stock.supplies import PARTS
from mobile.state.form_parts import Answers, Choice, Form, Values, numbers

STOCK: Final = Choice(key="stock", options=("bought", "counted"))
_KITS: Final = tuple(item for item in SupplyItem if item not in PARTS)


def _supply(values: Values, answers: Answers, _around: object) -> dict[str, Any]:
    return {
        **values,
        "item": SupplyItem(answers["item"]),
        "counted": answers["stock"] == "counted",
    }


def _recalled(stock: SupplyStock) -> dict[str, str]:
    return {"item": stock.item, "stock": "counted" if stock.counted else "bought"}


_GOOD_FOR: Final = ("good_for_days",)

CARE_FORMS: Final = (
    Form(
        key="pack_opened",
        record=PackOpened,
        fields=numbers(PackOpened, "powder_g"),
    ),
    Form(
        key="vessel_emptied",
        record=VesselEmptied,
        choices=(Choice(key="emptied", options=tuple(Emptied)),),
        make=lambda _values, answers, _around: {"container": Emptied(answers["emptied"])},
        recall=lambda emptied: {"emptied": emptied.container},
    ),
    Form(
        key="supply_solution",
        record=SupplyStock,
        fields=numbers(SupplyStock, "solution_mL", optional=_GOOD_FOR),
        choices=(Choice(key="item", options=PARTS), STOCK),
        make=_supply,
        recall=_recalled,
        fits=lambda stock: stock.item in PARTS,
    ),
    Form(
        key="supply_kit",
        record=SupplyStock,
        fields=numbers(SupplyStock, "tests_count", optional=_GOOD_FOR),
        choices=(Choice(key="item", options=_KITS), STOCK),
        make=_supply,
        recall=_recalled,
        fits=lambda stock: stock.item not in PARTS,
    ),
)
