"""Tagging characters, searching readings, keeping attempts.

Conventions: a candidate's confidence is the reader's (0..1) and is kept as
given; a reading's probability is computed and stored beside it. An attempt is
never changed in place: a new status is a new revision.
"""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any

from readaid.core import options
from readaid.core.attempt import Attempt
from readaid.core.candidate import Suggestion
from readaid.core.character import DESCRIBED, EDITORIAL, UNREAD, Candidate, Character, Inscription
from readaid.core.confidence import Damage, Status
from readaid.core.contents import Contents, Record
from readaid.core.errors import OptionError, TextError, unknown_option
from readaid.core.judgement import Judgement
from readaid.core.reading import Reading, VerseMatch
from readaid.core.specimen import Example
from readaid.piece import lost_places, own_examples
from readaid.piece.claims import shape_note, silent, to_keep, unread_places
from readaid.piece.crops import PLAIN, Crops, Look
from readaid.piece.moment import gesture
from readaid.piece.proposal import Proposal, propose, replaced

if TYPE_CHECKING:
    from readaid.core.line import LineKind
    from readaid.core.reading import Verse
    from readaid.glyphs.candidates import Weighed
    from readaid.glyphs.references import Reference
    from readaid.piece.holding import Holding
    from readaid.piece.surfaces import Surfaces
    from readaid.reading.line_reading import Line
    from readaid.reading.solve import Solution
    from readaid.reading.verse_picture import VersePicture


class Decipherment:
    """What may stand there, how it reads, and what was written down about it."""

    def __init__(self, piece: Holding, surfaces: Surfaces) -> None:
        self._piece = piece
        self._surfaces = surfaces

    @property
    def contents(self) -> Contents:
        """All records as they stand now."""
        return self._piece.contents

    # -- characters ---------------------------------------------------------------------------------
    @gesture
    def tag(self, character: Character | str, candidate: str, confidence: float = 0.5, note: str = "",
            source: str = "reader", probability: float | None = None, seen: str = "") -> Character:
        """Add a candidate, or change the confidence of one that is there.

        ``seen`` says where it was seen if not on the untouched photo (``crops.words``); it goes into the revision's
        reason, and into the note of a candidate without one. Raises OptionError for the unread sign ``?``, which is no
        candidate (see :meth:`clear`).
        """
        record = self._fresh(character)
        from readaid.script.kana import UNREAD_SIGNS, sign

        if candidate in UNREAD_SIGNS:
            raise OptionError(f"'{candidate}' stands for an unread sign and is no candidate", record.id,
                              "take the candidates away instead, so that the sign is unread")
        written = candidate if candidate in DESCRIBED else sign(candidate)
        held = next((c.rejected for c in record.candidates if c.character == written), "")
        new = Candidate(written, confidence, note or (f"seen on {seen}" if seen else ""), source, probability, held)
        # Entered again, a candidate moves to the end with its new confidence and is never there twice.
        others = tuple(c for c in record.candidates if c.character != new.character)
        by = {"shape": "candidate entered by shape", "example": "candidate entered by the reader's own example"}
        reason = by.get(source, "candidate entered") + (f", seen on {seen}" if seen else "")
        if (*others, new) == record.candidates:
            self._agree(record, new)
            return record
        return self._piece.change(record, reason=reason, candidates=(*others, new))

    @gesture
    def reject(self, character: Character | str, candidate: str, why: str) -> Character:
        """Say why a candidate is not taken ("" takes that back): it stays, weighed as before, and the report tells why.

        Raises OptionError where the sign has no such candidate.
        """
        record = self._given(character)
        if not any(c.character == candidate for c in record.candidates):
            raise OptionError("That candidate is not there any more", candidate, "enter it again")
        said = tuple(dataclasses.replace(c, rejected=why.strip()) if c.character == candidate else c
                     for c in record.candidates)
        return self._piece.change(record, reason="candidate rejected", candidates=said)

    def _agree(self, record: Character, said: Candidate) -> None:
        """A reader who enters what stands there already agrees: nothing changes but that they have judged it, too."""
        who = self._piece.reader
        mine = [j for j in self._piece.contents.judgements if j.character == record.id and j.reader == who]
        if not mine or (mine[-1].sign, mine[-1].confidence) != (said.character, said.confidence):
            self._piece.save(Judgement(record.id, who, said.character, said.confidence, record.damage),
                             reason="candidate entered")

    @gesture
    def clear(self, character: Character | str) -> Character:
        """Mark a sign as unread: all its candidates and what was held fast go (they stay in the history)."""
        return self._piece.change(self._given(character), reason="marked as unread", candidates=(), fixed="")

    @gesture
    def untag(self, character: Character | str, candidate: str) -> Character:
        """Take a candidate away (it stays in the history)."""
        record = self._fresh(character)
        kept = tuple(c for c in record.candidates if c.character != candidate)
        return self._piece.change(record, reason="candidate taken away", candidates=kept)

    @gesture
    def mark(self, character: Character | str, **fields: Any) -> Character:
        """Set damage, missing, note, fixed, word_ends, name_of, editorial or instead of a character.

        Raises OptionError for another field, an unknown damage, an ``editorial`` that is none of
        ``core.character.EDITORIAL``, or numbers of missing signs outside 0 to 30.
        """
        allowed = {"damage", "missing", "note", "fixed", "word_ends", "name_of", "editorial", "instead"}
        for name in fields:
            if name not in allowed:
                raise unknown_option("mark", name, allowed)
        if fields.get("editorial", "") not in EDITORIAL:
            raise unknown_option("editorial mark", fields["editorial"], filter(None, EDITORIAL))
        if "damage" in fields:
            fields["damage"] = options.member(Damage, fields["damage"], "damage")
        if "missing" in fields:
            least, most = fields["missing"]
            if not 0 <= least <= most <= 30:
                raise OptionError(f"Between {least} and {most} signs cannot be missing",
                                  cure="give the least and the most, 0 to 30")
            fields["missing"] = (int(least), int(most))
        return self._piece.change(self._given(character), reason="character marked", **fields)

    def suggest(self, character: Character | str, k: int = 10, among: str = "all",
                look: Look = PLAIN) -> list[Suggestion]:
        """Candidates by shape for the character's first zone, cropped as ``look`` says; nothing is saved."""
        return list(self.weigh(character, k, among, look).suggestions)

    def weigh(self, character: Character | str, k: int = 10, among: str = "all", look: Look = PLAIN) -> Weighed:
        """As :meth:`suggest`, with the share of "none of these" and the summed shares of the sounds.

        Among all, kanji and kana share as the kind of the inscription has them (:meth:`expected`), as in a proposed
        reading; there the other signs and the language weigh in besides.
        """
        from readaid.glyphs.candidates import weigh

        return weigh(self._crop(character, look), k, among, own_examples.mine(self._piece), self.expected(character))

    def expected(self, character: Character | str) -> float:
        """Share of kanji expected of a sign by what its inscription is, 0..1: one condition for panel and reading."""
        from readaid.reading.shape_evidence import expected_of

        known = character if isinstance(character, str) else character.id
        kind = next((i.kind for i in self._piece.contents.inscriptions if known in i.characters), "")
        return expected_of(str(kind))

    def references(self, character: Character | str, signs: Sequence[str],
                   look: Look = PLAIN) -> list[Reference | None]:
        """For each of ``signs`` the reference form which the character's crop resembles most, None where there is none.
        """
        from readaid.glyphs.references import closest_of

        return closest_of(self._crop(character, look), signs)

    @gesture
    def learn(self, character: Character | str, sign: str, look: Look = PLAIN) -> Example:
        """Keep the character's crop as an example of ``sign``; suggestions for like crops are drawn towards it."""
        from readaid.glyphs.candidates import embed
        from readaid.script.kana import sign as one

        record = self._fresh(character)
        zone = self.crops.zone(record).id
        vector = tuple(float(v) for v in embed(self._crop(record, look)))
        former = [e for e in self._piece.contents.examples if e.zone == zone]
        written = sign if sign in DESCRIBED else one(sign)
        made = Example(character=written, vector=vector, zone=zone, model=own_examples.model_name())
        # One example a zone: a label that was wrong is replaced, or both would draw proposals towards them.
        if former:
            made = dataclasses.replace(made, id=former[0].id)
        seen = self.crops.words(self.crops.zone(record), look)
        self._piece.save(made, reason="example kept" + (f", taken from {seen}" if seen else ""))
        return made

    @gesture
    def forget(self, example: Example | str) -> None:
        """Take an example back; it stays in the history and no longer draws anything towards it."""
        record = self._piece.find(Example, example if isinstance(example, str) else example.id)
        self._piece.save(withdraw=[record.id], reason="example taken back")

    @cached_property
    def crops(self) -> Crops:
        """Crops of signs: from another photo of the surface, through a view, or from their tracing."""
        return Crops(self._piece, self._surfaces)

    def _crop(self, character: Character | str, look: Look) -> Any:
        return self.crops.pixels(self.crops.zone(self._fresh(character)), look)

    def characters(self, inscription: Inscription | str) -> list[list[Character]]:
        """Characters in reading order, one list per column from the right."""
        return self._piece.contents.characters_of(self._inscription(inscription))

    # -- readings -----------------------------------------------------------------------------------
    def solve(self, inscription: Inscription | str, form: str | None = None, k: int = 5,
              time_limit: float | None = 10.0) -> Solution:
        """Ranked readings of what was judged, and the share of each candidate after context."""
        target = self._inscription(inscription)
        columns, places = self._text(target)
        found, held = lost_places.solved(columns, form or target.form, k, time_limit)
        return replaced(found, [places[at] for at in held], len(target.characters))

    def propose_reading(self, inscription: Inscription | str, form: str | None = None, k: int = 5, among: str = "all",
                        time_limit: float | None = 10.0) -> Proposal:
        """Ranked readings in which shape speaks for every sign with a zone that nobody has judged; nothing is saved.

        Zones may be parted, joined, left out and supplied on the way, every lamp's photo is looked at; judged signs
        stand. ``among``: "kana", "kanji" or "all", where the signs and the inscription's kind tell how many are kanji.
        """
        target = self._inscription(inscription)
        columns, places = self._text(target)
        return propose(self._piece, self._surfaces, target, columns, form, k, among, time_limit, places)

    def _text(self, target: Inscription) -> tuple[list[list[Character]], list[int]]:
        """The signs of an inscription that are a text, without monograms and seals, and their places among all."""
        apart = silent(self._piece.contents, target)
        columns = self.characters(target)
        signs = [c for column in columns for c in column]
        if signs and apart.issuperset(c.id for c in signs):
            raise TextError("Nothing here is a text", target.title, "the zones are said to be monograms, seals or no "
                            "writing: say what else they are, or draw others")
        kept = [[c for c in column if c.id not in apart] for column in columns]
        return [c for c in kept if c], [at for at, c in enumerate(signs) if c.id not in apart]

    def known(self, inscription: Inscription | str, collection: Any = None, k: int = 5) -> list[VerseMatch]:
        """Known verses near what may stand there; nothing is saved (a known verse biases a second reader)."""
        from readaid.reading.known_verse import find_verse

        columns = self._text(self._inscription(inscription))[0]
        return lost_places.nearest_verses(columns, lambda signs: find_verse(signs, collection=collection, k=k))

    def line_kinds(self, inscription: Inscription | str) -> list[LineKind]:
        """What kind of line an inscription is by its signs and the ends of its columns, likeliest first."""
        from readaid.reading import line_kind

        written = self.written(inscription)
        return line_kind.kinds(written, self._piece.contents.piece.period) if written.strip("?\n ") else []

    def line(self, inscription: Inscription | str, kind: str | None = None, k: int = 5) -> Line:
        """An inscription recognised and read as its kind (or as ``kind``): zones are read as typed text is."""
        from readaid.reading.line_reading import line

        contents = self._piece.contents
        columns = [[lost_places.bounded(c) for c in column] for column in self._text(self._inscription(inscription))[0]]
        return line(columns, kind=kind, k=k, period=contents.piece.period, people=contents.persons)

    def picture(self, reading: Reading) -> VersePicture:
        """Designs, places and pillow words that a reading names, and how they stand to the piece's subject; a hint."""
        from readaid.reading.verse_picture import named

        return named(reading, self._piece.contents.piece.subject)

    @gesture
    def keep_chinese(self, inscription: Inscription | str, marks: Sequence[str], japanese: str, confidence: float = 0.5,
                     evidence: str = "", note: str = "") -> Attempt:
        """Keep how the reader reads a Chinese line in Japanese: return marks, one a sign, and the reader's own words.

        Raises TextError for marks that lead nowhere: they are checked, the words never.
        """
        from readaid.reading.chinese_verse import lined
        from readaid.script.return_marks import japanese as ordered

        target = self._inscription(inscription)
        signs = self.written(target).replace("\n", "")
        given = tuple(marks) or ("",) * len(signs)
        order = ordered(signs, given)
        told = "".join(s + (f"[{m}]" if m else "") for s, m in zip(signs, given, strict=True))
        lines = lined(signs)
        return self._keep(Attempt(
            inscription=target.id, written=signs, normal=japanese, lines=lines, confidence=confidence,
            form=f"chinese-{len(lines[0])}" if lines else None, reader=self._piece.reader, evidence=evidence, note=note,
            reasons=(f"return marks {told}", f"in Japanese order {order}")))

    def written(self, inscription: Inscription | str) -> str:
        """The best candidate of each sign of the text, columns by line breaks, ``?`` where unread."""
        target = self._inscription(inscription)
        apart = silent(self._piece.contents, target)
        columns = ([c for c in column if c.id not in apart] for column in self.characters(target))
        return "\n".join("".join(map(_shown, column)) for column in columns if column)

    # -- attempts -----------------------------------------------------------------------------------
    @gesture
    def keep(self, inscription: Inscription | str, reading: Reading, confidence: float = 0.5, evidence: str = "",
             status: Status | str = Status.OPEN, note: str = "", alternatives: Iterable[Reading] = ()) -> Attempt:
        """Write a ranked reading down as an attempt; saved on disk when this returns.

        What shape alone spoke for stays unread in it, whoever calls, and the note says what was proposed: what an
        attempt chose counts as its reader's judgement.
        """
        target = self._inscription(inscription)
        signs = [c for column in self.characters(target) for c in column]
        proposed = unread_places(signs)
        note = note or shape_note(reading, proposed)
        reading = to_keep(reading, proposed)
        chosen = tuple((c.id, sign) for c, sign in zip(signs, reading.chosen, strict=False))
        attempt = Attempt(
            inscription=target.id, written=reading.written, kana=reading.kana, normal=reading.normal,
            modern=reading.modern, romaji=reading.romaji, lines=reading.lines, morae=reading.morae,
            form=reading.form, confidence=confidence, probability=reading.probability,
            status=options.member(Status, status, "status"),
            reader=self._piece.reader, evidence=evidence, reasons=tuple(str(r) for r in reading.reasons),
            chosen=chosen, alternatives=tuple(a.kana for a in alternatives if a.kana != reading.kana), note=note)
        return self._keep(attempt)

    @gesture
    def write_down(self, inscription: Inscription | str, text: str, confidence: float = 0.5, evidence: str = "",
                   status: Status | str = Status.OPEN, note: str = "", counted: Verse | None = None) -> Attempt:
        """Keep the reader's own words as an attempt, with morae counted but nothing corrected.

        ``counted`` is the text as :func:`readaid.reading.verse.verse` broke it with the inscription's form, where that
        was done already (3,000 kana take seconds).
        """
        from readaid.reading.verse import verse

        target = self._inscription(inscription)
        if counted is None and target.form:
            with contextlib.suppress(TextError):  # brackets, figures, Latin: a reader's own words need not be kana
                counted = verse(text, form=target.form)
        attempt = Attempt(inscription=target.id, written=text, kana="".join(text.split()),
                          lines=counted.lines if counted else tuple(text.split("\n")),
                          morae=counted.morae if counted else (), form=target.form, confidence=confidence,
                          status=options.member(Status, status, "status"), reader=self._piece.reader,
                          evidence=evidence, note=note)
        return self._keep(attempt)

    @gesture
    def set_status(self, attempt: Attempt | str, status: Status | str, reason: str = "",
                   confidence: float | None = None) -> Attempt:
        """Give an attempt another status; a reading preferred or settled sets the former one aside.

        ``reason``: of one set aside or withdrawn it is kept with the attempt, and the report tells it.
        """
        record = self._piece.find(Attempt, attempt if isinstance(attempt, str) else attempt.id)
        said = options.member(Status, status, "status")
        fields: dict[str, Any] = {"status": said}
        if said not in (Status.SET_ASIDE, Status.WITHDRAWN):
            fields["rejected"] = ""
        elif reason:
            fields["rejected"] = reason
        if confidence is not None:
            fields["confidence"] = confidence
        changed = dataclasses.replace(record, **fields)
        return self._keep(changed, reason or f"attempt {said.value}")

    def _keep(self, attempt: Attempt, reason: str = "attempt kept") -> Attempt:
        one = attempt.status in (Status.PREFERRED, Status.SETTLED)  # of all attempts, so none may come between
        self._piece.save(*self._set_aside(attempt), attempt, reason=reason, alone=one)
        return attempt

    def _set_aside(self, attempt: Attempt) -> list[Record]:
        """Other attempts at the same inscription that were preferred, now set aside."""
        if attempt.status not in (Status.PREFERRED, Status.SETTLED):
            return []
        return [dataclasses.replace(a, status=Status.SET_ASIDE) for a in self._piece.contents.attempts
                if a.inscription == attempt.inscription and a.id != attempt.id
                and a.status in (Status.PREFERRED, Status.SETTLED)]

    def _fresh(self, character: Character | str) -> Character:
        return self._piece.find(Character, character if isinstance(character, str) else character.id)

    def _given(self, character: Character | str) -> Character:
        """The record as the caller saw it, so that what somebody else said meanwhile is told and not written over."""
        return self._fresh(character) if isinstance(character, str) else character

    def _inscription(self, inscription: Inscription | str) -> Inscription:
        return self._piece.find(Inscription, inscription if isinstance(inscription, str) else inscription.id)


def _shown(character: Character) -> str:
    if character.damage in (Damage.LOST, Damage.TRACES) and not character.candidates:
        return UNREAD
    best = character.best
    return best.character if best else UNREAD
