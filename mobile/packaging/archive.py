"""The Python side of the site: one deterministic zip of our code and the packages it needs."""

import importlib.util
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

from mobile.packaging.errors import BuildFailed

PACKAGES = (
    "flet",
    "flet_charts",
    "msgpack",
    "tinydb",
    "pint",
    "flexcache",
    "flexparser",
    "platformdirs",
    "typing_extensions",
    "repath",
    "six",
    "icalendar",
    "dateutil",
    "tzdata",
)
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
FIXED_TIME = (1980, 1, 1, 0, 0, 0)


def write_archive(root: Path, out: Path) -> int:
    """Write the app archive and return its size in bytes.

    Parameters
    ----------
    root : Path
        The project folder, holding engine/, mobile/ and demo_data/.
    out : Path
        The zip to write. The same sources always give the same bytes.

    Returns
    -------
    int
        Size of the archive, bytes.

    Raises
    ------
    BuildFailed
        When a package is not installed or a package list would reach the archive.
    """
    members = dict(_own_files(root)) | dict(_package_files())
    for name in members:
        if Path(name).name in {"requirements.txt", "pyproject.toml"}:
            raise BuildFailed(f"{name} must not reach the app archive: nothing installs there.")
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name in sorted(members):
            info = zipfile.ZipInfo(name, FIXED_TIME)
            info.create_system = 3
            info.external_attr = 0o644 << 16
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, members[name].read_bytes(), compresslevel=9)
    out.write_bytes(buffer.getvalue())
    return len(buffer.getvalue())


def _own_files(root: Path) -> Iterator[tuple[str, Path]]:
    for top in ("engine", "mobile", "demo_data"):
        for path in _files(root / top):
            name = path.relative_to(root).as_posix()
            if not _is_below(name, HOST_ONLY):
                yield name, path


def _package_files() -> Iterator[tuple[str, Path]]:
    for package in PACKAGES:
        spec = importlib.util.find_spec(package)
        if spec is None or spec.origin is None:
            raise BuildFailed(f"The package {package} is not installed in this environment.")
        origin = Path(spec.origin)
        if origin.name != "__init__.py":
            yield f"{PACKAGES_FOLDER}/{origin.name}", origin
            continue
        for path in _files(origin.parent):
            name = path.relative_to(origin.parent.parent).as_posix()
            if not _is_below(name, UNUSED_PARTS):
                yield f"{PACKAGES_FOLDER}/{name}", path


def _files(folder: Path) -> Iterator[Path]:
    for path in sorted(folder.rglob("*")):
        is_wanted = path.suffix in DATA_SUFFIXES and not UNUSED_FOLDERS.intersection(path.parts)
        if is_wanted and path.is_file():
            yield path


def _is_below(name: str, roots: set[str]) -> bool:
    return any(name == root or name.startswith(f"{root}/") for root in roots)
