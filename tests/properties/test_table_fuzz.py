"""Hostile tables: whatever the bytes, a clear answer in bounded time, and only sound records.

Files are mutated by seeded chance; 1,000 in the normal run, 10,000 with --long.
"""

import random
import time
from dataclasses import replace
from datetime import UTC, datetime

from engine.log.record_codec import to_dict
from engine.vocabulary import PARAMETERS
from mobile.state.sheet import columns, page
from mobile.state.sheet.dates import Order
from mobile.state.sheet.page import Sheet
from mobile.state.sheet.rows import log_of, preview
from mobile.state.sheet.table import NotATable, read_table
from mobile.storage.memory import memory_folder
from mobile.storage.restore import Door
from mobile.storage.store import open_repository
from mobile.validation import VALIDATION

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
GERMAN = (
    "Datum;Uhrzeit;KH;Ca;Mg;pH;Notiz\r\n05.03.2026;18:30;8,1;420;1.320;8,2;gut\r\n"
    "06.03.2026;;8,2;;1310;;\r\n25.03.2026;7:15;7,9;410,5;;;=SUMME(A1)\r\n"
)
ENGLISH = (
    'Date,Alk dKH,Salinity,Temp,NO3,PO4,Note\n2026-03-01 18:30,8.1,35,25,5,0.05,"a, b"\n'
    '2026-03-02,8.2,1.026,77,,,"line\nfeed"\n'
)
TABBED = "date\tKH\tCO2\tTDS\n3/4/2026\t8.1\t600\t0\n3/14/2026\t8.4\t800\t2\n"
BASES = (GERMAN, ENGLISH, TABBED)
TOKENS = (
    *("\x00", "\x07", "\x1b[31m", "\u202e", "\u200b", "\ufeff", "\x1c", "\x85", "\u2028", "\r"),
    *("NaN", "inf", "-inf", "1e999", "1e-999", "9" * 400, "-0", "0x10", "١٢", "½", "1_000"),
    *("=1+1", "@x", "+1", "'", '"', '""', '"""', ",", ";", "\t", "|", "\n", "\r\n", "sep=;\n"),
    *("31.02.2026", "0000-00-00", "9999-12-31", "2026-03-01T25:61", "1/1/1", "{}", "[[[[", "None"),
    *(
        "🐠",
        "e\u0301" * 50,
        "x" * 3000,
        "T",
        ":",
        "UTC+99:99",
        "%s",
        "{0}",
        "{typed}",
        "\\N{DIGIT}",
    ),
)
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-32", "cp1252")


def _mutated(chance: random.Random) -> bytes:
    text = chance.choice(BASES)
    for _ in range(chance.randint(1, 6)):
        at, end = sorted(chance.randint(0, len(text)) for _ in range(2))
        match chance.randint(0, 4):
            case 0:
                text = text[:at] + chance.choice(TOKENS) + text[at:]
            case 1:
                text = text[:at] + text[min(end, at + 8) :]
            case 2:
                text = text[:at] + text[at:end] * chance.randint(2, 4) + text[end:]
            case 3:
                text = text[:at] + chance.choice(TOKENS) + text[min(end, at + 5) :]
            case _:
                cells = text.split("\n")
                chance.shuffle(cells)
                text = "\n".join(cells)
        text = text[:60_000]
    data = bytearray(text.encode(chance.choice(ENCODINGS), "replace"))
    for _ in range(chance.choice((0, 0, 1, 6))):
        if data:
            data[chance.randrange(len(data))] = chance.randrange(256)
    return bytes(data)


def _answered(sheet: Sheet, chance: random.Random) -> Sheet:
    """Tap about as a keeper may: any role at any column, either order, either sign."""
    for _ in range(chance.choice((0, 0, 0, 1, 3))):
        index = chance.randrange(len(sheet.choices.roles))
        parameter = chance.choice(list(PARAMETERS))
        unit = chance.choice(PARAMETERS[parameter].typed_units)
        role = chance.choice([*columns.PLAIN, columns.role_of(parameter, unit)])
        sheet = page.with_role(sheet, index, role)
    for index, parameter, unit in sheet.choices.readings:
        if unit == columns.UNSAID:
            known = columns.role_of(parameter, PARAMETERS[parameter].typed_units[0])
            sheet = page.with_role(sheet, index, known)
    choices = replace(
        sheet.choices,
        order=chance.choice(list(Order)),
        sign=chance.choice(".,"),
        unusual=chance.random() < 0.5,
    )
    return replace(sheet, choices=choices)


async def test_mutated_tables_are_answered_and_bring_only_sound_records(request):
    count = 10_000 if request.config.getoption("--long") else 1_000
    chance = random.Random(7)
    door = Door(**VALIDATION)
    refused = asked = sound = 0
    slowest = 0.0
    for _ in range(count):
        data = _mutated(chance)
        start = time.process_time()
        try:
            sheet = _answered(page.opened(await read_table(data)), chance)
        except NotATable:
            refused += 1
            continue
        for index in range(len(sheet.choices.roles)):
            page.column_line(sheet, index)
        if sheet.choices.open_question:
            assert page.question(sheet)
            asked += 1
            continue
        found = await preview(
            sheet.table, sheet.choices, log_of((), ()), system="reef", now=NOW, local=lambda m: m
        )
        seen = replace(sheet, preview=found)
        assert page.preview_lines(seen, NOW)[0].startswith("In this table:")
        out = len(found.rejected) + len(found.conflicting)
        assert bool(page.finding_lines(seen)) == bool(out)
        slowest = max(slowest, time.process_time() - start)
        for test in found.tests:
            assert door.admit(to_dict(test))["id"] == test.id
            assert all(PARAMETERS[r.parameter].incident[0] <= r.value for r in test.readings)
        assert len({test.id for test in found.tests}) == len(found.tests)
        sound += len(found.tests)
    assert sound > count / 4, "the mutants are not all broken"
    assert refused > 0
    assert asked > 0
    assert slowest < 5.0
    print(f"{count} files: {refused} refused, {asked} asked, {sound} rows, {slowest:.2f} s at most")


async def test_what_a_mutated_table_brings_is_saved_as_one_or_not_at_all():
    chance = random.Random(11)
    for _ in range(60):
        try:
            sheet = _answered(page.opened(await read_table(_mutated(chance))), chance)
        except NotATable:
            continue
        if sheet.choices.open_question:
            continue
        repository = await open_repository(
            memory_folder, new_device_id=lambda: "phone00000000001", **VALIDATION
        )
        log = log_of((), ())
        found = await preview(
            sheet.table, sheet.choices, log, system="reef", now=NOW, local=lambda m: m
        )
        batch = [to_dict(test) for test in found.tests]
        await repository.append(batch)
        await repository.append(batch)
        assert len(repository.records()) == len(batch)
        again = await preview(
            sheet.table,
            sheet.choices,
            log_of(found.tests, found.tests),
            system="reef",
            now=NOW,
            local=lambda m: m,
        )
        assert again.tests == []
