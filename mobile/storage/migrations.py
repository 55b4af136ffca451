"""Records of older versions brought to this one: ordered pure functions, one a version.

To change what a record holds: raise SCHEMA_VERSION here and in `engine/log/record_base.py`, add the
function that turns a dictionary of the version before into one of the new, and keep a file of the
old version under tests/ that must still load. The journal itself is never rewritten.
"""

from collections.abc import Callable, Mapping
from typing import Any, Final

SCHEMA_VERSION: Final = 2

Migration = Callable[[dict[str, Any]], dict[str, Any]]


def _same(record: dict[str, Any]) -> dict[str, Any]:
    """Return the record as it is: the new version only adds kinds and fields with a default."""
    return record


MIGRATIONS: Final[Mapping[int, Migration]] = {1: _same}
"""From the version that the key names to the next."""


def migrate(
    record: Mapping[str, Any],
    *,
    to_version: int = SCHEMA_VERSION,
    migrations: Mapping[int, Migration] = MIGRATIONS,
) -> dict[str, Any]:
    """Return the record, and the one that an amendment carries, in the form of `to_version`.

    Raises
    ------
    ValueError
        Its version is unknown: there is no way from there to `to_version`.
    KeyError
        The amendment's record has no version.
    """
    migrated = dict(record)
    version: int = migrated["v"]
    if isinstance(migrated.get("replacement"), dict):
        migrated["replacement"] = migrate(
            migrated["replacement"], to_version=to_version, migrations=migrations
        )
    while version < to_version:
        if version not in migrations:
            raise ValueError(f"no migration from version {version}")
        migrated = migrations[version](migrated)
        version += 1
        migrated["v"] = version
    return migrated
