"""The minder's sheet as one page of HTML that prints on one A4 page; everything is escaped."""

from collections.abc import Iterable
from html import escape
from string import Template
from typing import Final

from mobile.state.minder import MinderView
from mobile.texts.minder import TEXTS

_PAGE: Final = Template("""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>$title</title>
<style>
@page { size: A4; margin: 11mm; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 12px; max-width: 190mm; color: #111; background: #fff;
  font: 100%/1.35 sans-serif; overflow-wrap: anywhere; }
h1 { font-size: 1.5em; margin: 0; }
h2 { font-size: 1.08em; margin: .75em 0 .2em; border-bottom: 1.5px solid #111; }
p { margin: .15em 0; }
ul, ol { margin: .15em 0; padding-left: 1.4em; }
table { width: 100%; border-collapse: collapse; }
td { padding: .12em .3em .12em 0; vertical-align: top; border-bottom: 1px solid #bbb; }
td:first-child { width: 34%; font-weight: bold; }
.made { color: #444; }
.danger { border: 2.5px solid #111; padding: .2em .7em .5em; margin-top: .8em; }
.danger h2 { margin-top: .2em; }
@media print {
  body { padding: 0; max-width: none; font-size: 9.4pt; line-height: 1.24; }
  .columns { display: grid; grid-template-columns: 1fr 1fr; column-gap: 7mm; }
  .danger { margin-top: 1.5mm; break-inside: avoid; }
}
</style>
</head>
<body>
<h1>$title</h1>
<p class="made">$made</p>
<div class="columns">
<div>
<h2>$normal_title</h2>
<table>$normal</table>
<p class="made">$practice</p>
<h2>$wait_title</h2>
$wait
<h2>$leave_title</h2>
<ul>$leave</ul>
</div>
<div>
<h2>$daily_title</h2>
<ul>$daily</ul>
<h2>$phones_title</h2>
<table>$phones</table>
</div>
</div>
<div class="danger">
<div class="columns">
<div>
<h2>$emergency_title</h2>
<p>$emergency_when</p>
<ol>$steps</ol>
</div>
<div>
<p><b>$bands</b></p>
<h2>$never_title</h2>
<ul>$never</ul>
<h2>$eyes_title</h2>
<ol>$eyes</ol>
<h2>$skin_title</h2>
<ol>$skin</ol>
<p><b>$acid</b></p>
</div>
</div>
</div>
</body>
</html>
""")
_TITLES: Final = (
    "normal_title",
    "wait_title",
    "leave_title",
    "daily_title",
    "phones_title",
    "emergency_title",
    "never_title",
    "eyes_title",
    "skin_title",
)


def minder_html(view: MinderView) -> str:
    """Return the page; what the keeper typed can bring no markup of its own."""
    blank = (TEXTS["phone_keeper"], f"( {TEXTS['phone_blank']} )")
    parts = {
        **{title: escape(TEXTS[title]) for title in _TITLES},
        "title": escape(view.title),
        "made": escape(view.made),
        "normal": _rows(view.normal),
        "practice": escape(view.practice),
        "wait": "".join(f"<p>{escape(text)}</p>" for text in view.wait),
        "leave": _items(view.leave),
        "daily": _items(view.daily),
        "phones": _rows((blank, *view.phones)),
        "emergency_when": escape(view.emergency_when),
        "steps": _items(view.steps),
        "bands": escape(view.bands),
        "never": _items(view.never),
        "eyes": _items(view.eyes),
        "skin": _items(view.skin),
        "acid": escape(view.acid),
    }
    return _PAGE.substitute(parts)


def _items(texts: Iterable[str]) -> str:
    return "".join(f"<li>{escape(text)}</li>" for text in texts)


def _rows(rows: Iterable[tuple[str, str]]) -> str:
    return "".join(f"<tr><td>{escape(a)}</td><td>{escape(b)}</td></tr>" for a, b in rows)
