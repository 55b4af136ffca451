"""The engine's public names, imported only when asked for.

Importing this package costs nothing and needs nothing outside the standard library, so that
launchers can look in before anything is installed.
"""

from importlib import import_module
from typing import Any, Final

_PUBLIC: Final = {
    "decide": "engine.decision",
    "Decision": "engine.decision",
    "DosePlan": "engine.limits",
    "Refusal": "engine.limits",
    "Reason": "engine.reasons",
    "run": "engine.scenario",
}


def __getattr__(name: str) -> Any:
    if name in _PUBLIC:
        return getattr(import_module(_PUBLIC[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
