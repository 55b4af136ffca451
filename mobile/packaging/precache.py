"""The list of a build's files by content, and the service worker that carries it."""

import hashlib
import json
import re
from dataclasses import dataclass
from pathlib import Path

from mobile.packaging.policy import content_security_policy
from mobile.packaging.short_pages import short_pages

SOURCES = Path(__file__).resolve().parents[1] / "web"
SERVICE_WORKER = "service_worker.js"
# Recalls of builds: read from the network, never kept, and no part of any build's name.
NOTICES = "notices.json"
# What a page asks for while it is read; `async` is for what it can be shown without.
_PART = re.compile(r'<(?:script src|link rel="stylesheet" href)="([^"]+)"(?: defer)?>')
TYPES = {
    ".js": "text/javascript",
    ".mjs": "text/javascript",
    ".wasm": "application/wasm",
    ".webmanifest": "application/manifest+json",
    ".json": "application/json",
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".woff2": "font/woff2",
    ".otf": "font/otf",
    ".ttf": "font/ttf",
    ".zip": "application/zip",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".frag": "text/plain; charset=utf-8",
    ".bin": "application/octet-stream",
    ".txt": "text/plain; charset=utf-8",
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One file of the site: its name below the base, SHA-256 in hex, bytes and media type."""

    name: str
    sha256: str
    size: int
    media_type: str


def media_type(name: str) -> str:
    """Return the media type that a file is served with."""
    return TYPES.get(Path(name).suffix, "application/octet-stream")


def list_files(site: Path) -> list[Entry]:
    """Return the files that the service worker keeps, sorted by name."""
    entries: list[Entry] = []
    for path in site.rglob("*"):
        name = path.relative_to(site).as_posix()
        if not path.is_file() or name in {SERVICE_WORKER, NOTICES}:
            continue
        content = path.read_bytes()
        digest = hashlib.sha256(content).hexdigest()
        entries.append(Entry(name, digest, len(content), media_type(name)))
    return sorted(entries, key=lambda entry: entry.name)


def build_id(entries: list[Entry], template: str) -> str:
    """Return the build's name: the same files and service worker give the same name."""
    listing = "\n".join(f"{entry.sha256} {entry.name}" for entry in entries)
    short = json.dumps(short_pages(SOURCES), sort_keys=True)
    return hashlib.sha256(f"{template}\n{short}\n{listing}".encode()).hexdigest()[:12]


def page_parts(site: Path) -> dict[str, list[str]]:
    """Return for each page the scripts and styles that it cannot do without."""
    return {
        page.relative_to(site).as_posix(): [
            name
            for name in _PART.findall(page.read_text(encoding="utf-8"))
            if (site / name).is_file()
        ]
        for page in sorted(site.glob("*.html"))
    }


def write_service_worker(site: Path, template: str, *, base: str, build: str) -> None:
    """Write the service worker with the list of files in it."""
    files = {entry.name: [entry.sha256, entry.size, entry.media_type] for entry in list_files(site)}
    settings = {
        "base": base,
        "build": build,
        "policy": content_security_policy(),
        "files": files,
        "parts": page_parts(site),
        "short": short_pages(SOURCES),
    }
    text = template.replace("__SETTINGS__", json.dumps(settings, sort_keys=True), 1)
    (site / SERVICE_WORKER).write_text(text, encoding="utf-8", newline="\n")
