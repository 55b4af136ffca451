"""What is chosen and typed on the page of one-off additions."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from engine.plan.additions import What
from mobile.state.entry_draft import press_text
from mobile.state.form_makers import SALTS

ORDER: Final = (What.ALKALINITY, What.CALCIUM, What.MAGNESIUM)


@dataclass(frozen=True, slots=True)
class Draft:
    """What is chosen and typed; keys are "alkalinity_now", "calcium_target", "calcium_assay"."""

    chosen: tuple[What, ...] = ()
    salts: Mapping[What, str] = field(default_factory=dict[What, str])
    texts: Mapping[str, str] = field(default_factory=dict[str, str])
    units: Mapping[str, str] = field(default_factory=dict[str, str])
    active: str = ""


def toggled(draft: Draft, what: What) -> Draft:
    """Return the draft with a value to raise taken or left."""
    has = what in draft.chosen
    chosen = tuple(each for each in ORDER if (each in draft.chosen) != (each is what))
    first = "" if has else f"{what}_now"
    salts = {what: salts_for(what)[0], **draft.salts}
    return replace(draft, chosen=chosen, salts=salts, active=first)


def pressed(draft: Draft, key: str) -> Draft:
    """Return the draft after a key of the keypad."""
    typed = press_text(draft.texts.get(draft.active, ""), key)
    return replace(draft, texts={**draft.texts, draft.active: typed})


def activated(draft: Draft, key: str) -> Draft:
    """Return the draft with another number under the keypad."""
    return replace(draft, active=key)


def with_salt(draft: Draft, what: What, salt: str) -> Draft:
    """Return the draft with another salt."""
    return replace(draft, salts={**draft.salts, what: salt})


def with_unit(draft: Draft, key: str, unit: str) -> Draft:
    """Return the draft with another unit for a number; both of a value change together."""
    what = key.partition("_")[0]
    both = {f"{what}_now": unit, f"{what}_target": unit}
    return replace(draft, units={**draft.units, **both}, active=key)


def salts_for(what: What) -> tuple[str, ...]:
    """Return the salts that bring it, by their names in records."""
    brings = {
        What.ALKALINITY: "alkalinity_eq_per_mol",
        What.CALCIUM: "calcium_mol_per_mol",
        What.MAGNESIUM: "magnesium_mol_per_mol",
    }[what]
    return tuple(name for name, salt in SALTS.items() if getattr(salt, brings) > 0.0)
