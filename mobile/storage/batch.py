"""The payload of a frame: a batch of changes, and large batches in several frames.

A payload is `{"after": "...", "ops": [...]}` where an op is `["put", table, id, document]` or
`["del", table, id]`. `after` is the digest of the frame before, in 32 hexadecimal digits: zeros for
the first frame, and where the former one is not known; version 1 has no `after`. So where a write
never reached the medium, the frame behind it says so.

A commit too large for one frame is written as parts, `{"ops": [...], "part": [k, n]}` with k = 1..n
in consecutive frames, flushed, and then closed by an empty batch. So after a power cut an
incomplete last group with nothing behind it was never acknowledged and is dropped whole; with
anything behind it, it was acknowledged, and only its damaged part is lost.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, cast

from engine.log.json_depth import is_deeper_than
from mobile.storage.frames import NO_DIGEST, Frame, Position, Span

PART_BYTES = 1 << 15
CLOSING = b'{"ops":[]}'
_OPEN_BRACE = b"{"


@dataclass(frozen=True, slots=True)
class Put:
    """Set the document of an id in a table."""

    table: str
    id: str
    doc: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Delete:
    """Remove an id from a table."""

    table: str
    id: str


Op = Put | Delete


class UnknownOp(ValueError):  # noqa: N818 - it names what was met
    """A sound frame asks for a change that this version does not know: a newer app wrote it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A decoded payload; `number` of `count`, 1 of 1 when the batch fits one frame."""

    ops: tuple[Op, ...]
    number: int = 1
    count: int = 1
    after: bytes = NO_DIGEST


@dataclass(frozen=True, slots=True)
class Gap:
    """Frames that are missing by their numbers, `first` up to and with `last`.

    `has_bytes` tells whether damaged bytes stand in their place.
    """

    first: int
    last: int
    has_bytes: bool


@dataclass(slots=True, kw_only=True)
class Assembled:
    """What the sound frames of a journal amount to.

    Attributes
    ----------
    at : Position
        The last kept frame; what follows it is a torn tail.
    ops : list of Op
        All changes to apply, oldest first.
    gaps : list of Gap
        Frames that are missing.
    broken : list of int
        Frames that were not written after the one that stands before them, though the numbers
        follow: a write is missing there, and an older one was left in its place.
    unreadable : list of Span
        Sound frames out of order, or whose payload is not understood.
    newer : bool
        Some frame was written by a newer app.
    """

    at: Position
    ops: list[Op] = field(default_factory=list["Op"])
    gaps: list[Gap] = field(default_factory=list[Gap])
    broken: list[int] = field(default_factory=list[int])
    unreadable: list[Span] = field(default_factory=list[Span])
    newer: bool = False

    @property
    def lost(self) -> int:
        """How many frames are missing, by the numbers and links of those that stand."""
        return sum(gap.last - gap.first + 1 for gap in self.gaps) + len(self.broken)


def encode_text(value: Any) -> str:
    """Return compact JSON; raises ValueError for NaN and infinities."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def encode_batch(ops: Sequence[Op]) -> tuple[bytes, ...]:
    """Return the payloads of one commit: one, or several of about PART_BYTES each."""
    groups: list[list[bytes]] = [[]]
    filled = 0
    for op in ops:
        text = encode_text(_plain(op)).encode()
        if groups[-1] and filled + len(text) > PART_BYTES:
            groups.append([])
            filled = 0
        groups[-1].append(text)
        filled += len(text)
    return tuple(
        b'{"ops":[' + b",".join(group) + b"]" + _part_field(number, len(groups)) + b"}"
        for number, group in enumerate(groups, start=1)
    )


def _part_field(number: int, count: int) -> bytes:
    return b"" if count == 1 else f',"part":[{number},{count}]'.encode()


def linked(payload: bytes, after: bytes) -> bytes:
    """Return a payload that says which frame it was written after."""
    return b'{"after":"' + after.hex().encode() + b'",' + payload.removeprefix(_OPEN_BRACE)


def _plain(op: Op) -> list[Any]:
    match op:
        case Put(table, key, doc):
            return ["put", table, key, doc]
        case Delete(table, key):
            return ["del", table, key]


def decode_payload(payload: bytes) -> Part:
    """Return the batch that a payload holds.

    Raises
    ------
    ValueError
        It is not a batch; `UnknownOp` when it is one of a newer app.
    """
    text = payload.decode()
    if is_deeper_than(text):
        raise ValueError("nested too deeply")
    body = json.loads(text)
    fields = cast("dict[str, Any]", body) if isinstance(body, dict) else {}
    if not isinstance(fields.get("ops"), list):
        raise ValueError("not a batch")  # noqa: TRY004 - whatever is wrong is one error here
    if fields.keys() - {"after", "ops", "part"}:
        raise UnknownOp("batch")
    number, count = _parse_part(fields.get("part", [1, 1]))
    return Part(
        ops=tuple(map(_parse_op, fields["ops"])),
        number=number,
        count=count,
        after=_parse_link(fields.get("after", NO_DIGEST.hex())),
    )


def _parse_part(found: Any) -> tuple[int, int]:
    match found:
        case [int() as number, int() as count] if 1 <= number <= count:
            return number, count
        case _:
            raise ValueError("not a part")


def _parse_link(text: Any) -> bytes:
    after = bytes.fromhex(text) if isinstance(text, str) else b""
    if len(after) != len(NO_DIGEST):
        raise ValueError("not a link")
    return after


def _parse_op(item: Any) -> Op:
    match item:
        case ["put", str() as table, str() as key, dict()]:
            return Put(table, key, item[3])
        case ["del", str() as table, str() as key]:
            return Delete(table, key)
        case [str() as name, *_]:
            raise UnknownOp(name[:40])
        case _:
            raise ValueError("not an op")


@dataclass(slots=True)
class _Group:
    """A commit in several frames of which the end has not been seen yet."""

    first_seq: int
    count: int
    before: Position
    gaps_before: int
    broken_before: int
    last_seq: int = 0
    ops: list[Op] = field(default_factory=list["Op"])
    seen: int = 0


def assemble(frames: Iterable[Frame], *, after: Position) -> Assembled:
    """Put the frames of a journal together into the changes they amount to.

    Parameters
    ----------
    frames : iterable of Frame
        Sound frames in the order of their place.
    after : Position
        The frame before the first of them.
    """
    result = Assembled(at=after)
    group: _Group | None = None
    for frame in frames:
        before, gaps, broken = result.at, len(result.gaps), len(result.broken)
        part = _accept(frame, result)
        if part is None:
            continue
        if group and frame.seq - part.number + 1 != group.first_seq:
            result.ops += group.ops  # something follows: it was acknowledged
            group = None
        if part.count > 1:
            if group is None:
                group = _Group(frame.seq - part.number + 1, part.count, before, gaps, broken)
            group.ops += part.ops
            group.seen += 1
            group.last_seq = frame.seq
        else:
            result.ops += part.ops
        if group and group.seen == group.count:
            result.ops += group.ops
            group = None
    if group and group.last_seq != result.at.seq:
        result.ops += group.ops
    elif group:
        result.at = group.before
        del result.gaps[group.gaps_before :]
        del result.broken[group.broken_before :]
    return result


def _accept(frame: Frame, result: Assembled) -> Part | None:
    """Take a frame as the next one; return its payload where it is to be read."""
    if frame.seq <= result.at.seq:
        result.unreadable.append(Span(start=frame.start, end=frame.end))
        return None
    part: Part | None = None
    if frame.newer:
        result.newer = True
    else:
        try:
            part = decode_payload(frame.payload)
        except UnknownOp:
            result.newer = True
        except ValueError:
            result.unreadable.append(Span(start=frame.start, end=frame.end))
    _advance(result, frame, part)
    return part


def _is_broken(before: Position, after: bytes) -> bool:
    """Whether a frame says that it follows on another one than the one before it."""
    is_known = before.seq == 0 or before.digest != NO_DIGEST
    return is_known and after not in (NO_DIGEST, before.digest)


def _advance(result: Assembled, frame: Frame, part: Part | None) -> None:
    before = result.at
    if frame.seq > before.next_seq:
        result.gaps.append(Gap(before.next_seq, frame.seq - 1, frame.start > before.end))
    elif part and _is_broken(before, part.after):
        result.broken.append(frame.seq)
    result.at = Position(seq=frame.seq, start=frame.start, end=frame.end, digest=frame.digest)
