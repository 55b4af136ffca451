"""How deeply a JSON text is nested, told before it is parsed.

In the browser's Python a deeply nested text overflows the stack of the page: `json.loads` ends the
whole interpreter there, and no exception can be caught. So the brackets are counted first.
"""

import re
from typing import Final

# Far below what the bundled Pyodide survives (it dies between 4,000 and 8,000 levels).
DEEPEST: Final = 100
_MARKS: Final = re.compile(r'\\.|["\[\]{}]', re.DOTALL)


def is_deeper_than(text: str, levels: int = DEEPEST) -> bool:
    """Tell whether a text nests brackets outside of strings deeper than so many levels."""
    if text.count("[") + text.count("{") <= levels:
        return False
    depth = 0
    in_text = False
    for mark in _MARKS.findall(text):
        if mark == '"':
            in_text = not in_text
        elif not in_text and mark in "[]{}":
            depth += 1 if mark in "[{" else -1
            if depth > levels:
                return True
    return False
