"""From the register's records to the one document model.

Conventions: the entry comes first (piece, each inscription, who answers for it), then the evidence (photographs, signs,
readings, forms, sources, cautions, how it was made); a section with nothing in it is left out. A blind copy holds what
was seen and nothing that was guessed.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from pathlib import Path

from readaid._version import __version__
from readaid.core.contents import Contents
from readaid.core.errors import unknown_option
from readaid.core.identity import now
from readaid.core.progress import Progress, unheard
from readaid.report import condition_part, entry_page, evidence, form_figures
from readaid.report.document import Document, Section
from readaid.report.edition import EDITIONS
from readaid.report.matter import Matter


def build(contents: Contents, folder: Path, edition: str = "leiden", language: str = "en",
          blind: bool = False, files: Mapping[str, str] | None = None, part: str = "full",
          progress: Progress = unheard) -> Document:
    """Make the document of a piece from contents that have gone through the veil.

    ``files``: where each photo lies in the folder, by its id, where the veil gave it another name. ``part``: "full",
    or "entry" for the entry alone. ``progress``: told before each picture.

    A photo that has gone or is no longer the one taken in leaves a told gap. Raises OptionError for an unknown edition,
    language or part.
    """
    if edition not in EDITIONS:
        raise unknown_option("edition", edition, EDITIONS)
    if part not in PARTS:
        raise unknown_option("part of a report", part, PARTS)
    m = Matter(contents, folder, edition, language, blind, files or {}, progress)
    sections: list[Section | None] = [entry_page.heading(m)]
    sections += [entry_page.inscription(m, i) for i in contents.inscriptions]
    sections.append(entry_page.signing(m))
    if part == "full":
        sections += _evidence(m)
    piece = contents.piece
    subtitle = " · ".join(filter(None, (m.w("entry_title" if part == "entry" else "report"), piece.inventory,
                                        piece.place_kept, m.w("blind") if blind else "")))
    return Document(piece.title, subtitle, tuple(s for s in sections if s and s.blocks), language, edition, now(),
                    f"readaid {__version__}", blind)


#: What of a piece a report may hold.
PARTS = ("full", "entry")


def _evidence(m: Matter) -> list[Section | None]:
    found: list[Section | None] = [evidence.handling(m), condition_part.section(m), evidence.photos(m)]
    for inscription in m.contents.inscriptions:
        found += evidence.inscription(m, inscription)
    return [*found, form_figures.section(m.contents, m.pictures, m.language), evidence.sources(m),
            evidence.comment(m), evidence.record(m)]


def catalogue(document: Document) -> Document:
    """The entry, the forms compared and the cautions: what is pasted into a catalogue."""
    kept = tuple(s for s in document.sections if s.part == "entry" or s.key in ("specimens", "cautions"))
    return dataclasses.replace(document, sections=kept)
