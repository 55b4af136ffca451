"""Every citation in the engine leads to a full reference."""

import re
from pathlib import Path

from engine.chemistry.sources import SOURCES, Mark

ENGINE = Path(__file__).parents[2] / "engine"
CITATION = re.compile(r"\[([A-Z][A-Z0-9]*\d\d[a-z]?)\]")


def cited_keys() -> set[str]:
    text = "\n".join(path.read_text(encoding="utf-8") for path in ENGINE.rglob("*.py"))
    return set(CITATION.findall(text))


def test_every_cited_key_has_a_full_reference():
    assert cited_keys() - set(SOURCES) == set()


def test_chemistry_cites_its_sources():
    assert {"LDK00", "D90b", "M83", "W74", "UNESCO83", "PSS78", "BBS56"} <= cited_keys()


def test_a_source_from_memory_is_marked_and_none_is_without_text():
    assert all(source.text for source in SOURCES.values())
    assert SOURCES["LDK00"].mark is Mark.MEMORY
    assert SOURCES["BBS56"].mark is Mark.OPENED
