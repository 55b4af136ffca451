"""Files of installed packages, as they were locked: another version or an edited file stops."""

import base64
import hashlib
from collections.abc import Callable
from functools import cache
from importlib import metadata
from pathlib import Path

from mobile.packaging.errors import BuildFailed
from mobile.packaging.lock import Locked, plain, read_lock

LOCK = Path(__file__).with_name("lock.txt")
_HOW = "Run `python3 -m mobile`, which installs what is locked"


@cache
def _lock() -> dict[str, Locked]:
    return read_lock(LOCK)


def folder(distribution: str) -> Path:
    """Return the folder that a distribution's file names start from.

    Raises
    ------
    BuildFailed
        When it is not in the lock, not installed, or installed in another version.
    """
    return Path(str(_found(distribution).locate_file("")))


def files(distribution: str, wanted: Callable[[str], bool]) -> dict[str, bytes]:
    """Return the wanted files of a distribution, name with slashes -> content.

    Each content has the hash that the distribution's RECORD gives it; what stands beside them
    without being listed there is not taken.

    Raises
    ------
    BuildFailed
        As for `folder`; and when a wanted file is missing, edited, or has no hash.
    """
    found = _found(distribution)
    taken: dict[str, bytes] = {}
    for path in found.files or ():
        name = path.as_posix()
        if wanted(name):
            taken[name] = _checked(distribution, name, Path(str(path.locate())), path.hash)
    return taken


def _found(distribution: str) -> metadata.Distribution:
    locked = _lock().get(plain(distribution))
    if locked is None:
        raise BuildFailed(f"{distribution} is not in mobile/packaging/lock.txt: it is not shipped.")
    try:
        found = metadata.distribution(distribution)
    except metadata.PackageNotFoundError as error:
        raise BuildFailed(f"{distribution} is not installed. {_HOW}.") from error
    if found.version != locked.version:
        raise BuildFailed(
            f"{distribution} {found.version} is installed, and {locked.version} is locked. {_HOW}."
        )
    return found


def _checked(distribution: str, name: str, path: Path, recorded: metadata.FileHash | None) -> bytes:
    """Return a file's content, which must have the hash on record."""
    if recorded is None or recorded.mode != "sha256":
        raise BuildFailed(f"{name} of {distribution} has no hash on record. {_HOW}.")
    try:
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise BuildFailed(f"{name} of {distribution} is missing. {_HOW}.") from error
    digest = base64.urlsafe_b64encode(hashlib.sha256(content).digest()).rstrip(b"=").decode()
    if digest != recorded.value:
        raise BuildFailed(
            f"{name} of {distribution} was changed after it was installed. "
            "Delete the folder .venv and run the command again."
        )
    return content
