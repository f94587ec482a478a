"""Pieces of a page: everything that was read is text, whatever it looks like."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from html import escape

from ohmward._marks import STATES, VERDICTS, Mark

__all__ = ["Html", "document", "element", "joined", "marked", "paragraph", "section", "table"]

LONGEST_TEXT = 1000
_STYLE = """
@page { size: A4; margin: 13mm 12mm 14mm }
@page wide { size: A4 landscape }
:root { color: #1a1a1a; background: #fff; font: 15px/1.45 "Liberation Sans", Arial, Helvetica, sans-serif }
body { max-width: 64rem; margin: 0 auto; padding: 1.2rem }
h1 { font-size: 1.45rem; margin: 0 0 .2rem } h2 { font-size: 1.12rem; margin: 2rem 0 .4rem;
  border-bottom: 1px solid #999 }
h3 { font-size: .95rem; margin: 1.2rem 0 .2rem } p, ul, ol { margin: .4rem 0 } ul, ol { padding-left: 1.3rem }
.lead { font-size: 1.15rem; margin: .8rem 0 } .quiet { color: #555; font-size: .84rem }
.wide { page: wide } .due { width: 11% } .action { width: 27% } .finding { width: 30% }
table { border-collapse: collapse; width: 100%; font-size: .82rem; margin: .4rem 0 }
th, td { text-align: left; vertical-align: top; padding: .22rem .5rem .22rem 0;
  border-bottom: 1px solid #ddd; overflow-wrap: anywhere }
th { border-bottom: 1px solid #555; overflow-wrap: normal } td.number, th.number { text-align: right }
td.fixed, th.fixed { white-space: nowrap; overflow-wrap: normal }
td.fill { border-bottom: 1px solid #555 } .fill { width: 10% }
td.typed { font-family: "Liberation Mono", monospace; white-space: pre-wrap }
figure { margin: .6rem 0 } figure img { width: 100%; height: auto }
@media print { :root { font-size: 9.6pt } body { padding: 0; max-width: none } h2, h3 { break-after: avoid }
  tr, li, figure { break-inside: avoid } thead { display: table-header-group } }
"""
# No script, no address: the page holds all that it shows, and says so to the browser.
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"


class Html(str):
    """Text that is markup already; any other text is escaped."""


def shown(text: str) -> Html:
    """Escape a text; characters that a reader can not see, or that turn the writing direction, are spelt out."""
    cut = text if len(text) <= LONGEST_TEXT else f"{text[:LONGEST_TEXT]}… ({len(text):,} characters)"
    return Html(escape("".join(_visible(character) for character in cut)))


def _visible(character: str) -> str:
    hidden = unicodedata.category(character) in ("Cc", "Cf", "Cs", "Zl", "Zp") and character != "\n"
    return f"\\u{ord(character):04x}" if hidden else character


def content(piece: object) -> Html:
    """Return markup as it is, anything else escaped."""
    return piece if isinstance(piece, Html) else shown(str(piece))


def joined(*pieces: object) -> Html:
    """Put pieces one after the other."""
    return Html("".join(content(piece) for piece in pieces))


def element(name: str, *pieces: object, **attributes: str) -> Html:
    """Return one element; ``class_`` stands for ``class``."""
    given = "".join(f' {key.rstrip("_")}="{escape(value)}"' for key, value in attributes.items())
    return Html(f"<{name}{given}>{joined(*pieces)}</{name}>")


def paragraph(*pieces: object, class_: str = "") -> Html:
    """Return a paragraph."""
    return element("p", *pieces, class_=class_) if class_ else element("p", *pieces)


def section(title: str, *pieces: object, wide: bool = False) -> Html:
    """Return a section under its heading; a wide one lies across its own sheets of paper."""
    return element("section", element("h2", title), *pieces, class_="wide" if wide else "upright")


def table(headers: Sequence[str], rows: Iterable[Sequence[object]], *, classes: Sequence[str] = ()) -> Html:
    """Return a table; ``classes`` gives each column its look."""
    looks = list(classes) or [""] * len(headers)
    head = element(
        "thead", element("tr", *(_cell("th", text, look) for text, look in zip(headers, looks, strict=True)))
    )
    body = (element("tr", *(_cell("td", cell, look) for cell, look in zip(row, looks, strict=True))) for row in rows)
    return element("table", head, element("tbody", *body))


def _cell(name: str, piece: object, look: str) -> Html:
    return element(name, piece, class_=look) if look else element(name, piece)


def marked(word: str) -> Html:
    """Return a verdict or a state with its mark."""
    mark: Mark = STATES[word] if word in STATES else VERDICTS[word]
    symbol = element("span", mark.symbol, style=f"color:{mark.colour}", aria_hidden_="true")
    return element("span", symbol, " ", word.replace("_", " "), class_="fixed")


def document(title: str, *pieces: object) -> str:
    """Return the whole page."""
    head = joined(
        Html('<meta charset="utf-8">'),
        Html(f'<meta http-equiv="Content-Security-Policy" content="{escape(_POLICY)}">'),
        Html('<meta name="viewport" content="width=device-width">'),
        element("title", title),
        Html(f"<style>{_STYLE}</style>"),
    )
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n<body>{joined(*pieces)}</body></html>\n'
