"""The payload of a frame: a batch of changes, and large batches in several frames.

A payload is `{"ops": [...]}` where an op is `["put", table, id, document]` or `["del", table, id]`.
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
from mobile.storage.frames import Frame, Span

PART_BYTES = 1 << 15
CLOSING = b'{"ops":[]}'


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


@dataclass(slots=True, kw_only=True)
class Assembled:
    """What the sound frames of a journal amount to.

    Attributes
    ----------
    ops : list of Op
        All changes to apply, oldest first.
    end : int
        Where the last kept frame ends; what follows is a torn tail.
    last_seq : int
        Its sequence number.
    lost : int
        Frames that are missing by their numbers.
    unreadable : list of Span
        Sound frames out of order, or whose payload is not understood.
    newer : bool
        Some frame was written by a newer app.
    """

    end: int
    last_seq: int
    ops: list[Op] = field(default_factory=list["Op"])
    lost: int = 0
    unreadable: list[Span] = field(default_factory=list[Span])
    newer: bool = False


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
    if fields.keys() - {"ops", "part"}:
        raise UnknownOp("batch")
    number, count = fields.get("part", (1, 1))
    return Part(ops=tuple(map(_parse_op, fields["ops"])), number=number, count=count)


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
    end_before: int
    seq_before: int
    lost_before: int
    last_seq: int = 0
    ops: list[Op] = field(default_factory=list["Op"])
    seen: int = 0


def assemble(frames: Iterable[Frame], *, start: int, after_seq: int = 0) -> Assembled:
    """Put the frames of a journal together into the changes they amount to.

    Parameters
    ----------
    frames : iterable of Frame
        Sound frames in the order of their place.
    start : int
        Where the first of them may stand.
    after_seq : int
        Sequence number before the first.
    """
    result = Assembled(end=start, last_seq=after_seq)
    group: _Group | None = None
    for frame in frames:
        part = _accept(frame, result)
        if part is None:
            continue
        if group and frame.seq - part.number + 1 != group.first_seq:
            result.ops += group.ops  # something follows: it was acknowledged
            group = None
        if part.count > 1:
            group = group or _open_group(frame, part, result)
            group.ops += part.ops
            group.seen += 1
            group.last_seq = frame.seq
        else:
            result.ops += part.ops
        _advance(result, frame)
        if group and group.seen == group.count:
            result.ops += group.ops
            group = None
    if group and group.last_seq != result.last_seq:
        result.ops += group.ops
    elif group:
        result.end, result.last_seq = group.end_before, group.seq_before
        result.lost = group.lost_before
    return result


def _accept(frame: Frame, result: Assembled) -> Part | None:
    if frame.seq <= result.last_seq:
        result.unreadable.append(Span(start=frame.start, end=frame.end))
        return None
    if not frame.newer:
        try:
            return decode_payload(frame.payload)
        except UnknownOp:
            result.newer = True
        except ValueError:
            result.unreadable.append(Span(start=frame.start, end=frame.end))
    else:
        result.newer = True
    _advance(result, frame)
    return None


def _open_group(frame: Frame, part: Part, result: Assembled) -> _Group:
    return _Group(
        first_seq=frame.seq - part.number + 1,
        count=part.count,
        end_before=result.end,
        seq_before=result.last_seq,
        lost_before=result.lost,
    )


def _advance(result: Assembled, frame: Frame) -> None:
    result.lost += frame.seq - result.last_seq - 1
    result.end, result.last_seq = frame.end, frame.seq
