"""Readings and verses: what comes back from the search.

Conventions: layers are kept apart. ``written`` as it stands; ``kana`` the
carver's spelling, voicing restored; ``normal`` the historical norm;
``modern`` today's spelling; ``romaji`` modified Hepburn. Line tuples have one
entry per verse line; morae are counts (ints); ``probability`` is 0..1 of the whole.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape

from readaid.core.lattice import Reason


@dataclass(frozen=True, slots=True)
class Word:
    """One word of a reading: nodes it covers, spellings, part of speech, whether the dictionary knows it."""

    start: int
    end: int
    text: str  # as the dictionary was asked
    kana: str  # carver's spelling, voiced
    modern: str  # today's kana spelling
    spoken: str  # pronunciation in katakana
    part: str  # part of speech as the dictionary names it
    known: bool
    cost: float
    lemma: str = ""
    source: str = "dictionary"  # or "kanji": written so on the piece and read by the dictionary
    written: str = ""  # as it stands on the piece
    normal: str = ""  # historical norm
    inflection: str = ""  # class and form in the old language ("four-step, continuative"), "" for what has none


@dataclass(frozen=True, slots=True)
class Restored:
    """A sign not seen but supplied by the search: position, kana and probability of this filler."""

    at: int
    kana: str
    probability: float


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of an inscription, best first in a list of them."""

    written: str
    kana: str
    normal: str
    modern: str
    romaji: str
    lines: tuple[str, ...]
    morae: tuple[int, ...]
    probability: float
    reasons: tuple[Reason, ...]
    form: str | None = None
    surplus: tuple[int, ...] = ()
    words: tuple[Word, ...] = ()
    cost: float = 0.0
    restored: tuple[Restored, ...] = ()
    chosen: tuple[str, ...] = ()  # the character chosen at each position, "" where restored
    season: tuple[str, ...] = ()  # season words found, "word (season)"
    cutting: tuple[str, ...] = ()  # cutting words found
    cut: bool = False  # the search was cut short: the list may not be the best
    #: By cause ("signs", "shape", "rules", "kanji", "restored", "misread", "verse", "words", "grammar", "metre",
    #: "form"), all in one unit; they add up to ``cost``.
    costs: tuple[tuple[str, float], ...] = ()
    text: str = ""  # kanji and kana as an edition would print it, historical spelling

    def _repr_html_(self) -> str:
        lines = "<br>".join(f"{escape(t)} <small>({m})</small>"
                            for t, m in zip(self.lines, self.morae, strict=False))
        why = "; ".join(escape(str(r)) for r in self.reasons)
        return (f"<div lang='ja'>{lines}<div lang='en'><small>{escape(self.romaji)}"
                f" &middot; share {self.probability:.0%} &middot; {why}</small></div></div>")


@dataclass(frozen=True, slots=True)
class Verse:
    """Morae of a text, line by line, against a verse form. Nothing is corrected."""

    lines: tuple[str, ...]
    morae: tuple[int, ...]
    form: str | None
    surplus: tuple[int, ...]  # per line, negative where too short
    cut: bool = False  # the search was cut short: the break into lines may not be the best

    def _repr_html_(self) -> str:
        rows = "".join(f"<tr><td lang='ja'>{escape(t)}</td><td>{m}</td><td>{s:+d}</td></tr>"
                       for t, m, s in zip(self.lines, self.morae, self.surplus or (0,) * len(self.lines),
                                          strict=False))
        return f"<table><caption>{escape(self.form or 'no verse form')}</caption>{rows}</table>"


@dataclass(frozen=True, slots=True)
class CandidateShare:
    """Probability of one candidate at one position once its neighbours are weighed (0..1)."""

    at: int
    character: str
    kana: str
    probability: float
    restored: bool = False


@dataclass(frozen=True, slots=True)
class VerseMatch:
    """A known verse found by an uncertain reading."""

    verse: str  # the verse's kana, lines joined by spaces
    title: str
    author: str
    source: str
    verdict: str  # "the same", "a variant", "quotes a line", "shares a stock phrase", "near", "nothing near"
    distance: float  # weighted edit distance, in signs
    differences: tuple[str, ...]
    chance: float  # probability of a match this near by chance in this collection
    offset: int = 0
    text: str = ""  # the verse as its source writes it, kanji and kana
    among: int = 0  # how many verses were searched
    phrase: str = ""  # kana in common without a break, where they are a line or more
    phrase_in: int = 0  # how many of the verses searched hold that phrase

    @property
    def words(self) -> str:
        """The verdict in one sentence, which says among how many verses it holds.

        >>> VerseMatch("はるのうみ", "", "Buson", "", "nothing near", 9.0, (), 1.0, among=2031).words
        'Nothing near among the 2,031 verses of these collections.'
        """
        if self.verdict == "nothing near":
            return f"Nothing near among the {self.among:,} verses of these collections."
        whose = f" ({self.author})" if self.author else ""
        found = f"{self.verdict[0].upper()}{self.verdict[1:]}: {self.text or self.verse}{whose}"
        if self.verdict in ("quotes a line", "shares a stock phrase"):
            return (f"{found}; {self.phrase} stands in {self.phrase_in:,} of the {self.among:,} verses of these"
                    " collections.")
        return f"{found}; searched among {self.among:,} verses."


class Readings(list[Reading]):
    """Readings, best first, that show as a short table in a notebook and as one line each in a console.

    ``known`` is a known verse near what was read, if one was found: it stands beside the readings and changed none.
    It is looked for when it is first asked for or shown.
    """

    look: Callable[[], VerseMatch | None] | None = None
    _found: VerseMatch | None = None

    @property
    def known(self) -> VerseMatch | None:
        """The known verse that tells something of what was read, None without one."""
        if self.look is not None:
            self._found, self.look = self.look(), None
        return self._found

    def __repr__(self) -> str:
        rows = [f"{r.probability:4.0%}  {' / '.join(r.lines)}  {r.text}" for r in self] or ["no reading"]
        return "\n".join([*rows, *([f"Beside it, a known verse. {self.known.words}"] if self.known else [])])

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><td>{r.probability:.0%}</td><td lang='ja'>{'<br>'.join(escape(t) for t in r.lines)}</td>"
            f"<td lang='ja'>{escape(r.text)}</td><td>{escape(r.romaji)}</td>"
            f"<td>{escape('; '.join(str(x) for x in r.reasons[:4]))}</td></tr>" for r in self)
        heads = "".join(f"<th>{h}</th>" for h in ("share", "kana", "text", "romanised", "read otherwise"))
        beside = f"<p><small>Beside it, a known verse. {escape(self.known.words)}</small></p>" if self.known else ""
        return f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>{beside}"
