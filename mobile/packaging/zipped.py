"""A zip whose bytes depend on its members alone, and not on the machine that writes it."""

import contextlib
import hashlib
import os
import struct
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from mobile.packaging import deflate

_LOCAL: Final = struct.Struct("<4s5H3L2H")
_CENTRAL: Final = struct.Struct("<4s6H3L5H2L")
_END: Final = struct.Struct("<4s4H2LH")
_NEEDS: Final = 20  # the version of the format that knows deflate and folders
_MADE_ON_UNIX: Final = 3 << 8 | _NEEDS
_UTF_8: Final = 1 << 11
_DEFLATED: Final = 8
_MIDNIGHT, _FIRST_DAY = 0, 1 << 5 | 1  # 1980-01-01, the first that a zip can say
_MODE: Final = 0o100644 << 16


def zipped(members: Mapping[str, bytes], cache: Path) -> bytes:
    """Return the zip of the members, by name.

    Parameters
    ----------
    members : mapping
        Name with slashes -> content.
    cache : Path
        A folder of what was compressed before, since that takes seconds; made and tidied here.
        What it holds is believed only when it inflates to the member.
    """
    parts: list[bytes] = []
    central: list[bytes] = []
    used: set[str] = set()
    at = 0
    for name in sorted(members):
        content, encoded = members[name], name.encode()
        key = _key(content)
        used.add(key)
        packed = _deflated(content, cache / key)
        about = (zlib.crc32(content), len(packed), len(content), len(encoded), 0)
        common = (_NEEDS, _UTF_8, _DEFLATED, _MIDNIGHT, _FIRST_DAY, *about)
        local = _LOCAL.pack(b"PK\3\4", *common) + encoded
        parts += [local, packed]
        rest = (0, 0, 0, _MODE, at)
        central.append(_CENTRAL.pack(b"PK\1\2", _MADE_ON_UNIX, *common, *rest) + encoded)
        at += len(local) + len(packed)
    _tidy(cache, used)
    directory = b"".join(central)
    counts = (0, 0, len(central), len(central))
    end = _END.pack(b"PK\5\6", *counts, len(directory), at, 0)
    return b"".join((*parts, directory, end))


def _key(content: bytes) -> str:
    source = Path(deflate.__file__).read_bytes().replace(b"\r\n", b"\n")
    return hashlib.sha256(hashlib.sha256(source).digest() + content).hexdigest()


def _deflated(content: bytes, kept: Path) -> bytes:
    with contextlib.suppress(OSError, zlib.error):
        packed = kept.read_bytes()
        if zlib.decompress(packed, -zlib.MAX_WBITS) == content:
            return packed
    packed = deflate.deflate(content)
    kept.parent.mkdir(parents=True, exist_ok=True)
    scratch = kept.with_suffix(f".{os.getpid()}")
    scratch.write_bytes(packed)
    scratch.replace(kept)
    return packed


def _tidy(cache: Path, used: set[str]) -> None:
    for path in cache.iterdir() if cache.is_dir() else ():
        if path.name not in used and not path.suffix:
            path.unlink(missing_ok=True)
