"""What was read as a profile: for each sign how well it agrees with each kana, for comparing with known verses.

Conventions
-----------
* Kana are compared unvoiced and full size (``fold``): voicing marks are mostly left out on objects.
* Scores are log-likelihood ratios in nats: log of p(kana here | this verse) over its share in verse at large. An
  unread sign scores 0 whatever stands in the verse; a certain sign that agrees about 3, one that does not about -4.
* Writing rules come from the arcs of the lattice. Their costs count by ``RULE`` only: a verse known from elsewhere
  tells how it reads, and a careless spelling says little against it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from readaid.core.lattice import COST_FACTOR, NONE, Arc, Lattice
from readaid.lexicon import kanji_runs
from readaid.lexicon.kbest import Search
from readaid.script import exchange, voicing
from readaid.script import kana as letters

Floats = NDArray[np.float64]
Codes = NDArray[np.int8]

#: The folded alphabet; every other sign has the code ``OTHER``.
ALPHABET = "あいうえおかきくけこさしすせそたちつてとなにぬねのはひふへほまみむめもやゆよらりるれろわゐゑをんー"
OTHER = len(ALPHABET)
#: Code beyond the end of a verse.
PAST = OTHER + 1
RULE = 0.4
#: Most arcs over several signs or kana that are compared; the cheapest stay.
MOST_ARCS = 3000
#: Kana one kanji may stand for when nothing else is known of it.
KANJI_KANA = 4
_CODE = {c: n for n, c in enumerate(ALPHABET)}
_ALIKE = {c: "".join(sorted({voicing.plain(a) for a in exchange.alike(c)} & set(ALPHABET) - {c}))
          for c in ALPHABET[:-1]}
_REPEATED = ("repetition", "voiced repetition")


def fold(text: str) -> str:
    """Kana unvoiced, full size, hiragana.

    >>> fold("ビョウぶ")
    'ひようふ'
    """
    return voicing.plain(letters.full(letters.to_hiragana(text)))


def codes(text: str) -> list[int]:
    """Numbers of the folded kana of a text.

    >>> codes("がx")
    [5, 49]
    """
    return [_FOLDED[c] if c in _FOLDED else _folded(c) for c in text]


#: The code of every sign met so far: a collection of 100,000 verses has two million, and few different ones.
_FOLDED: dict[str, int] = {}


def _folded(sign: str) -> int:
    _FOLDED[sign] = code = _CODE.get(fold(sign), OTHER)
    return code


@dataclass(frozen=True)
class Span:
    """Several kana at once: from node ``start`` to ``end`` the kana ``codes`` with ``score``."""

    start: int
    end: int
    codes: tuple[int, ...]
    score: float
    kana: str = ""


@dataclass
class Profile:
    """All that is compared. ``signs[i, code]``: scores; ``copies[i][n]``: log-probability that i repeats n kana."""

    size: int
    signs: Floats
    shares: Floats  # probability of each folded kana at each sign, 0 where none was named
    unread: list[bool]
    gaps: dict[int, tuple[int, int]] = field(default_factory=dict)  # lost places: least and most kana
    copies: dict[int, dict[int, float]] = field(default_factory=dict)
    spans: list[Span] = field(default_factory=list)
    columns: list[tuple[int, int]] = field(default_factory=list)
    labels: list[str] = field(default_factory=list)
    marked: dict[int, str] = field(default_factory=dict)  # signs written with a voicing mark: the kana
    kanji: frozenset[int] = frozenset()  # kanji with readings among the spans: another reading is not to be expected

    @property
    def read(self) -> int:
        """How many signs were read at all."""
        return self.size - sum(self.unread)

    def ordered(self, order: tuple[int, ...]) -> tuple[Profile, list[int]]:
        """The profile with its columns in another order, and for each new position the old one."""
        old = [i for c in order for i in range(*self.columns[c])]
        new = {o: n for n, o in enumerate(old)}
        spans = [Span(new[s.start], new[s.start] + s.end - s.start, s.codes, s.score, s.kana) for s in self.spans
                 # A spelling over the end of a column is torn apart when the columns change places.
                 if any(a <= s.start and s.end <= b for a, b in self.columns)]
        made = Profile(self.size, self.signs[old], self.shares[old], [self.unread[o] for o in old],
                       {new[i]: g for i, g in self.gaps.items()}, {new[i]: c for i, c in self.copies.items()}, spans,
                       self.columns, [self.labels[o] for o in old], {new[i]: m for i, m in self.marked.items()},
                       frozenset(new[i] for i in self.kanji))
        return made, old

    def part(self, start: int, end: int) -> Profile:
        """One column of it, without spans."""
        return Profile(end - start, self.signs[start:end], self.shares[start:end], self.unread[start:end],
                       {i - start: g for i, g in self.gaps.items() if start <= i < end},
                       {i - start: c for i, c in self.copies.items() if start <= i < end})


def profile(lattice: Lattice, background: Floats) -> Profile:
    """The profile of a lattice; ``background[code]`` is the share of each kana in verse at large."""
    n = lattice.last
    logs = np.log(background)
    shares = np.zeros((n, PAST + 1))
    likely = np.zeros((n, PAST + 1))
    kanji = [False] * n
    unread = [True] * n
    marked: dict[int, str] = {}
    spans: dict[tuple[int, int, tuple[int, ...]], Span] = {}
    for arc in lattice.arcs:
        if arc.end == arc.start + 1 and not _repeats(arc):
            unread[arc.start] = False
            if not arc.kana and any(letters.is_kanji(c) for c in arc.text):
                kanji[arc.start] = True
                continue
        if _repeats(arc):
            continue
        named, ruled = _costs(arc)
        text = tuple(codes(arc.text))
        if tuple(codes(arc.kana)) == text:
            ruled = 0.0  # voicing and size are not compared
        p = math.exp(-(named + RULE * ruled) / COST_FACTOR)
        if arc.end == arc.start + 1 and len(text) == 1:
            if tuple(codes(arc.kana)) == text:
                shares[arc.start, text[0]] = max(shares[arc.start, text[0]], math.exp(-named / COST_FACTOR))
            likely[arc.start, text[0]] = max(likely[arc.start, text[0]], p)
            for other in _ALIKE.get(ALPHABET[text[0]] if text[0] < OTHER else "", ""):
                # え carved for へ: a look-alike in sound counts a fifth of what was seen.
                likely[arc.start, _CODE[other]] = max(likely[arc.start, _CODE[other]], 0.2 * p)
            if not ruled and fold(arc.written) != letters.to_hiragana(arc.written) == arc.kana != "":
                marked[arc.start] = arc.kana
        elif all(c < OTHER for c in text):
            # けふ read きょう tells no more of the verse than its two signs do.
            told = -float(logs[list(text)].mean()) * min(len(text), arc.end - arc.start)
            _keep(spans, Span(arc.start, arc.end, text, math.log(p) + told, arc.text))
    # What the reader's candidates leave open belongs to all other kana, never quite nothing.
    rest = np.maximum(NONE, 1.0 - np.minimum(1.0, shares.sum(axis=1)))
    signs = np.log(np.maximum(likely, rest[:, None] * background)) - logs
    gaps: dict[int, tuple[int, int]] = {}
    for gap in lattice.gaps:
        if gap.end == gap.start + 1:
            if (gap.least, gap.most) != (1, 1):
                gaps[gap.start] = gap.least, gap.most
            signs[gap.start] = np.maximum(signs[gap.start], 0.0 if unread[gap.start] else math.log(NONE))
    readable: set[int] = set()
    if any(kanji):
        for span in (*_kanji_words(lattice, logs), *_kanji_runs(lattice, logs)):
            _keep(spans, span)
            readable.update(at for at in range(span.start, span.end) if kanji[at])
    for at in (i for i, k in enumerate(kanji) if k):
        signs[at] = np.maximum(signs[at], -0.5)  # read in some way: nearly anything may stand there
        # 山 may be やま or さん: from one kana to four, whichever the verse has there.
        gaps.setdefault(at, (1, KANJI_KANA))
    signs[:, PAST] = -np.inf
    copies = _copies(lattice, unread)
    for i in copies:
        unread[i] = False
    columns = list(zip((0, *lattice.column_ends), (*lattice.column_ends, n), strict=True))
    chosen = sorted(spans.values(), key=lambda s: -s.score)[:MOST_ARCS]
    return Profile(n, signs, shares, unread, gaps, copies, chosen, columns, list(lattice.labels) or ["?"] * n, marked,
                   frozenset(readable))


def _keep(spans: dict[tuple[int, int, tuple[int, ...]], Span], span: Span) -> None:
    key = (span.start, span.end, span.codes)
    if key not in spans or spans[key].score < span.score:
        spans[key] = span


def _repeats(arc: Arc) -> bool:
    return any(r.kind in _REPEATED for r in arc.reasons)


def _costs(arc: Arc) -> tuple[float, float]:
    """Cost of the candidates of an arc, and of the rules on it."""
    ruled = sum(r.cost for r in arc.reasons)
    return max(0.0, arc.cost - ruled), ruled


def _copies(lattice: Lattice, unread: list[bool]) -> dict[int, dict[int, float]]:
    """Repetition marks: position -> kana copied -> log-probability of the mark itself."""
    cheapest: dict[int, float] = {}
    for arc in lattice.arcs:
        if arc.end == arc.start + 1 and not _repeats(arc):
            cheapest[arc.start] = min(cheapest.get(arc.start, math.inf), arc.cost)
    found: dict[int, dict[int, float]] = {}
    for arc in lattice.arcs:
        if not _repeats(arc):
            continue
        at = arc.end - 1
        copied = at - arc.start
        # What the signs copied cost is theirs and not the mark's.
        before = sum(cheapest.get(i, 0.0) for i in range(arc.start, at))
        kinds = sum(r.cost for r in arc.reasons if r.kind in _REPEATED)
        price = -max(0.0, arc.cost - before - kinds) / COST_FACTOR
        here = found.setdefault(at, {})
        here[copied] = max(here.get(copied, -math.inf), price)
    return found


def _kanji_words(lattice: Lattice, logs: Floats) -> list[Span]:
    """Words with kanji and their readings, from the dictionary."""
    search = Search(lattice)
    readings = search.readings()
    main = {node: i for i, node in enumerate(search.graph.main)}
    out = []
    for row in range(len(search.words)):
        start, end = main.get(int(search.words.start[row])), main.get(int(search.words.end[row]))
        if start is None or end is None:
            continue
        edges = [search.graph.edges[e] for e in search.words.walk.edges(int(search.words.path[row]))]
        if not any(not e.kana and letters.is_kanji(e.text) for e in edges):
            continue
        kana = str(readings.kana[row])
        text = codes(kana)
        if text and all(c < OTHER for c in text):
            named = sum(_costs(search.graph.arcs[e.arc])[0] for e in edges if e.first)
            out.append(Span(start, end, tuple(text), -named / COST_FACTOR - float(logs[text].sum()), kana))
    return out


def _kanji_runs(lattice: Lattice, logs: Floats) -> list[Span]:
    """Runs of kanji and how the period read them, okurigana left out or not."""
    out = []
    for arc in kanji_runs.arcs(lattice):
        text = codes(arc.kana)
        if text and all(c < OTHER for c in text):
            named, ruled = _costs(arc)
            out.append(Span(arc.start, arc.end, tuple(text),
                            -(named + RULE * ruled) / COST_FACTOR - float(logs[text].sum()), arc.kana))
    return out
