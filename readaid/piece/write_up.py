"""The catalogue entry of each inscription: what the program can propose, and what the reader writes down.

Conventions: a proposal is computed from what was judged and kept, and is never saved by itself; what nobody says stays
empty. Known verses are looked for among the verses that come with the program, and a search without a find says so.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from readaid.core import citation
from readaid.core.attempt import Attempt
from readaid.core.character import Character, Inscription, Text
from readaid.core.citation import Citation
from readaid.core.confidence import Damage
from readaid.core.entry import CUTS, VERDICTS, Allusion, Entry, GlossedWord
from readaid.core.errors import OptionError, unknown_option
from readaid.core.reading import Reading, VerseMatch
from readaid.core.texts import wording
from readaid.piece.claims import silent
from readaid.piece.moment import gesture
from readaid.register.revision import Revision

if TYPE_CHECKING:
    from readaid.piece.decipherment import Decipherment
    from readaid.piece.holding import Holding


class WriteUp:
    """The entries of one piece."""

    def __init__(self, piece: Holding, decipherment: Decipherment) -> None:
        self._piece = piece
        self._decipherment = decipherment

    def of(self, inscription: Inscription | str) -> Entry:
        """The entry of an inscription as it stands; an empty one where nothing was written down."""
        return self._piece.contents.entry(self._inscription(inscription).id)

    @gesture
    def write(self, inscription: Inscription | str, **fields: Any) -> Entry:
        """Write down fields of an inscription's entry (those of :class:`readaid.core.entry.Entry`).

        Raises OptionError for an unknown field, cut or verdict.
        """
        target = self._inscription(inscription)
        known = {f.name for f in dataclasses.fields(Entry)} - {"id", "inscription"}
        for name in fields:
            if name not in known:
                raise unknown_option("entry field", name, known)
        if fields.get("cut", CUTS[0]) not in CUTS:
            raise unknown_option("cut", fields["cut"], CUTS)
        for allusion in fields.get("allusions", ()):
            if allusion.verdict not in VERDICTS:
                raise unknown_option("verdict", allusion.verdict, VERDICTS)
        held = [e for e in self._piece.contents.entries if e.inscription == target.id]
        if held:
            return self._piece.change(held[0], reason="entry written", **fields)
        made = Entry(target.id, **fields)
        self._piece.save(made, reason="entry written")
        return made

    def propose(self, inscription: Inscription | str, known: bool = True) -> Entry:
        """What can be computed for an inscription's entry; nothing is saved.

        The edited text, words, season and cutting words come from the reading of the attempt that is preferred (or the
        best one, where none is), so that they say the same. ``known`` looks for the verse among those that come along.
        What is lost or not legible is named under ``not_read``, with what the search put there: nobody saw it.
        Raises OptionError where nothing has been read yet.
        """
        target = self._inscription(inscription)
        reading = self._reading(target)
        if reading is None:
            raise OptionError("Nothing of this inscription has been read yet", target.title,
                              "name candidates or write a reading down first")
        found = self._known(target) if known and target.kind is Text.VERSE else ()
        words = tuple(GlossedWord(w.kana or w.text, w.lemma, w.part.split(",")[0], "", "dictionary")
                      for w in reading.words)
        return Entry(target.id, edited=reading.text, read_out=reading.modern, romanised=reading.romaji, words=words,
                     season=reading.season, cutting=reading.cutting, allusions=found,
                     date_argument=self._date_argument(target), not_read=self._not_read(target, reading))

    @gesture
    def accept(self, inscription: Inscription | str, *names: str) -> Entry:
        """Take fields of the proposal over (all that are not written yet, where none is named).

        Raises OptionError for a field that an entry has not.
        """
        known = [f.name for f in dataclasses.fields(Entry) if f.name not in ("id", "inscription")]
        for name in names:
            if name not in known:
                raise unknown_option("field", name, known)
        target = self._inscription(inscription)
        proposed, now = self.propose(target), self.of(target)
        wanted = names or known
        fields = {n: v for n in wanted if (v := getattr(proposed, n)) and (names or not getattr(now, n))
                  and v != "not stated"}
        return self.write(target, **fields) if fields else now

    def cite(self, attempt: Attempt | str) -> Citation:
        """A citation of an attempt as it stands now."""
        record = self._piece.find(Attempt, attempt if isinstance(attempt, str) else attempt.id)
        number = self._piece.contents.numbers.get(record.id) or self._piece.version
        return citation.cite(self._piece.piece.id, record.id, number)

    def cited(self, text: str) -> Revision:
        """The attempt that a citation names, as it stood at that revision, with who kept it and when.

        Raises OptionError for what is no citation, or names another piece or nothing that was kept here.
        """
        wanted = citation.parse(text)
        if not self._piece.piece.id.startswith(wanted.piece):
            raise OptionError("The citation names another piece", str(wanted), "open the piece that it names")
        found = [r for a in self._piece.register.all("attempt", withdrawn=True) if a.id.startswith(wanted.attempt)
                 for r in self._piece.register.history(a.id) if r.number <= wanted.revision]
        if not found:
            raise OptionError("No attempt of this piece bears this citation", str(wanted), "check its letters")
        if len({r.record.id for r in found}) > 1:
            raise OptionError("Several attempts begin alike", str(wanted), "look for it in the register by its reader")
        return max(found, key=lambda r: r.number)

    def _reading(self, target: Inscription) -> Reading | None:
        from readaid.report.matter import preferred

        signs = self._decipherment.characters(target)
        if not any(c.candidates for column in signs for c in column):
            return None
        solution = self._decipherment.solve(target, k=5)
        attempts = [a for a in self._piece.contents.attempts if a.inscription == target.id]
        best = preferred(attempts)
        same = [r for r in solution.readings if best is not None and r.kana == best.kana]
        if best is not None and not same:
            return self._read_again(best.written, target)
        return same[0] if same else (solution.readings[0] if solution.readings else None)

    def _read_again(self, written: str, target: Inscription) -> Reading | None:
        """The reading of an attempt that is not among the first of the search: of its own words."""
        from readaid.reading.solve import solve

        found = solve(written, form=target.form, k=1, time_limit=10.0).readings
        return found[0] if found else None

    def _known(self, target: Inscription) -> tuple[Allusion, ...]:
        from readaid.lexicon.verses import collection

        found = self._decipherment.known(target, k=1)
        if found and found[0].verdict in ("the same", "a variant"):
            return (_allusion(found[0]),)
        return (Allusion("", wording("{0} verses that come with readaid", f"{len(collection(None)):,}"), "not traced"),)

    def _not_read(self, target: Inscription, reading: Reading) -> str:
        """Each sign of the text that nobody read, how many are lost there, and what the reading supplies instead."""
        supplied: dict[int, str] = {}
        for r in reading.restored:
            supplied[r.at] = supplied.get(r.at, "") + r.kana
        apart = silent(self._piece.contents, target)
        told = []
        for at, sign in enumerate(c for column in self._decipherment.characters(target) for c in column):
            if not sign.candidates and not sign.fixed and sign.id not in apart:
                filled = supplied.get(at, "")
                how = wording("{0} is supplied from the context", filled) if filled else wording("nothing is supplied")
                told.append(f"{_lack(at + 1, sign)}: {how}")
        return "; ".join(told)

    def _date_argument(self, target: Inscription) -> str:
        dates = [d for d in self._piece.contents.dates if d.inscription == target.id and d.first]
        return "; ".join(f"{d.text}: {d.first} – {d.last}" for d in dates)

    def _inscription(self, inscription: Inscription | str) -> Inscription:
        return self._piece.find(Inscription, inscription if isinstance(inscription, str) else inscription.id)


def _lack(number: int, sign: Character) -> str:
    """What is lacking at a sign, in words; ``number`` from 1 in reading order."""
    least, most = sign.missing
    if sign.damage is not Damage.LOST:
        return wording("sign {0} not legible", number)
    if not most:
        return wording("an unknown number of signs lost at sign {0}", number)
    return (wording("sign {0} lost", number) if least == most == 1
            else wording("{1} to {2} signs lost at sign {0}", number, least, most))


def _allusion(match: VerseMatch) -> Allusion:
    reference = ", ".join(t for t in (match.author, match.title, match.source) if t)
    return Allusion(match.verse, reference, match.verdict)

