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


def enter(module, extras=()):
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
        sys.exit(_say("Sumpside: %s" % error))  # noqa: UP031 - old Pythons read this
    python = str(_python())
    os.chdir(str(ROOT))
    arguments = [python, "-m", module] + sys.argv[1:]  # noqa: RUF005
    if os.name == "nt":
        sys.exit(subprocess.call(arguments))  # noqa: S603
    os.execv(python, arguments)  # noqa: S606


def _say(sentence):
    print(sentence, file=sys.stderr)
    return 2


def _check_version():
    if sys.version_info < OLDEST_PYTHON:
        found = "%d.%d" % sys.version_info[:2]
        raise SetupFailed(
            "Python %d.%d or newer is needed, and this is %s." % (OLDEST_PYTHON + (found,))  # noqa: RUF005
        )


def _python():
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def _inside():
    return Path(sys.prefix).resolve() == VENV.resolve()


def _requirements(extras):
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = list(project["dependencies"])
    for extra in extras:
        wanted += project["optional-dependencies"][extra]
    return wanted


def _stamp(requirements):
    text = json.dumps([list(sys.version_info[:2]), sorted(requirements)])
    return hashlib.sha256(text.encode()).hexdigest()


def _mark(extras):
    return VENV / ("installed-%s.stamp" % "-".join(("app",) + tuple(extras)))  # noqa: RUF005, UP031


def _is_ready(extras):
    mark = _mark(extras)
    return (
        _python().exists()
        and mark.exists()
        and mark.read_text(encoding="utf-8") == _stamp(_requirements(extras))
    )


def _prepare(extras):
    if _is_ready(extras):
        return
    if not _python().exists():
        print("Sumpside: making .venv (once) ...", flush=True)
        _make_venv()
    requirements = _requirements(extras)
    print("Sumpside: installing %d packages (once) ..." % len(requirements), flush=True)
    _install(requirements)
    _mark(extras).write_text(_stamp(requirements), encoding="utf-8")


def _make_venv():
    made = subprocess.run(  # noqa: S603
        [sys.executable, "-m", "venv", str(VENV)], capture_output=True, text=True, check=False
    )
    if made.returncode:
        raise SetupFailed(
            "could not make .venv (%s). On Debian: apt-get install python3-venv."
            % (made.stderr or made.stdout).strip().splitlines()[-1:]
        )


def _install(requirements):
    command = [str(_python()), "-m", "pip", "install", "--disable-pip-version-check"]
    with subprocess.Popen(  # noqa: S603
        command + ["--progress-bar", "off"] + requirements,  # noqa: RUF005
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


def _why_install_failed(lines):
    text = "\n".join(lines)
    unreachable = ("NewConnectionError", "Temporary failure", "Name or service", "timed out")
    if any(sign in text for sign in unreachable) or "No matching distribution" in text:
        return (
            "the packages could not be fetched. The first run needs a network; "
            "connect and run the same command again."
        )
    errors = [line for line in lines if line.startswith("ERROR")]
    return "pip failed: %s" % (errors or lines or ["no output"])[-1]
