"""A worksheet to print, for a teacher without a computer: numbered zones and lines to write on.

Conventions: one HTML file, A4, no script and nothing from outside. Columns from the right as on the piece; numbers
are the reading order. Crops come as image bytes from ``crop``, so that this room opens no photo.
"""

from __future__ import annotations

import base64
from collections.abc import Callable
from html import escape
from pathlib import Path

from readaid.core.character import Character, Inscription
from readaid.core.contents import Contents
from readaid.core.errors import RegisterError, unknown_option
from readaid.core.part_file import beside
from readaid.core.photo import Zone
from readaid.core.progress import Progress, Tally, unheard
from readaid.core.veil import over

_TYPES = ((b"\xff\xd8", "jpeg"), (b"\x89PNG", "png"), (b"RIFF", "webp"), (b"GIF8", "gif"))
_WORDS = {
    "en": {"title": "Worksheet", "inventory": "Inventory number", "reader": "Reader", "date": "Date",
           "how": "Write under each picture what you read, then how sure you are: guess, unsure, probable, certain. "
                  "If you cannot tell, leave it empty. Please do not clean, wet, rub or chalk the piece to see better.",
           "column": "Column", "reads": "reads", "sure": "how sure", "whole": "The whole as you read it",
           "remarks": "Remarks", "none": "no picture"},
    "ja": {"title": "解読票", "inventory": "整理番号", "reader": "読み手", "date": "日付",
           "how": "各図の下に読みと確かさ（推測・不確か・おそらく・確実）をお書きください。"
                  "読めない字は空欄のままで結構です。"
                  "見やすくするために拭く、濡らす、こする、白墨を塗ることはお控えください。",
           "column": "行", "reads": "読み", "sure": "確かさ", "whole": "全体の読み", "remarks": "備考",
           "none": "図なし"},
}
_STYLE = """
@page { size: A4; margin: 14mm }
body { font: 10.5pt "Noto Serif CJK JP", serif; color: #111; margin: 0 auto; max-width: 182mm }
h1 { font-size: 15pt; margin: 0 0 3mm } h2 { font-size: 11pt; margin: 5mm 0 2mm }
.fields { display: grid; grid-template-columns: auto 1fr auto 1fr; gap: 2mm 3mm; align-items: end }
.line { border-bottom: .3mm solid #555; min-height: 6mm }
.column { display: flex; flex-wrap: wrap; gap: 4mm }
.sign { width: 33mm; break-inside: avoid; border: .2mm solid #999; padding: 1.5mm }
.sign img { display: block; width: 100%; height: 30mm; object-fit: contain; image-orientation: none }
.sign .none { height: 30mm; display: grid; place-items: center; color: #666 }
.sign b { font-size: 11pt } .sign small { color: #444 }
.sign .line { display: flex; font-size: 7.5pt; color: #555; align-items: end }
.big .line { min-height: 9mm }
"""


def write(contents: Contents, path: str | Path, crop: Callable[[Zone], bytes | None] | None = None, *,
          language: str = "en", inscriptions: tuple[str, ...] | None = None, progress: Progress = unheard) -> Path:
    """Write the worksheet of a piece; it shows what a blind copy shows (``core.veil``), and no more.

    Parameters
    ----------
    crop: gives the JPEG, PNG, WebP or GIF bytes of a zone, or None if there is no picture.
    inscriptions: ids of those to print; all, if not given.
    progress: told before each crop; where it raises, the former worksheet stays as it was.

    Raises
    ------
    OptionError: for an unknown language. RegisterError: if there is nothing to print, or a crop is no image.
    """
    if language not in _WORDS:
        raise unknown_option("language", language, _WORDS)
    # A teacher who sees our guess sees it in the sign as well.
    contents = over(contents, blind=True).contents(contents)
    words, zones = _WORDS[language], {z.id: z for z in contents.zones}
    chosen = [i for i in contents.inscriptions if i.columns and (inscriptions is None or i.id in inscriptions)]
    if not chosen:
        raise RegisterError("There is no inscription with characters to print", contents.piece.title,
                            "draw zones and put them into columns first")
    begun = Tally(progress, len(zones))

    def cut(zone: Zone) -> bytes | None:
        begun()
        return crop(zone) if crop else None

    parts = [_inscription(i, contents, zones, cut, words) for i in chosen]
    progress(1, 1)  # the last place to stop
    path = Path(path)
    text = (f"""<!DOCTYPE html>
<html lang="{language}"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; style-src 'unsafe-inline'">
<title>{words['title']}: {escape(contents.piece.title)}</title>
<style>{_STYLE}</style></head><body>
<h1>{words['title']}: {escape(contents.piece.title)}</h1>
<div class="fields"><span>{words['inventory']}</span><span class="line">{escape(contents.piece.inventory)}</span>
<span>{words['reader']}</span><span class="line"></span><span>{words['date']}</span><span class="line"></span></div>
<p>{words['how']}</p>
{''.join(parts)}
</body></html>
""")
    with beside(path) as part:
        part.write_text(text, encoding="utf-8")
    return path


def _inscription(inscription: Inscription, contents: Contents, zones: dict[str, Zone],
                 crop: Callable[[Zone], bytes | None] | None, words: dict[str, str]) -> str:
    number, columns = 0, []
    for at, column in enumerate(contents.characters_of(inscription), 1):
        signs = []
        for character in column:
            number += 1
            signs.append(_sign(number, character, zones, crop, words))
        columns.append(f"<h2>{words['column']} {at}</h2><div class='column'>{''.join(signs)}</div>")
    # Three at least, as a hokku is written out, whatever the carving's columns.
    lines = "<div class='line'></div>" * max(3, len(columns))
    return (f"<section><h2>{escape(inscription.surface)}</h2>{''.join(columns)}"
            f"<div class='big'><h2>{words['whole']}</h2>{lines}<h2>{words['remarks']}</h2>"
            f"<div class='line'></div><div class='line'></div></div></section>")


def _sign(number: int, character: Character, zones: dict[str, Zone], crop: Callable[[Zone], bytes | None] | None,
          words: dict[str, str]) -> str:
    pictures = []
    for id in character.zones:
        data = crop(zones[id]) if crop is not None and id in zones else None
        if data:
            pictures.append(f"<img alt='{number}' src='data:image/{_type(data, number)};base64,"
                            f"{base64.b64encode(data).decode('ascii')}'>")
    shown = "".join(pictures) or f"<div class='none'>{words['none']}</div>"
    return (f"<div class='sign'><b>{number}</b>{shown}<div class='line'>{words['reads']}</div>"
            f"<div class='line'>{words['sure']}</div></div>")


def _type(data: bytes, number: int) -> str:
    for start, name in _TYPES:
        if data.startswith(start):
            return name
    raise RegisterError(f"The crop of character {number} is no image", cure="give JPEG, PNG, WebP or GIF bytes")
