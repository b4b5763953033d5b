"""Candidate characters for a crop, by shape alone.

Conventions: images are a path, a Pillow image or an array, grey (H, W) or RGB (H, W, 3),
dark on light or light on dark, cropped to one character. Probabilities are 0..1;
those of all classes and the share of "none of these" sum to 1, so any list of suggestions
sums to at most 1. ``among`` says what the reader expects: "kana" (hiragana, hentaigana,
katakana), "kanji", or "all". Sounds are unvoiced hiragana, since voicing marks are mostly
left out. A first choice is never to be taken unasked: of kana that the training saw in fonts only
it is wrong in about one of three crops (see ``character_model/MODEL.md``).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from html import escape

import numpy as np
import numpy.typing as npt

from readaid.core.candidate import Suggestion
from readaid.core.errors import OptionError, unknown_option
from readaid.glyphs import character_net
from readaid.glyphs.classes import classes, index, sounds
from readaid.glyphs.examples import Examples
from readaid.glyphs.window import values, views, window
from readaid.photo.ink import Crop, Floats

AMONG = ("all", "kana", "kanji")
#: Prior share of each kind; within a kind letters weigh as their class says, kanji by their crops in old books
#: (``ShapeClass.usual``). The shares of the kinds are common practice, no source.
SHARES = {
    "all": {"hiragana": 0.25, "letter": 0.23, "katakana": 0.02, "kanji": 0.5},
    "kana": {"hiragana": 0.5, "letter": 0.45, "katakana": 0.05},
    "kanji": {"kanji": 1.0},
}
#: Prior share of crops that hold none of the characters (a border, a scratch, half a character); who says
#: "kana" or "kanji" has seen that there is one. From common practice, no source.
NONE_SHARE = {"all": 0.05, "kana": 0.02, "kanji": 0.02}
#: Share a sign has for the reader's own examples however unlikely its shape is else: a hand may write い as no other.
UNSEEN = 1e-4


@dataclass(frozen=True, slots=True)
class Weighed:
    """What a crop may be: ``suggestions`` best first, the share of ``none`` of these, the ``sounds`` with theirs."""

    suggestions: tuple[Suggestion, ...]
    none: float
    sounds: tuple[tuple[str, float], ...]

    def _repr_html_(self) -> str:
        rows = "".join(f"<tr><td lang='ja'>{escape(s.character)}</td><td lang='ja'>{escape('、'.join(s.sounds))}</td>"
                       f"<td>{s.probability:.0%}</td></tr>" for s in self.suggestions)
        return (f"<table><thead><tr><th>Character</th><th>Sound</th><th>Probability</th></tr></thead><tbody>{rows}"
                f"<tr><td colspan='2'>none of these</td><td>{self.none:.0%}</td></tr></tbody></table>")


def suggest(image: Crop, k: int = 10, among: str = "all", examples: Examples | None = None) -> list[Suggestion]:
    """Rank the characters a crop may hold, best first, at most ``k``.

    Raises ShapeError for an empty crop, one with no stroke or no picture at all, OptionError for an unknown ``among``
    or a ``k`` below 1.

    >>> page = np.full((64, 64), 240, np.uint8)
    >>> page[30:35, 8:56] = 20                      # one level stroke
    >>> [s.character for s in suggest(page, k=3, among="kanji")][0]
    '一'
    """
    return list(weigh(image, k, among, examples).suggestions)


def suggest_many(images: Iterable[Crop], k: int = 10, among: str = "all",
                 examples: Examples | None = None) -> list[list[Suggestion]]:
    """The same for many crops at once, in their order; quicker than one by one.

    >>> pages = [np.full((40, 40), 255, np.uint8) for _ in range(2)]
    >>> for page in pages: page[18:22, 5:35] = 0
    >>> [len(one) for one in suggest_many(pages, k=4)]
    [4, 4]
    """
    return [list(w.suggestions) for w in weigh_many(images, k, among, examples)]


def weigh(image: Crop, k: int = 10, among: str = "all", examples: Examples | None = None,
          kanji: float = 0.5) -> Weighed:
    """As ``suggest``, with the share of "none of these" and the shares of the sounds.

    ``kanji``: the share of kanji that is expected where all are asked, 0..1: a verse has fewer than a signature.

    >>> page = np.full((64, 64), 240, np.uint8); page[30:35, 8:56] = 20
    >>> seen = weigh(page, k=5)
    >>> 0 <= seen.none <= 1 and sum(s.probability for s in seen.suggestions) + seen.none <= 1 + 1e-6
    True
    """
    return weigh_many([image], k, among, examples, kanji)[0]


def weigh_many(images: Iterable[Crop], k: int = 10, among: str = "all",
               examples: Examples | None = None, kanji: float = 0.5) -> list[Weighed]:
    """As ``weigh`` for many crops, in batches of 64."""
    _check(k, among)
    windows = [window(values(image)) for image in images]
    out: list[Weighed] = []
    for at in range(0, len(windows), 64):
        shares, embeddings = probabilities(windows[at:at + 64], among, kanji)
        out += [_weighed(p, e, k, among, examples) for p, e in zip(shares, embeddings, strict=True)]
    return out


def embed(image: Crop) -> Floats:
    """The model's embedding of a crop, (128,) of unit length: what user examples are compared by."""
    return np.asarray(character_net.run(window(values(image))[None, None])[1][0], np.float32)


def probabilities(windows: Sequence[Floats], among: str = "all",
                  kanji: float = 0.5) -> tuple[npt.NDArray[np.float64], Floats]:
    """Probabilities (n, classes + 1), "none of these" last, and embeddings (n, 128), of windows (48, 48)."""
    stack = np.concatenate([views(w) for w in windows])
    scores, embeddings = character_net.run(stack)
    many = len(stack) // len(windows)
    logs = scores.astype(np.float64) + log_prior(among, kanji)
    logs -= logs.max(1, keepdims=True)
    each = np.exp(logs)
    each /= each.sum(1, keepdims=True)
    return each.reshape(len(windows), many, -1).mean(1), embeddings[::many]


@lru_cache(maxsize=16)
def log_prior(among: str, kanji: float = 0.5) -> npt.NDArray[np.float64]:
    """Log of the prior share of every class and, last, of "none of these" (-inf: not among them).

    ``kanji``: their share among all; half where nothing is known of the inscription.
    """
    if not 0 <= kanji <= 1:
        raise OptionError(f"The share of kanji is {kanji!r}", "suggest", "give a share from 0 to 1")
    held = classes()
    share = np.zeros(len(held) + 1)
    for kind, part in SHARES[among].items():
        if among == "all":
            part = kanji if kind == "kanji" else part / (1 - SHARES["all"]["kanji"]) * (1 - kanji)
        # a parent kanji is met as a letter of kana and as a kanji
        use = [c for c in held if c.kind == kind or (kind == "kanji" and c.kind == "letter")]
        weight = np.array([c.usual if kind == "kanji" else c.weight for c in use])
        share[[c.number for c in use]] += part * weight / weight.sum()
    share *= 1 - NONE_SHARE[among]
    share[-1] = NONE_SHARE[among]
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(share), np.float64)


def _check(k: int, among: str) -> None:
    if among not in AMONG:
        raise unknown_option("among", str(among), AMONG)
    if isinstance(k, bool) or not isinstance(k, int | np.integer) or k < 1:
        raise OptionError(f"k is {k!r}", "suggest", "ask for 1 candidate or more")


def _weighed(share: npt.NDArray[np.float64], embedding: Floats, k: int, among: str,
             examples: Examples | None) -> Weighed:
    held = classes()
    share = share.copy()
    own: dict[str, float] = {}  # what the reader's examples speak for and the model has no class for
    lifted: set[str] = set()
    if examples is not None and len(examples):
        for name, more in examples.evidence(embedding).items():
            number = index().get(name)
            if not _fits(name, among):
                continue
            if number is None:
                own[name] = UNSEEN * more
            else:
                share[number] = (share[number] + UNSEEN) * (1 + more)
            lifted |= {name} if number is None else {held[number].character}
        if lifted:
            total = float(share.sum()) + sum(own.values())
            share /= total
            own = {name: more / total for name, more in own.items()}
    rows: dict[str, Suggestion] = {name: Suggestion(name, (), more, "example") for name, more in own.items()}
    for number in np.argsort(-share[:-1], kind="stable")[:k]:
        if share[number] > 0:
            c = held[number]
            name = _shown(c.character, among)
            rows[name] = Suggestion(name, c.sounds, float(share[number]),
                                    "example" if c.character in lifted else "shape")
    sound = share[:-1] @ _sound_matrix()
    best = sorted(rows.values(), key=lambda r: (-r.probability, r.character))[:k]
    order = np.argsort(-sound, kind="stable")
    return Weighed(tuple(best), float(share[-1]), tuple((sounds()[i], float(sound[i])) for i in order if sound[i] > 0))


@lru_cache(maxsize=1)
def _sound_matrix() -> npt.NDArray[np.float64]:
    """(classes, 48): a class with two sounds (无 as ん, む, も) is split evenly."""
    out = np.zeros((len(classes()), len(sounds())))
    for c in classes():
        for s in c.sounds:
            out[c.number, sounds().index(s)] = 1 / len(c.sounds)
    return out


def _fits(name: str, among: str) -> bool:
    number = index().get(name)
    if among == "all" or number is None:
        return True  # a character the model does not know is the user's own matter
    kind = classes()[number].kind
    return kind in SHARES[among] or (among == "kanji" and kind == "letter")


def _shown(name: str, among: str) -> str:
    number = index().get(name)
    if number is None:
        return name
    c = classes()[number]
    return c.letters[0] if among == "kana" and c.letters else c.character
