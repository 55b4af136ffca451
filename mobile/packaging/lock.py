"""The locks: every package that is shipped or that tests, at one version, with its hashes."""

import re
from dataclasses import dataclass
from pathlib import Path

_ENTRY = re.compile(r"(?P<name>[A-Za-z0-9._-]+)==(?P<version>[^\s;]+)(?:\s*;\s*(?P<marker>.+))?")
_HASH = re.compile(r"--hash=sha256:([0-9a-f]{64})")


@dataclass(frozen=True, slots=True)
class Locked:
    """One package: its version, the environments it is for, SHA-256 of its files in hex."""

    version: str
    marker: str
    hashes: tuple[str, ...]


def plain(name: str) -> str:
    """Return the name of a distribution in its one normal form, as in "typing-extensions"."""
    return re.sub(r"[-_.]+", "-", name).lower()


def read_lock(path: Path) -> dict[str, Locked]:
    """Return what a lock holds, by normal name.

    Raises
    ------
    ValueError
        When a line is anything but a version with its hashes: an address, an option, a range.
    """
    found: dict[str, Locked] = {}
    text = path.read_text(encoding="utf-8").replace("\\\n", " ")
    for line in filter(None, map(str.strip, text.splitlines())):
        entry, *hashes = re.split(r"\s+(?=--hash=)", line)
        match = _ENTRY.fullmatch(entry.strip())
        digests = [_HASH.fullmatch(text.strip()) for text in hashes]
        if match is None or not all(digests):
            raise ValueError(f"{path.name}: not a version with its hashes: {line[:80]}")
        name = plain(match["name"])
        if name in found:
            raise ValueError(f"{path.name}: {name} stands there twice")
        sha256 = tuple(digest[1] for digest in digests if digest)
        found[name] = Locked(match["version"], match["marker"] or "", sha256)
    return found
