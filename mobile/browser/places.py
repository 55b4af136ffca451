"""Which folder of the browser's file system holds the records; without JavaScript, for the host.

A browser that cleared its storage under the open app goes on refusing the journal's name: its lock
stays with the file that is gone (Chromium 156, until it is closed). The app then goes on in a next
folder. Only one folder ever holds anything: a next one is begun under the writer's lock, and only
from a blank one, and whoever opens the journal for writing looks again under that lock.
"""

from collections.abc import Iterable, Mapping
from typing import Final

from mobile.browser.names import own_name
from mobile.storage.backend import TRIAL
from mobile.storage.choosing import COPY_MARK, MARK
from mobile.storage.journal import JOURNAL_NAME

FIRST: Final = 1
MOST: Final = 9
NAME: Final = "sumpside-records"


def place_name(number: int, base: str) -> str:
    """Return the name of a folder, numbered from 1, of the site below `base`."""
    return own_name(NAME if number == FIRST else f"{NAME}-{number}", base)


def places(names: Iterable[str], base: str) -> tuple[int, ...]:
    """Return the numbers of our folders among the names in the browser's file system, sorted."""
    ours = {place_name(number, base): number for number in range(FIRST, MOST + 1)}
    return tuple(sorted(ours[name] for name in names if name in ours))


def is_blank(names: Iterable[str], journal_bytes: int) -> bool:
    """Whether a folder's files can hold no record: an empty journal, trials, marks.

    An empty journal beside a snapshot, a copy of damage or the mark of an erasing is not blank.
    """
    left = {name for name in names if not name.startswith((TRIAL, MARK, COPY_MARK))} - {
        JOURNAL_NAME
    }
    return not left and journal_bytes == 0


def standing(blank: Mapping[int, bool]) -> int:
    """Return the folder to use, from whether each that exists is blank: the one that is not."""
    return min((number for number in blank if not blank[number]), default=FIRST)
