"""Make `.venv` with what pyproject.toml asks for, then go on inside it.

Only the standard library, and only syntax that an old Python can still read: it is this file that
tells such a Python's owner what is missing.
"""

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
OLDEST_PYTHON = (3, 11)


class SetupFailed(Exception):  # noqa: N818 - reads as what happened
    """The set-up could not be finished; the message is one sentence for the person."""


def enter(module: str, extras: tuple = ()) -> None:
    """Go on as `python -m module` inside `.venv`, making it first where needed.

    Returns only when this process already runs inside a finished `.venv`. On failure prints one
    sentence and exits with 2.
    """
    try:
        _check_version()
        if _is_ready(extras) and _inside():
            return
        _prepare(extras)
    except SetupFailed as error:
        sys.exit(_say(f"Sumpside: {error}"))
    python = str(_python())
    os.chdir(str(ROOT))
    arguments = [python, "-m", module, *sys.argv[1:]]
    if os.name == "nt":
        sys.exit(subprocess.call(arguments))  # noqa: S603
    os.execv(python, arguments)  # noqa: S606


def _say(sentence: str) -> int:
    print(sentence, file=sys.stderr)
    return 2


def _check_version() -> None:
    if sys.version_info < OLDEST_PYTHON:
        wanted, found = (".".join(map(str, v[:2])) for v in (OLDEST_PYTHON, sys.version_info))
        raise SetupFailed(f"Python {wanted} or newer is needed, and this is {found}.")


def _python() -> Path:
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def _inside() -> bool:
    return Path(sys.prefix).resolve() == VENV.resolve()


def _requirements(extras: tuple) -> list:
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = list(project["dependencies"])
    for extra in extras:
        wanted += project["optional-dependencies"][extra]
    return wanted


def _stamp(requirements: list) -> str:
    text = json.dumps([list(sys.version_info[:2]), sorted(requirements)])
    return hashlib.sha256(text.encode()).hexdigest()


def _mark(extras: tuple) -> Path:
    return VENV / "installed-{}.stamp".format("-".join(("app", *extras)))


def _is_ready(extras: tuple) -> bool:
    mark = _mark(extras)
    return (
        _python().exists()
        and mark.exists()
        and mark.read_text(encoding="utf-8") == _stamp(_requirements(extras))
    )


def _prepare(extras: tuple) -> None:
    if _is_ready(extras):
        return
    if not _python().exists():
        print("Sumpside: making .venv (once) ...", flush=True)
        _make_venv()
    requirements = _requirements(extras)
    print(f"Sumpside: installing {len(requirements)} packages (once) ...", flush=True)
    _install(requirements)
    _mark(extras).write_text(_stamp(requirements), encoding="utf-8")


def _make_venv() -> None:
    made = subprocess.run(  # noqa: S603
        [sys.executable, "-m", "venv", str(VENV)], capture_output=True, text=True, check=False
    )
    if made.returncode:
        last = (made.stderr or made.stdout or "no output").strip().splitlines()[-1]
        raise SetupFailed(
            f"could not make .venv ({last}). On Debian: apt-get install python3-venv."
        )


def _install(requirements: list) -> None:
    command = [str(_python()), "-m", "pip", "install", "--disable-pip-version-check"]
    with subprocess.Popen(  # noqa: S603
        [*command, "--progress-bar", "off", *requirements],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as installer:
        lines = []
        for line in installer.stdout or ():
            lines.append(line.rstrip())
            if line.startswith("Collecting "):
                print("  " + line.split()[1], flush=True)
    if installer.returncode:
        raise SetupFailed(_why_install_failed(lines))


def _why_install_failed(lines: list) -> str:
    text = "\n".join(lines)
    unreachable = ("NewConnectionError", "Temporary failure", "Name or service", "timed out")
    if any(sign in text for sign in unreachable) or "No matching distribution" in text:
        return (
            "the packages could not be fetched. The first run needs a network; "
            "connect and run the same command again."
        )
    errors = [line for line in lines if line.startswith("ERROR")]
    return "pip failed: {}".format((errors or lines or ["no output"])[-1])
