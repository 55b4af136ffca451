"""A disk that loses power and fails: what it may hold afterwards, state by state."""

import itertools
from collections.abc import Awaitable, Callable, Iterator
from dataclasses import dataclass, field
from math import prod
from random import Random

from mobile.storage.backend import ByteFile
from mobile.storage.errors import StorageFailed, StorageFull

Files = dict[str, bytes]

# Of more unflushed changes, or of more files at once, not every combination is tried.
MOST_SUBSETS = 6
MOST_ORDERS = 3
MOST_FOLDERS = 5_000


class PowerCut(BaseException):
    """The power is gone; nothing more reaches the disk."""


async def _nobody_watches() -> None:
    pass


@dataclass
class Disk:
    """One folder on a disk whose writes are safe only after a flush.

    Attributes
    ----------
    faults : dict
        What happens at the n-th changing call, counted from 0: "short" takes half the bytes and
        says so, "none" takes nothing and says so, "full" is refused, "fail" is an error with
        nothing done, "torn" an error with half of it done, "late" an error although all is done
        (of a flush: on the disk), "cut" is the end of the power.
    forgets : bool
        Whether a renewed file has lost what was not flushed.
    most_tears : int or None
        Places where a large write may be torn; None: at each byte.
    most_states : int or None
        Contents tried of one file at one cut: drawn among all, nothing and everything done always
        among them; None: all.
    watch : callable
        Awaited after each change that is not flushed yet.
    """

    files: dict[str, bytearray] = field(default_factory=dict)
    durable: Files = field(default_factory=dict)
    pending: list[tuple] = field(default_factory=list)
    faults: dict[int, str] = field(default_factory=dict)
    calls: int = 0
    renewable: bool = False
    forgets: bool = False
    most_tears: int | None = None
    most_states: int | None = None
    is_dead: bool = False
    kind: str = "disk"
    watch: Callable[[], Awaitable[None]] = _nobody_watches

    async def open(self, name: str, *, writable: bool) -> ByteFile:
        if name not in self.files:
            if not writable:
                raise StorageFailed(operation="open", file=name)
            self.files[name] = bytearray()
        return DiskFile(self, name)

    async def names(self) -> tuple[str, ...]:
        return tuple(sorted(self.files))

    async def remove(self, name: str) -> None:
        del self.files[name]
        self.pending = [step for step in self.pending if step[1] != name]
        self.pending.append(("remove", name))
        await self.watch()

    def next_fault(self) -> str | None:
        if self.is_dead:
            raise PowerCut
        fault = self.faults.get(self.calls)
        self.calls += 1
        if fault == "cut":
            self.is_dead = True
        return fault

    def flush(self, name: str) -> None:
        """What was done to a file is on the disk, and so is the removal of others."""
        self.durable[name] = bytes(self.files[name])
        for step in self.pending:
            if step[0] == "remove":
                self.durable.pop(step[1], None)
        self.pending = [s for s in self.pending if s[1] != name and s[0] != "remove"]

    def folders_after_power_loss(self) -> Iterator[Files]:
        """Every content all files may have; a new file may also be missing altogether."""
        names = sorted({*self.durable, *(step[1] for step in self.pending)})
        options = [list(dict.fromkeys(self._contents(name))) for name in names]
        if prod(map(len, options)) <= MOST_FOLDERS:
            choices = itertools.product(*options)
        else:  # each file alone, the others untouched or wholly done
            choices = (
                (*(o[end] for o in options[:at]), content, *(o[end] for o in options[at + 1 :]))
                for at, own in enumerate(options)
                for content in own
                for end in (0, -1)
            )
        for contents in choices:
            found = zip(names, contents, strict=True)
            yield {name: content for name, content in found if content is not None}

    def states_after_power_loss(self, name: str = "journal") -> Iterator[bytes]:
        """Every content that one file may have; empty stands for missing, too."""
        return (content or b"" for content in self._contents(name))

    def _contents(self, name: str) -> Iterator[bytes | None]:
        """Yield what may be there: nothing done first, everything done last."""
        before = self.durable.get(name)
        ways = list(self._ways([step for step in self.pending if step[1] == name]))
        if self.most_states is not None and len(ways) > self.most_states:
            drawn = Random(self.calls).sample(ways, self.most_states - 2)
            ways = [(), *drawn, ways[-1]]
        return (_done(before, steps) for steps in ways)

    def _ways(self, todo: list[tuple]) -> Iterator[tuple]:
        """Yield what of some steps may have been done.

        Any subset, in any order where order matters, and one write of it torn: its end missing, or
        its beginning (the file has grown, the bytes are not there yet).
        """
        yield ()
        for order in _orders(todo):
            for steps in _subsets(order):
                for index, step in enumerate(steps):
                    if step[0] == "write":
                        for torn in self._torn(step):
                            yield (*steps[:index], torn, *steps[index + 1 :])
                yield steps
        yield tuple(todo)

    def _torn(self, step: tuple) -> Iterator[tuple]:
        _, name, at, data = step
        few = self.most_tears is None or len(data) <= self.most_tears
        places = range(1, len(data), 1 if few else len(data) // self.most_tears)
        for place in places:
            yield ("write", name, at, data[:place])
        for place in places:
            yield ("end", name, at + place, data[place:])


def _orders(todo: list[tuple]) -> Iterator[tuple]:
    """Yield the orders that differ: changes that do not touch the same bytes are in one."""
    disjoint = all(
        a[0] == b[0] == "write" and (a[2] + len(a[3]) <= b[2] or b[2] + len(b[3]) <= a[2])
        for a, b in itertools.combinations(todo, 2)
    )
    if disjoint or len(todo) > MOST_ORDERS:
        return iter([tuple(todo)])
    return itertools.permutations(todo)


def _subsets(steps: tuple) -> Iterator[tuple]:
    if len(steps) <= MOST_SUBSETS:
        for chosen in itertools.product((False, True), repeat=len(steps)):
            yield tuple(itertools.compress(steps, chosen))
        return
    for number in range(len(steps)):
        yield steps[:number]
        yield (steps[number],)
        yield (*steps[:number], *steps[number + 1 :])
    yield steps


def _done(before: bytes | None, steps: tuple) -> bytes | None:
    """Return what a file holds after some steps; a name may be taken anew once it was removed."""
    content = None if before is None else bytearray(before)
    for step in steps:
        if step[0] == "remove":
            content = None
            continue
        content = bytearray() if content is None else content
        change(content, step)
    return None if content is None else bytes(content)


def change(content: bytearray, step: tuple) -> None:
    """Do a step. Of "end" the bytes before are not written: old ones stay, new ones are zeros."""
    if step[0] == "truncate":
        del content[step[2] :]
        return
    _, _, at, data = step
    if at > len(content):
        content.extend(bytes(at - len(content)))
    content[at : at + len(data)] = data


@dataclass
class DiskFile:
    disk: Disk
    name: str

    async def size(self) -> int:
        return len(self.disk.files[self.name])

    async def read(self, at: int, count: int) -> bytes:
        return bytes(self.disk.files[self.name][at : at + count])

    async def write(self, at: int, data: bytes) -> int:
        fault = self.disk.next_fault()
        if fault == "full":
            raise StorageFull(operation="write")
        if fault == "fail":
            raise StorageFailed(operation="write")
        if fault == "none":
            return 0
        taken = data[: len(data) // 2] if fault in {"short", "torn"} else data
        await self._change(("write", self.name, at, taken))
        _end(fault, "write")
        return len(taken)

    async def flush(self) -> None:
        fault = self.disk.next_fault()
        if fault == "late":
            self.disk.flush(self.name)
        _end(fault, "flush", always=True)
        self.disk.flush(self.name)

    async def truncate(self, size: int) -> None:
        fault = self.disk.next_fault()
        if fault and fault not in {"cut", "late"}:
            raise StorageFailed(operation="truncate")
        await self._change(("truncate", self.name, size))
        _end(fault, "truncate")

    async def renew(self) -> None:
        if self.disk.is_dead:
            raise PowerCut
        if not self.disk.renewable:
            raise StorageFailed(operation="renew")
        if self.disk.forgets:
            self.disk.files[self.name] = bytearray(self.disk.durable.get(self.name, b""))
            self.disk.pending = [step for step in self.disk.pending if step[1] != self.name]

    async def close(self) -> None:
        """Nothing is held."""

    async def _change(self, step: tuple) -> None:
        change(self.disk.files[self.name], step)
        self.disk.pending.append(step)
        await self.disk.watch()


def _end(fault: str | None, operation: str, *, always: bool = False) -> None:
    if fault == "cut":
        raise PowerCut
    if fault in {"torn", "late"} or (always and fault):
        raise StorageFailed(operation=operation)
