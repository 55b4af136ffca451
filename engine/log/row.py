"""A long row of things that is never changed, and of which a longer one costs next to nothing.

A tuple is copied whole for one item more. A row is kept in parts: a row with an item more has one
part of its own and shares all others with the row that it came from.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import accumulate, chain
from typing import Any, Final, TypeVar, cast, overload

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)

_PART: Final = 512  # items; a part that outgrows twice as many is cut up


class Row(Sequence[T_co]):
    """Items in parts; equal to a tuple, a list or another row of the same items.

    Attributes
    ----------
    parts : tuple of tuple
        The items; no part is empty.
    """

    __slots__ = ("_ends", "parts")

    def __init__(
        self, items: Iterable[T_co] = (), *, parts: tuple[tuple[T_co, ...], ...] | None = None
    ) -> None:
        self.parts = _cut(tuple(items)) if parts is None else parts
        self._ends = list(accumulate(map(len, self.parts)))  # where each part ends in the whole

    @classmethod
    def of(cls, items: Iterable[T]) -> "Row[T]":
        """Return the row of some items: the very same one where they are a row already."""
        return items if isinstance(items, Row) else Row(items)

    def __len__(self) -> int:
        return self._ends[-1] if self._ends else 0

    def __iter__(self) -> Iterator[T_co]:
        return chain.from_iterable(self.parts)

    def __reversed__(self) -> Iterator[T_co]:
        return chain.from_iterable(map(reversed, reversed(self.parts)))

    @overload
    def __getitem__(self, index: int) -> T_co: ...
    @overload
    def __getitem__(self, index: slice) -> "Row[T_co]": ...
    def __getitem__(self, index: "int | slice") -> "T_co | Row[T_co]":
        if isinstance(index, slice):
            return self._slice(index)
        at = index + len(self) if index < 0 else index
        if not 0 <= at < len(self):
            raise IndexError(index)
        part = bisect_right(self._ends, at)
        return self.parts[part][at - self._ends[part]]  # counted back from the part's end

    def _slice(self, index: slice) -> "Row[T_co]":
        start, stop, step = index.indices(len(self))
        if step != 1:
            return Row(tuple(self)[index])
        if (start, stop) == (0, len(self)):
            return self
        if start >= stop:
            return Row()
        first, last = bisect_right(self._ends, start), bisect_right(self._ends, stop - 1)
        parts = list(self.parts[first : last + 1])
        parts[-1] = parts[-1][: stop - self._ends[last] + len(self.parts[last])]
        parts[0] = parts[0][start - self._ends[first] + len(self.parts[first]) :]
        return Row(parts=tuple(parts))

    def put(self: "Row[T]", place: int, items: Iterable[T]) -> "Row[T]":
        """Return the row with some items put in before the one at `place` (0 to its length)."""
        new = tuple(items)
        if not new:
            return self
        if not self.parts:
            return Row(new)
        at = min(bisect_right(self._ends, place), len(self.parts) - 1)
        own = self.parts[at]
        inside = place - self._ends[at] + len(own)
        grown = _cut((*own[:inside], *new, *own[inside:]))
        return Row(parts=(*self.parts[:at], *grown, *self.parts[at + 1 :]))

    def put_by(self: "Row[T]", item: T, key: Callable[[T], Any]) -> "Row[T]":
        """Return the row, which is in the order of `key`, with an item behind those equal to it."""
        return self.put(bisect_right(self, key(item), key=key), (item,))

    def shared_with(self, other: "Row[Any]") -> tuple[int, int]:
        """Return how many items at the start and at the end stand in parts that both share."""
        start = _common(self.parts, other.parts)
        at_most = min(len(self.parts), len(other.parts)) - start
        end = min(_common(self.parts[::-1], other.parts[::-1]), at_most)
        before = self._ends[start - 1] if start else 0
        return before, sum(map(len, self.parts[len(self.parts) - end :]))

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        if isinstance(other, Row) and self.parts == cast("Row[Any]", other).parts:
            return True
        if isinstance(other, (Row, tuple, list)):
            long = cast("Sequence[Any]", other)
            return len(self) == len(long) and tuple(self) == tuple(long)
        return NotImplemented

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        return f"Row({tuple(self)!r})"


def put_in(old: Sequence[T], new: Sequence[T]) -> slice | None:
    """Return where something was put into a log at one place, None where it differs otherwise.

    What two rows share is known to be the same. In the rest the place is searched by halving, since
    behind it nothing stands where it stood before; then everything before and behind it is
    compared, which costs little for the very same objects.
    """
    count = len(new) - len(old)
    if count < 0 or (old and old[0] is not new[0] and old[-1] is not new[-1]):
        return None  # another log: one of its ends would stand where it stood
    start, end = old.shared_with(new) if isinstance(old, Row) and isinstance(new, Row) else (0, 0)
    before, after = tuple(old[start : len(old) - end]), tuple(new[start : len(new) - end])
    place = bisect_left(range(len(before)), True, key=lambda at: before[at] is not after[at])
    if before[:place] != after[:place] or before[place:] != after[place + count :]:
        return None
    return slice(start + place, start + place + count)


def _cut(items: tuple[T, ...]) -> tuple[tuple[T, ...], ...]:
    if len(items) <= 2 * _PART:
        return (items,) if items else ()
    return tuple(items[start : start + _PART] for start in range(0, len(items), _PART))


def _common(one: Sequence[object], other: Sequence[object]) -> int:
    count = 0
    for mine, its in zip(one, other, strict=False):
        if mine is not its:
            break
        count += 1
    return count
