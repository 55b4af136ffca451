"""A change as it is told: its code, what to set, and the words for who has no pump."""

from dataclasses import dataclass
from typing import Final

from engine.reasons import Code, Reason
from engine.records import Delivery
from engine.units import Quantity, quantity

# Who has no pump is not told to set one: the reason that is given instead of the change's code.
_SAID_INSTEAD: Final[dict[Delivery, dict[Code, Code]]] = {
    Delivery.DRIP: {
        Code.SET_PUMP_FIRST: Code.SET_DRIP_FIRST,
        Code.RAISE_PUMP: Code.RAISE_DRIP,
        Code.LOWER_PUMP: Code.LOWER_DRIP,
        Code.HOLD: Code.HOLD_DRIP,
        Code.STOP: Code.STOP_DRIP,
        Code.RECHARGE_FIRST: Code.MIX_DRIP_ANEW,
        Code.LOWER_THEN_RECHARGE: Code.LOWER_DRIP_THEN_MIX,
    },
    Delivery.TOP_OFF_VESSEL: {
        Code.HOLD: Code.HOLD_TOP_OFF,
        Code.STOP: Code.STOP_TOP_OFF_VESSEL,
    },
    Delivery.TOP_OFF_CONTAINER: {
        Code.HOLD: Code.HOLD_TOP_OFF,
        Code.STOP: Code.STOP_TOP_OFF_CONTAINER,
    },
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What to do now. `setting` is what the pump should show, 0 for off."""

    code: Code
    setting: Quantity | None  # L/day
    was: Quantity | None  # L/day, None when never recorded
    second_source: Quantity | None  # meq/day, where it is to be changed
    second_was: Quantity | None  # meq/day
    mix_share: float | None  # of saturation, where the top-off draws on a lime container
    mix_powder: Quantity | None  # g for the whole container
    reasons: tuple[Reason, ...]


def change_made(
    code: Code,
    setting: float | None,
    shown: float | None,
    *,
    delivery: Delivery | None = None,
    second: float | None = None,
    second_was: float | None = None,
    mix_share: float | None = None,
    mix_powder_g: float | None = None,
    own: Reason | None = None,
    extra: tuple[Reason, ...] = (),
) -> Change:
    """Return a change; amounts in L/day, meq/day and g, None where they do not apply."""
    about_pump = {"setting_L_per_day": setting, "was_L_per_day": shown}
    about_second = {"second_meq_per_day": second, "second_was_meq_per_day": second_was}
    own_words = _SAID_INSTEAD.get(delivery, {}) if delivery is not None else {}
    told_as = code
    if code is Code.RECHARGE_FIRST and _is_lowered(setting, shown):
        told_as = Code.LOWER_THEN_RECHARGE
    reasons = (own or Reason(own_words.get(told_as, told_as), _known(about_pump)),)
    if second is not None:
        moved = Code.SET_SECOND_SOURCE_FIRST if second_was is None else Code.SET_SECOND_SOURCE
        told = Reason(moved, _known(about_second))
        reasons = (told,) if code is Code.SET_SECOND_SOURCE else (*reasons, told)
    return Change(
        code=code,
        setting=_quantity(setting, "L/day"),
        was=_quantity(shown, "L/day"),
        second_source=_quantity(second, "meq/day"),
        second_was=_quantity(second_was, "meq/day"),
        mix_share=mix_share,
        mix_powder=_quantity(mix_powder_g, "g"),
        reasons=(*reasons, *extra),
    )


def _is_lowered(setting: float | None, shown: float | None) -> bool:
    return setting is not None and shown is not None and setting < shown


def _known(numbers: dict[str, float | None]) -> dict[str, float | str]:
    return {name: value for name, value in numbers.items() if value is not None}


def _quantity(value: float | None, unit: str) -> Quantity | None:
    return None if value is None else quantity(value, unit)
