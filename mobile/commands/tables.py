"""Spreadsheets: readings out as a table, readings in from the keeper's own."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime
from typing import Any, Protocol

from engine.records import Record, WaterTest
from mobile.commands.desk import Desk
from mobile.files import Files
from mobile.state.sentences import counted
from mobile.state.sheet import page
from mobile.state.sheet.dates import Order
from mobile.state.sheet.export import left_out, readings_csv
from mobile.state.sheet.page import Sheet
from mobile.state.sheet.rows import log_of, preview
from mobile.state.sheet.table import NotATable, read_table
from mobile.texts.sheet import TEXTS

PURPOSE = "table"


class SavingDesk(Desk, Protocol):
    """The store, as this part sees it."""

    async def save(self, records: Iterable[Record], what: str = "") -> bool:
        """Append the records as one; True once they are on storage."""
        ...


class Tables:
    """The store's part for spreadsheets."""

    def __init__(
        self, desk: SavingDesk, files: Files, local: Callable[[datetime], datetime]
    ) -> None:
        self._desk = desk
        self._files = files
        self._local = local

    async def export(self, sign: str) -> None:
        """Hand out the readings of the current system as a table; `sign` is its decimal sign."""
        desk = self._desk
        snapshot = desk.snapshot
        tests = [record for record in snapshot.standing if isinstance(record, WaterTest)]
        if not tests:
            desk.say("note", TEXTS["out_empty"])
            return
        data = readings_csv(tests, alkalinity_unit=snapshot.alkalinity_unit, sign=sign)
        await self._files.save(f"sumpside-readings-{desk.now():%Y-%m-%d}.csv", data)
        done = TEXTS["out_done"].format(tests=counted(len(tests), "test"))
        left = left_out(tests)
        if left:
            done = f"{done} {TEXTS['out_left'].format(readings=counted(left, 'reading'))}"
        desk.say("warn" if left else "good", done)

    def pick_action(self) -> Any:
        """Return what a button does to open the file picker inside its own tap."""
        return self._files.pick_action(PURPOSE)

    async def picked(self, data: bytes) -> None:
        """Read a file as a table; nothing is saved."""
        try:
            table = await read_table(data)
        except NotATable as reason:
            self._show(Sheet(fault=reason.code))
            return
        await self._look(page.opened(table))

    async def choose(self, index: int, role: str) -> None:
        """Say what a column holds."""
        await self._change(lambda sheet: page.with_role(sheet, index, role))

    async def choose_order(self, order: Order) -> None:
        """Say what comes first in a date."""
        await self._change(
            lambda sheet: replace(sheet, choices=replace(sheet.choices, order=order))
        )

    async def choose_sign(self, sign: str) -> None:
        """Say how the decimal sign is written."""
        await self._change(lambda sheet: replace(sheet, choices=replace(sheet.choices, sign=sign)))

    async def take_unusual(self, *, taken: bool) -> None:
        """Take values outside the usual range, or leave them out."""
        await self._change(
            lambda sheet: replace(sheet, choices=replace(sheet.choices, unusual=taken))
        )

    def open_column(self, index: int | None) -> None:
        """Show what a column may hold; None closes it."""
        sheet = self._desk.snapshot.sheet
        if sheet is not None:
            self._show(replace(sheet, open_column=index))

    def drop(self) -> None:
        """Put the table away."""
        self._show(None)

    async def apply(self) -> bool:
        """Save the new readings, all of them or none; a second tap finds nothing to do."""
        desk = self._desk
        sheet = desk.snapshot.sheet
        if sheet is None or sheet.preview is None or desk.snapshot.saving:
            return False
        await self._look(sheet)  # the log may have grown since
        sheet = desk.snapshot.sheet
        if sheet is None or sheet.preview is None or not sheet.preview.tests:
            desk.say("note", TEXTS["nothing_new"])
            return False
        readings = counted(sheet.preview.new, "reading")
        saved = await desk.save(sheet.preview.tests, TEXTS["imported"].format(readings=readings))
        if saved:
            self.drop()
        return saved

    async def _change(self, step: Callable[[Sheet], Sheet]) -> None:
        sheet = self._desk.snapshot.sheet
        if sheet is not None:
            await self._look(replace(step(sheet), preview=None))

    async def _look(self, sheet: Sheet) -> None:
        """Show a table, and what it would bring once every question is answered."""
        self._show(sheet)
        snapshot = self._desk.snapshot
        if sheet.table is None or sheet.choices.open_question:
            return
        found = await preview(
            sheet.table,
            sheet.choices,
            log_of(snapshot.records, snapshot.standing),
            system=snapshot.system,
            now=self._desk.now(),
            local=self._local,
        )
        if self._desk.snapshot.sheet is sheet:  # else it was changed or put away meanwhile
            self._show(replace(sheet, preview=found))

    def _show(self, sheet: Sheet | None) -> None:
        self._desk.snapshot = replace(self._desk.snapshot, sheet=sheet)
