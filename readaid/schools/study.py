"""A study: chosen specimens of a school, all compared, and what can be said of them.

Conventions: forms in the order chosen; likeness 0..1 and distance -ln(likeness) as in ``matrix``. Labels are for the
eye; ids stand beside them in every frame. Whatever could have been chosen otherwise stands in ``settings``. Nothing
here names the author of a form.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from readaid._version import __version__
from readaid.core.errors import OptionError, ReadaidError, ShapeError
from readaid.core.person import Person
from readaid.core.progress import Progress, unheard
from readaid.core.school import StudyRecord
from readaid.core.specimen import Specimen
from readaid.core.veil import Veil
from readaid.forms.comparison import Comparison, compare
from readaid.forms.form import Form, form_of
from readaid.forms.wording import CAUTION, number
from readaid.photo.ink import Crop
from readaid.schools.dendrogram import Dendrogram, dendrogram, resampled
from readaid.schools.drift import Drift, over_time
from readaid.schools.lineage import LineageTest, follows_lineage
from readaid.schools.makers import checked
from readaid.schools.matrix import Executor, distance, likeness_matrix, ready
from readaid.schools.nearest import Nearest, Population, Reference
from readaid.schools.odds import FORMS, MAKERS, Odds
from readaid.schools.plane import Map, map_of

if TYPE_CHECKING:
    import pandas as pd

    from readaid.forms.sheet import Sheet

Floats = npt.NDArray[np.float64]
#: Kept with every study: what the comparison was made by.
METHOD = "lines and sheets, see forms.likeness"


@dataclass(frozen=True, slots=True)
class Entry:
    """One specimen of a study with its maker (None: not known), its label and its pixels (H, W, 3) uint8."""

    specimen: Specimen
    maker: Person | None
    label: str
    pixels: Any


class Study:
    """Specimens compared with each other; made by ``School.study``.

    Parameters
    ----------
    entries: two or more. makers: everybody in the school, for tree and lineage. seed: for every resampling and shuffle.
    likeness: a matrix (n, n) kept earlier; None compares now.

    Raises ShapeError for fewer than two specimens.
    """

    def __init__(self, title: str, entries: Sequence[Entry], makers: Sequence[Person], seed: int = 0,
                 likeness: Floats | None = None, progress: Progress = unheard, executor: Executor | None = None,
                 record: StudyRecord | None = None) -> None:
        if len(entries) < 2:
            raise ShapeError("One specimen alone makes no study", number(len(entries), "specimen"),
                             "choose at least two")
        self.title, self.entries, self.seed = title, tuple(entries), seed
        self.makers = tuple(makers)
        self.record = record
        self._likeness, self._progress, self._executor = likeness, progress, executor

    # -- what was compared ---------------------------------------------------------------------------
    @cached_property
    def forms(self) -> list[Form]:
        """Prepared forms in the order of the entries."""
        return [ready(form_of(e.pixels)) for e in self.entries]

    @cached_property
    def likeness(self) -> Floats:
        """Likeness of every two specimens, (n, n), 1 on the diagonal."""
        if self._likeness is not None:
            return self._likeness
        return likeness_matrix(self.forms, progress=self._progress, executor=self._executor)

    @property
    def distances(self) -> Floats:
        """Distances -ln(likeness), (n, n)."""
        return distance(self.likeness.copy())

    @property
    def labels(self) -> list[str]:
        """What each specimen is called."""
        return [e.label for e in self.entries]

    @property
    def owners(self) -> list[str | None]:
        """Id of each specimen's maker as claimed or accepted, None where not known."""
        return [e.maker.id if e.maker else None for e in self.entries]

    @property
    def settings(self) -> tuple[tuple[str, str], ...]:
        """Names and values of all that could have been chosen otherwise."""
        known = [o for o in self.owners if o]
        return (("method", METHOD), ("seed", str(self.seed)), ("specimens", str(len(self.entries))),
                ("makers", str(len(set(known)))), ("makers not known", str(self.owners.count(None))))

    # -- frames --------------------------------------------------------------------------------------
    @property
    def matrix(self) -> pd.DataFrame:
        """Likeness of every two specimens as a frame; index and columns are specimen ids, ``attrs["labels"]`` names."""
        import pandas as pd

        ids = [e.specimen.id for e in self.entries]
        frame = pd.DataFrame(self.likeness, index=pd.Index(ids, name="specimen"), columns=ids)
        frame.attrs["labels"] = dict(zip(ids, self.labels, strict=True))
        return frame

    def to_frame(self) -> pd.DataFrame:
        """One row per pair of specimens, n (n - 1) / 2: ids, labels, makers (id and name), likeness 0 to 1, and the
        distance -ln(likeness).

        Raises
        ------
        ShapeError: a form cannot be compared.
        """
        import pandas as pd

        far, n = self.distances, len(self.entries)
        pairs = [(i, j) for i in range(n) for j in range(i + 1, n)]

        def side(which: int) -> dict[str, list[Any]]:
            letter = "ab"[which]
            chosen = [self.entries[p[which]] for p in pairs]
            return {letter: [e.specimen.id for e in chosen], f"{letter}_label": [e.label for e in chosen],
                    f"{letter}_maker": [e.maker.id if e.maker else None for e in chosen],
                    f"{letter}_maker_name": [e.maker.name if e.maker else None for e in chosen]}

        return pd.DataFrame({**side(0), **side(1), "likeness": [float(self.likeness[p]) for p in pairs],
                             "distance": [float(far[p]) for p in pairs]})

    # -- what can be said ----------------------------------------------------------------------------
    @cached_property
    def population(self) -> Population:
        """The specimens whose maker is known, as a population that may be asked; raises ShapeError for one maker."""
        known = [i for i, e in enumerate(self.entries) if e.maker is not None]
        return Population.of_matrix(
            [Reference(self.forms[i], self.entries[i].maker.name, self.entries[i].label)  # type: ignore[union-attr]
             for i in known], self.likeness[np.ix_(known, known)])

    def nearest(self, form: Form | Crop | str, k: int = 5) -> Nearest:
        """The makers nearest to a form, with "none of these".

        Parameters
        ----------
        form: a form, a picture (H, W[, 3]) uint8, or the id of one of the study, which is then left out itself.
        k: how many makers are told.

        Raises
        ------
        ShapeError: forms of one maker only, or no form shows. OptionError: the study holds no such specimen.
        """
        if not isinstance(form, str) or not any(e.specimen.id == form for e in self.entries):
            return self.population.nearest(form, k)
        asked = self._at(form)
        rest = [i for i, e in enumerate(self.entries) if e.maker is not None and i != asked]
        references = [Reference(self.forms[i], self.entries[i].maker.name, self.entries[i].label)  # type: ignore[union-attr]
                      for i in rest]
        return Population.of_matrix(references, self.likeness[np.ix_(rest, rest)]).nearest(self.forms[asked], k)

    @property
    def odds(self) -> Odds:
        """The likelihood ratios measured in this study; raises ShapeError below the least population."""
        found = self.population.odds
        if found is None:
            raise ShapeError("There are too few makers with several forms to measure odds",
                             number(len({o for o in self.owners if o}), "maker"),
                             f"odds are told from {MAKERS} makers with {FORMS} forms each on")
        return found

    def dendrogram(self, rounds: int = 100) -> Dendrogram:
        """Forms joined step by step by mean distance, with the support (0 to 1) of each group.

        Parameters
        ----------
        rounds: how often the forms are resampled.

        Raises
        ------
        ShapeError: a form cannot be compared.
        """
        samples = resampled(self.likeness, self.forms, rounds=rounds, seed=self.seed)
        return dendrogram(self.distances, self.labels, samples=samples)

    def map(self) -> Map:
        """The forms on a plane, (n, 2) in units of distance -ln(likeness).

        Raises
        ------
        ShapeError: fewer than three forms.
        """
        return map_of(self.distances, self.labels, [e.maker.name if e.maker else "not known" for e in self.entries])

    def drift(self, maker: str) -> Drift:
        """How the dated forms of one maker change with the years.

        Parameters
        ----------
        maker: a name or id.

        Raises
        ------
        ShapeError: fewer than two dated forms of this maker.
        """
        dated = [(i, e.specimen.year) for i, e in enumerate(self.entries)
                 if e.maker is not None and maker in (e.maker.id, e.maker.name) and e.specimen.year is not None]
        if len(dated) < 2:
            raise ShapeError("Change over time needs at least two dated forms", maker, "add dated forms of this maker")
        places = [i for i, _ in dated]
        return over_time(self.distances[np.ix_(places, places)], [float(y or 0) for _, y in dated],
                         self.entries[places[0]].maker.name, seed=self.seed)  # type: ignore[union-attr]

    def lineage(self) -> LineageTest:
        """Whether likeness follows the line from teacher to pupil, with its assumptions told; see ``lineage``.

        Raises
        ------
        ShapeError: fewer than four makers with forms. TableError: teachers run in a loop.
        """
        makers = checked(self.makers)
        known = {m.id for m in makers}
        owned = [i for i, o in enumerate(self.owners) if o in known]
        return follows_lineage(self.distances[np.ix_(owned, owned)], [str(self.owners[i]) for i in owned], makers,
                               [self.entries[i].specimen.year for i in owned], seed=self.seed)

    def figure(self, kind: str, maker: str | None = None) -> Sheet:
        """A figure to print; write it with ``save("tree.pdf")``, .svg and .png (300 dpi) go as well.

        Parameters
        ----------
        kind: "matrix", "tree", "makers", "map", "drift" or "calibration".
        maker: whose drift (a name or id), by default the first; other figures do not ask.

        Raises
        ------
        OptionError: no such figure. ShapeError: the study is too small for it.
        """
        from readaid.schools.figures import figure

        return figure(self, kind, maker)

    def compare(self, a: str, b: str, turn: str = "as it stands") -> Comparison:
        """Two specimens laid on each other, part by part.

        Parameters
        ----------
        a, b: their ids or labels.
        turn: changes b first, one of ``forms.comparison.TURNS``.

        Raises
        ------
        OptionError: no such specimen or turn. ShapeError: one is a single dot.
        """
        return compare(self.forms[self._at(a)], self.forms[self._at(b)], turn)

    def plate(self, a: str, b: str, turn: str = "as it stands") -> Sheet:
        """Two specimens on a plate to print, in millimetres: both photographs, and one laid on the other.

        Parameters
        ----------
        a, b: their ids or labels.
        turn: changes b first, one of ``forms.comparison.TURNS``.

        Raises
        ------
        OptionError: no such specimen or turn. ShapeError: one is a single dot.
        """
        from readaid.forms.pair_plate import overlay_plate
        from readaid.schools.figures import thumbnail

        first, second = (self.entries[self._at(x)] for x in (a, b))
        return overlay_plate(self.compare(a, b, turn), (thumbnail(first.pixels, 640), thumbnail(second.pixels, 640)),
                             (first.label, second.label), f"readaid {__version__}, {METHOD}.")

    def sentences(self) -> tuple[str, ...]:
        """What may be written of the study; what cannot be had is told with its reason instead.

        Raises
        ------
        ShapeError: a form cannot be compared.
        """
        return self._sentences

    @cached_property
    def _sentences(self) -> tuple[str, ...]:
        told = [f"{number(len(self.entries), 'form')} of {number(len({o for o in self.owners if o}), 'maker')} compared"
                f" by readaid {__version__} ({METHOD})."]
        words: tuple[Callable[[], str], ...] = (lambda: self.map().text, lambda: self.lineage().text,
                                                lambda: self.odds.text)
        for what in words:
            try:
                told.append(what())
            except ReadaidError as error:
                told.append(str(error))
        return (*told, CAUTION)

    def kept(self, note: str = "") -> StudyRecord:
        """The record that this study is kept as, its likeness the upper triangle, n (n - 1) / 2 numbers row by row.

        Parameters
        ----------
        note: in words of your own.

        Raises
        ------
        ShapeError: a form cannot be compared.
        """
        upper = np.triu_indices(len(self.entries), 1)
        fresh = StudyRecord(self.title, tuple(e.specimen.id for e in self.entries),
                            tuple(round(float(v), 6) for v in self.likeness[upper]), self.settings, self.sentences(),
                            __version__, note)
        return replace(fresh, id=self.record.id) if self.record is not None else fresh

    def under(self, veil: Veil) -> Study:
        """The same study as it may leave: no words that stay here in titles, labels or names, all figures as they are.

        A specimen's label and a maker's note are free words: "bought from" with the owner's name stood on the page.

        Parameters
        ----------
        veil: what may leave, as ``School.veil`` gives it.

        Raises
        ------
        ShapeError: a form cannot be compared.
        """
        entries = [replace(e, specimen=veil.record(e.specimen), label=veil.text(e.label),
                           maker=veil.record(e.maker) if e.maker is not None else None) for e in self.entries]
        return Study(veil.text(self.title), entries, veil.all(self.makers), self.seed, self.likeness,
                     record=self.record)

    def _at(self, specimen: str) -> int:
        found = next((i for i, e in enumerate(self.entries) if specimen in (e.specimen.id, e.label)), None)
        if found is None:
            raise OptionError("There is no such specimen in the study", specimen, "take its id from study.matrix")
        return found

    def _repr_html_(self) -> str:
        low = self.likeness[np.triu_indices(len(self.entries), 1)]
        return (f"<p><b>{escape(self.title)}</b>: {number(len(self.entries), 'form')}, likeness {low.min():.2f} to "
                f"{low.max():.2f}. {escape(CAUTION)}</p>")


def unfolded(record: StudyRecord) -> Floats:
    """The matrix (n, n) of a kept study; raises ShapeError where its numbers do not fit its specimens."""
    n = len(record.specimens)
    if len(record.likeness) != n * (n - 1) // 2:
        raise ShapeError("The kept study lacks some of its figures", record.title, "run it again")
    out = np.eye(n)
    upper = np.triu_indices(n, 1)
    out[upper] = record.likeness
    return np.asarray(np.triu(out) + np.triu(out, 1).T)
