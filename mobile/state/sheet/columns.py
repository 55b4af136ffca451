"""What a column of the keeper's table holds: guessed from its heading and its values.

A role is a text: one of `PLAIN`, or "parameter|unit" of `engine.vocabulary`, where the unit is
`UNSAID` until the keeper has said it. Words of headings are common usage, no source.
"""

import re
from statistics import median
from typing import Final

from engine.entry.numbers import EntryFault, parse_number
from engine.entry.suggestions import canonical, is_plausible
from engine.vocabulary import PARAMETERS
from mobile.state.sheet import cells as cell_text
from mobile.state.sheet.dates import is_date, is_time
from mobile.state.sheet.table import Table

OUT: Final = "out"
DATE: Final = "date"
TIME: Final = "time"
ZONE: Final = "zone"
NOTE: Final = "note"
TESTER: Final = "tester"
LOT: Final = "lot"
PLAIN: Final = (OUT, DATE, TIME, ZONE, NOTE, TESTER, LOT)
UNSAID: Final = "?"
SAMPLES: Final = 200

_WORDS: Final[dict[str, tuple[str, ...]]] = {
    ZONE: ("utc offset", "offset", "time zone", "timezone", "zone", "zeitzone"),
    DATE: ("date and time", "date time", "datetime", "date", "datum", "fecha", "data", "day",
           "tag"),
    TIME: ("time", "uhrzeit", "zeit", "hora", "heure", "hour", "clock"),
    TESTER: ("tested by", "tester", "who", "getestet von"),
    LOT: ("reagent lot", "lot", "batch", "charge"),
    NOTE: ("note", "notes", "comment", "comments", "remark", "remarks", "notiz", "notizen",
           "bemerkung", "bemerkungen", "kommentar", "nota", "notas"),
    "total_alkalinity": ("total alkalinity", "alkalinity", "alk", "kh", "dkh", "karbonathärte",
                         "alkalinität", "carbonate hardness", "alcalinité", "alcalinidad"),
    "calcium": ("calcium", "ca", "kalzium", "calcio"),
    "magnesium": ("magnesium", "mg", "magnesio", "magnésium"),
    "pH_nbs": ("ph",),
    "salinity": ("salinity", "sal", "salinität", "salz", "psu", "specific gravity", "sg", "gravity",
                 "density", "dichte", "conductivity", "leitfähigkeit", "salinidad", "salinité"),
    "temperature": ("temperature", "temp", "temperatur", "température", "temperatura"),
    "nitrate": ("nitrate", "no3", "nitrat", "nitrato"),
    "phosphate": ("phosphate", "po4", "phosphat", "fosfato"),
    "room_co2": ("room co2", "co2", "carbon dioxide"),
    "tds": ("tds", "dissolved solids", "ro water", "rodi"),
}  # fmt: skip

_UNIT_WORDS: Final[dict[str, tuple[tuple[str, str], ...]]] = {
    # A pattern of the heading -> the unit; the first that is found counts.
    "total_alkalinity": (
        (r"caco|ppm|mg ?/ ?l", "mg/L CaCO3"),
        (r"meq|mval|mmol", "meq/L"),
        (r"°? ?dkh|°kh|°dh|\bkh\b", "dKH"),
    ),
    "calcium": ((r"mmol", "mmol/L"), (r"mg ?/ ?l|ppm", "mg/L")),
    "magnesium": ((r"mmol", "mmol/L"), (r"mg ?/ ?l|ppm", "mg/L")),
    "salinity": (
        (r"psu|ppt|‰|g ?/ ?kg", "PSU"),
        (r"ms ?/ ?cm|conduct|leitf", "mS/cm at 25 °C"),
        (r"\bsg\b|gravity|25 ?/ ?25", "SG 25/25"),
    ),
    "temperature": (
        (r"° ?c\b|deg ?c|celsius|\(c\)", "degC"),
        (r"° ?f\b|deg ?f|fahr|\(f\)", "degF"),
    ),
}

# Units in a heading are no names: "mg/L" is not magnesium.
_UNITS: Final = r"mg ?/ ?l|ms ?/ ?cm|meq ?/ ?l|mmol ?/ ?l|g ?/ ?kg|25 ?/ ?25"
# A heading such as "per day" makes no column of dates.
_LOOKS: Final = {DATE: is_date, TIME: is_time}


def role_of(parameter: str, unit: str) -> str:
    """Return the role of a column of readings."""
    return f"{parameter}|{unit}"


def parameter_and_unit(role: str) -> tuple[str, str]:
    """Return what a column of readings holds; raises ValueError for another role."""
    if role in PLAIN:
        raise ValueError(role)
    parameter, _, unit = role.partition("|")
    return parameter, unit


def guess_roles(table: Table) -> tuple[str, ...]:
    """Return a role for each column; each but `OUT` at most once."""
    found: list[str] = []
    taken: set[str] = set()
    for index, heading in enumerate(table.header):
        role = _guess(heading, [c for c in table.column(index)[:SAMPLES] if c.strip()])
        name = role.partition("|")[0]
        found.append(OUT if name in taken else role)
        taken.add(found[-1].partition("|")[0])
    return tuple(found)


def guess_unit(parameter: str, heading: str, samples: list[str]) -> str:
    """Return the unit that a heading names, or the only one that the values can have."""
    units = PARAMETERS[parameter].typed_units
    for pattern, unit in _UNIT_WORDS.get(parameter, ()):
        if re.search(pattern, heading.casefold()):
            return unit
    if len(units) == 1:
        return units[0]
    numbers = [n for cell in samples if not isinstance(n := parse_number(cell), EntryFault)]
    if not numbers:
        return UNSAID
    middle, described = median(numbers), PARAMETERS[parameter]
    values = {unit: canonical(described, middle, unit) for unit in units}
    fitting = [u for u, value in values.items() if value and is_plausible(described, value)]
    return fitting[0] if len(fitting) == 1 else UNSAID


def _guess(heading: str, samples: list[str]) -> str:
    named = re.sub(_UNITS, " ", heading.casefold())
    words = re.sub(r"[^\w]+", " ", named).strip()
    for role, known in _WORDS.items():
        if any(re.search(rf"\b{re.escape(word)}\b", words) for word in known):
            if role in _LOOKS and not any(map(_LOOKS[role], samples)):
                continue
            return role if role in PLAIN else role_of(role, guess_unit(role, heading, samples))
    return OUT if heading else _by_values(samples)


def _by_values(samples: list[str]) -> str:
    """Return the role of a column without a heading: only dates and times tell."""
    tried = [cell for cell in samples if not cell_text.is_blank(cell)]
    for role, fits in _LOOKS.items():
        if tried and all(map(fits, tried)):
            return role
    return OUT
