"""What `python3 -m tests` does inside `.venv`: a browser, the static checks, then pytest."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

from mobile.bootstrap import ROOT

BIN = Path(sys.executable).parent
CHECKS = (
    ("ruff check", [BIN / "ruff", "check", "."]),
    ("ruff format", [BIN / "ruff", "format", "--check", "--quiet", "."]),
    ("pyright", [BIN / "pyright", "--pythonpath", sys.executable]),
    ("import contracts", [BIN / "lint-imports", "--no-cache"]),
)


def run(arguments: list[str]) -> int:
    """Run all; static failures are shown first, pytest's closing line last."""
    ensure_browser()
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


def ensure_browser() -> None:
    """Install Chromium on Debian as root; elsewhere say what is missing."""
    if shutil.which("chromium"):
        return
    if not shutil.which("apt-get") or os.geteuid() != 0:
        print("Sumpside: no Chromium here; install it for the browser tests.", flush=True)
        return
    print("Sumpside: installing Chromium (once) ...", flush=True)
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (
        ["apt-get", "update", "-qq"],
        ["apt-get", "install", "-y", "-qq", "--no-install-recommends", "chromium"],
    ):
        subprocess.run(command, env=quiet, stdout=subprocess.DEVNULL, check=True)
