"""Signature, dates, persons, specimens and their comparison.

Conventions: a likeness is evidence of form, never of authorship; readings of
names are alternatives. Dates are ISO days, inclusive ranges.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from readaid.core.character import Inscription
from readaid.core.dating import Dating
from readaid.core.errors import OptionError, ShapeError
from readaid.core.person import Person, Role, Signature
from readaid.core.photo import Zone, kept_tracing
from readaid.core.piece import DateRecord
from readaid.core.specimen import ComparisonRecord, Specimen
from readaid.piece.moment import gesture

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from readaid.forms.comparison import Comparison
    from readaid.piece.decipherment import Decipherment
    from readaid.piece.holding import Holding
    from readaid.piece.seal_help import SealPlace
    from readaid.script.period import Evidence
    from readaid.script.signature_checks import Check


class Signers:
    """Who may have signed, when, and what the forms are like."""

    def __init__(self, piece: Holding, decipherment: Decipherment) -> None:
        self._piece = piece
        self._decipherment = decipherment

    def parse(self, inscription: Inscription | str, text: str | None = None) -> list[Signature]:
        """Ways to take the signature apart, best first; nothing is saved."""
        from readaid.script.signature import parse

        target = self._inscription(inscription)
        found = parse(text if text is not None else self._text(target), period=self.period())
        return [dataclasses.replace(s, inscription=target.id) for s in found]

    def checks(self, signature: Signature) -> list[Check]:
        """What of a parse can be held against its date and against the dates of the piece's persons."""
        from readaid.script.signature_checks import checks

        return checks(signature, self._piece.contents.persons)

    def seal(self, columns: Sequence[int], sketches: Mapping[tuple[int, int], Sequence[str]] | None = None,
             makers: Iterable[Person] = ()) -> tuple[SealPlace, ...]:
        """What to look for in each place of a seal, see ``seal_help``; seal script is not read, nothing is saved."""
        from readaid.piece.seal_help import look_for

        return look_for(self._piece.contents, columns, sketches, makers)

    @gesture
    def keep_signature(self, signature: Signature) -> Signature:
        """Write one parse of the signature down (it replaces the former one, which stays in the history)."""
        former = [s for s in self._piece.contents.signatures if s.inscription == signature.inscription]
        kept = dataclasses.replace(signature, id=former[0].id) if former else signature
        self._piece.save(kept, reason="signature parsed")
        return kept

    def dates(self, text: str) -> list[Dating]:
        """Datings that fit a date text, ranked by the piece's working period and the years of its persons as entered.

        Nothing is saved.
        """
        from readaid.script.dates import read

        return list(read(text, period=self.period(), evidence=self._evidence()))

    def period(self) -> tuple[int, int]:
        """The piece's working period in Western years."""
        return self._piece.contents.piece.period

    def _evidence(self) -> tuple[Evidence, ...]:
        """Working years of the piece's persons, from 15 years of age where only the birth is known."""
        from readaid.script.period import Evidence

        spans = []
        for p in self._piece.contents.persons:
            first, last = p.active_from or (p.born + 15 if p.born else None), p.active_to or p.died
            if first or last:
                spans.append(Evidence(first, last, f"{p.name}'s years as entered"))
        return tuple(spans)

    def keep_date(self, text: str, inscription: Inscription | str | None = None, choice: int = 0,
                  note: str = "") -> DateRecord:
        """Write a date down with what it may be; ``choice`` counts among :meth:`dates`."""
        found = self.dates(text)
        if not found:
            raise OptionError("No date fits what stands there", text, "mark unread signs with ? and try again")
        if not 0 <= choice < len(found):
            raise OptionError(f"There are {len(found)} datings, not {choice + 1}", text, "choose one of the list")
        best = found[choice]
        target = self._inscription(inscription).id if inscription else None
        record = DateRecord(text=text, first=best.first, last=best.last, era=best.era, year=best.year,
                            cycle=best.cycle, agrees=best.agrees, inscription=target, alternatives=len(found),
                            note=note or "; ".join(best.notes))
        self._piece.save(record, reason="date read")
        return record

    def add_person(self, name: str, role: str = "", inscription: Inscription | str | None = None,
                   **fields: Any) -> Person:
        """Record a person and, if given, their role in an inscription."""
        person = Person(name=name, **fields)
        records: list[Person | Role] = [person]
        if role:
            target = self._inscription(inscription).id if inscription else None
            records.append(Role(person=person.id, role=role, inscription=target))
        self._piece.save(*records, reason="person added")
        return person

    def add_specimen(self, zone: Zone | str | None = None, image: str = "", **fields: Any) -> Specimen:
        """Record a form from a zone, or from an image file in the piece folder; counts are made automatically."""
        from readaid.forms.form import form_of

        found = self._piece.find(Zone, zone if isinstance(zone, str) else zone.id) if zone is not None else None
        specimen = Specimen(zone=found.id if found else None, photo=found.photo if found else None, image=image,
                            **fields)
        specimen = dataclasses.replace(specimen, counted=form_of(self.pixels(specimen)).counts)
        self._piece.save(specimen, reason="specimen added")
        return specimen

    def pixels(self, specimen: Specimen) -> NDArray[np.uint8]:
        """The specimen's picture, (H, W, 3) uint8."""
        if specimen.zone is not None:
            return self._piece.crop(specimen.zone)
        if not specimen.image:
            raise OptionError("The specimen has neither a zone nor a picture", specimen.id, "draw a zone round it")
        from readaid.photo.file import load

        path = (self._piece.folder / specimen.image).resolve()
        if not path.is_relative_to(self._piece.folder):
            raise OptionError("The specimen's picture lies outside the piece folder", specimen.image,
                              "add the picture to the piece first")
        return load(path)  # type: ignore[return-value]

    def compare(self, a: Specimen | str, b: Specimen | str, turn: str = "as it stands",
                traced: Collection[str] = ()) -> Comparison:
        """Lay one form over the other; nothing is saved.

        ``turn`` changes b first (one of ``forms.comparison.TURNS``); ``traced`` names those of "a" and "b" to be
        compared as they were traced. Raises ShapeError where no tracing of one is kept.
        """
        from readaid.forms.comparison import compare

        sides = [self._piece.find(Specimen, x if isinstance(x, str) else x.id) for x in (a, b)]
        first, second = (self._traced(side) if name in traced else self.pixels(side)
                         for name, side in zip("ab", sides, strict=True))
        return compare(first, second, turn=turn)

    def _traced(self, specimen: Specimen) -> NDArray[np.uint8]:
        from readaid.forms.tracing_picture import drawn

        kept = kept_tracing(self._piece.contents.tracings, specimen.zone or "")
        if kept is None:
            raise ShapeError("No tracing of this form is kept", specimen.id, "trace it and keep the tracing first")
        return drawn(kept.strokes)

    def keep_comparison(self, a: Specimen | str, b: Specimen | str, note: str = "", turn: str = "as it stands",
                        traced: Collection[str] = ()) -> ComparisonRecord:
        """Compare two specimens as :meth:`compare` and write the figures down, with how they were compared."""
        result = self.compare(a, b, turn, traced)
        first, second = (s if isinstance(s, str) else s.id for s in (a, b))
        matrix = tuple(float(v) for row in result.transform for v in (row if hasattr(row, "__iter__") else (row,)))
        record = ComparisonRecord(a=first, b=second, likeness=float(result.likeness),
                                  parts=tuple((str(k), float(v)) for k, v in dict(result.parts).items()),
                                  transform=matrix, population=len(self._piece.contents.specimens), note=note,
                                  turn=turn, traced=tuple(sorted(traced)))
        self._piece.save(record, reason="forms compared")
        return record

    def _text(self, target: Inscription) -> str:
        return self._decipherment.written(target)

    def _inscription(self, inscription: Inscription | str) -> Inscription:
        return self._piece.find(Inscription, inscription if isinstance(inscription, str) else inscription.id)
