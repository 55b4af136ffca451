"""What the keeper confirms to have read: entries that may be missing; and what is put off."""

from mobile.commands.books import Books
from mobile.commands.desk import Desk, sentence
from mobile.commands.keeping import META_PERSIST_PUT_OFF, META_UNREAD_SEEN
from mobile.storage.errors import AppError
from mobile.texts.failed import TEXTS


class Unseen:
    """The store's part for what must be read once, or once a month."""

    def __init__(self, desk: Desk, books: Books) -> None:
        self._desk = desk
        self._books = books

    async def confirm(self) -> bool:
        """Take it that what may be missing was read; the ordinary decision returns."""
        desk, book = self._desk, self._books.kept
        if book is None or not desk.snapshot.entries_missing or desk.snapshot.saving:
            return False
        with desk.working():
            try:
                if book.repository.unseen:
                    await book.repository.confirm_seen()
                if book.unread:
                    await book.repository.put_meta(META_UNREAD_SEEN, list(book.unread))
            except AppError as error:
                desk.say("danger", f"{TEXTS['unseen_not_confirmed']} {sentence(error)}")
                return False
            finally:
                await desk.describe_storage()
                desk.refresh()
        await desk.after_save()
        return True

    async def put_off_persistence(self) -> None:
        """Say for a month no more that the browser may clear the records."""
        desk, book = self._desk, self._books.kept
        if book is None:
            return
        with desk.working():
            try:
                now = desk.now().isoformat()
                await book.repository.put_meta(META_PERSIST_PUT_OFF, now)
            except AppError as error:
                desk.say("danger", sentence(error))
        await desk.describe_storage()
