"""A profile laid along many verses at once: the best alignment's score, and for a few its steps.

Conventions
-----------
* Verses are rows of codes (verses, longest + 1), padded with ``PAST``. Scores in nats; the larger the better.
* Steps of an alignment: a sign agrees or not with a kana; signs that are not in the verse; kana of the verse that have
  no sign. What stands before or after the part of the verse that is there costs little, since pieces often bear a part.
* Exact dynamic programming over (sign, kana), all verses in one array; nothing is sampled.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.reading.kana_profile import OTHER, PAST, Profile, Span, codes

Scores = NDArray[np.float32]
Codes = NDArray[np.int8]

#: A kana of the verse with no sign; a sign with no kana in the verse.
MISSING, EXTRA = 4.0, 4.0
#: The verse goes on before or after what is there: once, and for each kana.
OUTSIDE, OUTSIDE_EACH = 2.5, 0.15
_LONGEST_COPY = 5
#: Scores held at once: 80 MB.
MOST_CELLS = 20_000_000


@dataclass(frozen=True)
class Rows:
    """Verses as codes: ``codes`` (verses, width), ``length`` of each, ``verse`` the number of the verse it spells."""

    codes: Codes
    length: NDArray[np.int64]
    verse: NDArray[np.int64]

    def take(self, rows: NDArray[np.int64]) -> Rows:
        """Some of the rows, no wider than they need."""
        width = int(self.length[rows].max(initial=0)) + 1
        return Rows(self.codes[rows, :width], self.length[rows], self.verse[rows])


def rows(texts: list[str], numbers: list[int]) -> Rows:
    """Rows of kana texts; ``numbers`` say which verse each spells."""
    made = [codes(t) for t in texts]
    width = max(map(len, made), default=0) + 1
    table = np.full((len(made), width), PAST, dtype=np.int8)
    for n, row in enumerate(made):
        table[n, :len(row)] = row
    return Rows(table, np.array([len(r) for r in made], dtype=np.int64), np.array(numbers, dtype=np.int64))


def score(profile: Profile, verses: Rows, spans: bool = True) -> Scores:
    """Score of the best alignment with each row."""
    return _by_parts(verses, lambda part: _ended(_fill(profile, part, spans)[-1], part), profile.size)


def inside(profile: Profile, verses: Rows) -> Scores:
    """Score of the best place for a part (a column) anywhere in each row; what is around it costs nothing."""
    def scores(part: Rows) -> Scores:
        start = np.zeros(part.codes.shape, dtype=np.float32)
        start[_past(part)] = -np.inf
        best: Scores = _fill(profile, part, False, start)[-1].max(axis=1)
        return best

    return _by_parts(verses, scores, profile.size)


def _by_parts(verses: Rows, scores: Callable[[Rows], Scores], signs: int) -> Scores:
    """Scores of all rows, so many at once as their scores after each sign (rows, width, signs) take little room."""
    some = max(1, MOST_CELLS // (max(1, signs) * verses.codes.shape[1]))
    if len(verses.length) <= some:
        return scores(verses)
    rows = np.arange(len(verses.length))
    return np.concatenate([scores(verses.take(rows[at:at + some])) for at in range(0, len(rows), some)])


def _ended(last: Scores, verses: Rows) -> Scores:
    left = verses.length[:, None] - np.arange(last.shape[1])
    price = np.where(left > 0, OUTSIDE + OUTSIDE_EACH * left, np.where(left < 0, np.inf, 0.0))
    best: Scores = (last - price).max(axis=1)
    return best


def _first(verses: Rows) -> Scores:
    j = np.arange(verses.codes.shape[1], dtype=np.float32)
    start = np.where(j == 0, 0.0, -OUTSIDE - OUTSIDE_EACH * j).astype(np.float32)
    return np.where(j[None, :] <= verses.length[:, None], start[None, :], np.float32(-np.inf)).astype(np.float32)


def _fill(profile: Profile, verses: Rows, spans: bool, start: Scores | None = None) -> list[Scores]:
    """Scores after each sign (nodes 0..n), each (rows, width): column j stands after j kana."""
    text = verses.codes
    width = text.shape[1]
    slope = (MISSING * np.arange(width)).astype(np.float32)
    table = [_first(verses) if start is None else start]
    logs = _surprise(profile)
    by_end: dict[int, list[Span]] = {}
    if spans:
        for span in profile.spans:
            by_end.setdefault(span.end, []).append(span)
    repeated = {n: _repeated(text, n) for n in range(1, _LONGEST_COPY + 1)} if profile.copies else {}
    signs = profile.signs.astype(np.float32)
    past = _past(verses)
    for i in range(profile.size):
        old = table[i]
        new = old - np.float32(EXTRA)
        gap = profile.gaps.get(i)
        agree = signs[i][text[:, :-1]]
        new[:, 1:] = np.maximum(new[:, 1:], old[:, :-1] + agree)
        if gap is not None:
            for many in range(gap[0], min(gap[1], width - 1) + 1):
                if many != 1 or profile.unread[i]:
                    # A place that was read and may besides hold lost signs pays a little, or a gap would be cheaper
                    # than its own sign.
                    best = old[:, :width - many] - np.float32(0.0 if profile.unread[i] else 0.5)
                    new[:, many:] = np.maximum(new[:, many:], best)
        for many, price in profile.copies.get(i, {}).items():
            if many <= _LONGEST_COPY and many < width:
                gain = np.where(repeated[many], np.float32(price) + _window(logs, text, many), np.float32(-np.inf))
                new[:, many:] = np.maximum(new[:, many:], old[:, :width - many] + gain[:, :width - many])
        for span in by_end.get(i + 1, ()):
            _span(span, table, new, text)
        out = new + slope
        # Missing kana cost alike each, so that along a row the best of all earlier columns is a running maximum once
        # the slope is taken off.
        np.maximum.accumulate(out, axis=1, out=out)
        out -= slope
        out[past] = -np.inf
        table.append(out)
    return table


def _past(verses: Rows) -> NDArray[np.bool_]:
    return np.arange(verses.codes.shape[1]) > verses.length[:, None]


def _surprise(profile: Profile) -> Scores:
    """Score of a kana that a repetition mark makes certain: taken as that of a certain sign, about 3 nats."""
    out = np.full(PAST + 1, 3.0, dtype=np.float32)
    out[[OTHER, PAST]] = 0.0
    return out


def _window(logs: Scores, text: Codes, many: int) -> Scores:
    one = logs[text]
    total = one.copy()
    for n in range(1, many):
        total[:, :-n] += one[:, n:]
    return total


def _repeated(text: Codes, many: int) -> NDArray[np.bool_]:
    """Where the kana from j on repeat the ``many`` before j."""
    out = np.zeros(text.shape, dtype=bool)
    width = text.shape[1]
    if width < 2 * many:
        return out
    same = text[:, many:] == text[:, :-many]
    good = same[:, :width - 2 * many + 1].copy()
    for n in range(1, many):
        good &= same[:, n:width - 2 * many + 1 + n]
    # What fills a row up is equal to itself, and no repetition.
    good &= text[:, 2 * many - 1:] != PAST
    out[:, many:width - many + 1] = good
    return out


def _span(span: Span, table: list[Scores], new: Scores, text: Codes) -> None:
    many, width = len(span.codes), text.shape[1]
    if many >= width:
        return
    fits = text[:, :width - many] == span.codes[0]
    for n in range(1, many):
        fits &= text[:, n:width - many + n] == span.codes[n]
    row, at = np.nonzero(fits)
    if len(row):
        new[row, at + many] = np.maximum(new[row, at + many], table[span.start][row, at] + np.float32(span.score))


@dataclass(frozen=True)
class Step:
    """One step: signs ``start:end`` against kana ``begin:stop`` of the verse, and of which kind."""

    kind: str  # "sign", "span", "copy", "gap", "extra", "missing", "before", "after"
    start: int
    end: int
    begin: int
    stop: int
    span: Span | None = None


def steps(profile: Profile, verse: Rows) -> list[Step]:
    """The steps of the best alignment with one row, in order."""
    table = [t[0].astype(float) for t in _fill(profile, verse, True)]
    text, length = verse.codes[0], int(verse.length[0])
    tail = [OUTSIDE + OUTSIDE_EACH * (length - j) if j < length else 0.0 for j in range(length + 1)]
    j = int(np.argmax(table[-1][:length + 1] - tail))
    i = profile.size
    out = [Step("after", i, i, j, length)] if j < length else []
    while i > 0:
        step = _back(profile, table, text, i, j)
        out.append(step)
        i, j = step.start, step.begin
    # Node 0: kana before the part that is there.
    if j:
        out.append(Step("before", 0, 0, 0, j))
    return out[::-1]


def _back(profile: Profile, table: list[NDArray[np.float64]], text: Codes, i: int, j: int) -> Step:
    # The table was filled in single precision: sums in another order differ in the fourth digit.
    here, near = table[i][j], 2e-3
    at = i - 1
    options: list[tuple[float, Step]] = []
    if j:
        options.append((table[at][j - 1] + profile.signs[at][text[j - 1]], Step("sign", at, i, j - 1, j)))
    options += [(table[s.start][j - len(s.codes)] + s.score, Step("span", s.start, i, j - len(s.codes), j, s))
                for s in profile.spans if s.end == i and len(s.codes) <= j
                and tuple(text[j - len(s.codes):j].tolist()) == s.codes]
    logs = _surprise(profile)
    for many, price in profile.copies.get(at, {}).items():
        if many <= min(j - many, _LONGEST_COPY) and (text[j - many:j] == text[j - 2 * many:j - many]).all():
            options.append((table[at][j - many] + price + float(logs[text[j - many:j]].sum()),
                            Step("copy", at, i, j - many, j)))
    if at in profile.gaps:
        least, most = profile.gaps[at]
        options += [(table[at][j - m] - (0.0 if profile.unread[at] else 0.5), Step("gap", at, i, j - m, j))
                    for m in range(least, min(most, j) + 1) if m != 1 or profile.unread[at]]
    options.append((table[at][j] - EXTRA, Step("extra", at, i, j, j)))
    if j:
        options.append((table[i][j - 1] - MISSING, Step("missing", i, i, j - 1, j)))
    for value, step in options:
        if abs(value - here) < near:
            return step
    return max(options, key=lambda o: o[0])[1]
