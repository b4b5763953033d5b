"""Render the freely licensed fonts once into one packed file that a training machine can take along.

Conventions: a glyph is a 128 x 128 one-bit picture, ink 1, drawn at 84 px to the em and moved so that its ink is
centred: sizes within a font stay as its maker set them, since a の is smaller than a 風. ``fonts`` are row numbers of
``../train_glyphs/fonts.tsv``; ``kana`` tells kana and hentaigana from kanji. The three fonts that examine the finder
(HELD) and those held for other examinations are never drawn.

Run: ``python pack.py CLASSES.tsv FONTS_FOLDER OUT.npz``; folder and needs as for ``../train_glyphs/glyphs.py``.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

SIZE, EM, KANJI = 128, 84, 700
HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "train_glyphs"))
HELD = {"aoyagi-soseki", "aoyagi-kouzan-t", "kouzan-gyosho"}
PLAIN = {"kiloji", "yomogi", "seto", "yusei-magic", "slackside-one", "yozfont-edu", "zen-kurenaido", "lxgw-wenkai-tc"}


def drawn(face: ImageFont.FreeTypeFont, char: str) -> np.ndarray | None:
    canvas = Image.new("L", (300, 300), 0)
    ImageDraw.Draw(canvas).text((90, 60), char, font=face, fill=255)
    box = canvas.point(lambda v: 255 if v > 100 else 0).getbbox()
    if box is None or max(box[2] - box[0], box[3] - box[1]) < 8:
        return None
    cut = canvas.crop(box)
    if max(cut.size) > 122:
        cut.thumbnail((122, 122))
    out = Image.new("L", (SIZE, SIZE), 0)
    out.paste(cut, ((SIZE - cut.width) // 2, (SIZE - cut.height) // 2))
    return np.asarray(out) > 110


def main(table: str, folder: str, out: str) -> None:
    from glyphs import faces, rows  # of train_glyphs

    fonts = rows(HERE.parent / "train_glyphs/fonts.tsv")
    classes = rows(Path(table))
    kanji = sorted((c for c in classes if c["kind"] == "kanji"), key=lambda c: -float(c["weight"]))
    few = {c["character"] for c in kanji[:KANJI]}
    kana = {c["character"] for c in classes if c["kind"] in ("hiragana", "katakana")}
    letters = {x for c in classes if c["kind"] == "letter" for x in c["letters"]}
    parents = {c["character"] for c in classes if c["kind"] == "letter"}
    pictures, numbers, is_kana = [], [], []
    for number, font in enumerate(fonts):
        name = font["name"]
        if font["role"] != "train" or name in HELD or not (Path(folder) / name).is_dir():
            continue
        wanted = few if name not in PLAIN else set(sorted(few)[::3])
        wanted = wanted | kana | letters | parents
        if name in ("yuji-mai", "yuji-syuku", "kaisei-tokumin", "shippori-mincho"):
            wanted = kana | few
        done: set[str] = set()
        before = len(pictures)
        for data, known in faces(Path(folder) / name):
            here = sorted((wanted - done) & {chr(k) for k in known})
            if not here:
                continue
            face = ImageFont.truetype(io.BytesIO(data), EM)
            for char in here:
                bits = drawn(face, char)
                if bits is not None:
                    done.add(char)
                    pictures.append(np.packbits(bits))
                    numbers.append(number)
                    is_kana.append(char in kana or char in letters)
        print(name, len(pictures) - before, flush=True)
    np.savez_compressed(out, glyphs=np.array(pictures), fonts=np.array(numbers, np.int16), kana=np.array(is_kana))
    print(len(pictures), Path(out).stat().st_size / 2**20, "MiB")


if __name__ == "__main__":
    main(*sys.argv[1:4])
