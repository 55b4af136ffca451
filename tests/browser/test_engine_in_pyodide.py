"""What ships is what was tested: the engine's own tests under the bundled Python, in Node.

tests/engine and the published values run once more in Pyodide, with the same pytest. Property
tests stay outside: Hypothesis has a native part that Pyodide has not, which is why tests/engine
must not import it.
"""

import json
import os
import subprocess
import sys
from typing import Any

import pytest

from mobile.bootstrap import ROOT
from tests.published import check
from tests.support.inside import result_inside

TARGETS = ["tests/engine", "tests/published/test_values.py", "tests/published/test_sources.py"]
TIMEOUT_s = 300


@pytest.fixture(scope="module")
def inside() -> dict[str, Any]:
    """Results from within Pyodide."""
    script = f"from tests.browser.engine_in_pyodide import run\nrun('/sumpside', {TARGETS!r})"
    return json.loads(result_inside(script, timeout_s=TIMEOUT_s))


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
