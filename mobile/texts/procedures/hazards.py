"""Hazard and first-aid statements by GHS code. The powder's own safety data sheet prevails."""

from typing import Final

# Statements by code; which of them hold for calcium hydroxide comes from its registration.
HAZARD_SOURCE: Final = (
    "H statements: GHS annex 3, Regulation (EC) No 1272/2008 annex III (wording from memory). "
    "Classification of calcium hydroxide, CAS 1305-62-0: safety data sheets under "
    "REACH registration 01-2119475151-45."
)
FIRST_AID_SOURCE: Final = (
    "P statements: Regulation (EC) No 1272/2008 annex IV (codes from those safety data sheets, "
    "wording ours). First aid: the ECHA registration dossier of calcium hydroxide."
)
HAZARDS: Final[dict[str, str]] = {
    "signal": "Danger",
    "signal_warning": "Warning",
    "H315": "Causes skin irritation.",
    "H318": "Causes serious eye damage.",
    "H319": "Causes serious eye irritation.",
    "H335": "May cause respiratory irritation.",
}
DANGER: Final = frozenset({"H318"})  # the others alone have the signal word "Warning"

# What to do, by the P statements that it stands for, and the H statement that calls for it.
FIRST_AID: Final[dict[str, str]] = {
    "P305+P351+P338+P310": (
        "In the eyes: rinse at once under running water for 20 minutes, lids held open. "
        "Take contact lenses out while rinsing. Somebody calls the emergency number."
    ),
    "P302+P352+P332+P313+P362+P364": (
        "On the skin: brush dry powder off, away from the eyes. Rinse for 15 minutes. "
        "Take wet clothes off and wash them. Slippery means it is still there. "
        "See a doctor if the skin stays red or sore."
    ),
    "P304+P340+P312": "Breathed in: go to fresh air. Call a doctor if coughing does not stop.",
    "P301+P330+P331": (
        "Swallowed: rinse the mouth and drink water. Do not bring it up. Call the poison centre."
    ),
    "never": "Never vinegar or any acid on skin or eyes.",
}
CALLED_FOR_BY: Final[dict[str, tuple[str, ...]]] = {
    "H315": ("P302+P352+P332+P313+P362+P364",),
    "H318": ("P305+P351+P338+P310", "P301+P330+P331", "never"),
    "H319": ("P305+P351+P338+P310",),
    "H335": ("P304+P340+P312",),
}
