"""`python -m engine SCENARIO.json`: print the decision and the hazards of a scenario as JSON."""

import json
import sys
from pathlib import Path
from typing import Final

OLDEST_PYTHON: Final = (3, 11)
USAGE: Final = "Usage: .venv/bin/python -m engine SCENARIO.json"
MISSING: Final = (
    "The engine needs its dependencies: run 'python3 -m mobile build --out DIR' once, which sets "
    "them up in .venv, then use .venv/bin/python -m engine SCENARIO.json."
)


def main(arguments: list[str]) -> int:
    """Print the decision for the scenario file named; return the exit code."""
    if sys.version_info < OLDEST_PYTHON:
        return _fail("The engine needs Python 3.11 or newer.")
    if len(arguments) != 1:
        return _fail(USAGE)
    try:
        from engine import scenario
    except ModuleNotFoundError as error:
        if error.name is None or error.name.split(".")[0] == "engine":
            raise
        return _fail(MISSING)
    try:
        text = Path(arguments[0]).read_text(encoding="utf-8")
        parsed = scenario.load(text)
    except (OSError, UnicodeError) as error:
        return _fail(f"Cannot read {arguments[0]}: {_why(error)}.")
    except scenario.InvalidScenario as error:
        return _fail(f"{arguments[0]}: {error}")
    result = json.dumps(scenario.run_parsed(parsed), indent=2, ensure_ascii=False)
    sys.stdout.write(f"{result}\n")
    return 0


def _why(error: OSError | UnicodeError) -> str:
    if isinstance(error, OSError):
        return error.strerror or "no reason given"
    return "it is not a UTF-8 text"


def _fail(sentence: str) -> int:
    sys.stderr.write(f"{sentence}\n")
    return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
