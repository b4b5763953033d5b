"""The report as one self-contained HTML file that prints to A4.

Conventions: no script, no address outside the file; every text from the user
is escaped; pictures and the hentaigana font (only when such letters occur)
are embedded as data. Columns are set vertically, from the right.
"""

from __future__ import annotations

import base64
import re
from html import escape
from pathlib import Path

from readaid.core.places import hentaigana_font
from readaid.report.document import (
    Block,
    Document,
    Edition,
    Facts,
    Link,
    Paragraph,
    Picture,
    Points,
    Row,
    Section,
    Table,
    VerseLines,
    Versions,
)
from readaid.report.edition import DOT, DOUBT, EditionSign, State, japanese, leiden

STYLE = Path(__file__).with_name("report.css")


def render(document: Document) -> bytes:
    """The document as UTF-8 HTML."""
    body = _parts(document)
    style = STYLE.read_text(encoding="utf-8")
    if _HENTAIGANA.search(body):
        style = _font() + style
    return f"""<!DOCTYPE html>
<html lang="{document.language}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="generator" content="{escape(document.program)}">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; style-src 'unsafe-inline'; \
font-src data:">
<title>{escape(document.title)}</title>
<style>
{style}</style>
</head>
<body>
<header>
<h1>{escape(document.title)}</h1>
<p class="subtitle">{escape(document.subtitle)}</p>
</header>
<main>
{body}</main>
<footer>{escape(document.program)} · {escape(document.made)}</footer>
</body>
</html>
""".encode()


def _font() -> str:
    data = hentaigana_font().read_bytes()
    return ("@font-face { font-family: 'Readaid Hentaigana'; src: url(data:font/woff2;base64,"
            f"{base64.b64encode(data).decode()}) format('woff2'); unicode-range: U+1B000-1B12F; }}\n")


def _parts(document: Document) -> str:
    """The entry and, on new pages, the evidence behind it."""
    out = []
    for part in ("entry", "evidence"):
        held = "".join(_section(s, document) for s in document.sections if s.part == part)
        out += [f'<div class="part {part}">\n{held}</div>\n'] if held else []
    return "".join(out)


def _section(section: Section, document: Document) -> str:
    level = min(max(section.level, 2), 4)
    blocks = "\n".join(_block(b, document) for b in section.blocks)
    head = f"<h{level}>{escape(section.title)}</h{level}>\n" if section.title else ""
    return (f'<section id="{escape(section.key, quote=True)}">\n{head}'
            f"{blocks}\n</section>\n")


def _block(block: Block, document: Document) -> str:
    match block:
        case Paragraph(text, role):
            shown = _text(text)
            return f'<p class="{escape(role)}">{shown}</p>' if role else f"<p>{shown}</p>"
        case Points(items, role):
            rows = "".join(f"<li>{_text(i)}</li>" for i in items)
            return f'<ul class="{escape(role)}">{rows}</ul>' if role else f"<ul>{rows}</ul>"
        case Facts(rows):
            return "<dl>" + "".join(f"<dt>{escape(k)}</dt><dd>{_text(v)}</dd>" for k, v in rows) + "</dl>"
        case Picture():
            caption = f"<figcaption>{escape(block.caption)}</figcaption>" if block.caption else ""
            return f"<figure>{_image(block)}{caption}</figure>"
        case Table():
            return _table(block)
        case Edition():
            return _edition(block, document)
        case VerseLines():
            return _verse(block)
        case Versions(rows):
            return '<dl class="versions">' + "".join(
                f'<dt>{escape(v.label)}</dt><dd lang="{escape(v.language, quote=True)}">{_text(v.text)}</dd>'
                for v in rows) + "</dl>"
        case Row(cells):
            inner = "".join("<div>" + "\n".join(_block(b, document) for b in cell) + "</div>" for cell in cells)
            return f'<div class="row">{inner}</div>'
        case Link(label, address):
            return f'<p><a href="{escape(address, quote=True)}">{escape(label)}</a></p>'
    raise TypeError(f"no rendering for {type(block).__name__}")


def _text(text: str) -> str:
    """Escaped text; a sign with the combining dot becomes one with the browser's own dot, which every font shows."""
    return _DOTTED.sub(r'<span class="unclear" lang="ja">\1</span>', escape(text)).replace("\n", "<br>")


_DOTTED = re.compile(f"(.){DOT}")
#: The two Unicode blocks that hold hentaigana; a regular expression since the body holds megabytes of pictures.
_HENTAIGANA = re.compile("[\U0001b000-\U0001b12f]")


def _image(picture: Picture) -> str:
    data = base64.b64encode(picture.data).decode()
    return (f'<img src="data:{picture.media};base64,{data}" alt="{escape(picture.alt, quote=True)}" '
            f'style="width:{picture.width_mm:g}mm">')


def _table(table: Table) -> str:
    head = "".join(f'<th scope="col">{escape(h)}</th>' for h in table.headings)
    rows = []
    for row in table.rows:
        cells = []
        for cell in row:
            image = _image(cell.picture) if cell.picture else ""
            text = "".join(c + DOT for c in cell.text) if cell.dotted else cell.text
            cells.append(f'<td{" class=ja lang=ja" if cell.japanese else ""}>{image}{_text(text)}</td>')
        rows.append(f"<tr>{''.join(cells)}</tr>")
    caption = f"<caption>{escape(table.caption)}</caption>" if table.caption else ""
    return f"<table>{caption}<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"


def _edition(block: Edition, document: Document) -> str:
    columns = []
    for column in block.text.columns:
        signs = "".join(_sign(s, document.edition) for s in column)
        end = '<span class="mark">」</span>' if document.edition == "japanese" else ""
        columns.append(f'<span class="column">{signs}{end}</span>')
    caption = f"<figcaption>{escape(block.caption)}</figcaption>" if block.caption else ""
    return f'<figure>{caption}<div class="edition" lang="ja">{"".join(columns)}</div></figure>'


def _sign(sign: EditionSign, edition: str) -> str:
    if edition == "japanese" and sign.doubtful and sign.state in (State.CLEAR, State.UNCLEAR):
        return f'<ruby class="unclear-ja">{escape(sign.text)}<rt>{DOUBT}</rt></ruby>'  # set beside the sign in print
    marked = leiden(sign) if edition == "leiden" else japanese(sign)
    if edition == "leiden" and sign.state is State.UNCLEAR:
        return _text(marked)
    return f'<span class="{sign.state.value}">{_text(marked)}</span>'


def _verse(block: VerseLines) -> str:
    rows = []
    for n, line in enumerate(block.lines):
        morae = f"{block.morae[n]} {block.unit}" if n < len(block.morae) else ""
        off = block.surplus[n] if n < len(block.surplus) else 0
        told = f'<span class="off">{off:+d}</span>' if off else "<span></span>"
        rows.append(f'<span lang="ja">{escape(line)}</span><span class="m">{morae}</span>{told}')
    return f'<div class="verse">{"".join(rows)}</div><p class="note">{escape(block.form)}</p>'
