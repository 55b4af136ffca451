"""Setup's pages about the records: where they are, the self-check, erasing, the last export."""

from dataclasses import replace

import pytest

from mobile.host import DesktopHost
from mobile.screens import storage
from mobile.storage import erasure
from mobile.storage.errors import ErasureStands, StorageFailed, StorageFull, StoreBusy
from tests.mobile.test_screens_transfer import NOTE, file_of, picked
from tests.support.app import START, Phone, Running, first_records, scenario_records, texts_below


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(storage, "PAUSE_S", 0.0)


class Browser(DesktopHost):
    """A host that answers as a browser does."""

    def __init__(self, *, kept: bool, used: int, quota: int) -> None:
        super().__init__()
        self._kept, self._estimate = kept, (used, quota)

    async def persisted(self) -> bool | None:
        return self._kept

    async def request_persistence(self) -> bool | None:
        return self._kept

    async def storage_estimate(self) -> tuple[int, int] | None:
        return self._estimate


def checked(app: Running) -> str:
    return " ".join(app.all_texts("check-line"))


def sure(app: Running) -> str:
    return " ".join(app.all_texts("sure-line"))


@pytest.mark.parametrize(
    ("kept", "free_MB", "words"),
    [
        (True, 900, ["The browser promised not to clear it."]),
        (False, 900, ["The browser may clear it when room is short."]),
        (True, 20, ["Less than 50 MB is left."]),
    ],
)
async def test_the_page_says_where_how_safe_and_how_much_room(phone: Phone, kept, free_MB, words):
    used = 60 << 20
    host = Browser(kept=kept, used=used, quota=used + (free_MB << 20))
    app = await phone.open(records=first_records(), host=host)
    await app.go("/setup")
    await app.tap("to-storage")
    assert app.path == "/setup/storage"
    for said in (*words, "In a folder on this machine", f"60 MB used of {60 + free_MB} MB."):
        assert app.says(said)
    assert app.says("2 records. This phone signs them phone00000000001.")
    assert app.says("Never exported.")
    assert app.says("When the records were opened, no damage was found.")
    assert app.says("No record is kept aside.")


async def test_the_self_check_rereads_everything_and_says_that_all_is_well(app: Running):
    await app.record("calcium", "420")
    await app.go("/setup/storage")
    assert not app.has("check-result")
    await app.tap("check")
    assert checked(app).startswith("No damage found: 3 records read again,")
    await app.record("calcium", "430")
    await app.go("/setup/storage")
    assert not app.has("check-result"), "an old result is not shown for new records"


async def test_the_self_check_names_a_fault_and_says_what_to_do(phone: Phone, app: Running):
    await app.record("calcium", "420")
    raw = bytearray(phone.journal.read_bytes())
    raw[-20] ^= 0xFF
    phone.journal.write_bytes(raw)
    await app.go("/setup/storage")
    await app.tap("check")
    assert checked(app).startswith("Something is wrong. 2 records are sound. Export now")
    assert app.has("export")
    assert len(app.stored()) == 3, "nothing is changed by looking"


async def test_days_since_the_export_and_what_was_entered_since(app: Running):
    await app.record("calcium", "420")
    await app.go("/setup")
    await app.tap("export")
    app.clock.move(days=12)
    await app.record("calcium", "430")
    await app.record("calcium", "425")
    await app.go("/setup")
    assert app.says("Last export: Tue 24 Nov, 09:00, 12 days ago. Entered since: 2 records.")


async def test_the_last_export_survives_and_today_reminds_after_a_month(phone: Phone):
    app = await phone.open(records=scenario_records("demo_system", START))
    assert app.says("Never exported: a lost or drowned phone takes 45 records with it.")
    await app.go("/setup")
    await app.tap("export")
    await app.place("today")
    assert not app.has("export-reminder")
    app.clock.move(days=31)
    await app.record("calcium", "430")
    app = await phone.reopen(app)
    assert app.text("export-reminder") == ("Last export 31 days ago. Entered since: 1 record.")
    await app.tap("to-export", "export")
    await app.place("today")
    assert not app.has("export-reminder")


async def test_a_conflict_is_shown_before_and_kept_aside_in_sight(app: Running):
    own = app.stored("delivery_setting")[0]
    await picked(app, file_of([{**own, "limewater_L_per_day": 50.0}, {**NOTE, "id": "bad"}]))
    said = app.all_texts("import-line")
    assert "In conflict: the same number with other content. Both are kept:" in said
    assert any(line.startswith("Limewater") and "50 L a day" in line for line in said), said
    assert "Line 3: Its number is missing or not in order." in said
    await app.tap("import-apply")
    await app.go("/setup/storage")
    assert app.says("Kept aside, because another record has the same number: 1 record.")
    assert app.says("50 L a day")


async def two_systems(phone: Phone) -> Running:
    pond = first_records(system="pond")
    named = (replace(pond[0], name="Frag tank"), pond[1])
    return await phone.open(records=(*first_records(), *named))


async def test_everything_is_erased_in_two_steps_with_the_export_offered_first(
    phone: Phone, app: Running
):
    await app.record("calcium", "420")
    await app.go("/setup")
    await app.tap("to-erase")
    offered = texts_below(app.screen.page.views)
    assert offered.index("Export all records") < offered.index("Everything: 3 records")
    await app.tap("erase-all")
    assert "Everything will be gone: 3 records" in sure(app)
    assert "There is no export. Nothing can bring these records back." in sure(app)
    assert len(app.stored()) == 3, "the first step erases nothing"
    await app.tap("export-first")
    assert "Entered since, and in no export: 0 records." in sure(app)
    device = app.repository.device
    await app.tap("erase-sure")
    assert app.has("start-setup"), "the app begins as new"
    assert app.notice == "Everything was erased from this phone's storage."
    assert app.stored() == []
    assert app.repository.device != device
    assert app.host.figures is not None
    assert app.host.figures["systems"] == []
    assert b"420" not in phone.journal.read_bytes()
    (data,) = app.files.saved.values()
    app = await phone.reopen(app)
    assert app.has("start-setup")
    await picked(app, data)
    await app.tap("import-apply")
    assert len(app.stored()) == 3, "the export brings it back"


class SharedHost(DesktopHost):
    """A host of several sites: what they shared was cleared, left for another one, or refused."""

    shared: bool | StoreBusy = True

    async def clear_shared_records(self) -> bool:
        if isinstance(self.shared, StoreBusy):
            raise self.shared
        return self.shared


async def erase_all(app: Running) -> None:
    await app.go("/setup/erase")
    await app.tap("erase-all", "erase-sure")


async def test_records_left_for_another_site_are_told_and_a_busy_place_erases_nothing(
    phone: Phone,
):
    host = SharedHost()
    app = await phone.open(records=first_records(), host=host)
    host.shared = StoreBusy(file="journal")
    await erase_all(app)
    assert app.notice.startswith("Not erased. Another tab or window has the records open.")
    assert len(app.stored()) == 2
    host.shared = False
    await app.tap("erase-sure")
    assert app.stored() == []
    assert app.notice.startswith("Erased here. Older records were left on this phone")


async def test_one_system_is_erased_and_the_other_one_stays(phone: Phone):
    app = await two_systems(phone)
    await app.go("/setup")
    await app.tap("system-pond", "to-erase", "erase-system-pond")
    assert app.repository.meta("system") == "pond"
    await app.repository.put_meta("setup_draft", {"name": "half a pond", "phone_vet": "0123"})
    assert sure(app).startswith("Frag tank will be gone: 2 records, its set-up")
    await app.tap("erase-sure")
    assert app.notice == "Erased. Other systems were left alone."
    assert [record["system"] for record in app.stored()] == ["reef", "reef"]
    assert app.says("My reef")
    assert [s["name"] for s in app.host.figures["systems"]] == ["My reef"]
    assert b"Frag tank" not in phone.journal.read_bytes()
    assert b"half a pond" not in phone.journal.read_bytes(), "nor what was half set up"
    assert (app.repository.meta("system"), app.repository.meta("setup_draft")) == (None, None)
    app = await phone.reopen(app)
    assert [record["system"] for record in app.stored()] == ["reef", "reef"]
    await app.record("calcium", "420")
    assert len(app.stored()) == 3


async def test_a_double_tap_on_what_to_erase_does_not_erase_it(app: Running, monkeypatch):
    monkeypatch.setattr(storage, "PAUSE_S", 60.0)
    await app.go("/setup/erase")
    await app.tap("erase-all")
    assert sure(app)
    assert not app.has("erase-sure")
    assert app.has("leave")


async def test_leaving_erases_nothing(app: Running):
    before = app.stored()
    await app.go("/setup/erase")
    await app.tap("erase-all", "leave")
    assert (app.path, app.stored()) == ("/setup", before)


async def test_an_erasure_that_fails_says_so_and_keeps_everything(app: Running, monkeypatch):
    async def full(*_args, **_options):
        raise StorageFull(operation="write")

    monkeypatch.setattr("mobile.storage.erasure.begin_erasing", full)
    before = app.stored()
    await app.go("/setup/erase")
    await app.tap("erase-all", "erase-sure")
    assert app.notice.startswith("Not erased.")
    assert app.stored() == before
    await app.record("calcium", "420")
    assert len(app.stored()) == len(before) + 1


async def test_an_erasure_that_stands_is_not_told_as_not_erased(app: Running, monkeypatch):
    async def fail(*_args, **_options):
        raise StorageFailed(operation="open")

    monkeypatch.setattr("mobile.storage.erasure.load", fail)
    await app.go("/setup/erase")
    await app.tap("erase-all", "erase-sure")
    assert app.notice.startswith("The erasing was begun")
    assert "Not erased" not in app.notice
    assert "Export now" in app.notice


async def test_after_an_erasure_that_stands_no_erased_figure_is_on_the_card(
    app: Running, monkeypatch
):
    """Neither what waits since the start nor a recall puts back what was erased."""

    begin = erasure.begin_erasing

    async def meanwhile(*args, **options):
        await app.store.publish()  # as the start's own, once the card was cleared
        assert app.host.figures["systems"], "the trap is set"
        return await begin(*args, **options)

    async def fail(*_args, **_options):
        raise StorageFailed(operation="open")

    monkeypatch.setattr("mobile.storage.erasure.begin_erasing", meanwhile)
    monkeypatch.setattr("mobile.storage.erasure.load", fail)
    await app.go("/setup/erase")
    await app.tap("erase-all", "erase-sure")
    assert isinstance(app.repository.blocked, ErasureStands)
    assert app.host.figures["systems"] == []
    monkeypatch.setattr("mobile.store.IDLE_S", 0.0)
    await app.store._publish_later()
    await app.store.publish()
    assert app.host.figures["systems"] == []


async def test_a_window_that_only_reads_leaves_the_card_to_the_one_that_writes(
    phone: Phone, app: Running, monkeypatch
):
    monkeypatch.setattr("mobile.store.IDLE_S", 0.0)
    second = await phone.open()
    await second.store._publish_later()
    assert second.host.figures is None
    await app.store._publish_later()
    assert app.host.figures is not None


async def test_a_window_that_only_reads_cannot_erase(phone: Phone, app: Running):
    second = await phone.open()
    await second.go("/setup/erase")
    assert second.says("Nothing can be erased here: this window only reads.")
    assert not second.has("erase-all")


async def test_the_demo_is_neither_erased_nor_checked(app: Running):
    await app.store.enter_demo()
    await app.screen.settle()
    for page in ("storage", "erase", "tables"):
        await app.go(f"/setup/{page}")
        assert app.says("Your own records are untouched.")
        assert not app.has("erase-all")
        assert not app.has("check")


async def test_a_window_beside_it_sees_what_was_erased_and_shows_it_no_more(
    phone: Phone, app: Running
):
    await app.record("calcium", "420")
    host = DesktopHost()
    host.join(app.host)
    second = await phone.open(host=host)
    assert len(second.stored()) == 3
    await app.go("/setup/erase")
    await app.tap("erase-all", "erase-sure")
    for _ in range(4):
        await app.screen.settle()
        await second.screen.settle()
    assert (app.stored(), second.stored()) == ([], [])
    assert second.has("start-setup")
    assert (app.repository.blocked, second.repository.blocked is None) == (None, False)
