"""Rendered pieces read with nobody helping: zones found, shapes weighed, the verse searched; signs that come out wrong.

Conventions: a piece is a verse of ``data/verses/test.tsv`` (nothing was fitted on them) set in one brush hand, columns
from the right, once wholly in kana and once with kanji (``rendered_verses.tsv``), one kana in seven as a hentaigana;
as ink on paper and cut in metal under raking light, by the renderer of ``tests/photo/rendered.py``, which the model
was not trained with; fresh and worn. Signs wrong are the edit distance of the signs read from the signs set over the
signs set: kana as unvoiced sounds whichever letter wrote them, kanji as themselves. "true zones" gives the reader the
boxes of the strokes, so that faults of zones and of reading come apart; "shape alone" takes each zone's likeliest sign
and searches nothing.

READAID_UNSEEN_BRUSH names a brush font (a file, or a folder of files that share its signs) with kana and kanji.
READAID_SHAPE_MODEL names the model to use in place of the one shipped: the figures are of an unseen hand only if the
model was trained without this font, which a bench cannot see. READAID_PIECES shortens the runs. READAID_POEMS names a
table (number, text, kana; lines parted by /) of waka, which are then read besides.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import numpy as np
from PIL import ImageFont

from readaid.core import places
from readaid.core.reading import Reading
from readaid.glyphs import character_net
from readaid.lexicon import verses
from readaid.photo.columns import propose
from readaid.reading import shape_evidence, sight, stretches
from readaid.script import hentaigana, kanji, voicing
from readaid.script import kana as letters
from tests.photo import rendered

Row = tuple[str, float, str, str]
Box = tuple[float, float, float, float]

TEXTS = Path(__file__).with_name("rendered_verses.tsv")
#: One sign written among so many kana as a hentaigana; common practice varies widely, no source.
LETTER_EVERY = 7
GOALS = {"fresh": "< 5", "worn": "< 15"}
SURFACES = {"ink": "paper", "metal": "metal"}


@dataclass(frozen=True)
class Hand:
    """A font, or several files that share the signs of one; which file holds a sign is asked of the files."""

    files: tuple[Path, ...]

    @classmethod
    def of(cls, path: Path) -> Hand:
        files = [path] if path.is_file() else sorted(path.glob("*.*tf*")) + sorted(path.glob("*.woff2"))
        return cls(tuple(sorted(files, key=lambda f: -f.stat().st_size)))

    def file(self, sign: str) -> Path | None:
        """The file that draws the sign, None where none does."""
        return next((f for f in self.files if _drawn(f, sign)), None)

    def has(self, sign: str) -> bool:
        """Whether the hand can write a sign."""
        return self.file(sign) is not None

    def ink(self, sign: str, size: int, rng: np.random.Generator) -> np.ndarray | None:
        """The sign's ink 0..1, cut to its strokes."""
        file = self.file(sign)
        return rendered.glyph(sign, file, size) if file else None


@lru_cache(maxsize=100_000)
def _drawn(file: Path, sign: str) -> bool:
    face = _face(file)
    mask, blank = face.getmask(sign), face.getmask("\U0010FFFD")
    return mask.getbbox() is not None and (mask.size != blank.size or bytes(mask) != bytes(blank))


@lru_cache(maxsize=256)
def _face(file: Path) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(file), 40)


@dataclass(frozen=True)
class Piece:
    """A picture, what is on it column by column (``truth`` as it is compared), and where."""

    image: np.ndarray
    truth: tuple[str, ...]
    columns: tuple[tuple[Box, ...], ...]
    form: str
    signs: tuple[str, ...] = ()


@dataclass
class Tally:
    """Signs set, and signs that came out wrong by way of reading; seconds of processor time by stage."""

    signs: int = 0
    wrong: dict[str, int] = field(default_factory=dict)

    def add(self, other: Tally) -> None:
        self.signs += other.signs
        for way, many in other.wrong.items():
            self.wrong[way] = self.wrong.get(way, 0) + many


def distance(a: Sequence[str], b: Sequence[str]) -> int:
    """Edit distance: signs put in, left out or exchanged (V. I. Levenshtein, Soviet Physics Doklady 10, 1966).

    >>> distance("kitten", "sitting"), distance("", "abc"), distance("ab", "ab")  # the textbook's pair
    (3, 3, 0)
    """
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        before, row[0] = row[0], i
        for j, y in enumerate(b, 1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + (x != y))
    return row[-1]


def texts() -> list[tuple[str, str, str]]:
    """(kana, with kanji, form) of each verse, lines parted by /; the kana are those of the test verses."""
    wanted = {"/".join(v.lines) for v in verses.load(places.share("data") / "verses" / "test.tsv")}
    out = []
    for line in TEXTS.read_text(encoding="utf-8").splitlines():
        if line.strip() and not line.startswith(("#", "kana\t")):
            kana, text = line.split("\t")
            if kana not in wanted:
                raise ValueError(f"{TEXTS.name}: {kana} is no test verse")
            out.append((kana, text, "hokku"))
    return out


def poems() -> list[tuple[str, str, str]]:
    """Waka of the table that READAID_POEMS names."""
    path = os.environ.get("READAID_POEMS", "")
    rows = Path(path).read_text(encoding="utf-8").splitlines() if path and Path(path).is_file() else []
    return [(kana, text, "tanka") for _, text, kana in (r.split("\t") for r in rows if not r.startswith("#"))]


def compared(sign: str) -> str:
    """A sign as it is compared: a kana by its unvoiced sound, a kanji in its new form."""
    if letters.is_kanji(sign):
        return kanji.new_form(sign)
    if letters.is_hentaigana(sign[0]):
        return hentaigana.sounds(sign[0])[0]
    return voicing.plain(letters.to_hiragana(sign))


def sign_set(sign: str, hand: Hand, rng: np.random.Generator) -> tuple[str, str] | None:
    """(what is drawn, what it counts as) for a sign of the text; None where the hand does not have it."""
    plain = compared(letters.full(sign))
    if not letters.is_kanji(plain) and rng.random() < 1 / LETTER_EVERY:
        others = [x for x in hentaigana.letters(plain) if x.script == "hentaigana" and x.common
                  and x.sounds[0] == plain]
        for number in rng.permutation(len(others)).tolist():
            # a brush font seldom has the code point; the parent kanji in a running hand is the letter
            for drawn in (others[number].character, others[number].parent):
                if hand.has(drawn):
                    return drawn, plain
    return (plain, plain) if hand.has(plain) else None


def make(text: str, form: str, hand: Hand, surface: str, kind: str, seed: int) -> Piece | None:
    """One piece; None where the hand lacks a sign."""
    rng = np.random.default_rng(seed)
    whole = "".join(text.split("/"))
    whole = "".join(whole[n - 1] if s == "々" else s for n, s in enumerate(whole))  # 山々: the kanji is cut twice
    signs = [sign_set(s, hand, rng) for s in whole]
    if not all(signs):
        return None
    drawn = [s[0] for s in signs if s]
    size = float(rng.uniform(45, 90))
    count = int(np.ceil(len(drawn) / rng.uniform(4.5, 8.5)))
    length = int(np.ceil(len(drawn) / count))
    ink, columns = _laid(rng, drawn, hand, size, length)
    draw = rendered.metal if surface == "metal" else rendered.paper
    image = draw(rng, ink, "worn" if kind == "worn" else "regular", size)
    image = rendered.cv2.GaussianBlur(image.astype(np.float32), (0, 0), 0.6) + rng.normal(0, 2.5, (*ink.shape, 3))
    return Piece(np.clip(image, 0, 255).astype(np.uint8), tuple(s[1] for s in signs if s), columns, form, tuple(drawn))


def _laid(rng: np.random.Generator, signs: Sequence[str], hand: Hand, size: float,
          length: int) -> tuple[np.ndarray, tuple[tuple[Box, ...], ...]]:
    """Signs in columns from the right, of unequal size, a little out of line, as a brush sets them."""
    groups = [signs[i:i + length] for i in range(0, len(signs), length)]
    edge, pitch = size * rng.uniform(1.3, 2.2), size * rng.uniform(1.35, 1.9)
    parts, columns = [], []
    for number, group in enumerate(groups):
        x, y, boxes = edge + pitch * (len(groups) - number - 0.5), edge + size * rng.uniform(0, 0.1), []
        lean, gap = rng.normal(0, 0.01), rng.uniform(0.08, 0.25)
        for sign in group:
            mark = hand.ink(sign, max(10, int(size * rng.uniform(0.88, 1.1))), rng)
            if mark is None:
                raise ValueError(f"{sign} cannot be drawn")
            left = int(max(2, x - mark.shape[1] / 2 + rng.normal(0, 0.03) * size))
            parts.append((left, int(y), mark))
            boxes.append((float(left), float(int(y)), float(mark.shape[1]), float(mark.shape[0])))
            y += mark.shape[0] + gap * size * rng.uniform(0.5, 1.5)
            x += lean * size
        columns.append(tuple(boxes))
    height = int(max(top + mark.shape[0] for _, top, mark in parts) + edge)
    width = int(max(max(left + mark.shape[1] for left, _, mark in parts), 2 * edge + pitch * len(groups)) + 2)
    ink = np.zeros((height, width), np.float32)
    for left, top, mark in parts:
        here = ink[top:top + mark.shape[0], left:left + mark.shape[1]]
        np.maximum(here, mark, out=here)
    return ink, tuple(columns)


def found(image: np.ndarray) -> list[list[Box]]:
    """Boxes of the zones proposed, by column."""
    return [[(*z.outline[0], z.outline[2][0] - z.outline[0][0], z.outline[2][1] - z.outline[0][1]) for z in c.zones]
            for c in propose(image)]


def signs_of(reading: Reading) -> list[str]:
    """The signs of a reading as they are compared: the sound that a kana was read with, not that of its letter."""
    out: list[str] = []
    for word in reading.words:
        signs = [s for c in reading.chosen[word.start:word.end] if c for s in letters.signs(c)]
        own = any(letters.is_kanji(s) for s in signs)
        out += [compared(s) for s in signs] if own else [voicing.plain(k) for k in word.kana]
    return out


def shape_alone(layout: stretches.Layout) -> list[str]:
    """The likeliest sign of each zone by shape."""
    share = shape_evidence.kanji_share([s.seen for s in layout.stretches], "all")
    each = [shape_evidence.options(s.seen, "all", share) for s in layout.stretches]
    return [compared(own[0].sign) for own in each if own]


def read(piece: Piece) -> Tally:
    """One piece in all ways; the verse form is not told, nor whether there are kanji."""
    tally = Tally(len(piece.truth))
    zones = found(piece.image)
    truth = [compared(s) for s in piece.truth]
    for way, columns, free in (("nobody helping", zones, True), ("true zones", piece.columns, False)):
        signs: list[str] = []
        if any(columns):
            signs = signs_of(sight.read_zones(piece.image, columns, k=1, free=free).solution.readings[0])
        tally.wrong[way] = distance(signs, truth)
        alone = shape_alone(stretches.of_zones(piece.image, columns, free=False))
        tally.wrong[f"{way}, shape alone"] = distance(alone, truth)
    return tally


def measured(verses_: Sequence[tuple[str, str, str]], hand: Hand) -> dict[tuple[str, str, str], Tally]:
    """Tallies by (kana or with kanji, surface, fresh or worn)."""
    out: dict[tuple[str, str, str], Tally] = {}
    for number, (plain, text, form) in enumerate(verses_):
        conditions = [(m, s, k) for m in ("kana", "with kanji") for s in SURFACES for k in GOALS]
        for place, (mode, surface, kind) in enumerate(conditions):
            piece = make(plain if mode == "kana" else text, form, hand, SURFACES[surface], kind, 100 * number + place)
            if piece is not None:
                out.setdefault((mode, surface, kind), Tally()).add(read(piece))
    return out


def rows(tallies: dict[tuple[str, str, str], Tally], what: str) -> list[Row]:
    """Shares of signs wrong: fresh and worn as a whole (these have goals), then each condition."""
    out: list[Row] = []
    for kind, goal in GOALS.items():
        whole = Tally()
        for (_, _, own), tally in tallies.items():
            if own == kind:
                whole.add(tally)
        out += [(f"signs wrong, {what}, {kind}, {way} ({whole.signs} signs)", 100 * many / whole.signs, "%",
                 goal if way == "nobody helping" else "") for way, many in whole.wrong.items()]
    out += [(f"signs wrong, {what}, {' '.join(key)}, {way}", 100 * many / tally.signs, "%", "")
            for key, tally in sorted(tallies.items()) for way, many in tally.wrong.items()]
    return out


def bench() -> list[Row]:
    font = os.environ.get("READAID_UNSEEN_BRUSH", "")
    if not font or not Path(font).exists():
        return []
    hand, shipped = Hand.of(Path(font)), character_net.FILE
    most = int(os.environ.get("READAID_PIECES", 12))
    character_net.FILE = Path(os.environ.get("READAID_SHAPE_MODEL", "") or shipped)
    try:
        out: list[Row] = []
        for what, every in (("hokku", texts()), ("tanka", poems())):
            chosen = every[::max(1, len(every) // most)][:most]
            if chosen:
                out += rows(measured(chosen, hand), what)
        return out
    finally:
        character_net.FILE = shipped


if __name__ == "__main__":
    for name, value, unit, goal in bench():
        print(f"{name:70s} {value:7.2f} {unit:5s} {goal}")
