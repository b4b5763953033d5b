"""Readings, attempts and known verses as the browser shows them, with the plain words beside them.

Conventions: a share is computed and 0..1; it is never the reader's confidence. Signs supplied by the search are told
apart from what was seen, and from those that were read by their shape alone (see ``shape_signs``).
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from typing import Any

from readaid.core.attempt import Attempt
from readaid.core.character import Character, Inscription
from readaid.core.confidence import word as _word
from readaid.core.line import LineKind
from readaid.core.reading import Reading, VerseMatch
from readaid.core.texts import plural, told, wording
from readaid.piece.claims import anything_said, not_judged, shape_note
from readaid.piece.open_piece import OpenPiece
from readaid.reading import verse_picture
from readaid.reading.chinese_verse import ChineseVerse
from readaid.widgets.reading_states import AttemptRow, SignatureLine, SignRow
from readaid.widgets.shape_signs import shape_lines, written_parts
from readaid.widgets.verse_lines import letters, percent
from readaid.widgets.zone_rows import sign_of

#: From this share on a sign counts as settled by its neighbours.
SETTLED_SIGN = 0.9


def known_row(match: VerseMatch) -> tuple[str, str, str, str, str]:
    """A known verse as a row: verdict, verse, whose, what differs, how surprising."""
    chance = wording("under 1 in 10,000") if match.chance < 1e-4 else f"{match.chance:.2%}"
    return (
        told(match.verdict),
        match.verse,
        ", ".join(x for x in (match.author, match.title, match.source) if x),
        "; ".join(map(told, match.differences)) or wording("nothing"),
        chance,
    )


def known_words(found: list[VerseMatch]) -> str:
    """What the search in known verses gave, in a sentence."""
    if not found:
        return wording("No verse was searched.")
    if found[0].verdict == "nothing near":
        return wording(
            "{0} It may be an amateur's own, or a verse that is not kept here.", told(found[0].words))
    return wording(
        "{0} The chance is that of a match this near among verses taken at random.", told(found[0].words))


def chinese_rows(verse: ChineseVerse) -> dict[str, Any]:
    """A Chinese line as the browser shows it: each sign with on, kun and tone, and what is said of the whole."""
    words = [wording(
        "{0}: {1} (○ level, ● oblique)",
        verse.name or wording('Lines of no usual length'),
        "  ".join(verse.patterns)),
             wording("Rhyme: {0}", verse.rhyme)]
    known = wording("Beside it, a known line: {0}", verse.known.words) if verse.known else ""
    return {"signs": verse.text, "rows": verse.table(), "words": words, "known": known}


def kind_words(kinds: Sequence[LineKind]) -> str:
    """What kind of line the signs make, and where such a line is read, if it is no verse.

    >>> kind_words([LineKind("signature", 0.93), LineKind("verse", 0.05)])
    'By its signs a signature (93 %): the place Signature & school takes it apart.'
    """
    if not kinds:
        return ""
    best = kinds[0]
    named = best.kind if best.kind in ("verse", "prose", "seal text") else f"a {best.kind}"
    shares = ", ".join(f"{told(k.kind)} {k.probability:.0%}" for k in kinds[1:3] if k.probability >= 0.1)
    share = f"{best.probability:.0%}{f'; {shares}' if shares else ''}".replace("%", " %")
    words = wording("By its signs {0} ({1})", told(named), share)
    apart = best.kind in ("signature", "signature with date", "date", "seal text")
    return words + (wording(": the place Signature & school takes it apart.") if apart else ".")


def form_words(best: Reading | None, cut: bool, said: bool = True) -> str:
    """What was found, in a sentence. ``said``: whether anything was said of any sign."""
    if not said:
        return wording("Nothing is said of any sign yet. Enter what you see of the first one.")
    if best is None:
        return wording("No reading was found. Enter more candidates, or mark unread signs as lost.")
    words = wording("Read as {0}. ", told(best.form)) if best.form else ""
    return words + (
        wording(
            "The search was cut short, by time or by the number of possibilities; a better reading may exist.")
        if cut
        else wording("All possibilities were searched.")
    )


def spread_words(readings: list[Reading], tops: list[float]) -> list[str]:
    """Why shares are small, in plain sentences: how far the first leads, what all shown hold, how sure the signs are.

    ``tops`` are the shares of the likeliest sound of each sign.
    """
    if not readings:
        return []
    shown = min(sum(r.probability for r in readings), 1.0)
    told = []
    if len(readings) > 1 and readings[1].probability > 0:
        told.append(wording(
            "The first is {0} the second.", times(readings[0].probability / readings[1].probability)))
    rest = percent(1 - shown)
    told.append(
        wording(
                "The {0} shown hold {1} together; the other {2} is spread over many more spellings, most of which "
                "differ from these in one voicing or one letter. So even a good reading may have a small share: "
                "look at how far it leads, and at the single signs.",
            len(readings),
            percent(shown),
            rest)
        if len(readings) > 1
        else wording("It holds {0}; the other {1} is spread over other spellings.", percent(shown), rest)
    )
    settled = sum(p >= SETTLED_SIGN for p in tops)
    if tops:
        told.append(
            plural(
                settled,
                "Sign by sign: {0} of {1} is settled at {2} or more with their neighbours.",
                "Sign by sign: {0} of {1} are settled at {2} or more with their neighbours.",
                len(tops),
                f"{SETTLED_SIGN:.0%}").replace("%", " %")
        )
    return told


def surest(shares: list[Any]) -> float:
    """Share of the likeliest sound of one sign, whichever letter it is read from."""
    sums: dict[str, float] = {}
    for s in shares:
        sums[s.kana] = sums.get(s.kana, 0.0) + s.probability
    return max(sums.values())


def times(ratio: float) -> str:
    """How many times likelier, in words.

    >>> times(8.35), times(1.52), times(1.04), times(4000)
    ('8 times as likely as', '1.5 times as likely as', 'hardly likelier than', 'over 100 times as likely as')
    """
    if ratio < 1.1:
        return wording("hardly likelier than")
    return wording("{0} times as likely as",
        wording("over 100") if ratio > 100 else f'{ratio:.0f}' if ratio >= 3 else f'{ratio:.1f}')


def sign_row(k: Character, at: int, best: Reading | None, shares: list[Any], unread: Set[int] = frozenset()
             ) -> SignRow:
    """A sign of the strip at place ``at``: what the best reading takes it for, what its neighbours say."""
    text, mark = sign_of(k)
    chosen = best.chosen[at] if best and at < len(best.chosen) else ""
    mine = {c.character: c.confidence for c in k.candidates}
    own = [s for s in shares if s.character == (chosen or text)]
    return {
        "id": k.id,
        "n": at + 1,
        "best": chosen or text,
        "blank": {"lost": "□", "unread": "·"}.get(mark, ""),
        "kind": f"rp-{mark}",
        "shape": bool(chosen) and at in unread,
        "fixed": k.fixed,
        "ends": k.word_ends,
        "name": k.name_of,
        "options": list(dict.fromkeys([*(c.character for c in k.candidates), *([k.fixed] if k.fixed else [])])),
        # of と 10 % and い 37 %, where the best reading takes と, the sign shown is と and so is its sound
        "read": next((s.kana for s in [*own, *shares]), None),
        "share": sum(s.probability for s in own) if shares else None,
        "shares": [
            {
                "character": s.character,
                "kana": s.kana,
                "restored": s.restored,
                "mine": f"{told(_word(mine[s.character]))} {mine[s.character]:.2f}" if s.character in mine else None,
                "words": percent(s.probability),
            }
            for s in shares[:8]
        ],
    }


def reading_row(reading: Reading, unread: Set[int] = frozenset(), design: str = "") -> dict[str, Any]:
    """A reading as the browser shows it; ``design`` is what the piece shows, in the reader's words."""
    by_line, general = shape_lines(reading, unread)
    written = written_parts(reading, unread)
    layers: list[list[str]] = [
        [wording("As it stands"), "".join(p["text"] for p in written), "ja"],
        [wording("Voiced, carver's spelling"), reading.kana, "ja"],
        [wording("Historical norm"), reading.normal, "ja"],
        [wording("Today's spelling"), reading.modern, "ja"],
        [wording("Romanised"), reading.romaji, ""],
    ]
    if old := letters(reading):
        layers.append([wording("Old letters"), old, "ja"])
    if reading.season:
        layers.append([wording("Season word"), "、".join(map(told, reading.season)), "ja"])
    if reading.cutting:
        layers.append([wording("Cutting word"), "、".join(reading.cutting), "ja"])
    named = verse_picture.named(reading, design)
    layers += [[wording("Place names"), "、".join(named.places), "ja"],
               [wording("Pillow words"), "、".join(named.pillows), "ja"],
               [wording("Verse and design"), " ".join(map(told, named.hints)), ""]]
    unknown = [w.text for w in reading.words if not w.known]
    if unknown:
        layers.append([wording("Not in the dictionary"), "、".join(unknown), "ja"])
    restored = ""
    if reading.restored:
        supplied = ", ".join(wording("{0} at {1} ({2})",
            r.kana,
            r.at + 1,
            percent(r.probability)) for r in reading.restored)
        restored = wording("Supplied from the language, not seen on the piece: {0}.", supplied)
    return {
        "lines": by_line,
        "text": getattr(reading, "text", ""),
        "romaji": reading.romaji,
        "short": "　".join(reading.lines),
        "others": len(not_judged(reading, unread)),
        "written": written,
        "general": general,
        "layers": [x for x in layers if x[1]],
        "restored": restored,
        "shape": shape_note(reading, unread),
        "share": wording("probability {0}", percent(reading.probability)),
        "percent": percent(reading.probability),
    }


def rival_words(best: Reading, other: Reading) -> str:
    """The first verse line in which another reading differs from the best, or all of it.

    >>> from types import SimpleNamespace as R
    >>> rival_words(R(lines=("a", "b")), R(lines=("a", "c")))
    '… c'
    """
    if len(best.lines) == len(other.lines):
        for n, (mine, theirs) in enumerate(zip(best.lines, other.lines, strict=True)):
            if mine != theirs:
                return theirs if n == 0 else f"… {theirs}"
    return "　".join(other.lines)


def attempt_row(attempt: Attempt) -> AttemptRow:
    """An attempt as a short row."""
    text = "　".join(attempt.lines) or attempt.kana or attempt.written
    return {
        "text": text,
        "sure": f"{told(_word(attempt.confidence))} {attempt.confidence:.2f}",
        "status": wording("{0}: {1}", told(attempt.status.value), attempt.rejected) if attempt.rejected
        else told(attempt.status.value),
        "reader": attempt.reader,
        "when": attempt.made[:16].replace("T", " "),
    }


def unread_words(signs: Sequence[Character]) -> str:
    """Why no reading stands there before a search has told: nothing to read, nothing said, or not yet read."""
    if not signs:
        return wording("No sign is marked yet.")
    if not anything_said(signs):
        return wording("Nothing is said of any sign yet.")
    return wording("Readings come at the place Reading.")


def parse_rows(piece: OpenPiece, target: Inscription) -> SignatureLine:
    """What stands at the foot of the bench for a signature: its parts, or nothing; never lines of a verse."""
    written = piece.decipherment.written(target).replace("\n", " ")
    found = piece.signers.parse(target, written)[:1] if written.strip("? ") else []
    parts = [(p.text, "" if p.kind == "unknown" else told(p.kind)) for signature in found for p in signature.parts]
    return {"parts": parts, "words": "" if parts else wording("A signature; none of its parts is made out yet.")}
