"""What stands in place of every dose while this build is recalled."""

from mobile.state.snapshot import Snapshot
from mobile.texts.recalled import TEXTS

LEAD = TEXTS["lead"]


def why(snapshot: Snapshot) -> tuple[str, ...]:
    """Return the publisher's reason, what to do, what works, and what ends it."""
    return (snapshot.recalled, TEXTS["meanwhile"], TEXTS["works"], TEXTS["ends"])
