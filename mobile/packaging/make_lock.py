"""Write the locks: `python3 mobile/packaging/make_lock.py [--upgrade]`; needs `uv` on the path.

Without --upgrade what is locked stays as it is, and only what pyproject.toml changed is changed.
The resolver asks its own configured index; no address of one reaches the files.
"""

import argparse
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
APP = ROOT / "mobile" / "packaging" / "lock.txt"
TESTS = ROOT / "tests" / "lock.txt"
SOURCES = ROOT / "tests" / "source_lock.txt"
AUDIT = ROOT / "tests" / "audit_lock.txt"
# Has no wheel for every Python, and is built with what the lock of the tests holds.
FROM_SOURCE = "phreeqpython"
OPTIONS = (
    *("--universal", "--python-version", "3.11", "--generate-hashes"),
    *("--only-binary", ":all:", "--no-binary", FROM_SOURCE),
    *("--no-header", "--no-annotate", "--no-emit-index-url", "--no-emit-find-links", "--quiet"),
)


def main() -> None:
    """Resolve three times: what is shipped, what tests it, what looks for advisories."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--upgrade", action="store_true", help="take the newest versions")
    upgrade = ["--upgrade"] if parser.parse_args().upgrade else []
    uv = shutil.which("uv")
    if uv is None:
        sys.exit("Sumpside: uv is not on the path. Install it in an environment of its own.")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    shipped = project["project"]["dependencies"]
    extras = project["project"]["optional-dependencies"]
    app = _resolve(uv, shipped, [APP], upgrade)
    _write(APP, app)
    # What is shipped is at the same version where it is tested: its lock is a constraint.
    tests = _resolve(uv, shipped + extras["dev"], [APP, TESTS, SOURCES], [*upgrade, "-c", str(APP)])
    added = {line: hashes for line, hashes in tests.items() if line not in app}
    built = {line for line in added if line.startswith(f"{FROM_SOURCE}==")}
    _write(TESTS, {line: hashes for line, hashes in added.items() if line not in built})
    _write(SOURCES, {line: hashes for line, hashes in added.items() if line in built})
    _write(AUDIT, _resolve(uv, extras["audit"], [AUDIT], upgrade))


def _resolve(uv: str, wanted: list[str], known: list[Path], options: list[str]) -> dict[str, str]:
    """Return what the resolver found: line of a package -> the lines of its hashes."""
    with tempfile.TemporaryDirectory() as folder:
        lock = Path(folder) / "lock.txt"
        before = "".join(_text(path) for path in known)
        lock.write_text(before, encoding="utf-8", newline="\n")
        done = subprocess.run(  # noqa: S603
            [uv, "pip", "compile", "-", "--output-file", str(lock), *OPTIONS, *options],
            input="\n".join(wanted),
            text=True,
            check=False,
        )
        if done.returncode:
            sys.exit("Sumpside: uv found no set of versions; the locks are as they were.")
        entries = lock.read_text(encoding="utf-8").replace("\n    ", "\0").splitlines()
    split = [entry.partition("\0") for entry in entries]
    return {line: hashes.replace("\0", "\n    ") for line, _, hashes in split}


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8") if path.exists() else ""


def _write(path: Path, entries: dict[str, str]) -> None:
    text = "".join(f"{line}\n    {hashes}\n" for line, hashes in entries.items())
    path.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
