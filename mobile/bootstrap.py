"""Make `.venv` with what the locks hold, then go on inside it.

Nothing is installed whose hash is not in a lock. What is shipped comes as wheels, so that no
package runs a set-up script; the one test package without a wheel is built by the locked tool.

Only the standard library, and only syntax that an old Python can still read: it is this file that
tells such a Python's owner what is missing.
"""

import hashlib
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
# What each part adds to the parts before it; made by mobile/packaging/make_lock.py.
APP_LOCK = ROOT / "mobile/packaging/lock.txt"
DEV_LOCK = ROOT / "tests/lock.txt"
SOURCE_LOCK = ROOT / "tests/source_lock.txt"
LOCKS = {"app": [APP_LOCK], "dev": [DEV_LOCK, SOURCE_LOCK]}
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


def _locks(extras: tuple) -> list:
    return [lock for part in ("app", *extras) for lock in LOCKS[part]]


def _stamp(locks: list) -> str:
    content = hashlib.sha256(repr(sys.version_info[:2]).encode())
    for lock in locks:
        content.update(lock.read_bytes().replace(b"\r\n", b"\n"))
    return content.hexdigest()


def _mark(extras: tuple) -> Path:
    return VENV / "locked-{}.stamp".format("-".join(("app", *extras)))


def _is_ready(extras: tuple) -> bool:
    mark = _mark(extras)
    return (
        _python().exists()
        and mark.exists()
        and mark.read_text(encoding="utf-8") == _stamp(_locks(extras))
    )


def _prepare(extras: tuple) -> None:
    if _is_ready(extras):
        return
    if not _python().exists():
        print("Sumpside: making .venv (once) ...", flush=True)
        _make_venv()
    locks = _locks(extras)
    print("Sumpside: installing the locked packages (once) ...", flush=True)
    _install([lock for lock in locks if lock != SOURCE_LOCK], "--only-binary", ":all:")
    if SOURCE_LOCK in locks:
        _install([SOURCE_LOCK], "--no-build-isolation")
    _mark(extras).write_text(_stamp(locks), encoding="utf-8")


def _make_venv() -> None:
    made = subprocess.run(  # noqa: S603
        [sys.executable, "-m", "venv", str(VENV)], capture_output=True, text=True, check=False
    )
    if made.returncode:
        last = (made.stderr or made.stdout or "no output").strip().splitlines()[-1]
        raise SetupFailed(
            f"could not make .venv ({last}). On Debian: apt-get install python3-venv."
        )


def _install(locks: list, *options: str) -> None:
    command = [str(_python()), "-m", "pip", "install", "--disable-pip-version-check"]
    command += ["--require-hashes", "--no-deps", "--progress-bar", "off", *options]
    for lock in locks:
        command += ["--requirement", str(lock)]
    with subprocess.Popen(  # noqa: S603
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    ) as installer:
        lines = []
        for line in installer.stdout or ():
            lines.append(line.rstrip())
            if line.startswith("Collecting "):
                print("  " + line.split()[1], flush=True)
    if installer.returncode:
        raise SetupFailed(_why_install_failed(lines))


_UNREACHABLE = (
    "NewConnectionError",
    "NameResolutionError",
    "ConnectTimeoutError",
    "Temporary failure",
    "Name or service",
    "Connection refused",
    "connection broken",
    "timed out",
)


def _why_install_failed(lines: list) -> str:
    text = "\n".join(lines)
    if "DO NOT MATCH THE HASHES" in text:
        package = _named_after_hashes(lines)
        return (
            f"{package} is not the file that was locked: its hash differs. It was not installed. "
            "Try another network; if it stays so, do not go on, and tell who keeps this project."
        )
    if any(sign in text for sign in _UNREACHABLE):
        return (
            "the packages could not be fetched. The first run needs a network; "
            "connect and run the same command again."
        )
    missing = [line for line in lines if "No matching distribution found for" in line]
    if missing:
        package = missing[-1].split("found for ")[1].split()[0]
        python = ".".join(map(str, sys.version_info[:2]))
        return (
            f"{package} could not be fetched. The first run needs a network. If there is one, no "
            f"ready-made {package} exists for this Python ({python}) and machine: use Python 3.11, "
            "3.12 or 3.13 on Linux, macOS or Windows, 64 bit."
        )
    errors = [line for line in lines if line.startswith("ERROR")]
    return "pip failed: {}".format((errors or lines or ["no output"])[-1])


def _named_after_hashes(lines: list) -> str:
    """Return the package that pip names below its complaint about a hash, without an address."""
    start = next(i for i, line in enumerate(lines) if "DO NOT MATCH THE HASHES" in line)
    named = [line.split()[0] for line in lines[start + 1 :] if "==" in line or " from " in line]
    return named[0] if named else "a fetched package"
