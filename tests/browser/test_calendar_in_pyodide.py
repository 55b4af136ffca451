"""The calendar file as what ships writes it: the bundled Python has no zone files of its own."""

import json
import subprocess
import zipfile
from pathlib import Path

import pytest
import vobject

from mobile.bootstrap import ROOT
from mobile.packaging.archive import write_archive
from tests.support.inside import RUNNER, RUNTIME, node

pytestmark = pytest.mark.browser
TIMEOUT_s = 300

SCRIPT = """
import sys
sys.dont_write_bytecode = True
sys.path[:0] = ["/app", "/app/__pypackages__"]
from datetime import datetime, timezone
from mobile.commands.calendar_file import calendar_file
from mobile.state.calendar_events import Event
now = datetime(2026, 11, 24, 9, 0, tzinfo=timezone.utc)
event = Event(uid="x@sumpside", title="Recharge", about="Why", starts=datetime(2026, 11, 26, 10))
calendar_file([event], ["gone@sumpside"], now).hex()
"""


def test_the_calendar_file_is_written_without_the_systems_zones(tmp_path: Path) -> None:
    write_archive(ROOT, tmp_path / "app.zip")
    with zipfile.ZipFile(tmp_path / "app.zip") as archive:
        archive.extractall(tmp_path / "app")
    job = tmp_path / "job.json"
    mounts = [[str(tmp_path / "app"), "/app"]]
    job.write_text(json.dumps({"runtime": str(RUNTIME), "mounts": mounts, "script": SCRIPT}))
    done = subprocess.run(
        [node(), RUNNER, job], capture_output=True, text=True, timeout=TIMEOUT_s, check=False
    )
    assert done.returncode == 0, done.stderr
    (line,) = (part for part in done.stdout.splitlines() if part.startswith("RESULT "))
    data = bytes.fromhex(line.removeprefix("RESULT "))
    coming, gone = vobject.readOne(data.decode("utf-8")).vevent_list
    assert (coming.uid.value, coming.summary.value) == ("x@sumpside", "Recharge")
    assert coming.dtstart.value.isoformat() == "2026-11-26T10:00:00"
    assert coming.valarm_list[0].action.value == "DISPLAY"
    assert (gone.uid.value, gone.status.value) == ("gone@sumpside", "CANCELLED")
