"""Nesting is counted before parsing: in the browser the parser's overflow cannot be caught."""

import json

import pytest

from engine.log.json_depth import is_deeper_than


@pytest.mark.parametrize(
    ("text", "deeper"),
    [
        ("[[[]]]", False),
        ("[[[[]]]]", True),
        ('{"a": {"b": {"c": {}}}}', True),
        ("[[[" * 100_000, True),
        ('["[[[[[[[[", "{{{{{{"]', False),
        (json.dumps(["\\", '"[[[[['] * 3), False),
        ("[] [] [] [] []", False),
        ("", False),
    ],
)
def test_brackets_outside_of_strings_count(text: str, deeper: bool) -> None:
    assert is_deeper_than(text, 3) is deeper
