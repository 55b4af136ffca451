"""A running overdose as the keeper meets it: begun, ticked off, read, killed, ended."""

import re

import pytest

from engine.hazards.incident import ACTS
from mobile.bootstrap import ROOT
from mobile.texts.incident import ACTS as ACT_WORDS
from mobile.texts.incident import ANIMALS, NEVER, TEXTS
from tests.support.app import START, Phone, Running, scenario_records


async def begun(app: Running) -> None:
    await app.go("/incident")
    await app.tap("start-incident")
    app.store.dismiss()
    await app.screen.settle()


async def read(app: Running, form: str, digits: str) -> None:
    """Enter a reading on the incident's page; what the app asks about is kept."""
    await app.go("/incident")
    await app.tap(f"enter-{form}")
    assert app.path == f"/incident/{form}"
    await app.type(digits)
    await app.tap("save")
    if app.has("keep"):
        await app.tap("keep")
    assert app.path == "/incident", app.all_texts("finding")


def test_acts_are_the_cards_own_list_in_its_order():
    page = (ROOT / "mobile" / "web" / "emergency.html").read_text(encoding="utf-8")
    listed = page.partition('class="now"')[2].partition("</ol>")[0]
    words = [re.sub("<[^>]*>", "", item) for item in re.findall(r"<li>(.*?)</li>", listed)]
    assert [ACT_WORDS[act] for act in ACTS] == words[: len(ACTS)]
    assert len(words) == len(ACTS) + 1  # "Write down all three": here they are entered


def listed(part: str) -> list[str]:
    page = (ROOT / "mobile" / "web" / "emergency.html").read_text(encoding="utf-8")
    found = page.partition(part)[2].partition("</section>")[0]
    return [
        re.sub("<[^>]*>", "", item) for item in re.findall(r"<(?:li|p)>(.*?)</(?:li|p)>", found)
    ]


async def test_what_never_to_do_and_when_animals_move_are_the_cards_own_words(app: Running):
    assert list(NEVER) == listed('<section class="never">')
    assert set(ANIMALS) <= set(listed("<h2>Then</h2>"))
    await begun(app)
    await app.go("/incident")
    for sentence in (*NEVER, *ANIMALS, "pH 9.0 or more? Call a vet."):
        assert app.says(sentence)


async def test_today_leads_to_it_and_nothing_runs_before_it_is_begun(app: Running):
    await app.tap("to-incident")
    assert app.path == "/incident"
    assert app.has("start-incident")
    assert not app.stored("incident")


async def test_begun_it_shows_the_clock_and_what_to_read(app: Running):
    await begun(app)
    app.clock.move(minutes=72)
    await app.go("/incident")
    assert app.text("clock") == "1 h 12 min"
    assert app.says("pH: now.")
    assert app.says("Alkalinity: now.")


async def test_a_double_tap_begins_one(app: Running):
    await app.go("/incident")
    control = app.screen.find("start-incident")
    for _ in range(2):
        await app.screen.session.dispatch_event(control._i, "click", None)
    await app.screen.settle()
    assert len(app.stored("incident")) == 1


async def test_every_screen_says_that_it_runs_and_no_lime_is_planned(app: Running):
    await begun(app)
    for path in ("/", "/plan", "/record", "/history"):
        await app.go(path)
        assert "Overdose since" in app.text("banner-incident")
    await app.go("/")
    assert app.says("No limewater until you end it.")
    await app.tap("go-incident")
    assert app.path == "/incident"
    assert not app.has("banner-incident")


async def test_acts_are_ticked_off_with_their_time(app: Running):
    await begun(app)
    app.clock.move(minutes=3)
    await app.tap("act-gloves")
    assert app.text("done-gloves") == "Put on gloves and goggles. Done at 09:03."
    assert not app.has("act-gloves")
    assert app.has("act-lift_line")


async def test_readings_are_ordinary_tests_shown_beside_what_was_expected(app: Running):
    await begun(app)
    await read(app, "pH_nbs", "8.96")
    await read(app, "total_alkalinity", "11.7")
    app.clock.move(hours=1)
    await read(app, "pH_nbs", "8.94")
    assert [r["kind"] for r in app.stored()[-3:]] == ["water_test"] * 3
    assert app.says("09:00: pH 8.96.")
    assert app.says("09:00: alkalinity 11.7 dKH.")
    assert any(re.match(r"10:00: pH 8.94. Expected by air: 8.\d\d to 8.\d\d.", t or "")
               for t in app.screen.texts())  # fmt: skip
    assert app.has("recovery")
    assert app.says("Changing 25 %")


async def test_pH_above_what_air_explains_says_look_again(app: Running):
    await begun(app)
    await read(app, "pH_nbs", "8.9")
    await read(app, "total_alkalinity", "11.5")
    app.clock.move(hours=1)
    await read(app, "pH_nbs", "9.1")
    assert app.says(TEXTS["recovery_above"])


async def test_notes_are_kept_with_their_time(app: Running):
    await begun(app)
    await app.write("incident-note", "Snails fall off the glass")
    await app.tap("keep-note")
    assert app.says("09:00: Snails fall off the glass")
    assert app.stored("incident")[-1]["note"] == "Snails fall off the glass"


async def test_killed_in_the_middle_it_goes_on(phone: Phone, app: Running):
    await begun(app)
    await app.tap("act-gloves", "act-lift_line")
    await read(app, "pH_nbs", "8.9")
    app.clock.move(minutes=40)
    app = await phone.reopen(app)
    assert "Overdose since" in app.text("banner-incident")
    await app.tap("go-incident")
    assert app.text("clock") == "40 min"
    assert app.has("done-lift_line")
    assert app.says("pH: now. It was due at 09:15.")


async def test_it_ends_only_when_water_and_fault_are_in_order_and_the_keeper_says_so(app: Running):
    await begun(app)
    assert app.says("Waits for:")
    assert not app.has("end-incident")
    await read(app, "total_alkalinity", "8.3")
    await read(app, "pH_nbs", "8.35")
    await app.tap("end-incident")
    await app.tap("sure-no")
    assert [r["event"] for r in app.stored("incident")] == ["started"]
    await app.tap("end-incident", "sure-yes")
    assert app.stored("incident")[-1]["event"] == "ended"
    assert app.has("start-incident")
    await app.go("/plan")
    assert not app.has("banner-incident")


async def test_one_that_was_none_is_ended_by_its_own_answer(app: Running):
    await begun(app)
    await app.tap("was-none")
    assert app.says(TEXTS["none_sure"])
    await app.tap("sure-yes")
    assert app.stored("incident")[-1]["event"] == "no_overdose"


async def test_time_alone_never_ends_it(app: Running):
    await begun(app)
    app.clock.move(days=30)
    await app.go("/incident")
    assert app.text("clock") == "30 days 0 h"
    await app.go("/")
    assert app.has("banner-incident")


async def test_clock_set_back_shows_no_negative_time(app: Running):
    await begun(app)
    app.clock.move(hours=-3)
    await app.go("/incident")
    assert app.text("clock") == "0 min"


async def test_failed_save_leaves_the_act_to_do_and_says_so(phone: Phone):
    from tests.support.app import first_records

    app = await phone.open(records=first_records())
    await begun(app)

    async def refuse(*_arguments, **_options):
        from mobile.storage.errors import StorageFull

        raise StorageFull

    app.repository.append = refuse
    await app.tap("act-gloves")
    assert app.has("act-gloves")
    assert "NOT saved" in app.notice


@pytest.mark.parametrize("pH", ["9.8", "10.5"])
async def test_past_the_model_no_figure_is_given(phone: Phone, pH: str):
    app = await phone.open(records=scenario_records("demo_system", START))
    await begun(app)
    await read(app, "pH_nbs", pH)
    await read(app, "total_alkalinity", "14")
    assert app.says(TEXTS["recovery_none"])
    assert not app.has("recovery")
