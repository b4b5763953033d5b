"""What is worked out about a school once all its forms are compared: pictures, nearest makers, sentences.

Conventions: forms in the order of the matrix; pictures are SVG text. A sentence that cannot be had (too few makers,
no dates) is told with its reason instead.
"""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from readaid.core.errors import ReadaidError
from readaid.core.person import Person
from readaid.core.progress import Progress
from readaid.core.specimen import Specimen
from readaid.core.texts import wording

#: A picture shown as an image knows nothing of the page's fonts, and a browser may then take a brush font for labels.
FONTS = "'Noto Sans CJK JP','Noto Sans JP','Hiragino Sans','Yu Gothic UI',Meiryo,IPAexGothic,sans-serif"


@dataclass(frozen=True)
class Chart:
    """A picture with its sentence."""

    title: str
    svg: str

    def row(self) -> dict[str, str]:
        """As the browser shows it: a picture cannot run anything, whatever a name holds."""
        head, _, rest = self.svg.partition(">")
        svg = f'{head} lang="ja"><style>text{{font-family:{FONTS}}}</style>{rest}'
        return {"title": self.title, "svg": base64.b64encode(svg.encode("utf-8")).decode("ascii")}


@dataclass(frozen=True)
class Overview:
    """A compared school: ``likeness`` (n, n), pictures, makers nearest to the form asked about, sentences."""

    likeness: Any
    charts: tuple[Chart, ...]
    nearest: Any
    sentences: tuple[str, ...]


def form_name(specimen: Specimen, names: dict[str, str]) -> str:
    """A form in a few words, in the language spoken now."""
    owner = names.get(specimen.person or "", "") or wording("this piece" if specimen.zone else "owner not known")
    return owner + (f" {specimen.year}" if specimen.year else "")


def worked_out(
    forms: Sequence[Specimen], pictures: Sequence[Any], people: Sequence[Person], asked: int, progress: Progress
) -> Overview:
    """Compare all forms and work the school out; ``asked`` is the place of the form whose neighbours are wanted."""
    from readaid.forms.form import form_of
    from readaid.schools.dendrogram import dendrogram
    from readaid.schools.matrix import distance, likeness_matrix
    from readaid.schools.plane import map_of

    made = [form_of(p) for p in pictures]
    likeness = likeness_matrix(made, progress=progress)
    far = distance(likeness)
    names = {p.id: p.name for p in people}
    labels = [form_name(f, names) for f in forms]
    owners = [names.get(f.person or "") or wording("not known") for f in forms]
    charts = []
    if len(forms) >= 3:
        joined = dendrogram(far, labels)
        charts.append(
            Chart(
                f"Which forms join first; the figures are the support of each group. How well the drawing "
                f"shows the distances: {joined.cophenetic:.2f} of 1.",
                joined.svg(),
            )
        )
        plane = map_of(far, labels, owners)
        charts.append(Chart(plane.text, plane.svg()))
    charts += _drifts(forms, far, names)
    # what cannot be had is told with its reason and never stops the rest
    nearest, sentences = None, []
    try:
        nearest = _nearest(forms, made, names, labels, asked)
    except ReadaidError as error:
        sentences.append(str(error))
    sentences.append(_lineage(forms, far, people))
    return Overview(likeness, tuple(charts), nearest, tuple(sentences))


def _nearest(
    forms: Sequence[Specimen], made: Sequence[Any], names: dict[str, str], labels: Sequence[str], asked: int
) -> Any:
    from readaid.schools.nearest import Population, Reference

    others = [
        Reference(made[k], names[f.person], labels[k])
        for k, f in enumerate(forms)
        if k != asked and f.person is not None and f.person in names
    ]
    return Population(others).nearest(made[asked])


def _lineage(forms: Sequence[Specimen], far: Any, people: Sequence[Person]) -> str:
    from readaid.schools.lineage import follows_lineage
    from readaid.schools.makers import checked

    try:
        makers = checked(people)
        known = {m.id for m in makers}
        owned = [k for k, f in enumerate(forms) if f.person in known]
        found = follows_lineage(
            far[np.ix_(owned, owned)], [str(forms[k].person) for k in owned], makers, [forms[k].year for k in owned]
        )
    except ReadaidError as error:
        return str(error)
    return found.text


def _drifts(forms: Sequence[Specimen], far: Any, names: dict[str, str]) -> list[Chart]:
    """How the forms of each maker with three or more dated ones change."""
    from readaid.schools.drift import over_time

    charts = []
    for person in dict.fromkeys(f.person for f in forms if f.person in names):
        dated = [k for k, f in enumerate(forms) if f.person == person and f.year is not None]
        if len(dated) >= 3:
            found = over_time(far[np.ix_(dated, dated)], [float(forms[k].year or 0) for k in dated], names[str(person)])
            charts.append(Chart(found.text, found.svg()))
    return charts
