"""What the hazards cost beside one decision, printed: `.venv/bin/python -m tests.bench hazards`.

Here, and under the browser's own Python in Node. Each round reads the demo's log anew, so that
nothing is remembered; a ratio is of the shortest of some rounds, taken in turns.
"""

import json
from time import perf_counter

from engine.decision import decide
from engine.demand.facts import gather
from engine.hazards.hazard import assess
from engine.hazards.safe_setup import verdict
from engine.scenario import load

ROUNDS = 9
TIMEOUT_s = 600.0


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


def show(where: str, found: dict[str, float]) -> None:
    """Print one Python's figures."""
    one = found["decision"]
    parts = {**found, "both": found["accidents"] + found["verdict"]}
    print(f"{where}: a decision takes {one * 1e3:.0f} ms")
    for name, words in (
        ("accidents", "every accident"),
        ("verdict", "verdict and sizes"),
        ("both", "both"),
    ):
        print(f"  {words:20} {parts[name] / one:6.2f} decisions")


def main() -> None:
    """Print both Pythons."""
    from tests.support.inside import ROOT, result_inside  # not there in the browser's Python

    scenario = (ROOT / "demo_data" / "demo_system.json").read_text(encoding="utf-8")
    show("on this machine", seconds(scenario))
    inside = (
        f"import json\nfrom tests.bench.hazards import seconds\njson.dumps(seconds({scenario!r}))"
    )
    show("in the browser's Python", json.loads(result_inside(inside, timeout_s=TIMEOUT_s)))


if __name__ == "__main__":
    main()
