"""A procedure file parsed: anything missing, unknown or of a wrong type is refused."""

import types
import typing
from collections.abc import Mapping
from enum import StrEnum
from typing import Any, Final

from engine.procedures.checks import InvalidProcedure, check_procedure
from engine.procedures.schema import Procedure

FORMAT: Final = "sumpside-procedure"
VERSION: Final = 2
_SCALARS: Final = (str, float, bool)


def parse_procedure(data: Mapping[str, Any]) -> Procedure:
    """Return the procedure of parsed JSON.

    Raises
    ------
    InvalidProcedure
        Anything missing, unknown, of a wrong type, or a rule of safety not kept.
    """
    body = dict(data)
    if body.pop("format", None) != FORMAT or body.pop("version", None) != VERSION:
        raise InvalidProcedure("format", f"not {FORMAT} version {VERSION}")
    procedure = typing.cast("Procedure", _parse(Procedure, body, "procedure"))
    check_procedure(procedure)
    return procedure


def _parse(hint: Any, value: Any, where: str) -> Any:
    """Return a value of one of the types that the classes of the schema use."""
    if isinstance(hint, types.UnionType):
        (hint,) = (option for option in typing.get_args(hint) if option is not type(None))
    if hint in _SCALARS:
        return _scalar(hint, value, where)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        if value not in tuple(hint):
            raise InvalidProcedure(where, f"unknown choice {value!r:.40}")
        return hint(value)
    origin, inner = typing.get_origin(hint), typing.get_args(hint)
    if origin is tuple:
        if not isinstance(value, list):
            raise InvalidProcedure(where, "not a list")
        items = typing.cast("list[Any]", value)
        return tuple(_parse(inner[0], item, f"{where}[{n}]") for n, item in enumerate(items))
    if not isinstance(value, Mapping):
        raise InvalidProcedure(where, "not an object")
    mapping = typing.cast("Mapping[str, Any]", value)
    if origin is not None and issubclass(origin, Mapping):
        return {key: _plain(item, f"{where}.{key}") for key, item in mapping.items()}
    return _object(hint, mapping, where)


def _plain(value: Any, where: str) -> Any:
    """Return a text, number, truth or list of texts."""
    if isinstance(value, list):
        items = typing.cast("list[Any]", value)
        return tuple(_scalar(str, item, where) for item in items)
    if not isinstance(value, (str, int, float)):
        raise InvalidProcedure(where, "neither a text nor a number")
    return value


def _scalar(hint: type, value: Any, where: str) -> Any:
    if hint is float and isinstance(value, int) and not isinstance(value, bool):
        value = float(value)
    if not isinstance(value, hint):
        raise InvalidProcedure(where, f"not a {hint.__name__}")
    return value


def _object(cls: Any, value: Mapping[str, Any], where: str) -> Any:
    hints = typing.get_type_hints(cls)
    unknown = next((key for key in value if key not in hints), None)
    if unknown is not None:
        raise InvalidProcedure(f"{where}.{unknown:.40}", "unknown")
    try:
        return cls(
            **{key: _parse(hints[key], item, f"{where}.{key}") for key, item in value.items()}
        )
    except TypeError as error:
        raise InvalidProcedure(where, f"something is missing: {error}") from error
