"""Every page of the app, drawn headless, on logs of anybody: none fails to be drawn."""

import pytest

from engine.jobs.codes import Job
from engine.records import Amendment
from engine.vocabulary import PARAMETERS
from mobile.procedures import KEYS
from mobile.state.forms import FORMS
from mobile.state.setup_pages import PAGES
from tests.support.any_log import any_log
from tests.support.app import Clock, Phone

# Chosen by their number alone; between them every way of delivery.
SEEDS = (3, 10, 77)
PATHS = (
    *("/", "/record", "/mix", "/plan", "/plan/hazard", "/incident", "/plan/day", "/plan/year"),
    *("/plan/water", "/plan/drift", "/plan/powder", "/plan/additions", "/jobs", "/minder"),
    *("/history", "/setup", "/setup/air/measure", "/setup/storage", "/setup/erase"),
    *("/setup/tables", "/help", "/no/such/place"),
    *(f"/record/{form}" for form in FORMS),
    *(f"/mix/{key}" for key in KEYS),
    *(f"/jobs/{job}" for job in Job),
    *(f"/setup/{page.key}" for page in PAGES),
    *(f"/history/plot/{parameter}" for parameter in PARAMETERS),
)


@pytest.mark.parametrize("seed", SEEDS)
async def test_every_page_is_drawn(seed):
    log = any_log(seed)
    # the store numbers what it takes in: what speaks of other ids stays out
    records = tuple(r for r in log.records if not isinstance(r, Amendment))
    phone = Phone(None, Clock(log.now))
    app = await phone.open(records=records)
    for path in PATHS:
        await app.go(path)
        assert not app.failed, path
    for record in app.stored()[-10:]:
        await app.go(f"/history/{record['id']}")
        assert not app.failed, record["kind"]
    await phone.close()


async def test_amendments_are_drawn_too():
    """Of ids as the phone numbers them."""
    log = any_log(3)
    phone = Phone(None, Clock(log.now))
    plain = tuple(r for r in log.records if not isinstance(r, Amendment))
    app = await phone.open(records=plain)
    for stored in app.stored()[-6:]:
        if stored["kind"] == "setup":
            continue
        await app.go(f"/history/{stored['id']}")
        if app.has("withdraw"):
            await app.tap("withdraw", "withdraw-sure")
    for path in ("/", "/history", "/plan", "/jobs", "/minder"):
        await app.go(path)
        assert not app.failed, path
    assert app.stored("amendment")
    await phone.close()
