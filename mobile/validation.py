"""The engine's codec as the storage's door asks for it."""

from typing import Any, Final

from engine.errors import EngineError
from engine.log.record_codec import from_dict, to_dict


def validate(data: dict[str, Any]) -> dict[str, Any]:
    """Return a record's dictionary in canonical form; raises an `EngineError` that says why not."""
    return to_dict(from_dict(data))


VALIDATION: Final[dict[str, Any]] = {"validate": validate, "also_refuses": (EngineError,)}
