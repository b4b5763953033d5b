"""The formats a report can be written in, and which renderer makes each.

Conventions: a renderer takes the document (or the records, for data formats)
and gives bytes; adding a format is one row here. What it gets has gone through the veil (``core.veil``).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from urllib.parse import urlsplit

from readaid.core.contents import Contents
from readaid.core.errors import OptionError
from readaid.core.progress import Progress, stretch, unheard
from readaid.core.veil import over

Renderer = Callable[..., bytes]


@dataclasses.dataclass(frozen=True, slots=True)
class Format:
    """A format: file suffix, file stem, the module whose ``render`` makes it, what it is for.

    ``heard``: ``render`` takes a ``progress`` and tells it as it sets the document.
    """

    suffix: str
    module: str
    purpose: str
    stem: str = "report"
    takes: str = "document"  # or "contents"
    heard: bool = False


FORMATS: dict[str, Format] = {
    "html": Format("html", "readaid.report.html", "to read and to print"),
    "pdf": Format("pdf", "readaid.report.pdf", "to print, to sign and to keep (PDF/A)", heard=True),
    "docx": Format("docx", "readaid.report.docx", "for the office", heard=True),
    "catalogue": Format("html", "readaid.report.html", "signature and forms, to paste into a catalogue entry",
                        "catalogue"),
    "markdown": Format("md", "readaid.report.markdown", "for pasting"),
    "tei": Format("xml", "readaid.report.tei", "TEI by the EpiDoc guidelines", "edition", "contents"),
    "annotations": Format("jsonld", "readaid.report.annotations", "zones as W3C Web Annotations", "annotations",
                          "contents"),
    "iiif": Format("json", "readaid.report.iiif", "IIIF Presentation 3 manifest", "manifest", "contents"),
    "csv": Format("csv", "readaid.report.attempts_csv", "table of attempts", "attempts", "contents"),
}


#: Share of the time that goes into pictures, where setting the pages takes long, too (60 signs: 2.3 of 4.2 s).
MADE = 0.55


def bytes_of(name: str, contents: Contents, folder: Path, *, edition: str, language: str, private: bool,
             blind: bool, part: str = "full", address: str = "", progress: Progress = unheard) -> bytes:
    """The report in one format, as bytes.

    ``address``: where the piece will lie on the web (IIIF only); OptionError where it is no web address.
    """
    chosen = FORMATS[name]
    files = {p.id: p.file for p in contents.photos}  # where the pictures lie, whatever name of them may be shown
    contents = over(contents, blind, private).contents(contents)
    render: Renderer = import_module(chosen.module).render
    if chosen.takes == "contents":
        where = {"address": _address(address)} if address and name == "iiif" else {}
        return render(contents, folder, edition=edition, language=language, **where)
    from readaid.report.composer import build, catalogue

    document = build(contents, folder, edition=edition, language=language, blind=blind, files=files,
                     part=part, progress=stretch(progress, 0, MADE if chosen.heard else 1))
    if chosen.heard:
        return render(document, stretch(progress, MADE, 1))
    return render(catalogue(document) if name == "catalogue" else document)


def _address(given: str) -> str:
    """A base address for a manifest: https or http, a host, nothing after the path."""
    parts = urlsplit(given)
    if parts.scheme not in ("https", "http") or not parts.netloc or parts.query or parts.fragment or " " in given:
        raise OptionError(f"'{given}' is no web address that a manifest can begin with", "address",
                          "give one such as https://museum.example/iiif, without ? and #")
    return given.rstrip("/")
