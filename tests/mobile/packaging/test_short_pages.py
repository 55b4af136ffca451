"""The pages that the service worker carries: complete in themselves, the card's words unchanged."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from mobile.packaging.build import SOURCES
from mobile.packaging.errors import BuildFailed
from mobile.packaging.short_pages import PREFIX, short_pages


class _Words(HTMLParser):
    """The text of each list item, paragraph, term and heading."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag in {"p", "li", "dt", "dd", "h1", "h2", "h3", "style"}:
            self.found.append("")

    def handle_data(self, data: str) -> None:
        if self.found:
            self.found[-1] += data


def words(html: str) -> list[str]:
    parser = _Words()
    parser.feed(html[html.index("<body>") :])
    return [" ".join(text.split()) for text in parser.found if text.strip()]


def full_card() -> str:
    return (SOURCES / "emergency.html").read_text(encoding="utf-8")


def test_every_word_of_the_short_card_but_its_own_three_lines_is_the_full_cards() -> None:
    short = words(short_pages(SOURCES)["card"])
    own = [text for text in short if text not in words(full_card())]
    assert own == [
        "Short card: the full card could not be loaded.",
        "Your own figures and telephone numbers are not shown here.",
        "Load the full card",
    ]


@pytest.mark.parametrize("heading", ["Do now", "Never", "First aid", "Change water"])
def test_what_must_be_done_is_on_the_short_card_whole(heading: str) -> None:
    def part(html: str) -> list[str]:
        section = html[html.index(f"<h2>{heading}</h2>") :].partition("</section>")[0]
        return words(f"<body>{section}")

    assert len(part(full_card())) > 5
    assert part(short_pages(SOURCES)["card"]) == part(full_card())


def test_emergency_numbers_come_first_on_both() -> None:
    line = "Emergency number, poison centre and vet come before any app."
    assert line in words(short_pages(SOURCES)["card"])


@pytest.mark.parametrize("name", ["card", "start"])
def test_a_short_page_needs_no_file(name: str) -> None:
    page = short_pages(SOURCES)[name]
    assert re.findall(r"<(?:script|link|img|iframe)", page) == []
    assert "url(" not in page
    assert "@import" not in page
    assert set(re.findall(r'href="([^"]*)"', page)) <= {
        "#first-aid",
        "__BASE__",
        "__BASE__emergency.html",
        "__BASE__recovery.html",
    }
    assert set(re.findall(r"__[A-Z]+__", page)) <= {"__BASE__", "__FILE__"}


def test_the_build_stops_when_the_full_card_loses_a_section(tmp_path: Path) -> None:
    for path in SOURCES.iterdir():
        if path.name.startswith(PREFIX) or path.name in {"tokens.css", "emergency.html"}:
            (tmp_path / path.name).write_bytes(path.read_bytes())
    assert short_pages(tmp_path) == short_pages(SOURCES)
    lost = full_card().replace("<h2>First aid</h2>", "<h2>Help</h2>")
    (tmp_path / "emergency.html").write_text(lost, encoding="utf-8")
    with pytest.raises(BuildFailed, match="First aid"):
        short_pages(tmp_path)
