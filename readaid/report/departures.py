"""Where a reading departs from what stands on the piece, in the words of the report's language.

Conventions: an attempt keeps its reasons as sentences of the search ("ゝ read す (repetition)"); here they are taken
apart again and worded anew. A letter read as its own sound is no departure and is not listed.
"""

from __future__ import annotations

import re

from readaid.core.attempt import Attempt
from readaid.core.texts import told
from readaid.report.terms import said, word
from readaid.script.hentaigana import letter

_READ = re.compile(r"^(?P<written>.+?) read (?P<read>.+?) \((?P<kind>[^()]+)\)$")
_SEASON = re.compile(r"^(?P<word>.+?) \((?P<seasons>[a-z /]+)\)$")


def listed(best: Attempt, language: str) -> tuple[str, ...]:
    """The departures of an attempt, each once, in the order kept.

    >>> listed(Attempt("i", "x", reasons=("𛂥 read は (hentaigana)", "は read ば (voicing)")), "en")
    ('は read ば (voicing)',)
    """
    found: dict[str, None] = {}
    for reason in best.reasons:
        taken = _READ.match(reason)
        if taken is None:
            found[told(reason, language)] = None
        elif not own_sound(taken["written"], taken["read"]):
            kind = said("reason", taken["kind"], language)
            found[word("departure", language).format(written=taken["written"], read=taken["read"], kind=kind)] = None
    return tuple(found)


def own_sound(written: str, read: str) -> bool:
    """Whether a sign is a kana letter and is read as one of its own sounds.

    >>> own_sound("𛂥", "は"), own_sound("𛂥", "ば"), own_sound("ゝ", "す")
    (True, False, False)
    """
    found = letter(written) if len(written) == 1 else None
    return found is not None and read in found.sounds


def season(text: str, language: str) -> str:
    """A season word as the reading gives it, "word (season)", with its season in the report's language.

    >>> season("煤払い (winter)", "ja")
    '煤払い（冬）'
    """
    taken = _SEASON.match(text)
    if taken is None:
        return text
    named = [said("season", s, language) for s in taken["seasons"].split("/")]
    return f"{taken['word']}（{'・'.join(named)}）" if language == "ja" else f"{taken['word']} ({'/'.join(named)})"
