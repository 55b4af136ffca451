"""Files for others: dates for the phone's calendar, the sheet for whoever minds the tank."""

from typing import Final

from mobile.commands.books import Books
from mobile.commands.calendar_file import calendar_file
from mobile.commands.desk import Desk, sentence
from mobile.files import Files
from mobile.state.calendar_events import events
from mobile.state.jobs import are_known
from mobile.state.minder import minder
from mobile.state.minder_html import minder_html
from mobile.storage.errors import AppError
from mobile.texts.failed import TEXTS as FAILED
from mobile.texts.jobs import TEXTS
from mobile.texts.minder import TEXTS as MINDER

META_CALENDAR: Final = "calendar_uids"


class Papers:
    """The store's part for files that other people and other apps read."""

    def __init__(self, desk: Desk, books: Books, files: Files) -> None:
        self._desk = desk
        self._books = books
        self._files = files

    async def calendar(self) -> None:
        """Hand out what comes as a calendar file; what no longer comes is cancelled in it."""
        desk, repository = self._desk, self._books.current.repository
        desk.refresh()
        if not are_known(desk.snapshot):  # an empty file would cancel every date
            desk.say("warn", FAILED["calendar_failed"])
            return
        coming = events(desk.snapshot)
        uids = {event.uid for event in coming}
        exported = {str(uid) for uid in repository.meta(META_CALENDAR) or ()}
        mine = {uid for uid in exported if uid.endswith(f"-{desk.snapshot.system}@sumpside")}
        data = calendar_file(coming, sorted(mine - uids), desk.now())
        await self._files.save(f"sumpside-dates-{desk.now():%Y-%m-%d}.ics", data)
        desk.say("good", TEXTS["calendar_done"].format(count=len(coming)))
        try:
            await repository.put_meta(META_CALENDAR, sorted((exported - mine) | uids | mine))
        except AppError as error:
            desk.say("danger", sentence(error))

    async def minder(self) -> None:
        """Hand out the sheet for the minder as a page that any browser opens and prints."""
        desk = self._desk
        desk.refresh()
        view = minder(desk.snapshot)
        if view is None:
            desk.say("warn", FAILED["title"])
            return
        page = minder_html(view).encode()
        await self._files.save(f"sumpside-minder-{desk.now():%Y-%m-%d}.html", page)
        desk.say("good", MINDER["saved"])
