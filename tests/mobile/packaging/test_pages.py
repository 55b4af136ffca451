"""Our static pages: readable colours, short sentences, no name of another machine or service."""

import html.parser
import re

import pytest

from mobile.packaging.build import SOURCES

LONGEST_words = 18
PURE = ("journal_bytes.js", "journal_reader.js", "recovery_records.js", "recovery_words.js")
READS_STORES = ("recovery.js", "recovery_stores.js")
WRITES = (
    *("create: true", "createSyncAccessHandle", "createWritable", "removeEntry", "locks"),
    *("readwrite", "deleteDatabase", "createObjectStore", ".put(", ".delete(", ".clear("),
    *("caches", "localStorage", "fetch("),
)


def tokens(scheme: str) -> dict[str, str]:
    text = (SOURCES / "tokens.css").read_text(encoding="utf-8")
    light, dark = text.split("@media (prefers-color-scheme: dark)")
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", light if scheme == "light" else dark))


def luminance(colour: str) -> float:
    """Return the relative luminance of WCAG 2.2."""
    channels = [int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(first: str, second: str) -> float:
    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    ("ink", "ground", "least"),
    [
        ("ink", "ground", 7.0),
        ("ink", "surface", 7.0),
        ("ink", "danger-soft", 7.0),
        ("ink", "accent-soft", 7.0),
        ("ink-soft", "ground", 4.5),
        ("ink-soft", "surface", 4.5),
        ("on-accent", "accent", 4.5),
        ("on-danger", "danger", 4.5),
        ("danger-ink", "ground", 4.5),
        ("danger-ink", "surface", 4.5),
        ("accent", "ground", 3.0),
        ("line", "ground", 3.0),
        ("line", "surface", 3.0),
        ("danger", "ground", 3.0),
    ],
)
def test_colours_stand_apart(scheme: str, ink: str, ground: str, least: float) -> None:
    colours = tokens(scheme)
    assert contrast(colours[ink], colours[ground]) >= least


def test_both_schemes_have_the_same_tokens() -> None:
    assert tokens("light").keys() == tokens("dark").keys()


class _Blocks(html.parser.HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.blocks: list[str] = []
        self._in_body = False

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self._in_body = self._in_body or tag == "body"
        if tag in {"p", "li", "dt", "dd", "h1", "h2", "h3"}:
            self.blocks.append("")

    def handle_data(self, data: str) -> None:
        if self._in_body and self.blocks:
            self.blocks[-1] += data


def too_long(blocks: list[str]) -> list[str]:
    sentences = [part for block in blocks for part in re.split(r"(?<=[.?!:])\s+", block) if part]
    return [text for text in sentences if len(text.split()) > LONGEST_words]


def blocks_of(page: str) -> list[str]:
    parser = _Blocks()
    parser.feed((SOURCES / page).read_text(encoding="utf-8"))
    return [" ".join(block.split()) for block in parser.blocks]


def test_sentences_of_the_card_are_short() -> None:
    blocks = blocks_of("emergency.html")
    blocks = blocks[: blocks.index("Sources")]  # references are no sentences
    assert len(blocks) > 60
    assert too_long(blocks) == []


def test_sentences_of_the_recovery_page_are_short() -> None:
    blocks = blocks_of("recovery.html")
    assert len(blocks) > 8
    for name in ("recovery.js", "recovery_words.js"):
        script = (SOURCES / name).read_text(encoding="utf-8")
        said = re.findall(r"['`]([A-Z][^'`]* [^'`]*)['`]", script)
        assert len(said) > 8, name
        blocks += said
    assert too_long(blocks) == []


def test_the_card_needs_nothing_from_the_app() -> None:
    page = (SOURCES / "emergency.html").read_text(encoding="utf-8")
    linked = set(re.findall(r'(?:src|href)="([^"#]+)"', page))
    assert linked == {
        *("tokens.css", "emergency.css", "icons/mark.svg"),
        *("names.js", "emergency.js", "./", "recovery.html"),
    }


def test_the_recovery_page_needs_nothing_from_the_app() -> None:
    page = (SOURCES / "recovery.html").read_text(encoding="utf-8")
    linked = set(re.findall(r'(?:src|href)="([^"#]+)"', page))
    assert linked == {
        *("tokens.css", "emergency.css", "recovery.css", "recovery.js", "icons/mark.svg"),
        *("./", "emergency.html"),
    }
    todo, loaded = ["recovery.js"], set[str]()
    while todo:
        name = todo.pop()
        loaded.add(name)
        script = (SOURCES / name).read_text(encoding="utf-8")
        todo += set(re.findall(r"from '\./([^']+)'", script)) - loaded
    assert loaded == {*READS_STORES, *PURE}


def test_the_recovery_page_looks_as_the_card_does_without_its_red() -> None:
    style = (SOURCES / "recovery.css").read_text(encoding="utf-8")
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b|\b(?:rgb|hsl|color-mix)\(|@font-face", style) == []
    assert "danger" not in style
    used = set(re.findall(r"var\(--([\w-]+)\)", style))
    assert used <= tokens("light").keys() | {"font", "touch"}
    page = (SOURCES / "recovery.html").read_text(encoding="utf-8")
    sheets = re.findall(r'rel="stylesheet" href="([^"]+)"', page)
    assert sheets == ["tokens.css", "emergency.css", "recovery.css"]
    card = (SOURCES / "emergency.html").read_text(encoding="utf-8")
    policy = re.compile(r'Content-Security-Policy" content="([^"]+)"')
    assert policy.findall(page) == policy.findall(card)


@pytest.mark.parametrize("name", READS_STORES)
def test_the_recovery_page_only_reads(name: str) -> None:
    script = (SOURCES / name).read_text(encoding="utf-8")
    assert [writes for writes in WRITES if writes in script] == []


@pytest.mark.parametrize("name", PURE)
def test_the_second_reader_knows_neither_page_nor_store(name: str) -> None:
    script = (SOURCES / name).read_text(encoding="utf-8")
    knows = r"\b(?:navigator|indexedDB|window|document|Date\.now|new Date\(\))[.(\[]"
    assert re.findall(knows, script) == []


def test_our_sources_name_no_other_origin() -> None:
    for path in sorted(SOURCES.iterdir()):
        found = re.findall(r"https?://[^\s'\"`)]+", path.read_text(encoding="utf-8"))
        assert found == [], path.name
