"""Real browsers started by their own commands on a profile, and killed without warning.

No driver is needed: the page tells the test's server what happened. Every process of a run bears
a mark in its environment, and only those are killed.
"""

import contextlib
import json
import os
import queue
import shutil
import signal
import subprocess
import time
import uuid
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from mobile.bootstrap import ROOT
from mobile.packaging.server import serving
from tests.support.browser import FLAGS

MARK = "SUMPSIDE_TEST_RUN"
PAGE = ROOT / "tests" / "browser" / "storage_page"
INSIDE = (
    "tests/__init__.py",
    "tests/support/__init__.py",
    "tests/support/storage_page.py",
    "tests/support/browser_script.py",
    "tests/mobile/__init__.py",
    "tests/mobile/storage/__init__.py",
    "tests/mobile/storage/contract.py",
    "tests/mobile/storage/support.py",
)
FIREFOX_PREFERENCES = {
    "browser.shell.checkDefaultBrowser": False,
    "browser.aboutwelcome.enabled": False,
    "datareporting.policy.dataSubmissionEnabled": False,
    "toolkit.telemetry.enabled": False,
    "app.update.enabled": False,
    "browser.sessionstore.resume_from_crash": False,
    "toolkit.startup.max_resumed_crashes": -1,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "browser.safebrowsing.malware.enabled": False,
    "browser.safebrowsing.phishing.enabled": False,
    "services.settings.server": "",
    "extensions.getAddons.cache.enabled": False,
    "dom.storageManager.prompt.testing": True,
}


def _chromium(profile: Path, url: str) -> list[str]:
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    return [str(path), "--headless=new", *FLAGS, f"--user-data-dir={profile}", url]


def _firefox(profile: Path, url: str) -> list[str]:
    profile.mkdir(parents=True, exist_ok=True)
    lines = [f'user_pref("{k}", {json.dumps(v)});\n' for k, v in FIREFOX_PREFERENCES.items()]
    (profile / "user.js").write_text("".join(lines), encoding="utf-8")
    path = shutil.which("firefox-esr") or shutil.which("firefox")
    return [str(path), "--headless", "--no-remote", "--profile", str(profile), url]


def mini_browser() -> Path | None:
    """Return WebKitGTK's own small browser, where it is installed."""
    return next(Path("/usr/lib").glob("*/webkit2gtk-4.*/MiniBrowser"), None)


def _webkit(profile: Path, url: str) -> list[str]:
    profile.mkdir(parents=True, exist_ok=True)
    return ["xvfb-run", "-a", str(mini_browser()), url]


def _webkit_environment(profile: Path) -> dict[str, str]:
    return {
        "HOME": str(profile),
        "XDG_DATA_HOME": str(profile / "data"),
        "XDG_CACHE_HOME": str(profile / "cache"),
        "XDG_CONFIG_HOME": str(profile / "config"),
        "WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1",
        "LIBGL_ALWAYS_SOFTWARE": "1",
        "LANG": "en_US.UTF-8",
    }


@dataclass(frozen=True)
class Engine:
    """A browser and the storage that the app takes in it."""

    name: str
    backend: str
    command: Callable[[Path, str], list[str]]
    exists: Callable[[], bool]
    environment: Callable[[Path], dict[str, str]] = lambda _profile: {}

    def __str__(self) -> str:
        return f"{self.name}-{self.backend}"

    def require(self) -> None:
        """Skip the test, and say why, where the browser is not installed."""
        if not self.exists():
            pytest.skip(f"{self.name} is not installed, and could not be (apt as root on Debian)")


CHROMIUM = Engine("chromium", "opfs", _chromium, lambda: bool(shutil.which("chromium")))
CHROMIUM_IDB = Engine("chromium", "idb", _chromium, lambda: bool(shutil.which("chromium")))
FIREFOX = Engine("firefox", "opfs", _firefox, lambda: bool(shutil.which("firefox-esr")))
FIREFOX_IDB = Engine("firefox", "idb", _firefox, lambda: bool(shutil.which("firefox-esr")))
WEBKIT = Engine(
    "webkit",
    "idb",
    _webkit,
    lambda: bool(mini_browser() and shutil.which("xvfb-run")),
    _webkit_environment,
)
ALL = (CHROMIUM, CHROMIUM_IDB, FIREFOX, FIREFOX_IDB, WEBKIT)


@dataclass
class StoragePage:
    """The storage page, served; what it reports comes in a queue."""

    url: str
    reports: "queue.SimpleQueue[dict[str, Any]]" = field(default_factory=queue.SimpleQueue)

    def watch(self, name: str) -> None:
        """Take what the page asked the server for."""
        if name.startswith("report/"):
            self.reports.put(json.loads(name.removeprefix("report/")))

    def next(self, timeout_s: float = 90.0) -> dict[str, Any]:
        """Return the next report; an error in the page fails the test."""
        try:
            found = self.reports.get(timeout=timeout_s)
        except queue.Empty:
            raise AssertionError(f"nothing came from the browser within {timeout_s} s") from None
        assert "error" not in found, found["error"]
        return found

    def drain(self) -> list[dict[str, Any]]:
        """Return what came until now."""
        found = []
        with contextlib.suppress(queue.Empty):
            while True:
                found.append(self.reports.get_nowait())
        return found


@contextlib.contextmanager
def storage_page(site: Path, folder: Path) -> Iterator[StoragePage]:
    """Serve a built site with the storage page beside it."""
    copy = folder / "site"
    if not copy.exists():
        copy.mkdir(parents=True)
        shutil.copytree(site / "pyodide", copy / "pyodide")
        shutil.copy(site / "app.zip", copy)
        shutil.copytree(PAGE, copy, dirs_exist_ok=True)
        with zipfile.ZipFile(copy / "tests.zip", "w") as archive:
            for name in INSIDE:
                archive.write(ROOT / name, name)
    page = StoragePage("")
    with serving(copy, watch=page.watch) as url:
        page.url = url
        yield page


@contextlib.contextmanager
def running(engine: Engine, profile: Path, page: StoragePage, **job: object) -> Iterator[None]:
    """Start a browser on the page; at the end every process of it gets SIGKILL."""
    query = "&".join(f"{k}={v}" for k, v in ({"backend": engine.backend} | job).items())
    mark = uuid.uuid4().hex
    process = subprocess.Popen(
        engine.command(profile, f"{page.url}?{query}"),
        env={**os.environ, **engine.environment(profile), MARK: mark},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        yield
    finally:
        kill_marked(mark)
        process.wait()


def kill_marked(mark: str) -> int:
    """SIGKILL every process that bears the mark until none is left; return how many there were."""
    killed = 0
    for _ in range(50):
        found = list(_marked(mark))
        if not found:
            return killed
        for pid in found:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
                killed += 1
        time.sleep(0.05)
    raise AssertionError("a browser would not die")


def _marked(mark: str) -> Iterator[int]:
    wanted = f"{MARK}={mark}".encode()
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            with contextlib.suppress(OSError):
                if wanted in (entry / "environ").read_bytes().split(b"\0"):
                    yield int(entry.name)
