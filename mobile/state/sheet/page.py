"""What the page for the keeper's own table shows: columns, questions, what would come in."""

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Final

from engine.vocabulary import PARAMETERS
from mobile.state.sentences import counted, date, number, unit_label
from mobile.state.sheet import cells, columns, dates
from mobile.state.sheet.rows import Choices, Finding, SheetPreview
from mobile.state.sheet.table import Table
from mobile.texts.sheet import TEXTS

MOST_LINES: Final = 8
_SAMPLES: Final = 3
_LONGEST: Final = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A table that was picked, how it is to be read, and what that would bring."""

    fault: str = ""  # the code of why it is no table
    table: Table | None = None
    choices: Choices = field(default_factory=lambda: Choices(roles=()))
    preview: SheetPreview | None = None
    open_column: int | None = None


def opened(table: Table) -> Sheet:
    """Return a table with all that can be known of it by itself."""
    return Sheet(table=table, choices=_with_dates(table, _guessed(table)))


def with_role(sheet: Sheet, index: int, role: str) -> Sheet:
    """Return the sheet with a column's role corrected; a role stands at one column only."""
    if sheet.table is None:
        return sheet
    name = role.partition("|")[0]
    roles = [
        columns.OUT if name != columns.OUT and old.partition("|")[0] == name else old
        for old in sheet.choices.roles
    ]
    roles[index] = role
    choices = replace(sheet.choices, roles=tuple(roles))
    if sheet.choices.roles[index] != role and columns.DATE in (name, sheet.choices.roles[index]):
        choices = _with_dates(sheet.table, choices)
    asks_unit = role.endswith(f"|{columns.UNSAID}")
    return replace(sheet, choices=choices, preview=None, open_column=index if asks_unit else None)


def reading_role(sheet: Sheet, index: int, parameter: str) -> str:
    """Return the role of a parameter at a column, with its unit where that is known."""
    if sheet.table is None:
        return columns.role_of(parameter, columns.UNSAID)
    heading, samples = sheet.table.header[index], _samples(sheet.table, index, columns.SAMPLES)
    return columns.role_of(parameter, columns.guess_unit(parameter, heading, samples))


def _guessed(table: Table) -> Choices:
    roles = columns.guess_roles(table)
    numbers = [
        cell.strip()
        for index, role in enumerate(roles)
        if role not in columns.PLAIN
        for cell in _samples(table, index, columns.SAMPLES)
    ]
    return Choices(roles=roles, sign=cells.decimal_sign(numbers, table.delimiter))


def _with_dates(table: Table, choices: Choices) -> Choices:
    index = choices.index(columns.DATE)
    needs, order = (False, None) if index is None else dates.order_of(table.column(index))
    return replace(choices, needs_order=needs, order=order)


def _samples(table: Table, index: int, most: int) -> list[str]:
    found: list[str] = []
    for _line, row in table.rows:
        if not cells.is_blank(row[index]):
            found.append(row[index])
        if len(found) == most:
            break
    return found


def heading(sheet: Sheet, index: int) -> str:
    """Return a column's name, short and printable."""
    named = sheet.table.header[index] if sheet.table else ""
    return _short(named) or TEXTS["column_unnamed"].format(number=index + 1)


def _short(text: str) -> str:
    shown = "".join(char if char.isprintable() else " " for char in " ".join(text.split()))
    return shown if len(shown) <= _LONGEST else shown[: _LONGEST - 1] + "…"


def role_words(role: str) -> str:
    """Return what a role is called."""
    if role in columns.PLAIN:
        return TEXTS[f"role_{role}"]
    parameter, unit = columns.parameter_and_unit(role)
    name = TEXTS[f"head_{parameter}"]
    if unit == columns.UNSAID:
        return TEXTS["role_unsaid"].format(parameter=name)
    shown = unit_label(unit)
    return TEXTS["role_reading"].format(parameter=name, unit=shown) if shown else name


def column_line(sheet: Sheet, index: int) -> tuple[str, str]:
    """Return a column's name, and what it is taken for with the first of its values."""
    role = role_words(sheet.choices.roles[index])
    samples = _samples(sheet.table, index, _SAMPLES) if sheet.table else []
    if not samples:
        return heading(sheet, index), TEXTS["column_empty"].format(role=role)
    shown = ", ".join(_short(cell) for cell in samples)
    return heading(sheet, index), TEXTS["column_detail"].format(role=role, samples=shown)


def question(sheet: Sheet) -> str:
    """Return the sentence of what must be answered first, or nothing."""
    asked = sheet.choices.open_question
    if not asked:
        return ""
    unsaid = [i for i, _, unit in sheet.choices.readings if unit == columns.UNSAID]
    return TEXTS[f"ask_{asked}"].format(column=heading(sheet, unsaid[0]) if unsaid else "")


def date_sample(sheet: Sheet) -> str:
    """Return a date that can be read in two ways."""
    index = sheet.choices.index(columns.DATE)
    if sheet.table is None or index is None:
        return ""
    two_ways = (c for c in sheet.table.column(index) if dates.order_of([c]) == (True, None))
    return _short(next(two_ways, ""))


def roles_of(sheet: Sheet, index: int) -> tuple[tuple[str, str], ...]:
    """Return what a column may hold, with its label: readings first."""
    readings = tuple(
        (reading_role(sheet, index, parameter), TEXTS[f"head_{parameter}"])
        for parameter in PARAMETERS
    )
    return (*readings, *((role, role_words(role)) for role in columns.PLAIN))


def units_of(sheet: Sheet, index: int) -> tuple[tuple[str, str], ...]:
    """Return the roles that differ from a column's only by the unit, with their labels."""
    role = sheet.choices.roles[index]
    if role in columns.PLAIN:
        return ()
    parameter, _ = columns.parameter_and_unit(role)
    units = PARAMETERS[parameter].typed_units
    if len(units) < 2:
        return ()
    return tuple((columns.role_of(parameter, unit), unit_label(unit)) for unit in units)


def preview_lines(sheet: Sheet, now: datetime) -> tuple[str, ...]:
    """Return what would come in, as sentences."""
    found, table = sheet.preview, sheet.table
    if found is None or table is None:
        return ()
    lines = [
        TEXTS["found"].format(
            new=found.new,
            same=found.same,
            conflicting=len(found.conflicting),
            rejected=len(found.rejected),
        )
    ]
    if found.first and found.last:
        first, last = date(found.first, now), date(found.last, now)
        lines.append(TEXTS["span_day" if first == last else "span"].format(first=first, last=last))
    if found.without_time:
        lines.append(TEXTS["no_time"].format(rows=counted(found.without_time, "row")))
    if found.withdrawn:
        lines.append(TEXTS["withdrawn"].format(count=found.withdrawn))
    if not table.encoding.startswith("utf"):
        lines.append(TEXTS["encoding"].format(encoding=table.encoding.title()))
    return tuple(lines)


def finding_lines(sheet: Sheet) -> tuple[str, ...]:
    """Return the cells that stay out, each with its line and the reason; the first of them."""
    found = sheet.preview
    if found is None:
        return ()
    every = sorted((*found.conflicting, *found.rejected), key=lambda finding: finding.line)
    lines = [_finding_line(sheet, finding) for finding in every[:MOST_LINES]]
    if len(every) > MOST_LINES:
        lines.append(TEXTS["more"].format(count=len(every) - MOST_LINES))
    return tuple(lines)


def _finding_line(sheet: Sheet, finding: Finding) -> str:
    why = _why(finding)
    if finding.column is None:
        return TEXTS["line_only"].format(line=finding.line, why=why)
    column = heading(sheet, finding.column)
    return TEXTS["line"].format(line=finding.line, column=column, why=why)


def _why(finding: Finding) -> str:
    numbers = finding.numbers
    typed = _short(str(numbers.get("typed", "")))
    if finding.code.startswith("table_"):
        return TEXTS[f"why_{finding.code.removeprefix('table_')}"].format(typed=typed)
    ends = {
        name: number(key, value)
        for name in ("low", "high")
        for key, value in numbers.items()
        if key.startswith(f"{name}_")
    }
    if len(ends) < 2:
        return TEXTS["why_no_number"].format(typed=typed)
    is_unusual = finding.code.startswith("entry_outside_usual")
    return TEXTS["why_unusual" if is_unusual else "why_impossible"].format(typed=typed, **ends)
