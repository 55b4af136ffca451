"""Write the UI fonts: `.venv/bin/python -m mobile.packaging.make_fonts LATIN_FOLDER NOTO_FOLDER`.

Run by hand (dev extra). LATIN_FOLDER holds the woff2 files of the npm package
@fontsource/atkinson-hyperlegible-next 5.3.0: letters drawn so that 1, l, I and 6, 8, 9, B stay
apart for poor sight. It has no Greek, Cyrillic or chemical signs: those come from Noto Sans and
its symbol fonts in NOTO_FOLDER (Debian fonts-noto-core). All are under the SIL Open Font License
1.1, so the merged font is too, under a name of its own. Digits are the tabular ones, so that a
column of doses lines up.

Also writes fallback.ttf, in which every code point is a box: it answers the client's requests for
glyphs that no shipped font has (an emoji pasted into a note).
"""

# fontTools builds its tables at run time; its stubs do not know their fields.
# pyright: reportAttributeAccessIssue=false, reportArgumentType=false

import sys
import tempfile
from pathlib import Path

from fontTools import merge, subset
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables._c_m_a_p import CmapSubtable

from mobile.packaging.build import ROOT

FAMILY = "Sumpside Sans"
FONTS = ROOT / "assets" / "fonts"
FIXED_DATE = 3_786_912_000  # seconds since 1904: the same input gives the same bytes


def _span(first: int, last: int) -> set[int]:
    return set(range(first, last + 1))


# Greek, Cyrillic, super- and subscripts, letterlike signs, fractions.
TEXT_SIGNS = _span(0x370, 0x3FF) | _span(0x400, 0x45F) | _span(0x490, 0x491) | {0xB5, 0x1E9E}
TEXT_SIGNS |= _span(0x2070, 0x209C) | _span(0x2150, 0x215E) | {0x2116, 0x2126, 0x212B, 0xFFFD}
MATH_SIGNS = {ord(sign) for sign in "←↑→↓↔⇌−≈≠≡≤≥≲≳∞√∑Δ∂∫∆∝∼"}
PICTURE_SIGNS = {ord(sign) for sign in "✓✗✔✘⚠"}


def main(latin: Path, noto: Path) -> None:
    """Write both weights and the fallback font."""
    for weight, style in ((400, "Regular"), (700, "Bold")):
        with tempfile.TemporaryDirectory() as scratch:
            _write_weight(Path(scratch), latin, noto, weight, style)
    write_fallback(FONTS / "fallback.ttf")
    for path in [*sorted(FONTS.glob("*.woff2")), FONTS / "fallback.ttf"]:
        print(path.name, path.stat().st_size, "bytes", len(TTFont(path).getBestCmap()), "signs")


def _write_weight(scratch: Path, latin: Path, noto: Path, weight: int, style: str) -> None:
    name = "atkinson-hyperlegible-next-{}-{}-normal.woff2"
    symbols = noto / "NotoSansSymbols2-Regular.ttf"
    sources = [
        (latin / name.format("latin", weight), None),
        (latin / name.format("latin-ext", weight), None),
        (noto / f"NotoSans-{style}.ttf", TEXT_SIGNS),
        (noto / "NotoSansMath-Regular.ttf", MATH_SIGNS),
        (symbols, PICTURE_SIGNS),
    ]
    taken: set[int] = set()
    parts = []
    for number, (source, wanted) in enumerate(sources):
        font = TTFont(source, recalcTimestamp=False)
        if number == 0:
            _take_tabular_digits(font)
        has = set(font.getBestCmap())
        keep = (has if wanted is None else has & wanted) - taken
        taken |= keep
        parts.append(_subset(font, keep, scratch / f"{number}.ttf"))
    merged = merge.Merger().merge([str(part) for part in parts])
    _name(merged, style, weight)
    first = TTFont(sources[0][0])
    for table, field in (
        ("hhea", "ascent"),
        ("hhea", "descent"),
        ("hhea", "lineGap"),
        ("OS/2", "sTypoAscender"),
        ("OS/2", "sTypoDescender"),
        ("OS/2", "sTypoLineGap"),
        ("OS/2", "usWinAscent"),
        ("OS/2", "usWinDescent"),
    ):
        setattr(merged[table], field, getattr(first[table], field))
    merged.recalcTimestamp = False
    merged["head"].created = merged["head"].modified = FIXED_DATE
    merged.flavor = "woff2"
    merged.save(FONTS / f"sumpside-sans-{weight}.woff2")


def _take_tabular_digits(font: TTFont) -> None:
    """Make the digits of equal width the usual ones."""
    features = font["GSUB"].table.FeatureList.FeatureRecord
    lookups = font["GSUB"].table.LookupList.Lookup
    tabular = {
        old: new
        for record in features
        if record.FeatureTag == "tnum"
        for index in record.Feature.LookupListIndex
        for table in lookups[index].SubTable
        for old, new in getattr(table, "ExtSubTable", table).mapping.items()
    }
    for table in font["cmap"].tables:
        for digit in range(ord("0"), ord("9") + 1):
            if digit in table.cmap:
                table.cmap[digit] = tabular.get(table.cmap[digit], table.cmap[digit])


def _subset(font: TTFont, keep: set[int], target: Path) -> Path:
    options = subset.Options(layout_features=["kern", "mark", "mkmk", "ccmp", "locl"])
    options.hinting = False
    options.drop_tables += ["STAT", "DSIG", "MATH"]
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=keep)
    subsetter.subset(font)
    font.flavor = None
    font.save(target)
    return target


def _name(font: TTFont, style: str, weight: int) -> None:
    names = font["name"]
    names.names = []
    texts = {
        0: "Derived from Atkinson Hyperlegible Next, copyright 2020-2024 its project authors, and "
        "Noto Sans, copyright 2015-2018 Google LLC",
        1: FAMILY,
        2: style,
        3: f"{FAMILY} {style} 1",
        4: f"{FAMILY} {style}",
        5: "Version 1.000",
        6: f"SumpsideSans-{style}",
        13: "SIL Open Font License, Version 1.1",
        14: "https://openfontlicense.org",
    }
    for number, text in texts.items():
        names.setName(text, number, 3, 1, 0x409)
    font["OS/2"].usWeightClass = weight


def write_fallback(target: Path) -> None:
    """Write a font of one glyph, a box, to which every code point is mapped."""
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder([".notdef", "box"])
    pen = TTGlyphPen(None)
    for points in (
        [(80, 0), (80, 700), (520, 700), (520, 0)],
        [(130, 50), (470, 50), (470, 650), (130, 650)],
    ):
        pen.moveTo(points[0])
        for point in points[1:]:
            pen.lineTo(point)
        pen.closePath()
    glyph = pen.glyph()
    builder.setupCharacterMap({0x41: "box"})
    builder.setupGlyf({".notdef": glyph, "box": glyph})
    builder.setupHorizontalMetrics({".notdef": (600, 80), "box": (600, 80)})
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Sumpside Boxes", "styleName": "Regular"})
    builder.setupOS2(sTypoAscender=800)
    builder.setupPost()
    every = CmapSubtable.newSubtable(13)
    every.platformID, every.platEncID, every.format = 3, 10, 13
    every.reserved = every.length = every.language = 0
    every.nGroups = 1
    every.cmap = {code: "box" for code in range(0x20, 0x110000) if not 0xD800 <= code <= 0xDFFF}
    builder.font["cmap"].tables.append(every)
    builder.font["head"].created = builder.font["head"].modified = FIXED_DATE
    builder.font.recalcTimestamp = False
    builder.font.save(target)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
