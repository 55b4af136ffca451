"""The second reader (mobile/web/journal_reader.js) in Node, asked from Python.

Many questions go in one line; one process serves a whole module.
"""

import base64
import contextlib
import hashlib
import json
import subprocess
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from mobile.storage.backend import ByteFile, Folder
from mobile.storage.batch import Put, encode_text
from mobile.storage.frames import Span
from mobile.storage.reading import Found, read_journal
from tests.support.inside import node

SCRIPT = Path(__file__).with_suffix(".mjs")
AT_ONCE = 500


def text_of(data: bytes) -> str:
    """Return bytes as they travel."""
    return base64.b64encode(data).decode()


def texts_of(files: Mapping[str, bytes]) -> dict[str, str]:
    """Return a folder's files as they travel."""
    return {name: text_of(bytes(data)) for name, data in files.items()}


class SecondReader:
    """A running Node that answers."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process = process

    def ask(self, questions: Iterable[dict[str, Any]]) -> list[Any]:
        """Return the answer to each question."""
        todo, answers = list(questions), []
        assert self._process.stdin
        assert self._process.stdout
        for start in range(0, len(todo), AT_ONCE):
            self._process.stdin.write(json.dumps(todo[start : start + AT_ONCE]) + "\n")
            self._process.stdin.flush()
            line = self._process.stdout.readline()
            assert line, "the second reader ended"
            answers += json.loads(line)
        return answers

    def keep(self, files: Mapping[str, bytes]) -> int:
        """Send the files of a folder; the number names them in later questions."""
        return self.ask([{"ask": "keep", "files": texts_of(files)}])[0]

    def gather(self, *stores: tuple[str, Mapping[str, bytes]]) -> dict[str, Any]:
        """Return what the page would make of stores, each a kind and its files."""
        sent = [
            {"kind": kind, "folder": "sumpside-records", "files": texts_of(files)}
            for kind, files in stores
        ]
        return self.ask([{"ask": "gather", "stores": sent}])[0]


@contextlib.contextmanager
def second_reader() -> Iterator[SecondReader]:
    """Start one."""
    command = [node(), "--disable-warning=MODULE_TYPELESS_PACKAGE_JSON", str(SCRIPT)]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8"
    ) as process:
        yield SecondReader(process)
        assert process.stdin
        process.stdin.close()


async def first_reading(folder: Folder, file: ByteFile) -> dict[str, Any]:
    """Return what Python reads, in the words of the second reader."""
    return told(await read_journal(folder, file))


def told(found: Found) -> dict[str, Any]:
    """Return a reading as the second reader tells it."""
    header, basis, assembled = found.header, found.basis, found.assembled
    puts = [*found.snapshot.checked, *found.snapshot.unread, *assembled.ops]
    lines = [
        encode_text([op.table, op.id, op.doc] if isinstance(op, Put) else [op.table, op.id])
        for op in puts
    ]
    return {
        "header": header and [header.format_version, header.seq, header.snapshot_generation],
        "basis": basis and [basis.generation, basis.replay_from, basis.replay_after_seq],
        "snapshots_lost": [f"snapshot-{problem.detail}" for problem in found.snapshots_lost],
        "left_over": list(found.left_over),
        "last_seq": assembled.at.seq,
        "missing_between": [f.start for f in found.scanned.frames if f.seq in assembled.broken],
        "unreadable": found.is_unreadable,
        "ops": hashlib.sha256("\n".join(lines).encode()).hexdigest(),
        "tail": found.tail and _places([found.tail])[0],
        "end": assembled.at.end,
        "missing": found.missing,
        "lost": sum(gap.last - gap.first + 1 for gap in assembled.gaps),
        "newer": found.newer(2**15) is not None,
        "frames": len(found.scanned.frames),
        "damaged": _places(found.damaged),
    }


def _places(spans: Iterable[Span]) -> list[list[int]]:
    return [[span.start, span.end] for span in spans]
