"""Letters as the browser shows them: found by sound, parent, part, look-alike or shape, each with its pictures.

Conventions: a row holds ``character``, ``under`` (a few words), ``title`` (the whole, for the ear), and ``pictures`` as
pairs of data address and words. A reference form is a font's, a reminder and not evidence of period handwriting.
"""

from __future__ import annotations

import base64
import io
from typing import TYPE_CHECKING, Any

from readaid.core.character import Candidate
from readaid.core.errors import OptionError, ReadaidError
from readaid.core.photo import Zone
from readaid.core.specimen import Example
from readaid.core.texts import told, wording
from readaid.piece.crops import Look
from readaid.widgets.board_states import Pair
from readaid.widgets.desk import Desk
from readaid.widgets.sign_states import CandidateRow, LetterRow, LettersFound, LookChoices, OwnCrop, ShapeRow
from readaid.widgets.verse_lines import percent
from readaid.widgets.zone_rows import zone_label

if TYPE_CHECKING:
    from collections.abc import Sequence

    from readaid.glyphs.candidates import Weighed
    from readaid.glyphs.references import Reference
    from readaid.piece.decipherment import Decipherment

Row = dict[str, Any]
#: Kanji shown for a part at most, and look-alikes of a character.
MOST_BY_PART, MOST_ALIKE = 120, 12
#: Summed sounds shown at most, and the least share of one.
SOUNDS, LEAST_SOUND = 6, 0.01
_HANDS = {"grass": "grass script", "running": "running script", "regular": "regular script", "letter": "kana letter"}


def letter_row(letter: Any) -> LetterRow:
    """A letter of the script tables."""
    sounds = "、".join(letter.sounds)
    return {
        "character": letter.character,
        "under": letter.parent or "–",
        "title": wording("{0}, {1}, from {2}", letter.character, sounds, letter.parent or wording('an unknown kanji')),
    }


def candidate_row(candidate: Candidate, after: dict[str, float]) -> CandidateRow:
    """A candidate that was entered."""
    return {
        "character": candidate.character,
        "confidence": candidate.confidence,
        "note": candidate.note,
        "rejected": candidate.rejected,
        "source": candidate.source,
        "probability": candidate.probability,
        "about": about(candidate.character),
        "picture": next(iter(forms(candidate.character)), None),
        "after": percent(after[candidate.character]) if candidate.character in after else None,
    }


def about(character: str) -> str:
    """Sounds and parent of a kana letter, "" for another sign."""
    from readaid.script.hentaigana import letter

    try:
        found = letter(character)
    except ReadaidError:
        return ""
    if found is None:
        return ""
    return f"{'、'.join(found.sounds)} ({found.parent})" if found.parent else "、".join(found.sounds)


# --- by shape ----------------------------------------------------------------------------------
def shape_rows(decipherment: Decipherment, weighed: Weighed, references: Sequence[Reference | None]) -> list[ShapeRow]:
    """Proposals by shape, each with the reference form it resembles; one raised by an own crop shows that crop, too."""
    rows: list[ShapeRow] = []
    for s, reference in zip(weighed.suggestions, references, strict=True):
        share, sounds = percent(s.probability), "、".join(s.sounds[:2])
        pictures = [(reference.address, reference.words)] if reference else []
        said = wording("{0}, {1}{2} by shape", s.character, sounds + wording(', ') if sounds else '', share)
        if s.source == "example":
            own = own_picture(decipherment, s.character)
            pictures = ([(own, wording("{0}, your own example", s.character))] if own else []) + pictures
            said += wording(", raised by your own example")
        elif reference:
            said += wording(", most like its {0}", told(_HANDS[reference.hand]))
        rows.append(
            {
                "character": s.character,
                "under": f"{sounds} {share}".strip(),
                "hand": wording(
                    "your example") if s.source == "example" else told(_HANDS[reference.hand]) if reference else "",
                "source": s.source,
                "probability": s.probability,
                "title": said,
                "pictures": pictures,
            }
        )
    return rows


def shape_words(weighed: Weighed, among: str, seen: str, kanji: float = 0.5) -> Row:
    """What the proposals come to: "none of these", all others, and the sounds summed over their letters; beside it the
    condition they hold under: ``kanji`` is the share expected of an inscription of this kind."""
    rest = max(0.0, 1.0 - weighed.none - sum(s.probability for s in weighed.suggestions))
    sounds = [(s, p) for s, p in weighed.sounds if p >= LEAST_SOUND][:SOUNDS] if among != "kanji" else []
    return {
        "words": wording(
            "Compared: {0}. {1}. Likeness of shape alone, not a reading. Enter what you see, too.",
            seen or wording("the untouched photograph"), told(_condition(among, kanji))),
        "none": wording(
            "None of these (a scratch, a border, half a sign): {0}. All letters not shown, together: {1}.",
            percent(weighed.none),
            percent(rest)),
        "sounds": [[sound, percent(p)] for sound, p in sounds],
    }


def _condition(among: str, kanji: float) -> str:
    return f"Kanji and kana, {percent(kanji)} of them kanji" if among == "all" else f"Among {among} only"


def own_picture(decipherment: Decipherment, character: str) -> str:
    """The reader's own crop of a character as a data address, the newest one; "" where its zone has gone."""
    from readaid.glyphs.classes import index

    number = index().get(character)
    contents = decipherment.contents
    zones = {z.id: z for z in contents.zones}
    for e in reversed(contents.examples):
        same = e.character == character or (number is not None and index().get(e.character) == number)
        if same and e.zone in zones:
            return _small(decipherment.crops.pixels(zones[e.zone]))
    return ""


def _small(pixels: Any) -> str:
    from PIL import Image

    picture = Image.fromarray(pixels)
    picture.thumbnail((64, 64))
    held = io.BytesIO()
    picture.convert("RGB").save(held, "JPEG", quality=80)
    return "data:image/jpeg;base64," + base64.b64encode(held.getvalue()).decode("ascii")


def own_rows(desk: Desk) -> list[OwnCrop]:
    """The reader's own crops, newest first: what they stand for and where they were taken."""

    def where(example: Example) -> str:
        label = zone_label(desk, example.zone) if example.zone else ""
        return wording("sign {0}", label) if label else wording("its zone has gone")

    return [{"id": e.id, "character": e.character, "where": where(e)} for e in reversed(desk.contents.examples)]


def look_choices(desk: Desk, zone: Zone | None, look: Look) -> LookChoices:
    """Photographs and views that the crop of a zone may be taken from."""
    from readaid.photo.views import VIEWS

    crops = desk.piece.decipherment.crops
    photos = crops.photos(zone) if zone else []
    titles = [(p.id, (p.title or p.file) + (wording(
        " (as it was drawn)") if n == 0 else "")) for n, p in enumerate(photos)]
    shown = look.photo or (zone.photo if zone else "")
    return {
        "photos": titles,
        "photo": shown,
        "views": [("", wording("As photographed")), *((name, told(name.capitalize())) for name in VIEWS)],
        "board": desk.photo if desk.photo in {p.id for p in photos} and zone and desk.photo != shown else "",
        "view": look.view,
        "words": crops.words(zone, look) if zone else "",
    }


# --- by part, by look-alike ------------------------------------------------------------------------
def part_rows(part: str, place: str) -> LettersFound:
    """Kanji with a part, with pictures; an unknown part and an empty result are told in plain words."""
    from readaid.glyphs import components
    from readaid.glyphs.parts import by_part

    whole = components.installed()
    if place and not whole:
        place, told = "", wording("Where a part stands is not known on this computer, so it was looked for anywhere. ")
    else:
        told = ""
    try:
        found = by_part(part, place=place or None)
    except OptionError as error:
        near = error.cure.split("?")[0] + "? " if "did you mean" in error.cure else ""
        raise OptionError(
            f"Unknown part '{part[:20]}'",
            cure=f"{near}Give it as it is written (氵, 木, 寺) or by its English name (water, tree, temple)",
        ) from error
    rows: list[LetterRow] = [
        {
            "character": p.character,
            "under": wording("{0} strokes", p.strokes),
            "title": wording("the kanji {0}, {1} strokes", p.character, p.strokes),
            "pictures": forms(p.character)[:1],
        }
        for p in found[:MOST_BY_PART]
    ]
    where = f", {place}" if place else ""
    words = wording("{0}{1}{2}: {3} kanji, fewest strokes first.", told, part, where, len(found))
    if not found:
        words = wording(
            "{0}No kanji that is known here has {1}{2}. Choose 'anywhere', or look for another part.",
            told,
            part,
            where)
    if len(found) > len(rows):
        words += wording(" The first {0} are shown.", len(rows))
    if not whole:
        words += (
            wording(
                " Only the main part of each kanji (its radical) is known on this computer. Every part and its "
                "place are in a free table that can be added later: pip install readaid[parts].")
        )
    return {"by": "part", "rows": rows, "words": words}


def alike_rows(character: str) -> LettersFound:
    """What a character is commonly taken for in cursive, with pictures, and the character's own forms first."""
    from readaid.glyphs.classes import index
    from readaid.glyphs.lookalikes import lookalikes

    sign = character.strip()
    if len(sign) != 1 and sign not in index():
        raise OptionError("Look-alikes are known for one character at a time", sign, "give one kana, letter or kanji")
    found = lookalikes(sign, MOST_ALIKE)
    rows: list[LetterRow] = []
    for a in found:
        sounds, share = "、".join(a.sounds[:2]), f"{a.share:.1%}".replace("%", " %")
        rows.append(
            {
                "character": a.character,
                "under": f"{sounds} {share}".strip(),
                "title": wording(
                    "{0}, {1}{2} was taken for it in {3}",
                    a.character,
                    sounds + wording(', ') if sounds else '',
                    sign,
                    share),
                "pictures": forms(a.character)[:2],
            }
        )
    if found:
        words = (
            wording(
                "{0} is taken for these most often. Measured on distorted drawings of cursive fonts which the "
                "model had never seen: it is the model's eye, and another hand's may confuse others.",
                sign)
        )
    elif sign in index():
        words = (
            wording(
                "Nothing is known to be taken for {0}: either it was never confused in the fonts kept back for "
                "measuring, or they do not hold it.",
                sign)
        )
    else:
        words = wording(
            "{0} is not among the characters that are known by shape; look by part or by sound instead.",
            sign)
    return {"by": "alike", "rows": rows, "words": words, "of": sign, "forms": forms(sign)}


def forms(character: str) -> list[Pair]:
    """Pictures of a character's reference forms, grass script first."""
    from readaid.glyphs.references import references

    return [(r.address, told(r.words)) for r in references(character)]
