"""Reports from one document model: ``write`` chooses the renderer. Rank 4.

Conventions: files go to ``exports/`` of the piece folder unless a path is
given; a report is written whole beside its name and then moved there, so that
a full disk never leaves half a report.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from readaid.core.contents import Contents
from readaid.core.errors import ReportError, unknown_option
from readaid.core.progress import Progress, unheard
from readaid.report.formats import FORMATS, bytes_of

__all__ = ["FORMATS", "write"]


def write(contents: Contents, folder: Path, format: str = "html", path: Path | None = None, edition: str = "leiden",
          language: str = "en", private: bool = False, blind: bool = False, part: str = "full",
          address: str = "", progress: Progress = unheard) -> Path:
    """Write the report of a piece in one format; returns the file written.

    Parameters
    ----------
    folder: the piece folder, where the photos lie.
    format: one of ``FORMATS``.
    path: where to write; None: ``exports/report.<suffix>``.
    edition: "leiden" or "japanese" marks. language: "en" or "ja".
    private: print where the piece is kept and its provenance too (left out by default).
    blind: leave guesses and readings out.
    part: "full", or "entry" for the entry alone (formats made from the document; data formats hold everything).
    address: where the piece will lie on the web, for a IIIF manifest; "": a reserved example address.
    progress: told between pictures and parts; where it raises, the former report stays as it was.

    Raises OptionError for an unknown format, ReportError when it cannot be written.
    """
    if format not in FORMATS:
        raise unknown_option("report format", format, FORMATS)
    target = path or folder / "exports" / f"{FORMATS[format].stem}.{FORMATS[format].suffix}"
    data = bytes_of(format, contents, folder, edition=edition, language=language, private=private, blind=blind,
                    part=part, address=address, progress=progress)
    progress(1, 1)  # the last place to stop: from here on the file is there
    half = target.with_name(target.name + ".part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with half.open("wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(half, target)
    except OSError as error:
        with contextlib.suppress(OSError):
            half.unlink()
        raise ReportError("The report could not be written", f"{target}: {error.strerror}",
                          "make room on the disk or name another place") from error
    return target
