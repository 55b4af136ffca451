"""What the browser's answers and errors mean; without JavaScript, so that the host can test it.

"Storage is full" is said only where the browser says so itself. Anything else that goes wrong is a
failure to be tried again: to send the keeper away to free room that is there would lose an entry.
"""

from typing import Any, Final

from mobile.storage.errors import StorageFailed, StorageFull

# Chromium answers a failed write with a negative code of its own as a huge number instead of
# raising (measured with version 156: 2**32 - 8 with the quota used up, which is its "no space").
_WRAP: Final = 2**32
_NO_SPACE: Final = -8


def taken_bytes(answer: Any, wanted: int, name: str) -> int:
    """Return the bytes that a write took; fewer than wanted means nothing by itself.

    Raises
    ------
    StorageFull
        The browser's answer is its code for no space.
    StorageFailed
        It is another code, or no count at all.
    """
    try:
        taken = int(answer)
    except (TypeError, ValueError, OverflowError) as error:
        raise StorageFailed(operation="write", file=name, reason=f"answered {answer!r}") from error
    if 0 <= taken <= wanted:
        return taken
    code = taken - _WRAP if taken > 0 else taken
    kind = StorageFull if code == _NO_SPACE else StorageFailed
    raise kind(operation="write", file=name, wanted=wanted, reason=f"answered {taken}")


def failure(operation: str, name: str, error: Any) -> StorageFailed:
    """Return our error for one of the browser's; only a quota used up counts as full."""
    error_name = getattr(error, "name", None) or type(error).__name__
    kind = StorageFull if error_name == "QuotaExceededError" else StorageFailed
    return kind(operation=operation, file=name, reason=f"{error_name}: {error}")
