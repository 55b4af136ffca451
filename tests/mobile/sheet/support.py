"""A table looked at as the app does, without a screen."""

from datetime import UTC, datetime, timedelta, timezone

from mobile.state.sheet import page
from mobile.state.sheet.page import Sheet
from mobile.state.sheet.rows import SheetPreview, log_of, preview
from mobile.state.sheet.table import read_table

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
WINTER = timezone(timedelta(hours=1))


async def picked(text: str | bytes) -> Sheet:
    data = text.encode() if isinstance(text, str) else text
    return page.opened(await read_table(data))


async def looked(sheet: Sheet, *, written=(), standing=None, local=lambda moment: moment):
    """Return what the table would bring to a log."""
    assert sheet.table is not None
    assert sheet.choices.open_question == "", sheet.choices
    log = log_of(written, written if standing is None else standing)
    return await preview(sheet.table, sheet.choices, log, system="reef", now=NOW, local=local)


def values(found: SheetPreview) -> list[tuple[str, str, float]]:
    return [
        (test.at.isoformat(), reading.parameter, round(reading.value, 4))
        for test in found.tests
        for reading in test.readings
    ]


def reasons(found: SheetPreview) -> list[tuple[int, str]]:
    every = [*found.rejected, *found.conflicting]
    return sorted((finding.line, finding.code) for finding in every)
