"""The character panel: what the chosen sign may be, how sure, and what survives of it.

Conventions: a confidence is the reader's (0..1); a probability by shape or
from the neighbours stands beside it and never overwrites it. Nothing that was
proposed is entered unasked.
"""

from __future__ import annotations

import unicodedata
from typing import Any

import traitlets as t

from readaid.core.character import Candidate, Character, Inscription, Text
from readaid.core.confidence import Damage
from readaid.core.errors import OptionError, ReadaidError
from readaid.core.photo import Photo, Zone
from readaid.widgets.desk import Desk
from readaid.widgets.lining import percent
from readaid.widgets.panel import Panel, confidence_values, confidence_words, module_text, style_text

#: Kanji shown for a part at most.
MOST_BY_PART = 120
#: Margins round the crop, as shares of its size, from close to wide.
AROUND = (0.05, 0.25, 0.7, 1.6)
_DAMAGES = [
    [Damage.INTACT.value, "Intact"],
    [Damage.WORN.value, "Worn"],
    [Damage.TRACES.value, "Traces only"],
    [Damage.LOST.value, "Lost"],
]


class CharacterPanel(Panel):
    """One sign of the desk: crop, candidates, damage, note, and four ways to find a letter."""

    _esm = module_text("character_panel.js")
    _css = style_text("character_panel.css")
    crop = t.Bytes(b"").tag(sync=True)

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.sure = confidence_values()["probable"]
        self.around = 1
        self.found: dict[str, Any] | None = None
        self.shape: dict[str, Any] = {"state": "none", "words": "", "rows": [], "among": "all"}
        verse = desk.find(Inscription, desk.inscription)
        if verse is not None and verse.kind is Text.VERSE:
            self.shape["among"] = "kana"  # in a verse a letter such as 須 is far more often す than the kanji
        self._shape_turn = 0
        self._cropped: tuple[Any, ...] = ()
        self._last = ""
        super().__init__()
        self.refresh()
        desk.listen(lambda _what: self.refresh())

    # --- what is shown ---------------------------------------------------------
    def refresh(self) -> None:
        """Show the chosen sign as it is now."""
        desk = self.desk
        order = [k.id for k in desk.ordered()]
        record = desk.find(Character, desk.character) if desk.character else None
        if desk.character != self._last:
            self._last = desk.character
            self._shape_turn += 1
            self.shape = {**self.shape, "state": "none", "words": "", "rows": []}
        state: dict[str, Any] = {
            "words": confidence_words(),
            "values": [[w, v] for w, v in confidence_values().items()],
            "sure": self.sure,
            "total": len(order),
            "character": record.id if record else "",
            "damages": _DAMAGES,
        }
        if record is not None:
            inside = [k for k in desk.ordered() if set(k.zones) & set(record.zones)]
            state |= {
                "n": order.index(record.id) + 1 if record.id in order else 0,
                "inside": [[k.id, str(order.index(k.id) + 1)] for k in inside],
                "candidates": [
                    candidate_row(c, desk.after.get(record.id, {}))
                    for c in sorted(record.candidates, key=lambda c: -c.confidence)
                ],
                "now": desk.now,
                "damage": record.damage.value,
                "missing": list(record.missing),
                "note": record.note,
                "examples": len(desk.contents.examples),
                "found": self.found,
                "shape": self.shape,
            }
        self.state = state
        self._show_crop(record)

    def _show_crop(self, record: Character | None) -> None:
        zones = [z for z in (self.desk.find(Zone, i) for i in record.zones) if z] if record else []
        key: tuple[Any, ...] = (self.around, *((z.id, z.outline) for z in zones))
        if key == self._cropped:
            return
        self._cropped = key
        if not zones:
            self.crop = b""
            return
        photo = self.desk.find(Photo, zones[0].photo)
        if photo is None:
            return
        corners = [z.box for z in zones if z.photo == photo.id]
        x, y = min(b[0] for b in corners), min(b[1] for b in corners)
        box = (x, y, max(b[0] + b[2] for b in corners) - x, max(b[1] + b[3] for b in corners) - y)
        margin = AROUND[self.around]

        def cut() -> bytes:
            from readaid.photo.file import jpeg

            return jpeg(self.desk.piece.pyramid(photo).crop(box, margin), 90)

        def put(data: bytes) -> None:
            if key == self._cropped:
                self.crop = data

        self.later(cut, put)

    # --- choosing --------------------------------------------------------------------
    def do_step(self, by: int) -> None:
        """Go to the next or an earlier sign."""
        self.desk.step(by)
        self.say(f"Sign {self.state.get('n', 0)} of {self.state.get('total', 0)}.")

    def do_choose(self, character: str) -> None:
        """Choose a sign."""
        self.desk.choose(character=character)

    def do_around(self, by: int) -> None:
        """Show more or less of the surroundings."""
        self.around = min(max(self.around + by, 0), len(AROUND) - 1)
        self.refresh()

    def do_as(self, confidence: float) -> None:
        """Set how sure a new candidate is."""
        self.sure = float(confidence)
        self.refresh()

    # --- entering ----------------------------------------------------------------------
    def do_tag(
        self, candidate: str, confidence: float | None = None, source: str = "reader", probability: float | None = None
    ) -> None:
        """Enter a candidate the reader picked (picking one that stands there takes it away)."""
        record = self._record()
        sign = unicodedata.normalize("NFC", candidate)
        if any(c.character == sign for c in record.candidates):
            self.do_untag(sign)
            return
        sure = self.sure if confidence is None else float(confidence)
        self.desk.gesture(
            f"candidate {sign}",
            lambda: self.desk.piece.judging.tag(record, sign, sure, source=source, probability=probability),
        )
        self.say(f"{sign} entered.")

    def do_type(self, text: str, confidence: float | None = None) -> None:
        """Enter every letter that was typed; Latin letters are taken as romanised kana."""
        from readaid.widgets.typing_in import signs

        entered = [s for s in signs(text) if not any(c.character == s for c in self._record().candidates)]
        if not entered:
            self.say("That is entered already.")
            return
        for sign in entered:
            self.do_tag(sign, confidence)

    def do_sure(self, candidate: str, confidence: float) -> None:
        """Say how sure the reader is of a candidate."""
        record = self._record()
        former = next((c for c in record.candidates if c.character == candidate), None)
        if former is None:
            raise OptionError("That candidate is not there any more", candidate, "enter it again")
        self.desk.gesture(
            "confidence changed",
            lambda: self.desk.piece.judging.tag(
                record,
                candidate,
                float(confidence),
                note=former.note,
                source=former.source,
                probability=former.probability,
            ),
        )

    def do_untag(self, candidate: str) -> None:
        """Take a candidate away."""
        self.desk.gesture(f"{candidate} taken away", lambda: self.desk.piece.judging.untag(self._record(), candidate))
        self.say(f"{candidate} taken away; it stays in the history.")

    def do_mark(self, fields: dict[str, Any]) -> None:
        """Set damage, number of missing signs, or the note."""
        if fields.get("damage") not in (None, Damage.LOST.value) and self._record().damage is Damage.LOST:
            fields = {"missing": [1, 1], **fields}
        self.desk.gesture("sign marked", lambda: self.desk.piece.judging.mark(self._record(), **fields))

    # --- finding ------------------------------------------------------------------------
    def do_by_sound(self, sound: str) -> None:
        """Every kana letter of a sound with its parent kanji."""
        from readaid.script.hentaigana import letters

        rows = [letter_row(x) for x in letters(sound)]
        self.found = {
            "by": "sound",
            "rows": rows,
            "words": f"{sound}: {len(rows)} letters, the usual ones first; below each its parent kanji.",
        }
        self.refresh()

    def do_by_parent(self, parent: str) -> None:
        """Every kana letter that came from a kanji."""
        from readaid.script.hentaigana import by_parent

        rows = [letter_row(x) for sign in parent for x in by_parent(sign)]
        rows += [
            {"character": sign, "under": "the kanji itself", "title": f"the kanji {sign} itself"} for sign in parent
        ]
        words = (
            f"From {parent}: {len(rows) - len(parent)} letters."
            if len(rows) > len(parent)
            else f"No kana letter comes from {parent[:12]}{'…' if len(parent) > 12 else ''}; it may stand for itself."
        )
        self.found = {"by": "parent", "rows": rows, "words": words}
        self.refresh()

    def do_by_part(self, part: str, place: str = "") -> None:
        """Kanji with a part that can still be seen, where it stands if that is told."""
        from readaid.shape import components
        from readaid.shape.parts import by_part

        found = by_part(part.strip(), place=place or None)
        rows = [
            {"character": p.character, "under": f"{p.strokes} strokes",
             "title": f"the kanji {p.character}, {p.strokes} strokes"}
            for p in found[:MOST_BY_PART]
        ]
        words = f"{part.strip()}{f', {place}' if place else ''}: {len(found)} kanji, fewest strokes first."
        if len(found) > len(rows):
            words += f" The first {len(rows)} are shown."
        if not components.installed():
            words += " Only radicals are known here; for every part and its place: pip install readaid[parts]."
        self.found = {"by": "part", "rows": rows, "words": words}
        self.refresh()

    def do_shape(self, among: str | None = None) -> None:
        """Look for letters whose form resembles the crop; nothing is entered by it."""
        record = self._record()
        if among:
            self.shape = {**self.shape, "among": among}
        self._shape_turn += 1
        turn, kind = self._shape_turn, self.shape["among"]
        self.shape = {**self.shape, "state": "busy", "words": "Comparing with the letters that are known …", "rows": []}
        self.refresh()

        def work() -> Any:
            try:
                return self.desk.piece.judging.suggest(record, k=12, among=kind)
            except ImportError:
                return "No shape model is installed here. The other ways to find a letter work without it."
            except ReadaidError as error:
                return str(error)

        def done(result: Any) -> None:
            if turn != self._shape_turn:
                return
            if isinstance(result, str):
                self.shape = {**self.shape, "state": "absent", "words": result, "rows": []}
            else:
                rest = max(0.0, 1.0 - sum(s.probability for s in result))
                rows = [
                    {
                        "character": s.character,
                        "under": f"{'、'.join(s.sounds[:2])} {percent(s.probability)}",
                        "source": s.source,
                        "probability": s.probability,
                        "title": f"{s.character}, {percent(s.probability)} by shape",
                    }
                    for s in result
                ]
                self.shape = {
                    **self.shape,
                    "state": "ready",
                    "rows": rows,
                    "words": (
                        f"Likeness of shape alone, not a reading. None of these: {percent(rest)}. "
                        "Enter what you see, too."
                    ),
                }
            self.refresh()

        self.later(work, done)

    def do_learn(self) -> None:
        """Remember the crop as an example of the best candidate; like crops are drawn towards it from now on."""
        record = self._record()
        best = record.best
        if best is None:
            raise OptionError("No candidate is entered", cure="say first what the sign is")

        def done(_made: Any) -> None:
            self.desk.changed()
            self.say(f"Remembered as {best.character}. Signs of like shape will be drawn towards it.")

        self.later(lambda: self.desk.piece.judging.learn(record, best.character), done)

    def _record(self) -> Character:
        record = self.desk.find(Character, self.desk.character)
        if record is None:
            raise OptionError("No sign is chosen", cure="choose a zone on the photograph")
        return record


def letter_row(letter: Any) -> dict[str, Any]:
    """A letter of the script tables as the browser shows it."""
    sounds = "、".join(letter.sounds)
    return {
        "character": letter.character,
        "under": letter.parent or "–",
        "title": f"{letter.character}, {sounds}, from {letter.parent or 'an unknown kanji'}",
    }


def candidate_row(candidate: Candidate, after: dict[str, float]) -> dict[str, Any]:
    """A candidate as the browser shows it."""
    return {
        "character": candidate.character,
        "confidence": candidate.confidence,
        "note": candidate.note,
        "source": candidate.source,
        "probability": candidate.probability,
        "about": about(candidate.character),
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
