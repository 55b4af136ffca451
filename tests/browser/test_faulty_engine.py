"""The built app with an engine that raises: no lock-out, no dose, and the export within reach."""

import json
import re
import zipfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from engine import scenario
from engine.records import Delivery, Reading, Record, WaterTest
from mobile.packaging import precache
from mobile.packaging.build import SOURCES
from tests.support.app import first_records
from tests.support.browser import Site, open_app, phone, served
from tests.support.keeper_log import dkh
from tests.support.seeded import copy_of, seed
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser

RAISES = """

def decide(*arguments, **options):
    raise TypeError("'<' not supported between instances of 'complex' and 'float'")
"""


def with_faulty_engine(site: Site, folder: Path) -> Path:
    """Copy a site with a `decide` that raises what the filter raised, and list its files anew."""
    copy = copy_of(site, folder)
    with zipfile.ZipFile(copy / "app.zip") as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    members["engine/decision.py"] += RAISES.encode()
    with zipfile.ZipFile(copy / "app.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    template = (SOURCES / precache.SERVICE_WORKER).read_text(encoding="utf-8")
    precache.write_service_worker(copy, template, base="/", build=site.report.build_id)
    return copy


def plausible_log(now: datetime) -> tuple[Record, ...]:
    """Return the log that locked the app: a typo of 7.0, then ordinary tests weeks apart."""
    start = now - timedelta(days=40)
    setup, _ = first_records(start)
    changed = {
        "delivery": Delivery.TOP_OFF_VESSEL,
        "alkalinity_test_error_meq_per_L": 0.02,
    }
    records: list[Record] = [replace(setup, **changed)]
    for number, (day, value) in enumerate(((8.0, 7.0), (24.0, 3.25), (24.5, 3.39), (38.5, 3.58))):
        at = start + timedelta(days=day)
        reading = Reading(
            parameter="total_alkalinity", value=dkh(value), typed=f"{value}", typed_unit="dKH"
        )
        records.append(
            WaterTest(
                id=f"reef:{number + 10}",
                at=at,
                recorded_at=at,
                system="reef",
                readings=(reading,),
                tester="Wilhelmina",
            )
        )
    return tuple(records)


def test_hole_1_an_engine_that_raises_locks_nobody_out(
    built_site: Site, chromium: Browser, tmp_path: Path
) -> None:
    site = with_faulty_engine(built_site, tmp_path)
    options = {"permissions": ["clipboard-read", "clipboard-write"]}
    with served(site) as server, phone(chromium, **options) as context:
        seed(context, server.url, plausible_log(datetime.now(UTC)))
        page = open_app(context, server.url)
        thumb = Thumb(page)
        assert thumb.sees("This could not be worked out"), thumb.text()
        assert thumb.sees("Measure pH and alkalinity before the next dose")
        assert thumb.sees("Alkalinity 3.6 dKH")
        assert "L a day" not in thumb.text()
        thumb.tap("Copy report")
        copied = page.evaluate("navigator.clipboard.readText()")
        about = json.loads(copied)["about"]
        assert "TypeError: '<' not supported" in about
        assert "Wilhelmina" not in copied
        assert scenario.run_parsed(scenario.load(copied))["plan"]
        with page.expect_download() as waiting:
            thumb.tap("Export the records")
        exported = Path(waiting.value.path()).read_text(encoding="utf-8")
        assert exported.count('"water_test"') == 4
        thumb.place("Plan")
        assert thumb.sees("This could not be worked out")
        thumb.place("History")
        assert thumb.sees(re.compile("Alkalinity: 3.6 dKH"))
        thumb.place("Record")
        thumb.tap("Calcium")
        thumb.type("420")
        thumb.tap("Save")
        assert thumb.sees("Saved: Calcium 420 mg/L")
        page.locator("#overdose").click()
        card = page.frame_locator("#card iframe")
        assert card.get_by_text("Lift the lime line OUT of the sump.").first.is_visible()
