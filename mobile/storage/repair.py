"""Repairing a journal: copies of all damage are kept first, then a torn tail is cut."""

from dataclasses import dataclass, field

from mobile.storage.backend import ByteFile, Folder, copy_name, keep_copy, write_all
from mobile.storage.frames import Span
from mobile.storage.header import DATA_START, Header, first_block
from mobile.storage.journal import Journal, NewDeviceId, Position
from mobile.storage.problems import Problem
from mobile.storage.reading import Found
from mobile.storage.snapshot import Basis


@dataclass(slots=True, kw_only=True)
class Repair:
    """The work of one opening."""

    folder: Folder
    schema_version: int
    new_device_id: NewDeviceId
    problems: list[Problem] = field(default_factory=list[Problem])
    new_damage: bool = False

    async def run(self, file: ByteFile, contents: Found) -> Header:
        """Leave a header of ours in force, keep copies of all damage, cut a torn tail.

        In this order: after a power cut on the way the copies make the damage look known, and the
        new device id must be there already.
        """
        if contents.head:
            await file.flush()  # what is shown from now on is on the medium, too
        header = contents.header
        if header is not None:
            self.new_damage = await self._is_new(contents)
            header = await self._renew_header(file, header)
        for span in contents.damaged:
            await self._quarantine(contents, span, "journal_damaged")
        if contents.missing:
            self.problems.append(Problem(code="journal_cut", detail=f"{contents.missing} bytes"))
            await write_all(file, contents.origin - contents.missing, bytes(contents.missing))
            await file.flush()
        if contents.tail:
            await self._quarantine(contents, contents.tail, "journal_tail_torn")
            await file.truncate(contents.tail.start)
            await file.flush()
        return header or await self._start_header(file, contents)

    async def _is_new(self, contents: Found) -> bool:
        """Whether anything is wrong of which there is no copy yet."""
        spans = [*contents.damaged, *([contents.tail] if contents.tail else [])]
        wanted = {copy_name(span.start, contents.bytes_of(span)) for span in spans}
        return bool(contents.missing) or not wanted <= set(await self.folder.names())

    async def _quarantine(self, contents: Found, span: Span, code: str) -> None:
        await self._keep(span.start, contents.bytes_of(span), code)

    async def _keep(self, offset: int, data: bytes, code: str) -> None:
        name, known = await keep_copy(self.folder, offset, data)
        self.problems.append(Problem(code=code, detail=name, known=known))
        self.new_damage = self.new_damage or not known

    async def _start_header(self, file: ByteFile, contents: Found) -> Header:
        if contents.head:
            await self._keep(0, contents.head, "journal_header_damaged")
        basis = contents.basis or Basis(generation=0, replay_from=DATA_START, replay_after_seq=0)
        header = Header(
            schema_version=self.schema_version,
            seq=0,
            device=self.new_device_id(),
            snapshot_generation=basis.generation,
            replay_from=basis.replay_from,
            replay_after_seq=basis.replay_after_seq,
        )
        await write_all(file, 0, first_block(header))
        await file.flush()
        return header

    async def _renew_header(self, file: ByteFile, header: Header) -> Header:
        """After new damage an id may have been lost that a backup knows: go on as a new device."""
        if not self.new_damage and header.schema_version == self.schema_version:
            return header
        journal = Journal(file, header, Position(end=DATA_START, next_seq=1))
        device = self.new_device_id() if self.new_damage else header.device
        await journal.replace_header(device=device, schema_version=self.schema_version)
        return journal.header
