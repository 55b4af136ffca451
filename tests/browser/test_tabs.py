"""Two tabs on one store: one writes, the other reads, follows and takes over; never both write."""

import random
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.support import engines
from tests.support.browser import Site, open_app, phone, record, served
from tests.support.engines import Engine, running, storage_page
from tests.support.seeded import NAME, open_seeded
from tests.support.thumb import Thumb

pytestmark = pytest.mark.browser

SAVED, NOT_SAVED = "Saved:", "NOT saved"


def type_alkalinity(thumb: Thumb, value: str) -> None:
    thumb.place("Record")
    thumb.tap("Alkalinity")
    thumb.type(value)


def record_alkalinity(thumb: Thumb, value: str) -> None:
    type_alkalinity(thumb, value)
    thumb.tap("Save")


def test_a_second_tab_reads_follows_and_takes_over_with_one_tap(
    chromium: Browser, built_site: Site
) -> None:
    with served(built_site.path) as site, phone(chromium) as context:
        seen = record(context, site.url)
        _page, first = open_seeded(context, site.url)
        record_alkalinity(first, "8.2")
        assert first.sees("Alkalinity 8.2 dKH")
        second = Thumb(open_app(context, site.url))
        assert second.sees(NAME)
        assert second.sees("Read only")
        second.place("History")
        first.page.bring_to_front()
        record_alkalinity(first, "8.3")
        assert first.sees("Alkalinity 8.3 dKH")
        second.page.bring_to_front()
        assert second.sees("Alkalinity: 8.3 dKH")  # without a reload
        record_alkalinity(second, "8.6")
        assert second.sees("NOT saved")
        assert second.sees("8.6")  # the entry is still there
        second.tap("Use here")
        assert second.sees("Entries are saved from this window now")
        second.tap("Save")
        assert second.sees("Alkalinity 8.6 dKH")
        first.page.bring_to_front()
        assert first.sees("Read only")
        first.place("History")
        assert first.sees("Alkalinity: 8.6 dKH")
        record_alkalinity(first, "8.9")
        assert first.sees("NOT saved")
        second.page.close()
        first.tap("Use here")
        assert first.sees("Entries are saved from this window now")
        first.tap("Save")
        assert first.sees("Alkalinity 8.9 dKH")
        seen.assert_clean()


def test_taking_over_while_the_writer_saves_keeps_what_either_acknowledged(
    chromium: Browser, built_site: Site
) -> None:
    rng = random.Random("take over")
    with served(built_site.path) as site, phone(chromium) as context:
        seen = record(context, site.url)
        _page, writer = open_seeded(context, site.url)
        reader = Thumb(open_app(context, site.url))
        assert reader.sees("Read only")
        acknowledged = []
        for value in ("8.1", "8.2", "8.3", "8.4"):
            writer.page.bring_to_front()
            type_alkalinity(writer, value)
            save, use = writer.place_of("Save"), reader.place_of("Use here")
            writer.page.touchscreen.tap(*save)
            writer.page.wait_for_timeout(rng.uniform(0, 60))  # somewhere in the middle of saving
            reader.page.touchscreen.tap(*use)
            if writer.first_of(SAVED, NOT_SAVED) == SAVED:
                acknowledged.append(value)
            reader.page.bring_to_front()
            assert reader.sees("Entries are saved from this window now")
            writer.page.bring_to_front()
            assert writer.sees("Read only")
            writer, reader = reader, writer
        writer.page.bring_to_front()
        record_alkalinity(writer, "8.5")
        assert writer.sees("Alkalinity 8.5 dKH")
        for thumb in (writer, reader):
            thumb.page.bring_to_front()
            thumb.place("History")
            for value in (*acknowledged, "8.5"):
                assert thumb.sees(f"Alkalinity: {value} dKH"), (value, thumb.text())
        seen.assert_clean()


@pytest.mark.parametrize("engine", engines.ALL, ids=str)
def test_two_writers_in_turns_lose_nothing_of_each_other(
    engine: Engine, built_site: Site, tmp_path: Path
) -> None:
    engine.require()
    profile = tmp_path / "profile"
    with storage_page(built_site.path, tmp_path) as page:
        with running(engine, profile, page, job="turns", workers=2, rounds=12):
            workers = [page.next(180.0), page.next(180.0)]
        with running(engine, profile, page, job="everything"):
            found = page.next()
    assert found["writable"]
    assert found["problems"] == []
    expected = [f"{each['worker']} {n}" for each in workers for n in range(each["saved"])]
    assert sorted(found["notes"]) == sorted(expected)
    assert all(each["saved"] > 0 for each in workers), workers
