"""Runs of guided work: what an answer in a procedure adds to the log, as one."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, Protocol

from engine.log.record_codec import from_dict, to_dict
from engine.procedures.answers import RecordDraft, RunDraft
from engine.records import Note, ProcedureRun, Record, Setup
from mobile.state.snapshot import Snapshot


class Recorder(Protocol):
    """The store, as a run sees it."""

    snapshot: Snapshot

    def make(self, record_class: type[Record], fields: Mapping[str, Any]) -> Record:
        """Return a record of now with a new id."""
        ...

    async def save(self, records: Sequence[Record], *, may_undo: bool) -> bool:
        """Save records as one; tell whether they were."""
        ...

    def dismiss(self) -> None:
        """Take the notice away."""
        ...


class Runs:
    """The store's part for procedures."""

    def __init__(self, store: Recorder) -> None:
        self._store = store

    async def save(self, drafts: Sequence[RunDraft | RecordDraft]) -> bool:
        """Save what an answer adds; nothing while another one is being saved."""
        if self._store.snapshot.saving:
            return False
        records = [self._record(draft) for draft in drafts]
        # To take a set-up back would take every answer of it back: it is changed in Setup.
        may_undo = not any(isinstance(record, Setup) for record in records)
        saved = await self._store.save(records, may_undo=may_undo)
        if saved and not any(isinstance(draft, RecordDraft) for draft in drafts):
            self._store.dismiss()  # a step needs no word of its own: the next one shows
        return saved

    def _record(self, draft: RunDraft | RecordDraft) -> Record:
        if isinstance(draft, RunDraft):
            return self._store.make(ProcedureRun, asdict(draft))
        frame = to_dict(self._store.make(Note, {}))
        if draft.changes and self._store.snapshot.setup is not None:
            frame = {**to_dict(self._store.snapshot.setup), **frame}
        return from_dict({**frame, "kind": draft.kind, **draft.values})
