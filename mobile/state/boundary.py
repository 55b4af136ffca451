"""Where a failure ends: one way to call what may fail in a way that nobody foresaw.

Behind each boundary lies a part of the app that the others do without. What is raised there is
kept for the report and told in place of the part; no number is made of it. The order of the parts
is that of the start: journal, export, screens, decision.

Tests let the boundaries raise again (`strict`), so that they hide nothing.
"""

import functools
import re
import traceback
from collections import deque
from collections.abc import Awaitable, Callable, Coroutine
from dataclasses import dataclass
from typing import Any, Final, TypeVar, cast

T = TypeVar("T")
U = TypeVar("U")

_MOST_LINES: Final = 40
_FOLDERS: Final = re.compile(r'(?<!\w)[^\s"\'():,]*[/\\](?=[^/\\\s"\'():,]+)')


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """What was raised, without the folders of this machine.

    The message may quote what was entered: the report takes the keeper's own words out of it.
    """

    where: str  # the part that failed: a key of mobile/texts/failed.py
    kind: str  # the class of the error
    message: str
    lines: tuple[str, ...]  # file, line number and function, outermost first


class _Switch:
    strict: bool = False


last: Final[deque[Failure]] = deque(maxlen=8)  # the newest at the end
raised: Final[list[BaseException]] = []  # while strict: what a boundary was handed


def set_strict(*, strict: bool) -> bool:
    """Let boundaries raise again, or catch; return how it was. For tests."""
    before, _Switch.strict = _Switch.strict, strict
    return before


def is_strict() -> bool:
    """Return whether boundaries raise again."""
    return _Switch.strict


def caught(where: str, error: Exception) -> Failure:
    """Return what was raised behind a boundary, kept for the report; raises it again for tests.

    Parameters
    ----------
    where : str
        The part that failed.
    error : Exception
        What it raised.
    """
    if _Switch.strict:
        raised.append(error)
        raise error
    traceback.print_exception(error)  # for developers
    return noted(where, error)


def noted(where: str, error: BaseException) -> Failure:
    """Return what was raised, kept for the report: of errors that the caller foresaw."""
    failure = failure_of(where, error)
    last.append(failure)
    return failure


def failure_of(where: str, error: BaseException) -> Failure:
    """Return an error without the folders of this machine."""
    frames = traceback.extract_tb(error.__traceback__)[-_MOST_LINES:]
    lines = (f"{_without_folders(f.filename)}:{f.lineno} {f.name}" for f in frames)
    message = _FOLDERS.sub("", str(error))
    return Failure(where=where, kind=type(error).__name__, message=message, lines=tuple(lines))


def _without_folders(name: str) -> str:
    """Return a file's path below our own packages; of any other file the name alone."""
    parts = name.replace("\\", "/").split("/")
    for package in ("engine", "mobile"):
        if package in parts:
            return "/".join(parts[len(parts) - 1 - parts[::-1].index(package) :])
    return parts[-1]


def tried(
    where: str, work: Callable[[], T], otherwise: U, *, refusals: tuple[type[Exception], ...] = ()
) -> T | U:
    """Return what some work returns, or `otherwise` where it fails.

    Parameters
    ----------
    where : str
        The part that is called.
    work : callable
        It.
    otherwise
        What stands for it.
    refusals : tuple of exception classes
        What the work raises by contract where there is no answer: no failure, and no test needs it.
    """
    try:
        return work()
    except refusals as error:
        print(f"{where}: {error}")  # for developers
        return otherwise
    except Exception as error:  # noqa: BLE001 - a boundary: nothing behind it could report
        caught(where, error)
        return otherwise


async def tried_async(
    where: str,
    work: Callable[[], Awaitable[T]],
    otherwise: U,
    *,
    refusals: tuple[type[Exception], ...] = (),
) -> T | U:
    """Return what some awaited work returns, or `otherwise`; see `tried`."""
    try:
        return await work()
    except refusals as error:
        print(f"{where}: {error}")  # for developers
        return otherwise
    except Exception as error:  # noqa: BLE001 - a boundary: nothing behind it could report
        caught(where, error)
        return otherwise


W = TypeVar("W", bound=Callable[..., Coroutine[Any, Any, None]])


def contained(where: str) -> Callable[[W], W]:
    """Make a boundary of an awaited function that nothing waits for."""

    def wrap(work: W) -> W:
        @functools.wraps(work)
        async def safe(*arguments: Any, **options: Any) -> None:
            await tried_async(where, lambda: work(*arguments, **options), None)

        return cast("W", safe)

    return wrap
