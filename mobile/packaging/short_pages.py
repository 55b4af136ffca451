"""The two pages carried in the service worker's own script, for when a page's file is gone.

The short emergency card has its words from emergency.html, section by section, so that the two
never differ. Neither needs a font, an image, a style file or a script.
"""

import re
from pathlib import Path

from mobile.packaging.errors import BuildFailed

PREFIX = "short_"
_NOW = "Do now"
_REST = ("How bad is it?", "Change water", "Never", "First aid")
_SECTION = re.compile(r"<section[^>]*>.*?</section>", re.DOTALL)
_HEADING = re.compile(r"<h2>(.*?)</h2>")
_PEOPLE = re.compile(r'<p class="people">.*?</p>', re.DOTALL)
_FONT = re.compile(r"@font-face \{.*?\}\n", re.DOTALL)
_COMMENT = re.compile(r"/\*.*?\*/\n?", re.DOTALL)


def short_pages(sources: Path) -> dict[str, str]:
    """Return the short pages by name: `card` and `start`.

    `__FILE__` and `__BASE__` are left for the service worker to fill.

    Raises
    ------
    BuildFailed
        The full card lacks a section that the short one must have.
    """
    style = "".join(
        _COMMENT.sub("", _read(sources / name)) for name in ("tokens.css", "short_pages.css")
    )
    now, rest = _card(_read(sources / "emergency.html"))
    values = {"__STYLE__": _FONT.sub("", style), "__NOW__": now, "__REST__": rest}
    pages = {}
    for name in ("card", "start"):
        page = _read(sources / f"{PREFIX}{name}.html")
        for mark, value in values.items():
            page = page.replace(mark, value)
        pages[name] = page
    return pages


def _card(full: str) -> tuple[str, str]:
    people = _PEOPLE.search(full)
    found = {
        heading.group(1): section
        for section in _SECTION.findall(full)
        if (heading := _HEADING.search(section))
    }
    missing = [heading for heading in (_NOW, *_REST) if heading not in found]
    if missing or people is None:
        raise BuildFailed(f"emergency.html lacks what the short card takes from it: {missing}")
    return f"{people.group()}\n{found[_NOW]}", "\n".join(found[heading] for heading in _REST)


def _read(path: Path) -> str:
    return path.read_text(encoding="utf-8")
