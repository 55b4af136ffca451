"""Export and import: all records out as one file, a file looked at and then taken in whole."""

from dataclasses import replace
from typing import Any

from mobile.commands.books import Books
from mobile.commands.desk import Desk, sentence
from mobile.commands.keeping import META_EXPORTED, META_EXPORTED_COUNT
from mobile.files import Files
from mobile.state.sentences import counted
from mobile.storage.errors import AppError
from mobile.texts.app import TEXTS

PURPOSE = "records"


class Transfer:
    """The store's part for files of records."""

    def __init__(self, desk: Desk, books: Books, files: Files) -> None:
        self._desk = desk
        self._books = books
        self._files = files

    async def export(self) -> None:
        """Hand the keeper all records as one file."""
        now = self._desk.now()
        repository = self._books.current.repository
        data, count = repository.export(now), len(repository.records())
        await self._files.save(f"sumpside-{now:%Y-%m-%d-%H%M}.jsonl", data)
        try:
            meta = {META_EXPORTED: now.isoformat(), META_EXPORTED_COUNT: count}
            await repository.append((), meta=meta)
        except AppError as error:
            print(f"time of the export: {error}")  # the file is out all the same
        await self._desk.describe_storage()
        records = counted(count, "record")
        self._desk.say("good", TEXTS["exported"].format(records=records))

    def pick_action(self) -> Any:
        """Return what a button does to open the file picker inside its own tap."""
        return self._files.pick_action(PURPOSE)

    async def picked(self, data: bytes) -> None:
        """Show what importing a file would change; nothing is changed yet."""
        preview = await self._books.current.repository.preview_import(data)
        self._desk.snapshot = replace(self._desk.snapshot, preview=preview)

    def drop(self) -> None:
        """Put a previewed file away."""
        self._desk.snapshot = replace(self._desk.snapshot, preview=None)

    async def apply(self) -> bool:
        """Take over the previewed file, all of it or nothing; a second tap finds nothing to do."""
        desk, preview = self._desk, self._desk.snapshot.preview
        if preview is None or desk.snapshot.saving:
            return False
        desk.snapshot = replace(desk.snapshot, saving=True, notice=None)
        with desk.working():
            repository = self._books.current.repository
            try:
                done = await repository.apply_import(preview, accept_damaged=preview.is_damaged)
            except AppError as error:
                desk.say("danger", sentence(error))
                return False
            self.drop()
            desk.refresh()
            text = "imported" if done.added or done.conflicts else "nothing_new"
            new = counted(done.added, "new record")
            desk.say("good", TEXTS[text].format(new=new, conflict_count=done.conflicts))
            await desk.after_save()
        return True
