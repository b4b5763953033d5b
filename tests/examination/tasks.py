"""The tasks of the examination: each does a small piece of the work and tells what share came out right.

Conventions: a task gives ``{what: (right, of)}``; the names stand in ``floors.tsv``. Verses, seeds and signs are fixed
here and nothing was fitted or chosen on them: verses are those of ``data/verses/test.tsv``, rendered pieces and schools
have seeds of their own, the kanji are of a hand that no model was trained on (``tests/fonts``). What is rendered or
simulated says how the program does on that, and nothing of real objects. Each task takes some seconds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from readaid.core import places
from readaid.core.errors import TextError
from readaid.glyphs.candidates import probabilities
from readaid.glyphs.classes import classes, sounds
from readaid.glyphs.window import window
from readaid.lexicon import verses
from readaid.reading import sight
from readaid.reading.solve import solve
from readaid.schools.nearest import Population, Reference
from readaid.script import dates, voicing
from tests.bench import candidates as letters
from tests.bench import forms as schools
from tests.bench import rendered as pieces
from tests.fonts import make as fonts
from tests.photo import rendered
from tests.script.examine import sheets

Shares = dict[str, tuple[int, int]]
KANA = "いろはにほへとちりぬるをわかよたれそつねならむうゐのおくやまけふこえてあさきゆめみしゑひもせすん"


def old_verse() -> Shares:
    """Every second test verse, written without voicing marks, its form told; every third as written with kanji."""
    right = could = whole = 0
    chosen = ["".join(v.lines) for v in verses.load(places.share("data") / "verses" / "test.tsv")][::2]
    for wanted in chosen:
        found = solve(voicing.plain(wanted), form="hokku", k=1).readings[0].kana
        at = [i for i, c in enumerate(wanted) if voicing.plain(c) in voicing.READ_VOICED]
        right, could = right + sum(found[i:i + 1] == wanted[i] for i in at), could + len(at)
        whole += found == wanted
    signs = wrong = 0
    for kana, text, form in pieces.texts()[::3]:
        wanted = kana.replace("/", "")
        found = solve(text.replace("/", ""), form=form, k=1).readings[0].kana
        signs, wrong = signs + len(wanted), wrong + min(len(wanted), pieces.distance(found, wanted))
    return {"voicing restored, kana that could be voiced": (right, could),
            "voicing restored, whole verses": (whole, len(chosen)),
            "verse with kanji read, kana right": (signs - wrong, signs)}


def shapes() -> Shares:
    """Kanji of an unseen grass hand in ink and cut in metal; kana of five brush hands, known to the model, cut."""
    rng = np.random.default_rng(41)
    numbers = {c.character: c.number for c in classes()}
    unseen = fonts.held(fonts.UNSEEN)
    pages = [_page(sign, str(fonts.UNSEEN)) for sign in unseen]
    label = np.array([numbers[sign] for sign in unseen])
    out: Shares = {}
    for look, seen in (("ink", [1 - p for p in pages]), ("metal", [letters.cut(p > 0.5, rng) for p in pages])):
        place = letters.ranks(probabilities([window(p) for p in seen], "kanji")[0][:, :-1], label)
        out[f"kanji of an unseen hand, {look}, first"] = (int((place < 1).sum()), len(place))
        out[f"kanji of an unseen hand, {look}, among five"] = (int((place < 5).sum()), len(place))
    drawn = [(sign, _page(sign, str(font))) for font in (*rendered.FIT, *rendered.HELD) for sign in KANA[::3]]
    shares = probabilities([window(letters.cut(p > 0.5, rng)) for _, p in drawn], "kana")[0]
    place = letters.ranks(letters.sound_shares(shares), np.array([sounds().index(sign) for sign, _ in drawn]))
    out["kana of known hands, metal, first"] = (int((place < 1).sum()), len(place))
    return out


def _page(sign: str, font: str) -> np.ndarray:
    """The sign's ink 0..1 with a margin."""
    page = Image.new("L", (180, 180), 0)
    ImageDraw.Draw(page).text((90, 90), sign, font=ImageFont.truetype(font, 110), fill=255, anchor="mm")
    return np.pad(np.asarray(page.crop(page.getbbox()), np.float32) / 255, 8)


def zones() -> Shares:
    """Signs of rendered pieces found (IoU 0.5), and proposals that are signs: cut and in ink, all kinds."""
    hits = true = given = 0
    for number, kind in enumerate(("regular", "scattered", "worn") * 2):
        piece = rendered.render(7700 + number, kind, rendered.HELD, surface=("metal", "paper")[number // 3])
        good = rendered.matched([b for column in pieces.found(piece.image) for b in column], piece.boxes)
        hits, true, given = hits + sum(good), true + len(piece.boxes), given + len(good)
    return {"zones, signs found": (hits, true), "zones, proposals that are signs": (hits, given)}


def read_alone() -> Shares:
    """Verses of kana set in a brush hand, read from the picture with nobody helping: signs that come out right."""
    signs = wrong = 0
    hand = pieces.Hand.of(rendered.HELD[0])
    for number, (kana, _, form) in enumerate(pieces.texts()[1:16:5]):
        for surface in ("paper", "metal"):
            piece = pieces.make(kana, form, hand, surface, "fresh", 5500 + number)
            assert piece is not None
            read = sight.read_zones(piece.image, pieces.found(piece.image), k=1, free=True).solution.readings[0]
            truth = [pieces.compared(s) for s in piece.truth]
            signs += len(truth)
            wrong += min(len(truth), pieces.distance(pieces.signs_of(read), truth))
    return {"rendered verses read with nobody helping, signs right": (signs - wrong, signs)}


def monograms() -> Shares:
    """A simulated school of six makers, three forms each: two new forms of each stand nearest to their maker, forms of
    strangers are refused."""
    sim, rng = schools.simulator(), np.random.default_rng(61)
    makers = sim.school(61, makers=6)
    population = Population([Reference(sim.picture(m, rng), m.name) for m in makers for _ in range(3)])
    own = [population.nearest(sim.picture(m, rng)).neighbours[0].maker == m.name for m in makers for _ in range(2)]
    strange = [population.nearest(sim.picture(m, rng)).none for m in sim.school(62, makers=8)]
    return {"monograms, nearest maker right": (sum(own), len(own)),
            "monograms, strangers refused": (sum(strange), len(strange))}


def dates_read() -> Shares:
    """The sheet of dates: the first answer is the right one."""
    rows = sheets.rows("dates.tsv")
    right = sum(not sheets.date_wrong(row, _dated(row["text"])) for row in rows)
    return {"dates, first answer right": (right, len(rows))}


def _dated(text: str) -> list:
    try:
        return list(dates.read(text))
    except TextError:
        return []


TASKS: Sequence[Callable[[], Shares]] = (old_verse, shapes, zones, read_alone, monograms, dates_read)
