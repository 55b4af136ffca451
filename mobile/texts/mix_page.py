"""Words around the guided procedures."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "about": "Step by step, with nothing to skip. Leave at any time: it goes on where you were.",
    "under_way": "Under way: step {place} of {steps}",
    "open": "Under way",
    "group_care": "Daily and weekly care",
    "group_happened": "When something happened",
    "group_equipment": "New or changed equipment",
    "group_away": "Going away",
    "group_other": "For another way of giving limewater",
    "last_done": "Last done: {ago}.",
    "tools": "Have ready",
    "risks": "What can go wrong",
    "first_aid": "First aid",
    "use_amount": "Use this number",
    "stop_yes": "Yes, stop here",
    "stop_no": "No, go on",
    "ahead_show": "Read ahead",
    "ahead_hide": "Close the list",
    "leave": "To the list of procedures",
    "once_more": "To do it again",
}
