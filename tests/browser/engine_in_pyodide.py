"""What runs inside the browser's Python: pytest on the engine's tests, then the table checks.

Standard library, pytest and the project only; `run` returns JSON.
"""

import contextlib
import io
import json
import sys
import timeit
from pathlib import Path

import pytest

from engine.carbonate import solve
from tests.published import check

CONFIG = """[pytest]
addopts = -q -ra --import-mode=importlib --strict-markers -p no:cacheprovider
filterwarnings = error
markers =
    browser: needs Chromium
    long: the big kill, fuzz and simulation runs
"""


class Outcomes:
    """Collects the outcome of each test by its node id."""

    def __init__(self) -> None:
        self.by_id: dict[str, str] = {}

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        # A fatal error of the runtime ends everything: the last line says where.
        print(f"RUNNING {nodeid}", file=sys.__stderr__)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.when == "call" or report.outcome != "passed":
            self.by_id[report.nodeid] = report.outcome


def run(root: str, targets: list[str]) -> str:
    config = Path(root) / "pytest.ini"
    config.write_text(CONFIG, encoding="utf-8")
    outcomes, output = Outcomes(), io.StringIO()
    with contextlib.redirect_stdout(output):
        code = pytest.main(["-c", str(config), "--rootdir", root, *targets], plugins=[outcomes])
    published = Path(root) / "tests" / "published"
    number = 2_000
    water = {"total_alkalinity_umol_per_kg": 2500.0, "salinity": 35.0, "temperature_degC": 25.0}
    return json.dumps(
        {
            "exit_code": int(code),
            "outcomes": outcomes.by_id,
            "output": output.getvalue()[-5_000:],
            "checks": check.run(published),
            "values": [check.computed(entry) for entry in check.entries(published)],
            "solve_us": timeit.timeit(lambda: solve(pH_nbs=8.1, **water), number=number)
            / number
            * 1e6,
        }
    )
