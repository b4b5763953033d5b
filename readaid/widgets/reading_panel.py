"""The reading panel: ranked readings that follow every change, what the neighbours say, attempts written down.

Conventions: a share "with its neighbours" is computed and stands beside the
reader's confidence, never over it. Signs supplied by the search are marked
apart from what was seen. The search runs beside the notebook's loop; while
one runs, further changes wait and are searched together. Signs nobody judged
are read by their shape only while the reader asks for it; what is found so is
a proposal, and never becomes a candidate.
"""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

from readaid.core.character import Character, Inscription, Text
from readaid.core.confidence import Status
from readaid.core.errors import OptionError, ReadaidError, unknown_option
from readaid.core.line import LineKind
from readaid.core.reading import Reading
from readaid.core.texts import language, plural, refusal, told, wording
from readaid.piece.claims import anything_said, check_keeping, mostly_machine, shape_note, unread_places
from readaid.piece.proposal import Proposal
from readaid.reading import chinese_verse
from readaid.script import return_marks
from readaid.widgets.desk import Desk
from readaid.widgets.messages import SignSaid
from readaid.widgets.panel import Panel, confidence_values, module_text, style_text
from readaid.widgets.reader_words import ReaderWords
from readaid.widgets.reading_rows import (
    attempt_row,
    chinese_rows,
    form_words,
    kind_words,
    known_row,
    known_words,
    parse_rows,
    reading_row,
    rival_words,
    sign_row,
    spread_words,
    surest,
    unread_words,
)
from readaid.widgets.reading_states import KnownVerses, SignRow
from readaid.widgets.readings_beside import LaidBeside
from readaid.widgets.shape_signs import shape_words
from readaid.widgets.zone_rows import inscription_title

#: Seconds to wait for further changes before searching.
PAUSE = 0.25
#: Places of the bench at which readings follow every change.
SEARCHING = ("reading", "school", "report")
#: Readings shown.
SHOWN = 6
#: What unread signs may be by their shape.
_AMONG = [["all", "All letters"], ["kana", "Kana only"], ["kanji", "Kanji only"]]
_STATUSES = [[s.value, s.value] for s in (Status.OPEN, Status.PREFERRED, Status.SETTLED)]


class ReadingPanel(Panel):
    """Readings of the desk's inscription."""

    _esm = module_text("reading_panel.js")
    _css = style_text("reading_panel.css")

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.turn = 0
        self.busy = False
        self._work = 0  # counts the searches, and the looks through the known verses: one let go is not heard
        self._look = 0
        self.words = ""
        self.readings: list[Reading] = []
        self.shares: dict[int, list[Any]] = {}
        self._kinds: list[LineKind] = []
        self.by_shape = False
        self.shape_words = ""
        self.unread: frozenset[int] = frozenset()  # places that shape spoke for in the readings shown
        self._among = ""  # what the reader chose, "" for what suits the inscription
        self._shape_of = ""  # the inscription it was asked for
        self.known: KnownVerses = {"words": "", "rows": []}
        self.own_words = ReaderWords(self)
        self.laid = LaidBeside(self)
        self.parts = (self.laid, self.own_words,)
        self._searched: tuple[Any, ...] = ()
        self._again = False
        self._timer: asyncio.TimerHandle | None = None
        super().__init__()
        self.refresh()
        self.search()
        desk.listen(self._heard)

    def speak(self) -> None:
        """Say everything in the language spoken now; what a search told is said by a search again."""
        self._searched = ()
        super().speak()
        self.search()

    def _heard(self, what: str) -> None:
        if what == "reading":
            return
        self.refresh()
        self.search()

    def _chinese(self) -> dict[str, Any] | None:
        """The line taken apart where its signs make a Chinese line, which no kana reading tells of."""
        if not self._kinds or self._kinds[0].kind != "Chinese line":
            return None
        text = self.desk.piece.decipherment.written(self.desk.inscription) if self.desk.inscription else ""
        return chinese_rows(chinese_verse.taken_apart(text)) if text.strip("?\n ") else None

    def do_chinese(self, marked: str, japanese: str) -> None:
        """Keep the reader's return marks and own Japanese wording of a Chinese line as an attempt."""
        signs, marks = return_marks.split(marked)
        there = self.desk.piece.decipherment.written(self.desk.inscription).replace("\n", "")
        if signs != there:
            raise OptionError("The marks stand on other signs than the piece bears", signs, f"type them on {there}")
        self.desk.gesture(wording("chinese line"), lambda: self.desk.piece.decipherment.keep_chinese(
            self.desk.inscription, marks, japanese.strip()))
        self.say(wording("Kept. In Japanese order, by your marks: {0}.", return_marks.japanese(signs, marks)))

    # --- what is shown ------------------------------------------------------------
    def refresh(self) -> None:
        """Show the inscription, its readings and its attempts as they are now."""
        from readaid.script.verse_forms import BY_NAME

        desk, c = self.desk, self.desk.contents
        target = desk.find(Inscription, desk.inscription)
        if desk.inscription != self._shape_of:  # asked for one inscription, not for the next
            self._shape_of, self.by_shape, self._among, self.shape_words = desk.inscription, False, "", ""
        forms = [["", wording("Find the form that fits best")]] + [
            [f.name, (f.japanese if language() == "ja" else f"{f.name} {f.japanese}")
             + (f" ({'-'.join(map(str, f.lines))})" if f.lines else "")]
            for f in BY_NAME.values()
        ]
        signs = desk.ordered()
        attempts = [a for a in c.attempts if a.inscription == desk.inscription]
        self.state = {
            "stage": desk.stage,
            "turn": self.turn,
            "busy": self.busy,
            "words": self.words or unread_words(signs),
            "forms": forms,
            "form": (target.form or "") if target else "",
            "inscription": desk.inscription,
            "inscriptions": [[i.id, inscription_title(i, n)] for n, i in enumerate(c.inscriptions)],
            "chosen": desk.character,
            "one": next((self._sign(k, n) for n, k in enumerate(signs) if k.id == desk.character), None),
            "signs": len(signs),
            "own": self.own_words.shown,
            "known": self.known,
            "values": [[w, v] for w, v in confidence_values().items()],
            "statuses": [[s, told(words)] for s, words in _STATUSES],
            "chinese": self._chinese(),
            "readings": [{**reading_row(r, self.unread, c.piece.subject),
                          "machine": mostly_machine(r, len(signs), self.unread),
                          "differs": rival_words(self.readings[0], r) if n else ""}
                         for n, r in enumerate(self.readings)],
            "parse": parse_rows(desk.piece, target) if target and target.kind is Text.SIGNATURE else None,
            "dots": "·" * min(len(signs), 40),
            "shape": {"on": self.by_shape, "words": self.shape_words, "among": self._kind(),
                      "kinds": [[k, told(words)] for k, words in _AMONG]},
            "beside": self.laid.shown(),
            "spread": spread_words(self.readings, [surest(s) for s in self.shares.values() if s]),
            "attempts": [attempt_row(a) for a in sorted(attempts, key=lambda a: a.made, reverse=True)[:8]],
        }

    def _sign(self, k: Character, n: int) -> SignRow:
        best = self.readings[0] if self.readings else None
        return sign_row(k, n, best, self.shares.get(n, []), self.unread)

    # --- searching -----------------------------------------------------------------
    def search(self) -> None:
        """Search again soon if a sign, the order or the form changed; not before the reader has come to reading."""
        if self._key() == self._searched:
            return
        if self.desk.stage not in SEARCHING:
            self._forget()
            return
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self._start()
            return
        if self._timer is not None:
            self._timer.cancel()
        self._timer = loop.call_later(PAUSE, lambda: self.guarded(self._start))

    def _forget(self) -> None:
        """Let go of what was read of other signs than those that stand there now."""
        if self._searched:
            self._searched, self.readings, self.shares, self.unread = (), [], {}, frozenset()
            self.words, self.known = "", {"words": "", "rows": []}
            self.turn += 1
            self._tell_desk()
            self.refresh()

    def _key(self) -> tuple[Any, ...]:
        target = self.desk.find(Inscription, self.desk.inscription)
        return (
            self.desk.inscription,
            target.form if target else None,
            tuple(tuple(column) for column in self.desk.columns()),
            self._kind() if self.by_shape else None,
        )

    def _kind(self) -> str:
        """All letters, unless the reader says less: how many kanji to expect is the inscription's kind's to say."""
        return self._among or "all"

    def _start(self) -> None:
        if self.busy:
            self._again = True
            return
        key = self._key()
        if key == self._searched:
            return
        self._searched = key
        self.known = {"words": "", "rows": []}
        if not any(key[2]) or not (key[3] or anything_said(k for column in key[2] for k in column)):
            self.readings, self.shares, self.words, self.shape_words, self.unread = [], {}, "", "", frozenset()
            self.words = form_words(None, False, said=False) if any(key[2]) else ""
            self.turn += 1
            self._tell_desk()
            self.refresh()
            return
        self.busy = True
        target, _, columns, kind = key
        unread = unread_places(k for column in columns for k in column) if kind else frozenset()
        if unread:
            self.shape_words = plural(
                len(unread), "Comparing {0} unread sign with the known letters, then searching …",
                "Comparing {0} unread signs with the known letters, then searching …")
        self.refresh()

        def work() -> Any:
            try:
                known = self.desk.piece.decipherment
                self._kinds = known.line_kinds(target) if target else []
                if kind:
                    return known.propose_reading(target, k=SHOWN, among=kind)
                return known.solve(target, k=SHOWN)
            except ReadaidError as error:
                return error
            except BaseException as error:
                if kind and isinstance(error, ImportError):
                    return ReadaidError("No shape model is installed here", cure="read the signs in the other ways")
                self.busy = False
                raise

        self._work += 1
        mine = self._work
        self.later(work, lambda result: self._found(result, key, unread) if mine == self._work else None)

    def do_stop(self) -> None:
        """Let the search go, and a look through the known verses: what they still find is not shown."""
        if self.known.get("busy"):
            self._look += 1
            self.known = {"words": wording("Stopped; nothing was changed."), "rows": []}
        if self.busy:
            self._work += 1
            self.busy, self._again, self.by_shape, self.shape_words = False, False, False, ""
            self.words = wording("Stopped; the next change is searched again.")
        self.refresh()

    def _found(self, result: Any, key: tuple[Any, ...], unread: frozenset[int]) -> None:
        self.busy = False
        kind = key[-1]
        if key != self._key() and (kind or key[0] != self.desk.inscription or self.desk.stage not in SEARCHING):
            # the page has moved on
            self._again, self.shape_words = False, ""
            self.refresh()
            self.search()
            return
        if kind and isinstance(result, ReadaidError):
            self.by_shape, self.shape_words = False, wording("Not read by shape. {0}", refusal(result))
            self.say(self.shape_words, "error")
            self.refresh()
            self.search()  # what was judged is still read
            return
        self.turn += 1
        self.unread = unread
        notes = result.notes if isinstance(result, Proposal) else ()
        result = result.solution if isinstance(result, Proposal) else result
        if isinstance(result, ReadaidError):
            self.readings, self.shares, self.words = [], {}, refusal(result)
        else:
            self.readings = list(result.readings)
            self.shares = {}
            for share in result.shares:
                self.shares.setdefault(share.at, []).append(share)
            for shares in self.shares.values():
                shares.sort(key=lambda s: -s.probability)
            best = self.readings[0] if self.readings else None
            said = bool(kind) or any(c.candidates for c in self.desk.ordered())
            self.words = " ".join(w for w in (form_words(best, bool(result.cut), said), kind_words(self._kinds)) if w)
            if kind:
                self.shape_words = shape_words(best, unread, notes)
        self._tell_desk()
        self.refresh()
        if self._again:
            self._again = False
            self.search()

    def _tell_desk(self) -> None:
        """Let the other panels of the page know the best reading and the shares."""
        desk = self.desk
        best = self.readings[0] if self.readings else None
        desk.best, desk.best_of, desk.unread, desk.sounds = best, (self._searched or ("",))[0], self.unread, {}
        desk.after = {}
        for at, k in enumerate(desk.ordered()):
            shares = self.shares.get(at, [])
            chosen = best.chosen[at] if best and at < len(best.chosen) else ""
            desk.sounds[k.id] = next((s.kana for s in [*(s for s in shares if s.character == chosen), *shares]), "")
            for share in shares:
                signs = desk.after.setdefault(k.id, {})
                signs[share.character] = signs.get(share.character, 0.0) + share.probability
        desk.tell("reading")

    # --- asked ------------------------------------------------------------------------
    def do_form(self, form: str) -> None:
        """Say which verse form it is; "" lets the search find the one that fits best."""
        target = self.desk.find(Inscription, self.desk.inscription)
        if target is not None:
            self.desk.gesture(
                wording(
                    "verse form"), lambda: self.desk.piece.change(target, reason="verse form", form=form or None)
            )

    def do_shape(self, on: bool | None = None, among: str | None = None) -> None:
        """Let shape speak for the signs nobody judged, or no longer; nothing is saved by it."""
        kinds = [kind for kind, _ in _AMONG]
        if among is not None and among not in kinds:
            raise unknown_option("kind of signs", among, kinds)
        self._among = among or self._among
        self.by_shape = self.by_shape if on is None else bool(on)
        self.shape_words = wording("Looking at the unread signs …") if self.by_shape else ""
        self.refresh()
        self.search()

    def do_hold(self, character: str, fields: SignSaid) -> None:
        """Hold a part of the reading fast: the sign itself, a word's end, a name."""
        self.desk.gesture(wording(
            "part held fast"), lambda: self.desk.piece.decipherment.mark(character, **fields))

    def do_keep(self, index: int, turn: int, confidence: float, evidence: str, status: str, seen: bool = False) -> None:
        """Write a ranked reading down as an attempt; ``seen``: the reader knows how much of it is the machine's."""
        if turn != self.turn or not 0 <= index < len(self.readings):
            raise OptionError("The readings changed meanwhile", cure="choose again which one to keep")
        chosen = self.readings[index]
        check_keeping(chosen, len(self.desk.ordered()), self.unread, seen)
        note = shape_note(chosen, self.unread)
        self.desk.gesture(
            wording("attempt kept"),
            lambda: self.desk.piece.decipherment.keep(
                self.desk.inscription,
                chosen,
                confidence=float(confidence),
                evidence=evidence,
                status=status,
                note=note,
                alternatives=[r for r in self.readings[:3] if r is not chosen],
            ),
        )
        self.say(wording("The attempt is saved in the register."))

    def do_known(self, collection: str = "") -> None:
        """Look whether the signs are those of a known verse (never in a blind copy), also in a file of the reader's."""
        if not self.desk.inscription:
            return
        self.known = {"words": wording("Looking through the known verses …"), "rows": [], "busy": True}
        self._look += 1
        mine = self._look
        self.refresh()
        target = self.desk.inscription

        def work() -> Any:
            try:
                own = [None, Path(collection.strip()).expanduser()] if collection.strip() else None
                return self.desk.piece.decipherment.known(target, collection=own, k=3)
            except ReadaidError as error:
                return error

        def done(result: Any) -> None:
            if mine != self._look:
                return
            if isinstance(result, ReadaidError):
                self.known = {"words": refusal(result), "rows": []}
            else:
                self.known = {"words": known_words(result), "rows": [known_row(m) for m in result]}
            self.refresh()

        self.later(work, done)

    def form(self) -> str | None:
        target = self.desk.find(Inscription, self.desk.inscription)
        return target.form if target else None
