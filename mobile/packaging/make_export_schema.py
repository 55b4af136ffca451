"""Make the JSON Schema of the export's lines from the record classes; run by hand.

    .venv/bin/python -m mobile.packaging.make_export_schema

A test says when the file is stale. What a schema cannot say (that the header's count and digest
are true of the lines below it) is said in its descriptions.
"""

import dataclasses
import json
import types
import typing
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import Any, Final

from engine.log.record_codec import LONGEST_SEQUENCE
from engine.records import EARLIEST_YEAR, KINDS, LATEST_YEAR, SCHEMA_VERSION, Amendment, Record
from mobile.storage.transfer import FORMAT, VERSION

Schema = dict[str, Any]

SCHEMA_FILE: Final = Path(__file__).resolve().parent.parent / "storage" / "export.schema.json"
_TIME: Final = (
    r"^(199[0-9]|2[01][0-9]{2})-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])"
    r"T([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9](\.[0-9]{3}([0-9]{3})?)?"
    r"(Z|[+-](0[0-9]|1[0-7]):[0-5][0-9])$"
)
_ID: Final = r"^[A-Za-z0-9_-]{1,40}:[1-9][0-9]{0,14}$"
_SHOWN_TEXT: Final = r"^[^\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]*$"
# Longest text, lowest and highest number of a field that declares none (`record_codec`).
_LONGEST: Final = 80
_LOW: Final = 0.0
_HIGH: Final = 100_000.0


def schema() -> Schema:
    """Return the schema of one line of an export file: its header, or a record of any kind."""
    kinds = {kind: _record(cls) for kind, cls in sorted(KINDS.items()) if kind}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A line of a Sumpside export",
        "description": (
            "The file is UTF-8, one JSON value a line, each line ending in one line feed: first "
            "the header, then the records, oldest first, then records in conflict. A record that "
            "the writing app could not read itself stands at the end as it was stored, and need "
            "not fit."
        ),
        "oneOf": [{"$ref": "#/$defs/header"}, {"$ref": "#/$defs/record"}],
        "$defs": {
            "header": _header(),
            "record": {"oneOf": [{"$ref": f"#/$defs/{kind}"} for kind in kinds]},
            "replacement": {
                "description": "What an amendment puts in place of a record: never an amendment.",
                "oneOf": [{"$ref": f"#/$defs/{k}"} for k in kinds if k != Amendment.kind],
            },
            "time": {
                "description": f"ISO 8601 with its zone; years {EARLIEST_YEAR} to {LATEST_YEAR}.",
                "type": "string",
                "format": "date-time",
                "pattern": _TIME,
            },
            **kinds,
        },
    }


def _header() -> Schema:
    return {
        "type": "object",
        "properties": {
            "format": {"const": FORMAT},
            "version": {"const": VERSION, "description": "Of this file's layout."},
            "exported_at": {"$ref": "#/$defs/time"},
            "records": {
                "description": "How many lines follow.",
                "type": "integer",
                "minimum": 0,
            },
            "sha256": {
                "description": "Over the bytes of all lines that follow, line feeds included.",
                "type": "string",
                "pattern": "^[0-9a-f]{64}$",
            },
        },
        "required": ["format", "version", "exported_at", "records", "sha256"],
        "additionalProperties": False,
    }


def _record(cls: type[Record]) -> Schema:
    body = _object(cls)
    frame = {"v": {"const": SCHEMA_VERSION}, "kind": {"const": cls.kind}}
    properties = {**frame, **body["properties"]}
    properties["id"] = {"type": "string", "pattern": _ID}
    properties["system"] = {**properties["system"], "minLength": 1}
    about = (cls.__doc__ or "").split("\n\n")[0]
    return {
        "description": " ".join(about.split()),
        "type": "object",
        "properties": properties,
        "required": ["v", "kind", *body["required"]],
        "additionalProperties": False,
    }


def _object(cls: type) -> Schema:
    hints = typing.get_type_hints(cls)
    fields = dataclasses.fields(cls)
    return {
        "type": "object",
        "properties": {field.name: _value(field, hints[field.name]) for field in fields},
        "required": [field.name for field in fields if field.default is dataclasses.MISSING],
        "additionalProperties": False,
    }


def _value(field: dataclasses.Field[Any], hint: Any) -> Schema:
    if isinstance(hint, types.UnionType):
        (inner,) = (option for option in typing.get_args(hint) if option is not type(None))
        return {"anyOf": [{"type": "null"}, _value(field, inner)]}
    if typing.get_origin(hint) is tuple:
        items = _value(field, typing.get_args(hint)[0])
        return {"type": "array", "minItems": 1, "maxItems": LONGEST_SEQUENCE, "items": items}
    if hint is Record:
        return {"$ref": "#/$defs/replacement"}
    if hint is datetime:
        return {"$ref": "#/$defs/time"}
    return _scalar(field, hint) or _object(hint)


def _scalar(field: dataclasses.Field[Any], hint: type) -> Schema | None:
    if hint is bool:
        return {"type": "boolean"}
    if hint in (int, float):
        low, high = field.metadata.get("low", _LOW), field.metadata.get("high", _HIGH)
        kind = "integer" if hint is int else "number"
        return {"type": kind, "minimum": low, "maximum": high}
    if hint is str:
        longest = field.metadata.get("longest", _LONGEST)
        return {"type": "string", "maxLength": longest, "pattern": _SHOWN_TEXT}
    if issubclass(hint, StrEnum):
        return {"enum": [choice.value for choice in hint]}
    return None


def schema_text() -> str:
    """Return the file's text."""
    return json.dumps(schema(), indent=1, ensure_ascii=True) + "\n"


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")
    print(f"wrote {SCHEMA_FILE.name}, {SCHEMA_FILE.stat().st_size} bytes")
