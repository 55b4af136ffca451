"""A phone for tests: a clock that the test moves, a folder that survives, apps opened and killed.

What a test does is what a keeper does: tap, type, look. The clock stands still otherwise.
"""

import asyncio
import itertools
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import flet as ft

from engine import scenario
from engine.log.record_codec import to_dict
from engine.records import DeliverySetting, Record, Setup
from mobile.app import App
from mobile.bootstrap import ROOT
from mobile.commands.verdicts import no_verdicts
from mobile.components.guarded import contain_events
from mobile.demo import open_demo
from mobile.files import MemoryFiles
from mobile.host import DesktopHost
from mobile.state import setup_pages
from mobile.storage.backend import OpenFolder
from mobile.storage.file import disk_folder
from mobile.storage.journal import JOURNAL_NAME
from mobile.storage.memory import memory_folder
from mobile.storage.repository import Repository
from mobile.storage.store import open_repository
from mobile.store import Store
from mobile.texts.failed import TEXTS as FAILED
from mobile.validation import VALIDATION
from tests.support.screen import Screen

START = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)
DEMO_DATA = ROOT / "demo_data"
SCENARIOS = tuple(sorted(path.stem for path in DEMO_DATA.glob("*.json")))
PLACE_NAMES = ("today", "record", "mix", "plan", "history")


class Clock:
    """The phone's clock."""

    def __init__(self, now: datetime = START) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now

    def move(self, **span: float) -> None:
        """Move it, back with negative values; `timedelta`'s own names."""
        self.now += timedelta(**span)


class Ids:
    """Draws names that never repeat on one phone."""

    def __init__(self) -> None:
        self._numbers = itertools.count(1)

    def device(self) -> str:
        """Return sixteen characters, as a store asks for."""
        return f"phone{next(self._numbers):011}"

    def of(self, what: str) -> str:
        """Return the id of a system or a run."""
        return f"{what}-{next(self._numbers)}"


@dataclass
class Running:
    """An app on the screen."""

    screen: Screen
    store: Store
    host: DesktopHost
    files: MemoryFiles
    clock: Clock

    @property
    def repository(self) -> Repository:
        """The keeper's own records."""
        kept = self.store._books.kept
        assert kept is not None
        return kept.repository

    @property
    def path(self) -> str:
        """Where the app is."""
        return self.screen.path

    async def go(self, path: str) -> None:
        """Show a place, as one of the app's own buttons does."""
        self.store.go(path)
        await self.screen.settle()

    async def place(self, name: str) -> None:
        """Tap a place of the bottom bar."""
        await self.tap(f"place-{name}")

    async def tap(self, *keys: str) -> None:
        """Tap one control after another."""
        for key in keys:
            await self.screen.tap(key)

    async def type(self, digits: str, field_key: str = "") -> None:
        """Press the keypad's keys, after tapping the field to fill when one is named."""
        if field_key:
            await self.tap(f"field-{field_key}")
        await self.screen.type(digits)

    async def erase(self, count: int) -> None:
        """Take signs away with the keypad."""
        await self.tap(*["key-erase"] * count)

    async def write(self, key: str, text: str) -> None:
        """Type words with the phone's keyboard."""
        await self.screen.write(key, text)

    async def record(self, form: str, digits: str, *taps: str) -> None:
        """Record an entry of one number, from the list."""
        await self.go("/record")
        await self.tap(f"form-{form}")
        await self.type(digits)
        await self.tap(*taps, "save")

    @property
    def place_shown(self) -> str:
        """Which place of the bottom bar is marked as the open one."""
        marked = [p for p in PLACE_NAMES if "Open:" in icon_labels(self.screen.find(f"place-{p}"))]
        assert len(marked) == 1, marked
        return marked[0]

    def says(self, words: str) -> bool:
        """Return whether these words are on the screen."""
        return self.screen.says(words)

    def has(self, key: str) -> bool:
        """Return whether there is a control with this key."""
        return self.screen.has(key)

    def text(self, key: str) -> str:
        """Return the words of a text or of a button."""
        control = self.screen.find(key)
        if isinstance(control, ft.Text):
            return control.value
        return " / ".join(self.all_words(key))

    def all_words(self, key: str) -> list[str]:
        """Return every text in the control with this key."""
        return texts_below(self.screen.find(key))

    def all_texts(self, key: str) -> list[str]:
        """Return the words of every text with this key."""
        return [c.value for c in self.screen.controls(ft.Text) if c.key == key]

    @property
    def notice(self) -> str:
        """What the notice says, or nothing."""
        return self.text("notice") if self.has("notice") else ""

    @property
    def failed(self) -> bool:
        """Whether the screen could not be drawn."""
        return self.has("screen-failed")

    def stored(self, kind: str = "") -> list[dict[str, Any]]:
        """Return what is on storage, in the order of saving."""
        records = sorted(self.repository.records(), key=lambda r: int(r["id"].rpartition(":")[2]))
        return [record for record in records if kind in ("", record["kind"])]

    async def close(self) -> None:
        """End it in order."""
        self.screen.close()
        if self.store._books.kept is not None:
            await self.repository.close()


class Phone:
    """A phone with a clock and a place for records; on it the app is opened, killed, opened."""

    def __init__(self, folder: Path | None, clock: Clock | None = None) -> None:
        self.clock = clock or Clock()
        self.ids = Ids()
        self._folder = folder
        self._lives = itertools.count(1)
        self._open: list[Running] = []
        self.read_verdicts: Any = no_verdicts  # where the records do not open

    @property
    def backend(self) -> OpenFolder:
        """Where records are kept."""
        return disk_folder(self._folder) if self._folder else memory_folder

    @property
    def journal(self) -> Path:
        """The file of records."""
        assert self._folder is not None
        return self._folder / JOURNAL_NAME

    async def open(
        self,
        *,
        wrap: Callable[[Repository], Repository] = lambda repository: repository,
        records: tuple[Any, ...] = (),
        host: DesktopHost | None = None,
    ) -> Running:
        """Start the app; `records` are put into the store first, `wrap` stands before it."""

        async def kept(*, discard_unreadable: bool = False) -> Repository:
            repository = await open_repository(
                self.backend,
                new_device_id=self.ids.device,
                discard_unreadable=discard_unreadable,
                **VALIDATION,
            )
            own = [replace(record, id=repository.next_id()) for record in records]
            await repository.append([to_dict(record) for record in own])
            return wrap(repository)

        heard: list[asyncio.Future[None]] = []
        screen, host, files = Screen(), host or DesktopHost(), MemoryFiles()
        store = Store(
            clock=self.clock,
            host=host,
            open_repository=kept,
            open_demo=lambda now: open_demo(now, self.ids.device),
            new_id=self.ids.of,
            navigate=screen.navigate,
            files=files,
            read_verdicts=self.read_verdicts,
        )
        host.on_window(lambda word: heard.append(asyncio.ensure_future(store.windows.heard(word))))
        host.on_recalled(lambda: heard.append(asyncio.ensure_future(store.hear_recall())))
        contain_events(screen.session, lambda: store.say("danger", FAILED["tap_failed"]))
        screen.render(App, store)
        await store.start()
        await screen.settle()
        app = Running(screen, store, host, files, self.clock)
        self._open.append(app)
        return app

    async def kill(self, app: Running) -> None:
        """Kill the app: only what reached the files by now is there at the next start."""
        assert self._folder is not None, "memory does not outlive the app"
        left = self._folder.with_name(f"{self._folder.name}-{next(self._lives)}")
        shutil.copytree(self._folder, left)
        await app.close()
        self._open.remove(app)
        self._folder = left

    async def reopen(self, app: Running) -> Running:
        """Kill the app and start it again."""
        await self.kill(app)
        return await self.open()

    async def close(self) -> None:
        """End every app."""
        for app in self._open:
            await app.close()


FIRST_ANSWERS = {
    "system": {"net_volume_L": "450"},
    "delivery": {"vessel_L": "5"},
    "evaporation": {"evaporation_low_L_per_day": "6.3", "evaporation_high_L_per_day": "7.5"},
    "targets": {},
    "second_source": {},
    "limits": {"keeper_cap_L_per_day": "6"},
    "start": {"limewater_L_per_day": "5"},
}


async def first_run(
    app: Running, name: str = "My reef", *, since: str = "system", until: str = ""
) -> None:
    """Walk the first run from the page `since`, which is open, to the end or up to a page."""
    pages = tuple(FIRST_ANSWERS)
    for page in pages[pages.index(since) :]:
        if page == until:
            return
        answers = FIRST_ANSWERS[page]
        assert app.path == f"/new/{page}"
        if page == "system":
            await app.write("words-name", name)
        for key, digits in answers.items():
            await app.type(digits, key)
        await app.tap("go-on")


def first_records(now: datetime = START, system: str = "reef") -> tuple[Record, ...]:
    """Return what a first run with `FIRST_ANSWERS` saves."""
    frame = {"at": now, "recorded_at": now, "system": system}
    answers = {
        **setup_pages.OFFERED,
        "name": "My reef",
        "net_volume_L": 450.0,
        "vessel_L": 5.0,
        "evaporation_low_L_per_day": 6.3,
        "evaporation_high_L_per_day": 7.5,
        "keeper_cap_L_per_day": 6.0,
    }
    setup = Setup(id=f"{system}:1", **frame, **setup_pages.setup_fields(answers))
    return (setup, DeliverySetting(id=f"{system}:2", **frame, limewater_L_per_day=5.0))


async def set_up(app: Running, name: str = "My reef") -> None:
    """Set a system up from the welcome page and put the notice away."""
    await app.tap("start-setup")
    await first_run(app, name)
    assert app.path == "/", app.screen.texts()
    app.store.dismiss()
    await app.screen.settle()


def scenario_records(name: str, now: datetime) -> tuple[Any, ...]:
    """Return a scenario's records, moved so that its last moment is `now`."""
    loaded = scenario.load((DEMO_DATA / f"{name}.json").read_text(encoding="utf-8"))
    return loaded.shifted(now).records


def texts_below(control: Any) -> list[str]:
    """Return the texts of a control and everything in it."""
    from tests.support.screen import walk

    return [found.value for found in walk(control) if isinstance(found, ft.Text)]


def icon_labels(control: Any) -> list[str | None]:
    """Return what a screen reader says for each icon in a control."""
    from tests.support.screen import walk

    return [found.semantics_label for found in walk(control) if isinstance(found, ft.Icon)]


_NOT_FOR_PEOPLE = re.compile(r"[{}]|\b(None|nan|NaN|inf|Infinity|True|False)\b|\b\w+_\w+\b")


def not_for_people(text: str) -> bool:
    """Return whether a text shows the program's insides: a brace, a raw value, a code."""
    return _NOT_FOR_PEOPLE.search(text) is not None
