"""Guided procedures as data, one JSON file each; their sentences stand in mobile/texts."""

import json
from functools import cache
from pathlib import Path
from typing import Final

from engine.procedures.file import parse_procedure
from engine.procedures.keys import PROCEDURE_KEYS
from engine.procedures.schema import Procedure

KEYS: Final = PROCEDURE_KEYS


@cache
def load_procedure(key: str) -> Procedure:
    """Return a procedure by its key, one of `KEYS`.

    Raises
    ------
    InvalidProcedure
        The file breaks the schema; a build that holds such a file does not pass its tests.
    """
    if key not in KEYS:
        raise KeyError(key)
    path = Path(__file__).parent / f"{key}.json"
    return parse_procedure(json.loads(path.read_text(encoding="utf-8")))


def all_procedures() -> tuple[Procedure, ...]:
    """Return every procedure, in the order in which Mix lists them."""
    return tuple(load_procedure(key) for key in KEYS)
