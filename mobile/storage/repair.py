"""Repairing a journal: copies of all damage are kept first, then a torn tail is cut."""

from dataclasses import dataclass, field, replace

from mobile.storage.backend import ByteFile, Folder, copy_name, keep_copy, read_whole, write_all
from mobile.storage.findings import findings_of, name_of, note
from mobile.storage.frames import Position
from mobile.storage.header import (
    DATA_START,
    FORMAT_VERSION,
    Header,
    first_block,
    lineage_of,
)
from mobile.storage.journal import Journal, NewDeviceId
from mobile.storage.problems import Problem
from mobile.storage.reading import Found
from mobile.storage.slots import Mark
from mobile.storage.snapshot import Basis


@dataclass(slots=True, kw_only=True)
class Repair:
    """The work of one opening.

    Attributes
    ----------
    hint : Mark or None
        Lineage and epoch of a journal whose head is gone.
    """

    folder: Folder
    schema_version: int
    new_device_id: NewDeviceId
    hint: Mark | None = None
    problems: list[Problem] = field(default_factory=list[Problem])
    new_damage: bool = False

    async def run(self, file: ByteFile, contents: Found) -> Header:
        """Leave a header of ours in force, keep copies of all damage, cut a torn tail.

        In this order: after a power cut on the way the copies make the damage look known, and the
        new device id and the note for the keeper must be there already.
        """
        if contents.head:
            await file.flush()  # what is shown from now on is on the medium, too
        header = contents.header
        found = findings_of(contents)
        names = set(await self.folder.names())
        if header is not None:
            self.new_damage = self._is_new(contents, found, names)
            header = await self._renew_header(file, header)
        await note(self.folder, found)
        for span in (*contents.damaged, *((contents.tail,) if contents.tail else ())):
            await keep_copy(self.folder, span.start, contents.bytes_of(span))
        for problem in found:
            known = {problem.detail, name_of(problem)} & names
            self.problems.append(replace(problem, known=bool(known)))
            self.new_damage = self.new_damage or not known
        if contents.missing:
            self.problems.append(Problem(code="journal_cut", detail=f"{contents.missing} bytes"))
            await write_all(file, contents.origin - contents.missing, bytes(contents.missing))
            await file.flush()
        if contents.tail:
            await file.truncate(contents.tail.start)
            await file.flush()
        return header or await self._start_header(file, contents)

    def _is_new(self, contents: Found, found: tuple[Problem, ...], names: set[str]) -> bool:
        """Whether anything is wrong of which there is neither a copy nor a note yet."""
        tail = (contents.tail,) if contents.tail else ()
        copies = {copy_name(s.start, contents.bytes_of(s)) for s in (*contents.damaged, *tail)}
        notes = {name_of(problem) for problem in found if problem.detail not in copies}
        return bool(contents.missing) or not copies | notes <= names

    async def _keep(self, offset: int, data: bytes, code: str) -> None:
        name, known = await keep_copy(self.folder, offset, data)
        self.problems.append(Problem(code=code, detail=name, known=known))
        self.new_damage = self.new_damage or not known

    async def _start_header(self, file: ByteFile, contents: Found) -> Header:
        if contents.head:
            await self._keep(0, contents.head, "journal_header_damaged")
        for name in contents.left_over:  # to be begun anew beside them: a later one replaces them
            file_left = await self.folder.open(name, writable=False)
            try:
                await self._keep(0, await read_whole(file_left), "journal_snapshot_damaged")
            finally:
                await file_left.close()
        basis = contents.basis or Basis(generation=0, replay_from=DATA_START, replay_after_seq=0)
        device = self.new_device_id()
        header = Header(
            schema_version=self.schema_version,
            seq=0,
            device=device,
            snapshot_generation=basis.generation,
            replay_from=basis.replay_from,
            replay_after_seq=basis.replay_after_seq,
            epoch=self.hint.epoch if self.hint else 0,
            lineage=self.hint.lineage if self.hint else lineage_of(device),
        )
        await write_all(file, 0, first_block(header))
        await file.flush()
        return header

    async def _renew_header(self, file: ByteFile, header: Header) -> Header:
        """After new damage an id may have been lost that a backup knows: go on as a new device."""
        known = (header.format_version, header.schema_version)
        if not self.new_damage and known == (FORMAT_VERSION, self.schema_version):
            return header
        journal = Journal(file, header, Position(end=DATA_START))
        device = self.new_device_id() if self.new_damage else header.device
        await journal.replace_header(device=device, schema_version=self.schema_version)
        return journal.header
