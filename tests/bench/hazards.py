"""What the hazards cost beside one decision, printed: `.venv/bin/python -m tests.bench.hazards`.

Here, and under the browser's own Python in Node. Each round reads the demo's log anew, so that
nothing is remembered; the ratio is of the shortest of some rounds, taken in turns.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

from engine.decision import decide
from engine.demand.facts import gather
from engine.hazards.hazard import assess
from engine.hazards.safe_setup import verdict
from engine.scenario import load

ROUNDS = 9


def seconds(scenario: str) -> dict[str, float]:
    """Return the shortest time of a decision, of all accidents, and of the verdict, s."""
    found: dict[str, float] = {}

    def keep(name: str, began: float) -> None:
        found[name] = min(perf_counter() - began, found.get(name, 1e9))

    for _ in range(ROUNDS):
        case = load(scenario)
        began = perf_counter()
        decide(case.records, system=case.system, now=case.now)
        keep("decision", began)
        case = load(scenario)
        began = perf_counter()
        hazards = assess(gather(case.records, system=case.system, now=case.now))
        keep("accidents", began)
        began = perf_counter()
        verdict(hazards)
        keep("verdict", began)
    return found


def inside(scenario: Path) -> dict[str, float]:
    """Return the same, measured in Pyodide."""
    from tests.browser.test_engine_in_pyodide import ROOT, RUNTIME, SITE, node

    names = ("pint", "flexcache", "flexparser", "platformdirs")
    with tempfile.TemporaryDirectory() as folder:
        modules = Path(folder) / "modules"
        modules.mkdir()
        module = "typing_extensions.py"
        (modules / module).write_bytes((SITE / module).read_bytes())
        mounts = [[str(ROOT / name), f"/sumpside/{name}"] for name in ("engine", "tests")]
        mounts += [[str(scenario.parent), "/data"], [str(modules), "/modules"]]
        mounts += [[str(SITE / name), f"/site/{name}"] for name in names]
        script = (
            "import json, sys\n"
            "sys.dont_write_bytecode = True\n"
            "sys.path[:0] = ['/sumpside', '/site', '/modules']\n"
            "from tests.bench.hazards import seconds\n"
            f"json.dumps(seconds(open('/data/{scenario.name}', encoding='utf-8').read()))"
        )
        job = Path(folder) / "job.json"
        job.write_text(json.dumps({"runtime": str(RUNTIME), "mounts": mounts, "script": script}))
        runner = ROOT / "tests" / "browser" / "engine_in_pyodide.mjs"
        done = subprocess.run(
            [node(), str(runner), str(job)], capture_output=True, text=True, check=True
        )
    result = next(line for line in done.stdout.splitlines() if line.startswith("RESULT "))
    return json.loads(result.removeprefix("RESULT "))


def show(where: str, found: dict[str, float]) -> None:
    one = found["decision"]
    both = found["accidents"] + found["verdict"]
    print(f"{where:22} {one * 1e3:9.1f} ms a decision")
    print(f"  every accident       {found['accidents'] / one:9.2f} decisions")
    print(f"  verdict and sizes    {found['verdict'] / one:9.2f} decisions")
    print(f"  both                 {both / one:9.2f} decisions")


def main() -> None:
    root = Path(__file__).resolve().parents[2]
    scenario = root / "demo_data" / "demo_system.json"
    show("on this machine", seconds(scenario.read_text(encoding="utf-8")))
    show("in the browser's Python", inside(scenario))


if __name__ == "__main__":
    sys.exit(main())
