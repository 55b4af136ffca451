"""Readings out to a spreadsheet and in from the keeper's own, by taps."""

from tests.support.app import Phone, Running

OWN = (
    "Datum;KH;Ca;Notiz\r\n05.03.2026 18:30;8,1;420;=x\r\n06.03.2026;82;430;\r\n07.03.2026;3,5;;\r\n"
)


async def picked(app: Running, data: str | bytes) -> None:
    await app.go("/setup/tables")
    await app.store.tables.picked(data.encode() if isinstance(data, str) else data)
    await app.screen.settle(200)


def said(app: Running) -> list[str]:
    return app.all_texts("table-line") + app.all_texts("table-finding")


async def test_readings_go_out_in_either_writing(app: Running):
    await app.go("/setup")
    await app.tap("to-tables", "table-out-point")
    assert app.notice == "There is no water test to put into a table yet."
    await app.record("calcium", "420.5")
    await app.go("/setup/tables")
    await app.tap("table-out-point")
    (data,) = app.files.saved.values()
    assert list(app.files.saved) == ["sumpside-readings-2026-11-24.csv"]
    assert b"Calcium (mg/L)" in data
    assert b"2026-11-24 09:00,UTC+00:00,420.5" in data
    assert app.notice == "Table ready: 1 test."
    await app.tap("table-out-comma")
    assert b"UTC+00:00;420,5" in app.files.saved["sumpside-readings-2026-11-24.csv"]


async def test_an_order_is_asked_then_seen_then_saved_as_one(phone: Phone, app: Running):
    await picked(app, OWN)
    assert "Say whether the day or the month comes first." in app.text("table-question")
    assert not app.has("table-apply")
    assert app.stored("water_test") == [], "looking changes nothing"
    await app.tap("order-day_first")
    assert said(app) == [
        "In this table: 3 new, 0 already here, 0 in conflict, 2 left out.",
        "New readings from 5 March to 6 March.",
        "No time of day in 2 rows: 12:00 is taken.",
        "Line 3, KH: 82 cannot be right; possible is 0.5 dKH to 40 dKH.",
        "Line 4, KH: 3,5 is outside the usual 4 dKH to 16 dKH.",
    ]
    await app.tap("table-apply")
    assert app.notice == "Saved: 3 readings from your table."
    tests = app.stored("water_test")
    assert [test["source"] for test in tests] == ["table", "table"]
    assert tests[0]["note"] == "=x"
    assert not app.has("table-preview")
    app = await phone.reopen(app)
    assert app.stored("water_test") == tests
    await picked(app, OWN)
    await app.tap("order-day_first")
    assert said(app)[0] == "In this table: 0 new, 3 already here, 0 in conflict, 2 left out."
    assert not app.has("table-apply")


async def test_unusual_values_need_a_tap_of_their_own(app: Running):
    await picked(app, OWN)
    await app.tap("order-day_first", "table-unusual")
    assert said(app)[0].startswith("In this table: 4 new,")
    assert app.says("Unusual values that would come in: 1.")
    await app.tap("table-unusual")
    assert said(app)[0].startswith("In this table: 3 new,")
    await app.tap("table-unusual", "table-apply")
    assert app.stored("water_test")[-1]["readings"][0]["confirmed"] is True


async def test_a_column_is_corrected_by_taps(app: Running):
    await picked(app, "Date,Stuff,Alkalinity\n2026-03-01,430,4.5\n2026-03-02,440,4.4\n")
    assert app.text("table-question").startswith("Say the unit of Alkalinity.")
    await app.tap("column-2")
    assert app.says("What does Alkalinity hold?")
    await app.tap("unit-1")
    assert app.text("column-2").startswith("Alkalinity / Total alkalinity, meq/L")
    await app.tap("column-1", "role-calcium")
    assert app.text("column-1").startswith("Stuff / Calcium, mg/L · for example 430, 440")
    assert said(app)[0].startswith("In this table: 4 new,")
    await app.tap("column-1", "role-out")
    assert said(app)[0].startswith("In this table: 2 new,")
    await app.tap("table-leave")
    assert app.has("table-pick")
    assert app.stored("water_test") == []


async def test_what_is_no_table_is_said_in_words_and_changes_nothing(app: Running):
    before = app.stored()
    for data, words in (
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 9, "This is no CSV file."),
        (b"", "This file is empty."),
        (b"date\n2026-03-01\n", "No columns were found."),
        (b'a,b\n1,"' + b"x" * 200_000, "a quotation mark may be missing"),
    ):
        await picked(app, data)
        assert words in app.text("table-fault")
        assert not app.has("table-preview")
    assert app.stored() == before


async def test_an_import_is_taken_back_by_undo(app: Running):
    await picked(app, OWN)
    await app.tap("order-day_first", "table-apply", "undo")
    assert len(app.stored("amendment")) == 2
    await picked(app, OWN)
    await app.tap("order-day_first")
    assert "Withdrawn in the log before, and left out: 3." in said(app)


async def test_a_second_tap_imports_once(app: Running):
    await picked(app, OWN)
    await app.tap("order-day_first")
    apply = app.screen.find("table-apply")
    for _ in range(2):
        await app.screen.session.dispatch_event(apply._i, "click", None)
    await app.screen.settle(200)
    assert len(app.stored("water_test")) == 2


async def test_an_imported_entry_says_where_it_came_from(app: Running):
    await picked(app, OWN)
    await app.tap("order-day_first", "table-apply")
    await app.go(f"/history/{app.stored('water_test')[0]['id']}")
    assert app.says("It came from your own table.")
