"""What `python3 -m tests` does inside `.venv`: browsers, the static checks, then pytest."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

from mobile.bootstrap import ROOT
from tests.support import engines

BIN = Path(sys.executable).parent
CHECKS = (
    ("ruff check", [BIN / "ruff", "check", "."]),
    ("ruff format", [BIN / "ruff", "format", "--check", "--quiet", "."]),
    ("pyright", [BIN / "pyright", "--pythonpath", sys.executable]),
    ("import contracts", [BIN / "lint-imports", "--no-cache"]),
)

# Debian's package and how to tell that it is there.
BROWSERS = {
    "chromium": lambda: shutil.which("chromium"),
    "firefox-esr": lambda: shutil.which("firefox-esr"),
    "webkit2gtk-driver": engines.mini_browser,
    "xvfb": lambda: shutil.which("xvfb-run"),
    "xauth": lambda: shutil.which("xauth"),
}


def run(arguments: list[str]) -> int:
    """Run all; static failures are shown first, pytest's closing line last."""
    ensure_browsers()
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    failed = []
    if not any(argument.startswith("tests") for argument in arguments):
        for name, command in CHECKS:
            print(f"Sumpside: {name} ...", flush=True)
            if subprocess.call(command, cwd=ROOT, env=environment):
                failed.append(name)
    if failed:
        print(f"Sumpside: failed before the tests: {', '.join(failed)}", flush=True)
    status = subprocess.call(
        [sys.executable, "-m", "pytest", *arguments], cwd=ROOT, env=environment
    )
    return status or (1 if failed else 0)


def ensure_browsers() -> None:
    """Install what is missing on Debian as root; elsewhere say what is missing and go on."""
    missing = [package for package, found in BROWSERS.items() if not found()]
    if not missing:
        return
    names = ", ".join(missing)
    if not shutil.which("apt-get") or os.geteuid() != 0:
        print(
            f"Sumpside: not installed here: {names}. Their tests fail or are skipped.", flush=True
        )
        return
    print(f"Sumpside: installing {names} (once) ...", flush=True)
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (
        ["apt-get", "update", "-qq"],
        ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *missing],
    ):
        done = subprocess.run(command, env=quiet, stdout=subprocess.DEVNULL, check=False)
        if done.returncode:
            print(f"Sumpside: {' '.join(command)} failed. Go on without {names}.", flush=True)
            return
