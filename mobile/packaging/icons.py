"""The icon font: only the icons that the app and Flutter's own controls use.

`make_icon_font.py` writes the subset once; the build checks that it still covers the sources and
ships the whole font when it does not, so that no icon is ever missing on a phone.
"""

import json
import re
from pathlib import Path

from mobile.packaging import client

SUBSET = Path("assets/fonts/material-icons-subset.otf")
LISTING = Path("assets/fonts/material-icons-subset.json")
# Drawn by Flutter's own controls without our naming them: back, menu, drop-downs, pickers, search.
FRAMEWORK_ICONS = frozenset(
    {
        "ACCESS_TIME",
        "ADD",
        "ARROW_BACK",
        "ARROW_BACK_IOS_NEW_ROUNDED",
        "ARROW_DOWNWARD",
        "ARROW_DROP_DOWN",
        "ARROW_DROP_UP",
        "ARROW_FORWARD",
        "ARROW_UPWARD",
        "CALENDAR_TODAY",
        "CANCEL",
        "CHECK",
        "CHECK_CIRCLE",
        "CHEVRON_LEFT",
        "CHEVRON_RIGHT",
        "CLEAR",
        "CLOSE",
        "CONTENT_COPY",
        "DRAG_HANDLE",
        "EDIT",
        "EDIT_OUTLINED",
        "ERROR_OUTLINE",
        "EXPAND_LESS",
        "EXPAND_MORE",
        "KEYBOARD_ARROW_DOWN",
        "KEYBOARD_ARROW_UP",
        "KEYBOARD_OUTLINED",
        "MENU",
        "MORE_HORIZ",
        "MORE_VERT",
        "REMOVE",
        "SCHEDULE",
        "SEARCH",
        "UNFOLD_MORE",
        "WARNING",
    }
)
_NAME = re.compile(r"\bIcons\.([A-Z][A-Z0-9_]*)\b")


def used_icons(root: Path) -> set[str]:
    """Return the names of the icons that the sources below mobile/ use, such as `ADD`."""
    names = set()
    for path in sorted((root / "mobile").rglob("*.py")):
        if "packaging" not in path.parts:
            names |= set(_NAME.findall(path.read_text(encoding="utf-8")))
    return names


def listed_icons(root: Path) -> dict[str, int]:
    """Return name -> code point of the icons in the shipped subset."""
    return json.loads((root / LISTING).read_text(encoding="utf-8"))["icons"]


def copy_icon_font(root: Path, target: Path) -> bool:
    """Copy the subset, or the wheel's whole font when the subset lacks an icon in use.

    Returns
    -------
    bool
        Whether the subset was enough.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    is_subset = used_icons(root) <= listed_icons(root).keys()
    whole = client.wheel_files((client.ICON_FONT,))[client.ICON_FONT]
    target.write_bytes((root / SUBSET).read_bytes() if is_subset else whole)
    return is_subset
