"""What the Record list says of each entry: its last value and when."""

from datetime import datetime
from typing import Final

from engine.log.meters import drifted
from engine.log.reading import newest
from engine.records import Meter, Reading, Record, WaterTest
from mobile.state.form_parts import Form
from mobile.state.recorded import reading_text, summary
from mobile.state.sentences import sentence, when
from mobile.state.snapshot import Snapshot
from mobile.texts.forms import TEXTS

KNOWN_TESTERS: Final = 4  # offered by name
_READ_WITH: Final = {
    "pH_nbs": Meter.PH_PROBE,
    "salinity": Meter.CONDUCTIVITY,
    "total_alkalinity": Meter.ALKALINITY_KIT,
}


def last_line(snapshot: Snapshot, form: Form) -> str:
    """Return "Last: 8.2 dKH, 3 h ago", or nothing where there is none yet."""
    record = _last(snapshot, form)
    if record is None:
        return ""
    unit = snapshot.alkalinity_unit
    reading = reading_of(record, form.key)
    value = reading_text(reading, unit) if reading else summary(record, unit)
    return TEXTS["last_was"].format(value=value, when=when(record.at, snapshot.now))


def last_units(snapshot: Snapshot, form: Form) -> dict[str, str]:
    """Return the unit in which each reading of the form was typed last."""
    record = _last(snapshot, form)
    if not isinstance(record, WaterTest):
        return {}
    return {reading.parameter: reading.typed_unit for reading in record.readings}


def meter_drift(snapshot: Snapshot, form: Form) -> str:
    """Return that the meter of this test is known to be off, or nothing."""
    meter = _READ_WITH.get(form.key)
    check = drifted(snapshot.standing).get(meter) if meter else None
    if check is None:
        return ""
    off = {"off_pH": abs(check.off_pH or 0.0), "off_share": abs(check.off_share or 0.0)}
    return sentence(TEXTS, f"drift_{form.key}", off)


def _last(snapshot: Snapshot, form: Form) -> Record | None:
    if form.record is not WaterTest:
        return newest(snapshot.standing, form.record, snapshot.now)
    for record in reversed(snapshot.standing):
        if reading_of(record, form.key):
            return record
    return None


def reading_of(record: Record, parameter: str) -> Reading | None:
    """Return a record's reading of a parameter, or None."""
    if not isinstance(record, WaterTest):
        return None
    return next((r for r in record.readings if r.parameter == parameter), None)


def last_bottle(snapshot: Snapshot, form: Form) -> tuple[str, str]:
    """Return the bottle of reagent last used for this test, and who tested last of all."""
    record = _last(snapshot, form)
    lot = record.reagent_lot if isinstance(record, WaterTest) else ""
    return lot, next(iter(testers(snapshot)), "")


def testers(snapshot: Snapshot) -> tuple[str, ...]:
    """Return who has tested, the last one first."""
    tests = (r for r in reversed(snapshot.standing) if isinstance(r, WaterTest))
    return tuple(dict.fromkeys(test.tester for test in tests))[:KNOWN_TESTERS]


def new_bottle(last: str, now: datetime) -> str:
    """Return a name for a bottle that is opened now, other than the last one's."""
    day = TEXTS["bottle_opened"].format(day=f"{now:%Y-%m-%d}")
    return f"{day} {now:%H:%M}" if last.startswith(day) else day
