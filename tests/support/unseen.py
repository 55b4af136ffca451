"""A repository that tells of damage, keeps verdicts and fails where a test wants it to."""

from collections.abc import Callable, Mapping
from typing import Any

from mobile.storage.errors import AppError
from mobile.storage.problems import Problem
from mobile.storage.repository import Repository


class Told:
    """A repository before another one: what may be lost, and the verdict of before."""

    def __init__(
        self,
        inner: Repository,
        *,
        unseen: tuple[Problem, ...] = (),
        verdicts: Mapping[str, Mapping[str, Any]] | None = None,
        confirm: Callable[[], None] = lambda: None,
        blocked: AppError | None = None,
    ) -> None:
        self._inner = inner
        self._confirm = confirm
        self._blocked = blocked
        self.unseen = unseen
        self.verdicts = dict(verdicts or {})
        self.kept: list[tuple[str, Mapping[str, Any]]] = []

    def __getattr__(self, name: str) -> Any:
        return getattr(self._inner, name)

    @property
    def blocked(self) -> AppError | None:
        return self._blocked or self._inner.blocked

    async def keep_verdict(self, system: str, verdict: Mapping[str, Any]) -> None:
        self.kept.append((system, verdict))
        self.verdicts[system] = verdict

    async def confirm_seen(self) -> None:
        self._confirm()
        self.unseen = ()


def telling(**options: Any) -> Callable[[Repository], Any]:
    """Return what puts a `Told` before a repository; see `Phone.open(wrap=)`."""
    return lambda repository: Told(repository, **options)
