"""A study as one self-contained HTML page: what was compared, the matrix, the figures, the sentences, the caution.

Conventions: the page needs no network; pictures are embedded; names are escaped. Figures are
those that are printed (``figures``), each a picture of its own with its font. What cannot be drawn (too few forms, no
dates) is told with its reason.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from html import escape
from pathlib import Path
from typing import Any

from readaid.core.errors import ReadaidError, ReportError
from readaid.core.progress import Progress, counted, unheard
from readaid.schools.figures import drifting
from readaid.schools.study import Study

_STYLE = ("body{font-family:serif;max-width:60rem;margin:2rem auto;padding:0 1rem;color:#222}"
          "table{border-collapse:collapse;font-size:.85rem}td,th{border:1px solid #bbb;padding:.2rem .4rem}"
          "img{max-width:100%;height:auto}figure{margin:1.5rem 0}figcaption{font-size:.9rem;color:#444}")


def render(study: Study, progress: Progress = unheard) -> str:
    """The page as text; ``progress`` is told before each figure."""
    parts = [f"<h1>{escape(study.title)}</h1>"]
    parts += [f"<p>{escape(line)}</p>" for line in study.sentences()]
    parts.append("<h2>Likeness of every two forms</h2>" + _matrix(study))
    figures: list[tuple[str, str, str | None]] = [
        ("Makers and their years", "makers", None),
        ("Which forms join first, with the support of each group", "tree", None),
        ("The forms on a plane", "map", None), ("Odds, stated and seen", "calibration", None),
        *((f"Forms of {maker} over the years", "drift", maker) for maker in drifting(study))]
    for caption, kind, maker in counted(figures, progress):
        parts.append(_figure(caption, lambda kind=kind, maker=maker: study.figure(kind, maker)._repr_html_()))
    settings = "".join(f"<tr><th scope='row'>{escape(n)}</th><td>{escape(v)}</td></tr>" for n, v in study.settings)
    parts.append(f"<h2>How it was made</h2><table>{settings}</table>")
    return ("<!doctype html><html lang='en'><head><meta charset='utf-8'>"
            "<meta http-equiv='Content-Security-Policy' content=\"default-src 'none'; img-src data:; "
            "style-src 'unsafe-inline'\">"
            f"<title>{escape(study.title)}</title><style>{_STYLE}</style></head><body>{''.join(parts)}</body></html>")


def write(study: Study, path: Path, progress: Progress = unheard) -> Path:
    """Write the page whole beside its name and put it in place; raises ReportError where it cannot be written.

    The page says what the study says: give what may leave (``Study.under``). ``progress``: told before each figure;
    where it raises, the former page stays as it was.
    """
    part = path.with_name(path.name + ".part")
    page = render(study, progress)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_text(page, encoding="utf-8")
        os.replace(part, path)
    except OSError as error:
        with contextlib.suppress(OSError):  # where the folder is a file there is nothing to take away
            part.unlink()
        raise ReportError("The study could not be written", f"{path}: {error.strerror}",
                          "make room on the disk or name another place") from error
    return path


def _matrix(study: Study) -> str:
    head = "".join(f"<th scope='col'>{n}</th>" for n in range(1, len(study.entries) + 1))
    rows = "".join(
        f"<tr><th scope='row' style='text-align:left'>{n}. {escape(label)}</th>"
        + "".join(f"<td>{value:.2f}</td>" for value in row) + "</tr>"
        for n, (label, row) in enumerate(zip(study.labels, study.likeness, strict=True), 1))
    return f"<table><thead><tr><th></th>{head}</tr></thead><tbody>{rows}</tbody></table>"


def _figure(caption: str, draw: Callable[..., Any]) -> str:
    try:
        picture = draw()
    except ReadaidError as error:
        picture = f"<p>{escape(str(error))}</p>"
    return f"<section><h2>{escape(caption)}</h2>{picture}</section>" if picture else ""
