"""A site of a few small files with the real service worker, and what its store holds."""

import shutil
from pathlib import Path

from playwright.sync_api import Page

from mobile.packaging import precache
from mobile.packaging.build import SOURCES

BASE = "/reef/"

PAGE = """<!DOCTYPE html><meta charset="utf-8"><base href="{base}">
<meta name="sumpside-build" content="__BUILD__"><title>version {version}</title>
<script src="start.js"></script>
<script src="stub.js"></script>
<script src="update.js" defer></script>
"""
STUB = """
window.told = [];
sumpside.answers = {};
sumpside.toPython = (name) => told.push(name);
addEventListener('load', () => sumpside.tell('running'));
"""
WORKER = """
onmessage = async ({ data }) => postMessage(await (await fetch(data)).text());
"""


def write_site(folder: Path, version: str) -> str:
    """Write a version of the small site; only index.html and version.txt differ. Its build id."""
    folder.mkdir(exist_ok=True)
    (folder / "assets/fonts").mkdir(parents=True, exist_ok=True)
    for name in ("start.js", "update.js"):
        shutil.copyfile(SOURCES / name, folder / name)
    page = PAGE.format(base=BASE, version=version)
    (folder / "index.html").write_text(page, encoding="utf-8")
    (folder / "stub.js").write_text(STUB, encoding="utf-8")
    (folder / "emergency.html").write_text("<title>card</title>", encoding="utf-8")
    (folder / "python_worker.js").write_text(WORKER, encoding="utf-8")
    (folder / "version.txt").write_text(version, encoding="utf-8")
    (folder / "same.txt").write_text("never changes", encoding="utf-8")
    (folder / "assets/fonts/fallback.ttf").write_text("boxes", encoding="utf-8")
    template = (SOURCES / precache.SERVICE_WORKER).read_text(encoding="utf-8")
    build = precache.build_id(precache.list_files(folder), template)
    (folder / "index.html").write_text(page.replace("__BUILD__", build), encoding="utf-8")
    precache.write_service_worker(folder, template, base=BASE, build=build)
    return build


def file_contents(site: Path) -> int:
    """Return how many different contents the service worker stores of a site."""
    return len({entry.sha256 for entry in precache.list_files(site)})


def stored_blobs(page: Page, base: str = BASE) -> set[str]:
    """Return the SHA-256 of everything stored."""
    keys = page.evaluate(
        f"caches.open('sumpside-blobs{base}').then((c) => c.keys())"
        ".then((keys) => keys.map(({ url }) => url.split('.blob/')[1]))"
    )
    return set(keys)


def drop(page: Page, site: Path, *names: str, base: str = BASE) -> None:
    """Take files out of the store, as a browser that needs room may."""
    shas = [entry.sha256 for entry in precache.list_files(site) if entry.name in names]
    dropped = page.evaluate(
        f"""async (shas) => {{
          const cache = await caches.open('sumpside-blobs{base}');
          return Promise.all(shas.map((sha) => cache.delete(`{base}.blob/${{sha}}`)));
        }}""",
        shas,
    )
    assert dropped
    assert all(dropped)


def ask(page: Page, kind: str) -> list[dict]:
    """Ask the worker as the page's repair does; return all it says, the answer last."""
    return page.evaluate(
        """(kind) => new Promise((resolve) => {
          const { port1, port2 } = new MessageChannel();
          const said = [];
          port1.onmessage = ({ data }) => {
            said.push(data);
            if (data.left || data.found) resolve(said);
          };
          const build = document.querySelector('meta[name="sumpside-build"]').content;
          navigator.serviceWorker.controller.postMessage({ kind, build }, [port2]);
        })""",
        kind,
    )
