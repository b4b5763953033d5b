"""Render the fonts once into one packed file that a training machine can take along.

Conventions: a glyph is a 128 x 128 one-bit picture, ink 1, the longer side of its
ink 104 px, centred. ``classes`` are row numbers
of the class table; ``fonts`` row numbers of ``fonts.tsv``.

Run: ``python glyphs.py CLASSES.tsv FONTS_FOLDER OUT.npz`` where the folder holds one
subfolder per row of ``fonts.tsv`` with its font files (as unpacked from the
packages named there). Needs Pillow, fonttools, brotli.
"""

from __future__ import annotations

import bz2
import io
import sys
from collections.abc import Iterator
from multiprocessing import Pool
from pathlib import Path

import numpy as np
from fontTools.ttLib import TTCollection, TTFont
from glyphs_table import SAME, rows
from PIL import Image, ImageDraw, ImageFont

SIZE, LONG = 128, 104
HERE = Path(__file__).parent
# This font draws one hentaigana on each hiragana code point; read off by eye against the parents' grass forms.
AKEBONO = dict(
    zip(
        "あいうえおかきくけこさしすせそたちつてとなにぬねのはひふへほまみむめもやゆよらりるれろわゐゑをん",
        "阿伊有江於可支具介故佐志春勢楚多千津亭東那爾努年能者飛婦遍本満見舞面裳耶遊余羅里流連路王井衛越无",
        strict=True,
    )
)
GRASS = {"liu-jian-mao-cao", "zhi-mang-xing"}  # simplified forms that are grass script anyway: 须 is 須


def simplified(folder: Path) -> dict[str, list[str]]:
    """Traditional character -> simplified ones."""
    out: dict[str, list[str]] = {}
    with bz2.open(folder / "Unihan_Variants.txt.bz2", "rt", encoding="utf-8") as lines:
        for line in lines:
            parts = line.split()
            if len(parts) == 3 and parts[1] == "kTraditionalVariant":
                out.setdefault(chr(int(parts[2][2:], 16)), []).append(chr(int(parts[0][2:], 16)))
    return out


def faces(folder: Path) -> Iterator[tuple[bytes, set[int]]]:
    for path in sorted(folder.iterdir()):
        font = TTCollection(path).fonts[0] if path.suffix == ".ttc" else TTFont(path)
        known = set(font.getBestCmap())
        if path.suffix in (".woff", ".woff2"):
            font.flavor = None
            held = io.BytesIO()
            font.save(held)
            yield held.getvalue(), known
        else:
            yield path.read_bytes(), known


def draw(face: ImageFont.FreeTypeFont, char: str) -> np.ndarray | None:
    canvas = Image.new("L", (400, 400), 0)
    ImageDraw.Draw(canvas).text((80, 60), char, font=face, fill=255)
    box = canvas.getbbox()
    if box is None or max(box[2] - box[0], box[3] - box[1]) < 12:
        return None  # the map claims the character but the glyph is empty
    cut = canvas.crop(box)
    scale = LONG / max(cut.size)
    cut = cut.resize((max(1, round(cut.width * scale)), max(1, round(cut.height * scale))), Image.Resampling.LANCZOS)
    out = Image.new("L", (SIZE, SIZE), 0)
    out.paste(cut, ((SIZE - cut.width) // 2, (SIZE - cut.height) // 2))
    return np.asarray(out) > 127


def one_font(job: tuple[int, dict[str, str], str, str]) -> tuple[list[np.ndarray], list[int], int]:
    number, font, table, folder = job
    classes = rows(Path(table))
    extra = simplified(Path("/usr/share/unicode")) if font["name"] in GRASS else {}
    kana, letter, kanji = (float(font[k]) > 0 for k in ("kana", "letter", "kanji"))
    wanted: list[tuple[int, str]] = []
    index = {c["character"]: i for i, c in enumerate(classes)}
    if font["name"] == "yuji-hentaigana-akebono":
        wanted = [(index[SAME.get(p, p)], c) for c, p in AKEBONO.items()]
    else:
        for i, c in enumerate(classes):
            char, kind = c["character"], c["kind"]
            if kind in ("hiragana", "katakana") and kana:
                wanted.append((i, char))
            if kind == "letter" and letter:
                wanted += [(i, x) for x in c["letters"]]
            if (kind == "letter" and (letter or kanji)) or (kind == "kanji" and kanji):
                forms = [char] + [k for k, v in SAME.items() if v == char]
                forms += [s for f in forms for s in extra.get(f, []) if s not in index]
                wanted += [(i, x) for x in dict.fromkeys(forms)]
    glyphs: list[np.ndarray] = []
    labels: list[int] = []
    done: set[tuple[int, str]] = set()
    for data, known in faces(Path(folder) / font["name"]):
        face = ImageFont.truetype(io.BytesIO(data), 200)
        for i, char in wanted:
            if ord(char) in known and (i, char) not in done:
                bits = draw(face, char)
                if bits is not None:
                    done.add((i, char))
                    glyphs.append(np.packbits(bits))
                    labels.append(i)
    print(font["name"], len(labels), flush=True)
    return glyphs, labels, number


def main(table: str, folder: str, out: str) -> None:
    fonts = rows(HERE / "fonts.tsv")
    with Pool(2) as pool:
        parts = pool.map(one_font, [(n, f, table, folder) for n, f in enumerate(fonts)], chunksize=1)
    glyphs = np.array([g for p in parts for g in p[0]])
    labels = np.array([c for p in parts for c in p[1]], np.int16)
    numbers = np.array([p[2] for p in parts for _ in p[1]], np.int16)
    np.savez_compressed(out, glyphs=glyphs, classes=labels, fonts=numbers)
    print(glyphs.shape, Path(out).stat().st_size / 2**20, "MiB")


if __name__ == "__main__":
    main(*sys.argv[1:4])
