"""The character panel: what the chosen sign may be, how sure, and what survives of it.

Conventions: a confidence is the reader's (0..1); a probability by shape or
from the neighbours stands beside it and never overwrites it. Nothing that was
proposed is entered unasked. The crop comes from the untouched photo unless the
reader chooses another photo of the surface, a view, or (for shapes) a tracing;
what was looked at is kept with the candidate.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from typing import Any

import traitlets as t

from readaid.core.character import Character, Inscription, Text
from readaid.core.confidence import VALUES, Damage
from readaid.core.errors import OptionError, ReadaidError
from readaid.core.photo import Zone
from readaid.core.texts import plural, refusal, told, wording
from readaid.piece.crops import PLAIN, Look
from readaid.widgets.desk import Desk
from readaid.widgets.letter_rows import (
    candidate_row,
    look_choices,
    own_rows,
    shape_rows,
    shape_words,
)
from readaid.widgets.letter_search import LetterSearch
from readaid.widgets.messages import SignSaid
from readaid.widgets.panel import Panel, confidence_values, confidence_words, module_text, style_text
from readaid.widgets.sign_states import LettersFound

#: Margins round the crop, as shares of its size, from close to wide.
AROUND = (0.05, 0.25, 0.7, 1.6)
#: Nothing asked by shape yet.
_NONE: dict[str, Any] = {"state": "none", "words": "", "rows": [], "sounds": [], "seen": ""}
_DAMAGES = [
    [Damage.NOT_STATED.value, "Not looked at"],
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
        self.sure = VALUES["probable"]
        self.around = 1
        self.found: LettersFound | None = None
        self.shape: dict[str, Any] = {**_NONE, "among": "all", "tracing": False}
        self.look = PLAIN
        self._kind: Text | None = None
        self._own = tuple((e.id, e.character, e.vector) for e in desk.contents.examples)
        self._shape_turn = 0
        self._cropped: tuple[Any, ...] = ()
        self._last = ""
        self.tracer: Callable[[], None] | None = None  # lays the sheet for tracing out
        self.parts = (LetterSearch(self),)
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
            self.shape = {**self.shape, **_NONE, "tracing": False}
            self._expect()
        own = tuple((e.id, e.character, e.vector) for e in desk.contents.examples)
        if own != self._own:  # learnt, taken back or undone: proposals on the screen are asked for again
            self._own = own
            if self.shape["state"] == "ready":
                self.do_shape()
                return
        state: dict[str, Any] = {
            "words": confidence_words(),
            "values": [[w, v] for w, v in confidence_values().items()],
            "sure": self.sure,
            "total": len(order),
            "character": record.id if record else "",
            "damages": [[damage, told(words)] for damage, words in _DAMAGES],
            "n": 0, "inside": [], "candidates": [], "damage": Damage.NOT_STATED.value, "missing": [1, 1], "note": "",
            "margin": AROUND[self.around], "own": [], "found": None, "shape": self.shape, "traced": False, "look": None,
        }
        if record is not None:
            mine = set(record.zones)
            inside = [k for k in desk.ordered() if not mine.isdisjoint(k.zones)]
            state |= {
                "n": order.index(record.id) + 1 if record.id in order else 0,
                "inside": [[k.id, str(order.index(k.id) + 1)] for k in inside],
                "candidates": [
                    candidate_row(c, desk.after.get(record.id, {}))
                    for c in sorted(record.candidates, key=lambda c: -c.confidence)
                ],
                "damage": record.damage.value,
                "missing": list(record.missing),
                "note": record.note,
                "margin": AROUND[self.around],
                "own": own_rows(desk),
                "found": self.found,
                "shape": self.shape,
                "traced": bool(record.zones) and desk.piece.decipherment.crops.tracing(record.zones[0]) is not None,
                "look": look_choices(
                    desk, desk.find(Zone, record.zones[0]) if record.zones else None, self._looked(record)
                ),
            }
        self.state = state
        self._show_crop(record)

    def _expect(self) -> None:
        """Offer kanji and kana together, never kana alone unasked: the inscription's kind tells how many are kanji.

        What the reader chose stands until a sign of another kind of inscription is chosen.
        """
        held = self.desk.find(Inscription, self.desk.inscription)
        kind = held.kind if held else None
        if kind is not self._kind:
            self._kind = kind
            self.shape["among"] = "all"

    def _looked(self, record: Character) -> Look:
        """The chosen look, the untouched photo where the sign does not show on the chosen one."""
        zone = self.desk.find(Zone, record.zones[0]) if record.zones else None
        if zone is None or not self.look.photo:
            return self.look
        shown = any(p.id == self.look.photo for p in self.desk.piece.decipherment.crops.photos(zone))
        return self.look if shown else PLAIN

    def _show_crop(self, record: Character | None) -> None:
        zones = [z for z in (self.desk.find(Zone, i) for i in record.zones) if z] if record else []
        zones = [z for z in zones if z.photo == zones[0].photo]
        if not zones or record is None:
            self._cropped, self.crop = (), b""
            return
        look, crops = self._looked(record), self.desk.piece.decipherment.crops
        sliders = [v for v in self.desk.contents.views if v.view == look.view] if look.view else []
        key = (self.around, look, *sliders, *((z.id, z.outline) for z in zones))
        if key == self._cropped:
            return
        self._cropped = key
        margin = AROUND[self.around]

        def cut() -> bytes:
            from readaid.photo.file import jpeg

            return jpeg(crops.pixels(zones, look, margin), 90)

        def put(data: bytes) -> None:
            if key == self._cropped:
                self.crop = data

        self.later(cut, put)

    # --- choosing --------------------------------------------------------------------
    def do_step(self, by: int) -> None:
        """Go to the next or an earlier sign."""
        self.desk.step(by)
        self.say(wording("Sign {0} of {1}.", self.state.get('n', 0), self.state.get('total', 0)))

    def do_choose(self, character: str) -> None:
        """Choose a sign."""
        self.desk.choose(character=character)

    def do_trace(self) -> None:
        """The reader is about to trace the sign: the bench lays the sheet for it out."""
        if self.tracer is not None:
            self.tracer()
        self.say(wording("Trace what you see; the place Reading above leads back."), "quiet")

    def do_around(self, by: int) -> None:
        """Show more or less of the surroundings."""
        self.around = min(max(self.around + by, 0), len(AROUND) - 1)
        self.refresh()

    def do_look(self, photo: str | None = None, view: str | None = None) -> None:
        """Choose the photo and the view the crop is taken from; shapes already asked for are asked for again."""
        record = self._record()
        look = Look(self.look.photo if photo is None else photo, self.look.view if view is None else view)
        zone = self.desk.piece.decipherment.crops.zone(record)
        if look.photo == zone.photo:
            look = Look("", look.view)
        crops = self.desk.piece.decipherment.crops
        crops.check(zone, look)
        words = crops.words(zone, look)
        self.look = look
        self._ask_again()
        self.say(wording(
            "The crop is taken from {0}.",
            words) if words else wording(
            "The crop is taken from the untouched photograph."))

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
        seen = self.shape["seen"] if source in ("shape", "example") else self._seen(record)
        self.desk.gesture(
            wording("candidate {0}", sign),
            lambda: self.desk.piece.decipherment.tag(record, sign, sure, source=source, probability=probability,
                                                     seen=seen),
        )
        self.say(wording("{0} entered.", sign))

    def _seen(self, record: Character, tracing: bool = False) -> str:
        """What the reader looks at now, "" for the untouched photo."""
        zone = self.desk.find(Zone, record.zones[0]) if record.zones else None
        look = Look(tracing=True) if tracing else self._looked(record)
        return self.desk.piece.decipherment.crops.words(zone, look) if zone else ""

    def do_unread(self) -> None:
        """Mark the sign as unread: its candidates go, and stay in the history."""
        record = self._record()
        n = len(record.candidates)
        if not n and not record.fixed:
            self.say(wording("The sign is unread already."))
            return
        self.desk.gesture(wording("marked as unread"), lambda: self.desk.piece.decipherment.clear(record))
        self.say(plural(
            n,
            "Marked as unread; {0} candidate taken away, and kept in the history.",
            "Marked as unread; {0} candidates taken away, and kept in the history."))

    def do_type(self, text: str, confidence: float | None = None) -> None:
        """Enter every letter that was typed; Latin letters are taken as romanised kana."""
        from readaid.script.typed_signs import signs, unread

        if unread(text):
            self.do_unread()
            return
        entered = [s for s in signs(text) if not any(c.character == s for c in self._record().candidates)]
        if not entered:
            self.say(wording("That is entered already."))
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
            wording("confidence changed"),
            lambda: self.desk.piece.decipherment.tag(
                record,
                candidate,
                float(confidence),
                note=former.note,
                source=former.source,
                probability=former.probability,
            ),
        )

    def do_reject(self, candidate: str, why: str) -> None:
        """Say why a candidate is not taken; nothing said takes the reason back."""
        self.desk.gesture(wording("{0} not taken", candidate),
                          lambda: self.desk.piece.decipherment.reject(self._record(), candidate, why))
        self.say(wording("Saved."))

    def do_untag(self, candidate: str) -> None:
        """Take a candidate away."""
        self.desk.gesture(wording("{0} taken away", candidate),
                          lambda: self.desk.piece.decipherment.untag(self._record(), candidate))
        self.say(wording("{0} taken away; it stays in the history.", candidate))

    def do_mark(self, fields: SignSaid) -> None:
        """Set damage, number of missing signs, or the note."""
        if fields.get("damage") not in (None, Damage.LOST.value) and self._record().damage is Damage.LOST:
            fields = {"missing": [1, 1], **fields}
        self.desk.gesture(wording("sign marked"), lambda: self.desk.piece.decipherment.mark(self._record(), **fields))

    # --- by shape ------------------------------------------------------------------------
    def do_shape(self, among: str | None = None, tracing: bool | None = None) -> None:
        """Look for letters whose form resembles the crop, or the tracing; nothing is entered by it."""
        record = self._record()
        changes: dict[str, Any] = {"among": among} if among else {}
        if tracing is not None:
            changes["tracing"] = tracing
        self._shape_turn += 1
        turn = self._shape_turn
        busy = {"state": "busy", "words": wording("Comparing with the letters that are known …")}
        self.shape = {**self.shape, **_NONE, **busy, **changes}
        kind, traced = self.shape["among"], self.shape["tracing"]
        look = Look(tracing=True) if traced else self._looked(record)
        seen = self._seen(record, traced)
        self.refresh()
        decipherment = self.desk.piece.decipherment

        def work() -> Any:
            try:
                weighed = decipherment.weigh(record, k=12, among=kind, look=look)
                signs = [s.character for s in weighed.suggestions]
                return weighed, shape_rows(decipherment, weighed, decipherment.references(record, signs, look))
            except ImportError:
                return wording("No shape model is installed here. The other ways to find a letter work without it.")
            except ReadaidError as error:
                return refusal(error)

        def done(result: Any) -> None:
            if turn != self._shape_turn:
                return
            if isinstance(result, str):
                self.shape = {**self.shape, **_NONE, "state": "absent", "words": result}
            else:
                weighed, rows = result
                self.shape = {**self.shape, "state": "ready", "rows": rows, "seen": seen,
                              **shape_words(weighed, kind, seen, decipherment.expected(record))}
            self.refresh()

        self.later(work, done)

    def do_learn(self) -> None:
        """Remember the crop as an example of the best candidate; like crops are drawn towards it from now on."""
        record = self._record()
        best = record.best
        if best is None:
            raise OptionError("No candidate is entered", cure="say first what the sign is")
        look = Look(tracing=True) if self.shape["tracing"] else self._looked(record)
        self.desk.gesture(
            wording("crop remembered as {0}", best.character),
            lambda: self.desk.piece.decipherment.learn(record, best.character, look),
        )
        self.say(wording("Remembered as {0}. Signs of like shape are drawn towards it.", best.character))

    def do_forget(self, example: str) -> None:
        """Take one of the reader's own crops back."""
        self.desk.gesture(wording("own crop taken back"), lambda: self.desk.piece.decipherment.forget(example))
        self.say(wording("Taken back; it no longer draws anything towards it."))

    def _ask_again(self) -> None:
        """Ask by shape again, where that was asked before."""
        if self.shape["state"] in ("ready", "busy", "absent"):
            self.do_shape()
        else:
            self.refresh()

    def _record(self) -> Character:
        record = self.desk.find(Character, self.desk.character)
        if record is None:
            raise OptionError("No sign is chosen", cure="choose a zone on the photograph")
        return record
