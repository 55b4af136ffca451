"""The commands behind `python3 -m mobile`: serve (the default), build, dev."""

import argparse
import subprocess
import sys
from pathlib import Path
from typing import NoReturn

from mobile import bootstrap
from mobile.packaging.build import BuildFailed, build
from mobile.packaging.server import CannotServe, serve

SITE = bootstrap.ROOT / "build" / "site"
PORT = 8737


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        self.exit(2, f"Sumpside: {message}. Try: python3 -m mobile --help\n")


def _base(value: str) -> str:
    """Return a sub-folder as `/name/`."""
    inner = value.strip("/")
    if any(part in ("", ".", "..") for part in inner.split("/")) and inner:
        raise argparse.ArgumentTypeError(f"{value!r} is not a folder like /sumpside/")
    return f"/{inner}/" if inner else "/"


def _port(value: str) -> int:
    number = int(value) if value.isascii() and value.isdigit() else -1
    if not 0 < number < 65536:
        raise argparse.ArgumentTypeError(f"{value!r} is not a port from 1 to 65535")
    return number


def parser() -> argparse.ArgumentParser:
    """Return the command line's parser."""
    top = _Parser(prog="python3 -m mobile", description=__doc__)
    top.add_argument("--port", type=_port, default=PORT, help=f"port to serve at ({PORT})")
    commands = top.add_subparsers(dest="command")
    make = commands.add_parser("build", help="write the static site to a folder")
    make.add_argument("--out", type=Path, required=True, metavar="DIR")
    make.add_argument("--base", type=_base, default="/", help="folder it is served from")
    dev = commands.add_parser("dev", help="run the screens with Python on this machine")
    dev.add_argument("--port", type=_port, default=PORT + 1)
    return top


def run(arguments: list[str] | None = None) -> None:
    """Run one command; errors are one sentence and exit status 2."""
    options = parser().parse_args(arguments)
    try:
        match options.command:
            case "build":
                _build(options.out, options.base)
            case "dev":
                _develop(options.port)
            case _:
                _build(SITE, "/")
                serve(SITE, port=options.port)
    except (BuildFailed, CannotServe) as error:
        sys.exit(_say(error))


def _say(error: Exception) -> int:
    print(f"Sumpside: {error}", file=sys.stderr)
    return 2


def _build(out: Path, base: str) -> None:
    print("Sumpside: building the site ...", flush=True)
    report = build(out, base=base)
    print(f"Sumpside: {report}", flush=True)


def _develop(port: int) -> None:
    print(f"Sumpside: Python on this machine, http://localhost:{port} (Ctrl+C ends)", flush=True)
    command = [sys.executable, "-m", "mobile.main", "--host-port", str(port)]
    subprocess.run(command, cwd=bootstrap.ROOT, check=False)  # noqa: S603
