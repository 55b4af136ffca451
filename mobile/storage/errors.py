"""Errors of the storage: a stable code and structured fields, no sentence for people.

`mobile/texts.py` holds one sentence for each code. A problem that does not stop the work is not an
exception but a `Problem` in a report (problems.py).
"""

# ruff: noqa: N818 - they say what happened, as the engine's do

from typing import Any, ClassVar

from mobile.storage.problems import Problem


class AppError(Exception):
    """Base of what the storage raises.

    Attributes
    ----------
    code : str
        Stable identifier of the sentence to show.
    context : dict
        What that sentence may quote.
    """

    code: ClassVar[str] = "app_error"

    def __init__(self, **context: Any) -> None:
        self.context: dict[str, Any] = context
        super().__init__(self.code, context)

    def __str__(self) -> str:
        """Text for developers."""
        fields = ", ".join(f"{name}={value!r}" for name, value in self.context.items())
        return f"{self.code}({fields})"


class StorageUnavailable(AppError):
    """The kind of storage asked for does not exist or does not work here; `reason`."""

    code = "storage_unavailable"


class StoreBusy(AppError):
    """Another tab or process writes to this store."""

    code = "store_busy"


class StorageFailed(AppError):
    """Reading, writing or flushing failed; nothing of the commit was applied. `operation`."""

    code = "storage_failed"


class StorageFull(StorageFailed):
    """No room is left; nothing of the commit was applied."""

    code = "storage_full"


class StorageLost(StorageFailed):
    """The browser cleared the storage under the running app; what is in memory is all there is."""

    code = "storage_lost"


class JournalStopped(StorageFailed):
    """A failed write could not be taken back: the journal takes no more until it is reopened."""

    code = "journal_stopped"


class EraseFailed(StorageFailed):
    """What was to be left was damaged on the medium: nothing was erased."""

    code = "erase_failed"


class ErasureStands(JournalStopped):
    """An erasure was begun and neither ended nor called off; the next opening may go on with it."""

    code = "erasure_stands"


class StoreReadOnly(AppError):
    """The store was opened for reading only; `reason` is the code of why."""

    code = "store_read_only"


class DataNewerThanApp(AppError):
    """Stored or offered data was written by a newer version of the app; `found`, `known`."""

    code = "data_newer_than_app"


class DataDamaged(AppError):
    """A store exists and nothing in it can be read.

    Attributes
    ----------
    problems : tuple of Problem
        What was found.
    rescued_copy : str
        Name of the file that holds the bytes: still the journal itself, nothing was changed.
    """

    code = "data_damaged"

    def __init__(self, problems: tuple[Problem, ...], rescued_copy: str) -> None:
        self.problems = problems
        self.rescued_copy = rescued_copy
        super().__init__(rescued_copy=rescued_copy, problems=len(problems))


class StoreElsewhere(DataDamaged):
    """Records are kept in a place of this browser that does not open now; `kept_in` names it."""

    code = "store_elsewhere"

    def __init__(self, kept_in: str) -> None:
        super().__init__((), kept_in)


class RecordRefused(AppError):
    """A record (or a piece of app state) did not pass the door; nothing was written."""

    code = "record_refused"

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(
            problem=problem.code, detail=problem.detail, record_id=problem.record_id or ""
        )


class RecordConflict(AppError):
    """The id is taken by a record of different content; nothing was written. `record_id`."""

    code = "record_conflict"


class ImportRefused(AppError):
    """The file cannot be applied as a whole; `problem` is the code of the reason."""

    code = "import_refused"
