"""The calendar's file, read by a parser that did not write it (vobject), and imported again."""

import re
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import pytest
import vobject

from mobile.commands.calendar_file import calendar_file
from mobile.state.calendar_events import Event
from tests.support.app import SCENARIOS, START, Phone, Running, scenario_records

LONG_LINE = 75  # octets, RFC 5545 section 3.1


async def exported(app: Running) -> bytes:
    app.files.saved.clear()
    await app.go("/jobs")
    await app.tap("export-calendar")
    ((name, data),) = app.files.saved.items()
    assert name.endswith(".ics")
    return data


def events_of(data: bytes) -> dict[str, Any]:
    calendar = vobject.readOne(data.decode("utf-8"))
    found = {event.uid.value: event for event in calendar.vevent_list}
    assert len(found) == len(calendar.vevent_list), "a UID stands once"
    return found


@dataclass
class PhoneCalendar:
    """A calendar app by RFC 5546: a UID is one entry; a higher SEQUENCE replaces, CANCELLED ends.

    What the same or a lower SEQUENCE says of an entry that is known is passed over.
    """

    entries: dict[str, tuple[int, Any]] = field(default_factory=dict[str, tuple[int, Any]])

    def read(self, data: bytes) -> None:
        for uid, event in events_of(data).items():
            sequence = int(event.sequence.value)
            if uid in self.entries and sequence <= self.entries[uid][0]:
                continue
            self.entries[uid] = (sequence, event)

    @property
    def shown(self) -> dict[str, Any]:
        return {
            uid: event
            for uid, (_, event) in self.entries.items()
            if event.status.value != "CANCELLED"
        }


@pytest.mark.parametrize("name", SCENARIOS)
async def test_another_parser_reads_every_entry_with_its_alarm(phone: Phone, name: str):
    app = await phone.open(records=scenario_records(name, START))
    found = events_of(await exported(app))
    assert len(found) > 3
    for event in found.values():
        start = event.dtstart.value
        assert isinstance(start, datetime)
        assert start.tzinfo is None, "a wall clock's time, at that hour wherever the phone is"
        assert event.dtend.value - start == timedelta(minutes=15)
        assert event.dtstamp.value.utcoffset() == timedelta(0)
        (alarm,) = event.valarm_list
        assert alarm.action.value == "DISPLAY"
        assert alarm.trigger.value == timedelta(0)
        assert alarm.description.value == event.summary.value
        assert event.summary.value
        assert "Worked out on" in event.description.value


async def test_lines_end_and_fold_as_the_standard_asks(phone: Phone):
    app = await phone.open(records=scenario_records("demo_system", START))
    data = await exported(app)
    assert data.endswith(b"END:VCALENDAR\r\n")
    lines = data.split(b"\r\n")
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    assert max(len(line) for line in lines) <= LONG_LINE
    assert any(line.startswith(b" ") for line in lines), "some are long enough to be folded"
    whole = data.replace(b"\r\n ", b"").decode("utf-8").splitlines()
    assert all(re.match(r"[A-Z-]+(;[A-Z-]+=[^:]+)?:", line) for line in whole)


def test_signs_of_the_format_come_back_from_the_other_parser():
    odd = "Fill; drain, \\n <b>&\nBEGIN:VEVENT äöü " + "水" * 60
    event = Event(uid="x@sumpside", title=odd, about=odd, starts=START.replace(tzinfo=None))
    data = calendar_file([event], [], START)
    assert max(len(line) for line in data.split(b"\r\n")) <= LONG_LINE
    (back,) = events_of(data).values()
    assert back.summary.value == odd
    assert back.description.value == odd


async def test_importing_again_moves_entries_and_doubles_none(phone: Phone):
    app = await phone.open(records=scenario_records("demo_system", START))
    uid = f"test_total_alkalinity-{app.store.snapshot.system}@sumpside"
    first = await exported(app)
    diary = PhoneCalendar()
    diary.read(first)
    before = diary.shown
    app.clock.move(days=1)
    await app.record("total_alkalinity", "8.2")
    if app.has("keep"):
        await app.tap("keep")
    second = await exported(app)
    diary.read(second)
    assert set(diary.shown) == set(before), "no entry twice, none lost"
    assert diary.shown[uid].dtstart.value > before[uid].dtstart.value
    diary.read(first)  # the old file once more changes nothing
    assert diary.shown[uid].dtstart.value == events_of(second)[uid].dtstart.value


async def test_importing_after_a_job_was_turned_off_takes_its_entry_away(phone: Phone):
    app = await phone.open(records=scenario_records("demo_system", START))
    uid = f"strength_check-{app.store.snapshot.system}@sumpside"
    diary = PhoneCalendar()
    diary.read(await exported(app))
    assert uid in diary.shown
    count = len(diary.shown)
    await app.go("/jobs/strength_check")
    await app.tap("turn-off")
    app.clock.move(minutes=2)
    diary.read(await exported(app))
    assert uid not in diary.shown
    assert len(diary.shown) == count - 1
    await app.go("/jobs/strength_check")
    await app.tap("turn-on")
    app.clock.move(minutes=2)
    diary.read(await exported(app))
    assert uid in diary.shown, "turned on again it comes back under its own name"
