"""What was found wrong and does not stop the work: reported, never raised."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One finding of opening, importing or appending.

    Attributes
    ----------
    code : str
        Stable identifier of the sentence to show (`mobile/texts.py`).
    detail : str
        What was found where, for the details view; never needed to understand the sentence.
    record_id : str or None
        The record that it is about, when there is one.
    known : bool
        The same finding was made at an earlier start: it needs no alarm again.
    held : tuple of (str, str)
        What the lost bytes may have held: kind of record and ISO time of each, where known.
    """

    code: str
    detail: str = ""
    record_id: str | None = None
    known: bool = False
    held: tuple[tuple[str, str], ...] = ()
