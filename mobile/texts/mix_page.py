"""Words around the guided procedures."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "about": "Step by step, with nothing to skip. Leave at any time: it goes on where you were.",
    "under_way": "Under way: step {place} of {steps}",
    "use_amount": "This much went in",
    "stop_yes": "Yes, stop here",
    "stop_no": "No, go on",
    "ahead_show": "Read ahead",
    "ahead_hide": "Close the list",
    "leave": "To the list of procedures",
}
