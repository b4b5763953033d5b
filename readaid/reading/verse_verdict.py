"""What a known verse near a reading amounts to: the same, a variant, a quoted line, a stock phrase, or nothing near.

Conventions
-----------
* The *phrase* in common is the longest run of kana of the verse that agree without a break, unread signs agreeing with
  anything inside it but not at its ends. It counts where it fills a line of the verse, or ``PHRASE`` kana.
* "the same": nothing differs. "a variant": most of the verse is here and most of what is here agrees. "quotes a line":
  a whole line agrees, the rest does not or is not here. "shares a stock phrase": so it does, but the phrase stands in
  many verses: はつしぐれ alone says nothing of Basho. "near": too little agrees to tell. "nothing near": as near as
  chance would bring one.
* How common a phrase is: how many other verses of the collection hold it, and how many of the verses drawn from the
  kana models (see ``chance``), which know verse that the collection does not hold.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from readaid.reading.kana_profile import Profile
from readaid.reading.verse_alignment import Codes, Step

#: Chance below which a verse is named, and above which nothing is near.
SURE, LIKELY = 0.01, 0.2
#: A variant has this share of the verse's kana beside it, and these shares of the signs read and of the kana they stand
#: against agree. They let a first line be another one (つじかぜや for こがらしや), and keep two lines of three, 12 of
#: 17 kana, a quotation.
PRESENT, AGREES, HEARD = 0.75, 0.68, 0.72
#: Kana of a phrase that fills no line; other verses and drawn verses (of 2,000) that make a phrase common.
PHRASE, OTHERS, DRAWN = 7, 2, 3


@dataclass(frozen=True)
class Common:
    """The phrase in common: kana ``begin:stop`` of the verse; signs that agree anywhere and signs read at all."""

    begin: int
    stop: int
    lines: tuple[int, ...]  # whole lines in it, from 0
    inside: int  # signs that agree within the phrase
    agree: int
    read: int
    outside: int  # kana of the verse before and after what is here
    heard: int  # kana of the verse that agree
    faced: int  # kana of the verse that what was read stands against

    @property
    def counts(self) -> bool:
        """Whether it is long enough to speak of."""
        return bool(self.lines) or self.inside >= PHRASE

    @property
    def agrees(self) -> bool:
        """Whether enough agrees for a variant, of the signs and of the kana: one kanji is one sign and four kana."""
        return self.agree >= AGREES * max(self.read, 1) and self.heard >= HEARD * max(self.faced, 1)



def common(read: Profile, steps: Sequence[Step], verse: Codes, lengths: Sequence[int]) -> Common:
    """The phrase in common of an alignment; ``lengths`` are the kana of each line of the verse, ``verse`` its codes."""
    best, run, agree, outside, heard, faced = (0, 0, 0), (0, 0, 0), 0, 0, 0, 0
    for step in steps:
        if step.kind in ("before", "after"):
            outside += step.stop - step.begin
        elif step.kind == "missing" or not all(read.unread[step.start:step.end]):
            faced += step.stop - step.begin
        signs, fits = _fits(read, step, verse)
        agree += signs
        heard += step.stop - step.begin if signs else 0
        begin, _, held = run
        if not fits or (not signs and not held):
            run = (step.stop, step.stop, 0)
            continue
        run = (begin if held else step.begin, step.stop if signs else run[1], held + signs)
        if run[2] > best[2]:
            best = run
    start, whole = 0, []
    for number, many in enumerate(lengths):
        if best[0] <= start and start + many <= best[1] and many:
            whole.append(number)
        start += many
    return Common(best[0], best[1], tuple(whole), best[2], agree, read.read, outside, heard, faced)


def _fits(read: Profile, step: Step, verse: Codes) -> tuple[int, bool]:
    """How many signs that were read agree in a step, and whether the step breaks no phrase."""
    if step.kind == "sign":
        if read.unread[step.start]:
            return 0, True
        agrees = bool(read.signs[step.start, verse[step.begin]] > 0.0)
        return int(agrees), agrees
    if step.kind in ("span", "copy"):
        return step.end - step.start, True
    return 0, step.kind == "gap" and step.start not in read.kanji


def verdict(same: bool, length: int, found: Common, chance: float, others: int, drawn: int,
            season: bool = False) -> str:
    """The verdict on a verse of ``length`` kana.

    Parameters
    ----------
    same: nothing differs. chance: that an unrelated verse comes as near, 0..1. others, drawn: other verses of the
        collection, and verses drawn from the models, that hold the phrase in common. season: it is a season word.

    >>> alone = Common(12, 17, (2,), 5, 5, 5, 12, 5, 5)
    >>> verdict(False, 17, alone, 0.001, 8, 5), verdict(False, 17, alone, 0.001, 0, 0)
    ('shares a stock phrase', 'quotes a line')
    """
    # Five kana alone are stock as soon as one other verse has them (ふるいけや), or as a season word (すすはらひ).
    short = found.inside < PHRASE
    stock = others >= (1 if short else OTHERS) or drawn >= (1 if short else DRAWN) or season
    if chance < SURE:
        if same:
            return "the same"
        if found.outside <= (1.0 - PRESENT) * length and found.agrees:
            return "a variant"
        if found.counts:
            return "shares a stock phrase" if stock else "quotes a line"
        return "near"
    if found.lines and stock and (chance < LIKELY or found.inside == found.read):
        return "shares a stock phrase"  # a line of five kana is never beyond chance: はつしぐれ, あきのかぜ
    return "near" if chance < LIKELY else "nothing near"
