"""Write the icon font subset: `.venv/bin/python -m mobile.packaging.make_icon_font` (dev extra).

Flet sends an icon as its index in a list that is compiled into the client; the client's list
gives the code point in the Material Icons font. Both are read from the installed packages.
"""

import io
import json
import re
from pathlib import Path

import flet
import flet_web.version
from fontTools import subset
from fontTools.ttLib import TTFont

from mobile.packaging import client, icons
from mobile.packaging.build import ROOT
from mobile.packaging.errors import ClientChanged

_CONSTANT = re.compile(r'(?<![\w$])(B\.[\w$]+)=new A\.[\w$]+\((\d+(?:e\d+)?),"MaterialIcons"')
_LONG_LIST = re.compile(r"\[((?:B\.[\w$]+,){2000,}B\.[\w$]+)\]")


def code_points() -> dict[str, int]:
    """Return icon name -> code point in the Material Icons font, for every Material icon.

    Raises
    ------
    ClientChanged
        When the client's icon list does not match flet's.
    """
    listing = Path(flet.__file__).parent / "controls" / "material" / "icons.json"
    encoded = json.loads(listing.read_text(encoding="utf-8"))
    script = (client.wheel_folder() / "main.dart.js").read_text(encoding="utf-8")
    constants = {name: int(float(code)) for name, code in _CONSTANT.findall(script)}
    lists = [match.split(",") for match in _LONG_LIST.findall(script)]
    matching = [names for names in lists if len(names) == len(encoded)]
    if len(matching) != 1:
        raise ClientChanged("main.dart.js", f"one list of {len(encoded)} icons")
    return {name: constants[matching[0][value & 0xFFFF]] for name, value in encoded.items()}


def main() -> None:
    """Write the subset and its listing into assets/fonts."""
    known = code_points()
    wanted = sorted(icons.used_icons(ROOT) | icons.FRAMEWORK_ICONS)
    listed = {name: known[name] for name in wanted}
    font = TTFont(client.wheel_folder() / client.ICON_FONT, recalcTimestamp=False)
    options = subset.Options(layout_features=[], notdef_outline=True, glyph_names=False)
    options.name_IDs = [0, 1, 2, 13, 14]
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=listed.values())
    subsetter.subset(font)
    buffer = io.BytesIO()
    font.save(buffer)
    (ROOT / icons.SUBSET).write_bytes(buffer.getvalue())
    text = json.dumps({"flet_web": flet_web.version.version, "icons": listed}, indent=1)
    (ROOT / icons.LISTING).write_text(text + "\n", encoding="utf-8")
    print(f"{len(listed)} icons, {len(buffer.getvalue())} bytes")


if __name__ == "__main__":
    main()
