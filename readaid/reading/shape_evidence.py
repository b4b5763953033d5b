"""What shape says of each sign, made ready for the search: likelihoods of sounds and kanji in place of probabilities.

Conventions
-----------
* A *sight* is what ``glyphs.candidates`` weighed for one crop. Its probabilities hold a prior of letters and kinds;
  here the prior is taken out again, because the search brings its own: what is left is how well the crop fits each
  sign, and an *option* carries that as ``share``, the options of a crop summing to at most 1.
* The letters of one sound are one option: か is か whichever of its letters wrote it. They are mixed by how usual they
  are, and the likeliest one is kept as ``written``. A parent kanji is two options: the letter, and the kanji.
* ``TRUST`` is the power the likelihoods are raised to: below 1 the language counts for more.
* The share of kanji among the signs is found from the signs themselves (``kanji_share``): a verse wholly in kana shows
  it by the first dozen of them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from readaid.core.lattice import Arc
from readaid.glyphs.candidates import Weighed, log_prior
from readaid.glyphs.classes import ShapeClass, classes, index, sounds
from readaid.lexicon import variants
from readaid.lexicon.costs import Costs, standard
from readaid.script import hentaigana
from readaid.script import kana as letters

Floats = NDArray[np.float64]

#: Candidates that ``glyphs.candidates`` should be asked for: what lies beyond them weighs nothing.
ASKED = 200
#: Power of the likelihoods; see the conventions. Fitted on hands the model has not seen, with other verses.
TRUST = 1.2
#: An option this much less likely than the best of its sign is left out.
LEAST = 2e-3
#: The same for kanji, before they are weighed: a sure kana is no kanji, or any verse might be Chinese.
LEAST_KANJI = 0.03
#: Options of one sign, and of all signs together per sign: the search's time grows with them.
MOST, MEAN = 24, 8
#: How many times likelier a kanji is for the search than its share: that it is this kanji and no other is told by the
#: dictionary's costs, too. Fitted as TRUST.
KANJI_WEIGHT = 100.0
#: Prior of the share of kanji among the signs: as if this many signs had been seen before.
KANJI_BEFORE = 1.0
#: Share of kanji to be expected by what an inscription is; of all others half. Common practice, no source.
EXPECTED = {"verse": 0.25, "prose": 0.4, "signature": 0.95, "date": 0.97, "dedication": 0.8, "seal": 0.98,
            "box inscription": 0.7, "certificate": 0.6}


def expected_of(kind: str) -> float:
    """Share of kanji to be expected in an inscription of a kind, 0..1.

    >>> expected_of("verse"), expected_of("not known yet")
    (0.25, 0.5)
    """
    return EXPECTED.get(kind, 0.5)


@dataclass(frozen=True, slots=True)
class Option:
    """One thing a crop may be: the ``sign`` as it is read (a kana by its sound, or a kanji), how it is ``written``."""

    sign: str
    written: str
    share: float

    @property
    def kanji(self) -> bool:
        """Is it read as a kanji?"""
        return letters.is_kanji(self.sign)


def likelihoods(seen: Weighed, among: str) -> Floats:
    """How well each class fits a crop, (classes + 1,), "none of these" last; up to a constant."""
    out = np.zeros(len(classes()) + 1)
    for s in seen.suggestions:
        number = index().get(s.character)
        if number is not None:
            out[number] = s.probability
    out[-1] = seen.none
    prior = np.exp(log_prior(among))
    return np.asarray(np.divide(out, prior, out=np.zeros_like(out), where=prior > 0), np.float64)


@lru_cache(maxsize=1)
def _of_sound() -> Floats:
    """(classes, 48): how usual each class is among the letters of each sound; columns sum to 1."""
    prior = np.exp(log_prior("kana"))[:-1]
    out = np.zeros((len(classes()), len(sounds())))
    for c in classes():
        for s in c.sounds:
            out[c.number, sounds().index(s)] = prior[c.number] / len(c.sounds)
    return np.asarray(out / out.sum(0), np.float64)


@lru_cache(maxsize=1)
def _of_kanji() -> Floats:
    """(classes,): how usual each class is as a kanji; sums to 1."""
    out = np.array([c.usual if c.kind in ("kanji", "letter") else 0.0 for c in classes()])
    return np.asarray(out / out.sum(), np.float64)


def kanji_share(sights: Sequence[Weighed], among: str, expected: float = 0.5) -> float:
    """Share of kanji among the signs, from the signs themselves; 0 among kana, 1 among kanji.

    ``expected`` is the share before anything is seen (see ``EXPECTED``): it counts as ``KANJI_BEFORE`` signs.
    """
    if among != "all":
        return float(among == "kanji")
    fits = np.array([likelihoods(s, among)[:-1] for s in sights]).reshape(-1, len(classes()))
    kana = (fits @ _of_sound()).mean(1) + 1e-300
    kanji = fits @ _of_kanji() + 1e-300
    share = expected
    for _ in range(30):
        each = share * kanji / (share * kanji + (1 - share) * kana)
        share = float((each.sum() + expected * KANJI_BEFORE) / (len(each) + KANJI_BEFORE))
    return share


def options(seen: Weighed, among: str = "all", kanji: float = 0.5, trust: float = TRUST,
            weight: float = 1.0) -> list[Option]:
    """What one crop may be, likeliest first; ``kanji`` is the share of kanji among the signs.

    ``weight``: kanji are taken for so many times likelier once the unlikely options are left out.

    >>> from readaid.core.candidate import Suggestion
    >>> seen = Weighed((Suggestion("く", ("く",), 0.6), Suggestion("久", ("く",), 0.2)), 0.2, (("く", 0.8),))
    >>> [(o.sign, o.written) for o in options(seen, "kana")]
    [('く', 'く')]
    """
    fit = likelihoods(seen, among)[:-1]
    parts = fit[:, None] * _of_sound()
    found: list[tuple[str, int, float]] = []
    if among != "kanji":
        weights = parts.sum(0) * (1 - kanji) / len(sounds())
        found += [(s, int(parts[:, n].argmax()), float(weights[n])) for n, s in enumerate(sounds()) if weights[n] > 0]
    if among != "kana":
        each = fit * _of_kanji() * kanji
        found += [(classes()[n].character, -1, float(each[n])) for n in np.flatnonzero(each > 0)]
    if not found:
        return []
    top = max(w for _, _, w in found)
    kept = [(sign, number, (w / top) ** trust) for sign, number, w in found]
    kept = sorted((x for x in kept if x[2] >= LEAST), key=lambda x: (-x[2], x[0]))[:MOST]
    kept = [(sign, number, w * weight if number < 0 else w) for sign, number, w in kept
            if number >= 0 or w >= LEAST_KANJI]
    total = sum(w for _, _, w in kept)
    return [Option(sign, sign if number < 0 else _letter(classes()[number], sign), w / total)
            for sign, number, w in sorted(kept, key=lambda x: (-x[2], x[0]))]


def _letter(c: ShapeClass, sound: str) -> str:
    """The character of a class as the letter of a sound."""
    for letter in c.letters:
        if sound in hentaigana.sounds(letter):
            return letter
    return c.letters[0] if c.letters else c.character


def thinned(every: Sequence[Sequence[Option]], sure: Sequence[float], most: int) -> list[list[Option]]:
    """The likeliest options of all signs together, at most ``most``, and one at least of each: doubtful ones keep more.

    ``sure`` (0..1) is how likely each is a sign at all.
    """
    ranked = sorted(((o.share / own[0].share * s, n, o) for n, (own, s) in enumerate(zip(every, sure, strict=True))
                     for o in own), key=lambda x: -x[0])
    out: list[list[Option]] = [[] for _ in every]
    for _, n, o in ranked[:max(len(every), most)]:
        out[n].append(o)
    return [kept or list(own[:1]) for kept, own in zip(out, every, strict=True)]


def arcs(start: int, end: int, own: Sequence[Option], extra: float = 0.0, costs: Costs | None = None) -> list[Arc]:
    """Arcs of the options of a sign that lies between two nodes; ``extra`` is what this place of a sign costs.

    Kanji that are letters too are not read as letters here: those are options of their own. 也 for なり stays.
    """
    costs = costs or standard()
    out = []
    for option in own:
        price = -700.0 * math.log(option.share) + extra
        for v in variants.of_sign(option.sign, costs):
            if option.kanji and len(v.kana) == 1:
                continue
            made = variants.placed(v, start)
            out.append(Arc(start, end, made.text, price + made.cost, option.written, made.kana, made.reasons, "shape",
                           made.place))
    return out

