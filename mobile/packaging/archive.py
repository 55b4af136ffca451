"""The Python side of the site: one deterministic zip of our code and the packages it needs."""

from collections.abc import Iterator
from pathlib import Path, PurePosixPath

from mobile.packaging import installed
from mobile.packaging.errors import BuildFailed
from mobile.packaging.zipped import zipped

# Distribution -> what of it is shipped.
PACKAGES = {
    "flet": "flet",
    "flet-charts": "flet_charts",
    "msgpack": "msgpack",
    "tinydb": "tinydb",
    "pint": "pint",
    "flexcache": "flexcache",
    "flexparser": "flexparser",
    "platformdirs": "platformdirs",
    "typing-extensions": "typing_extensions.py",
    "repath": "repath.py",
    "six": "six.py",
    "icalendar": "icalendar",
    "python-dateutil": "dateutil",
    "tzdata": "tzdata",
}
PACKAGES_FOLDER = "__pypackages__"
# Launchers and the build need the host's files and processes; they mean nothing in a browser.
HOST_ONLY = {
    "mobile/packaging",
    "mobile/web",
    "mobile/__main__.py",
    "mobile/bootstrap.py",
    "mobile/cli.py",
    "mobile/storage/export.schema.json",
}
# Parts of the packages that only work on a host, or that only their own tests use.
UNUSED_PARTS = {
    "flet/fastapi",
    "flet/testing",
    "flet/pytest_plugin.py",
    "flet/cli.py",
    "flet/controls/cupertino/cupertino_icons.json",
    "icalendar/cli.py",
    "icalendar/fuzzing",
    "icalendar/tests",
    "pint/testing.py",
    "pint/pint_convert.py",
}
UNUSED_FOLDERS = {"__pycache__", "testsuite"}
# A .toml or requirements file would make the stock worker install from a package index.
DATA_SUFFIXES = {".py", ".json", ".txt"}
# A browser has no zones of its own, and icalendar asks for this one by name.
ZONE_FILE = "tzdata/zoneinfo/UTC"


def write_archive(root: Path, out: Path) -> int:
    """Write the app archive and return its size in bytes.

    Parameters
    ----------
    root : Path
        The project folder, holding engine/, mobile/ and demo_data/.
    out : Path
        The zip to write. The same commit gives the same bytes, on any machine.

    Returns
    -------
    int
        Size of the archive, bytes.

    Raises
    ------
    BuildFailed
        When a package is not as locked or a package list would reach the archive.
    """
    members = dict(_own_files(root)) | dict(_package_files())
    for name in members:
        if PurePosixPath(name).name in {"requirements.txt", "pyproject.toml"}:
            raise BuildFailed(f"{name} must not reach the app archive: nothing installs there.")
    content = zipped(members, root / "build" / "deflated")
    out.write_bytes(content)
    return len(content)


def _own_files(root: Path) -> Iterator[tuple[str, bytes]]:
    for top in ("engine", "mobile", "demo_data"):
        for path in (root / top).rglob("*"):
            name = path.relative_to(root).as_posix()
            if _is_shipped(name) and not _is_below(name, HOST_ONLY) and path.is_file():
                yield name, path.read_bytes()


def _package_files() -> Iterator[tuple[str, bytes]]:
    for distribution, top in PACKAGES.items():
        found = installed.files(
            distribution,
            lambda name, top=top: (
                _is_below(name, {top}) and _is_shipped(name) and not _is_below(name, UNUSED_PARTS)
            ),
        )
        if not found:
            raise BuildFailed(f"{distribution} has no {top}: adapt mobile/packaging/archive.py.")
        for name, content in found.items():
            yield f"{PACKAGES_FOLDER}/{name}", content


def _is_shipped(name: str) -> bool:
    path = PurePosixPath(name)
    is_data = path.suffix in DATA_SUFFIXES or name.endswith(ZONE_FILE)
    return is_data and not UNUSED_FOLDERS.intersection(path.parts)


def _is_below(name: str, roots: set[str]) -> bool:
    return any(name == root or name.startswith(f"{root}/") for root in roots)
