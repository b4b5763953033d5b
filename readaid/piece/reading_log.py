"""The reading log: what was done on a piece, a sentence a gesture, who and when, each with its way back.

Conventions: newest first; sentences in the language spoken now, made when they are shown (the register keeps values,
not words). A line that was taken back stays and says so. The way back is new revisions: nothing is erased, and what
another reader did is not taken back with one's own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from readaid.core.attempt import Attempt
from readaid.core.character import Character, Inscription
from readaid.core.confidence import word
from readaid.core.errors import OptionError
from readaid.core.judgement import Judgement
from readaid.core.photo import Photo, Zone
from readaid.core.piece import Note
from readaid.core.texts import told, wording
from readaid.register.gestures import MERGE

if TYPE_CHECKING:
    from readaid.piece.holding import Holding
    from readaid.register.revision import Revision

#: Sentences of one gesture told one by one; of more the rest is counted.
TOLD = 3
#: Gestures listed at most; older ones stand in the register's table of every change.
MOST = 300


@dataclass(frozen=True, slots=True)
class LogLine:
    """One gesture: ``number`` of its last revision, ``made`` (UTC, ISO 8601), what it did in words, the sign or zone it
    was about ("" for none), whether it stands, and whether the way back leads to it (something of one's own follows).
    """

    gesture: str
    number: int
    made: str
    reader: str
    words: str
    character: str = ""
    stands: bool = True
    way_back: bool = False


class ReadingLog:
    """The log of one opened piece.

    Parameters
    ----------
    piece: the piece that holds the register; its reader is the one whose steps can be taken back.
    """

    def __init__(self, piece: Holding) -> None:
        self._piece = piece

    def lines(self, most: int = MOST) -> list[LogLine]:
        """The last ``most`` gestures, newest first."""
        made: dict[str, list[tuple[Any, Revision]]] = {}
        last: dict[str, Any] = {}
        undone: dict[str, str] = {}  # gesture -> what it takes back
        for r in self._piece.register.since(0):
            before = last.get(r.record.id)
            last[r.record.id] = None if r.withdrawn else r.record
            made.setdefault(r.gesture, []).append((before, r))
            if r.undoes:
                undone[r.gesture] = r.undoes
        gone = _taken_back(undone)
        places = numbers(self._piece.contents.inscriptions)
        shown = list(made)[-most:]
        mine = {g: made[g][-1][1].reader == self._piece.reader and not g.startswith(MERGE) for g in shown}
        back: list[LogLine] = []
        follows = False
        for gesture in reversed(shown):
            steps = made[gesture]
            if gesture in undone:
                of = made.get(undone[gesture], steps)
                words = wording("Done again: {0}", sentence(of, places)) if undone[gesture] in undone else wording(
                    "Taken back: {0}", sentence(of, places))
            else:
                words = sentence(steps, places)
            end = steps[-1][1]
            stands = gesture not in gone and gesture not in undone
            about = next((r.record.id for _, r in steps if isinstance(r.record, Character)), "")
            back.append(LogLine(gesture, end.number, end.made, end.reader, words, about, stands, follows))
            follows = follows or (mine[gesture] and stands)
        return back

    def back_to(self, gesture: str) -> int:
        """Take back everything of one's own that was done after ``gesture``, by new revisions; returns how many steps.

        Raises
        ------
        OptionError: if nothing of one's own follows it.
        ConflictError: if somebody changed one of the records since; what was taken back until then stays so.
        """
        later: list[str] = []
        for line in self.lines(self._piece.version):  # all of them: there are no more gestures than revisions
            if line.gesture == gesture:
                break
            if line.stands and line.reader == self._piece.reader and not line.gesture.startswith(MERGE):
                later.append(line.gesture)
        else:
            later = []
        if not later:
            raise OptionError("Nothing of your own was done after this", cure="choose an earlier line of the log")
        for step in later:
            self._piece.register.undo(reader=self._piece.reader, gesture=step)
        return len(later)


def _taken_back(undone: dict[str, str]) -> set[str]:
    """Gestures that stand no more: taken back, and the taking back not taken back itself."""
    gone: set[str] = set()
    for gesture, of in undone.items():  # oldest first
        if of in undone:
            gone.discard(undone[of])
            gone.add(of)
        else:
            gone.add(of)
            gone.discard(gesture)
    return gone


def numbers(inscriptions: Iterable[Inscription]) -> dict[str, int]:
    """Place of every character in its inscription's reading order, from 1."""
    return {k: n for i in inscriptions for n, k in enumerate(i.characters, 1)}


def sentence(steps: Sequence[tuple[Any, Revision]], places: dict[str, int]) -> str:
    """What a gesture did: its first sentences, and how many more."""
    found = [s for before, r in steps for s in _step(before, r, places)]
    counted = Counter(found)
    each = list(counted)
    if len(each) > TOLD:
        return wording("{0}, and {1} more of the kind", "; ".join(each[:TOLD]), len(each) - TOLD)
    return "; ".join(each) or told(steps[-1][1].reason) or wording("saved without a change")


def _step(before: Any, r: Revision, places: dict[str, int]) -> list[str]:
    """Sentences on one revision."""
    now = r.record
    if isinstance(now, Judgement):  # goes with the change of its sign, which is told already
        return []
    if r.withdrawn:
        return [_withdrawn(now, places)]
    match now:
        case Character():
            return _sign(before if isinstance(before, Character) else None, now, places)
        case Attempt():
            text = "　".join(now.lines) or now.kana or now.written
            stands = told(now.status.value)
            stands = wording("{0}: {1}", stands, now.rejected) if now.rejected else stands
            return [wording("reading: {0}, {1}, {2}", text, told(word(now.confidence)), stands)]
        case Photo():
            name = now.title or now.file
            return [wording("photograph {0} added", name) if before is None else wording("photograph {0}: {1}", name,
                                                                                        told(r.reason))]
        case Zone():
            return [wording("zones drawn") if before is None else wording("zones changed")]
        case Note():
            return [wording("note: {0}", now.text)]
        case Inscription():
            return [told(r.reason)] if r.reason else []
    return [wording("{0}: {1}", told(type(now).__name__), told(r.reason))]


def _withdrawn(record: Any, places: dict[str, int]) -> str:
    if isinstance(record, Character):
        return wording("signs taken away")
    if isinstance(record, Zone):
        return wording("zones taken away")
    return wording("{0} taken away", told(type(record).__name__))


def _sign(before: Character | None, now: Character, places: dict[str, int]) -> list[str]:
    """What was said of a sign: "sign 7: お, probable, seen on the left lamp's photograph"."""
    name = wording("sign {0}", places[now.id]) if now.id in places else wording("a sign")
    was = {c.character: c for c in before.candidates} if before else {}
    said = []
    for c in now.candidates:
        if c.character not in was or was[c.character].confidence != c.confidence:
            source = wording("by shape") if c.source == "shape" else ""
            parts = (c.character, told(word(c.confidence)), source, told(c.note))
            said.append(wording(", ").join(x for x in parts if x))
        why = was[c.character].rejected if c.character in was else ""
        if c.rejected != why:
            said.append(wording("{0} not taken: {1}", c.character, c.rejected) if c.rejected
                        else wording("{0} possible again", c.character))
    held = {c.character for c in now.candidates}
    said += [wording("{0} taken away", c) for c in was if c not in held]
    if before is None and not said:
        return [wording("signs begun")]
    was_so = before or now
    if now.damage is not was_so.damage:
        said.append(told(now.damage.value))
    if now.fixed != was_so.fixed:
        said.append(wording("certainly {0}", now.fixed) if now.fixed else wording("left open again"))
    if now.note != was_so.note:
        said.append(wording("noted: {0}", now.note) if now.note else wording("note taken away"))
    return [wording("{0}: {1}", name, x) for x in said]
