"""Nearest forms: whose known forms a new signature stands nearest to, with "none of these" allowed.

Conventions: a maker's score is the mean log odds of likeness with the two best of the maker's forms (one, if there
is one only); likeness 0..1. Rank 1 is the nearest; the population is told with its size. What a border refuses and
lets through is told with it (``borders``). A likelihood ratio is given only where it was measured in the population
itself (``odds``); otherwise rank and distance must do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError
from readaid.core.progress import Progress, unheard
from readaid.forms.form import Form
from readaid.forms.likeness import likeness, share
from readaid.forms.one_thread import one_thread
from readaid.forms.wording import CAUTION
from readaid.photo.ink import Crop
from readaid.schools.borders import GENERAL, Border, border_of, score
from readaid.schools.matrix import ready
from readaid.schools.odds import FORMS, MAKERS, Odds, measured

Floats = npt.NDArray[np.float64]
#: From this likeness on a copy is to be thought of.
COPY = 0.985


@dataclass(frozen=True, slots=True)
class Reference:
    """A known form: its ``form``, the ``maker`` (a name or id) and a ``label`` for the reader."""

    form: Form
    maker: str
    label: str = ""


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A maker near the new form: ``rank`` from 1, ``likeness`` and ``distance`` (-ln), forms on hand, the nearest
    one; ``ratio`` is the measured likelihood ratio, None where it was not measured."""

    maker: str
    rank: int
    likeness: float
    distance: float
    forms: int
    nearest: str
    ratio: float | None = None


@dataclass(frozen=True, slots=True)
class Nearest:
    """Makers by nearness, and how far the nearest may be named.

    ``verdict`` is "near", "kin" (it belongs with these forms, but a maker of the same school who is not among them
    cannot be told from the nearest) or "none"; ``none`` is True for the last. ``border`` is the likeness below which
    none is named, ``calibrated`` whether the references themselves told it, ``borders`` all of them with their rates.
    ``odds`` is what was measured of likelihood ratios, None below the least population.
    """

    neighbours: tuple[Neighbour, ...]
    none: bool
    border: float
    calibrated: bool
    population: int
    makers: int
    text: str
    verdict: str = "near"
    borders: Border = GENERAL[1]
    odds: Odds | None = None

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><td>{n.rank}</td><td>{escape(n.maker)}</td><td>{n.likeness:.2f}</td><td>{n.distance:.2f}</td>"
            f"<td>{n.forms}</td></tr>"
            for n in self.neighbours
        )
        return (
            "<table><thead><tr><th>rank</th><th>maker</th><th>likeness</th><th>distance</th><th>forms</th></tr></thead>"
            f"<tbody>{rows}</tbody></table><p>{escape(self.text)}</p>"
        )


def log_odds(value: float) -> float:
    """Log odds of a likeness 0..1."""
    value = min(max(value, 1e-6), 1 - 1e-6)
    return float(np.log(value / (1 - value)))


class Population:
    """Known forms, prepared once; ``nearest`` may be asked many times.

    Raises ShapeError if there is no form, or forms of one maker only.
    """

    def __init__(self, references: Sequence[Reference], progress: Progress = unheard) -> None:
        self._set([Reference(ready(r.form), r.maker, r.label) for r in references])
        self._calibrate(self._compared(progress))

    @classmethod
    def of_matrix(cls, references: Sequence[Reference], likenesses: Floats) -> Population:
        """The population whose likenesses (n, n) are known already; nothing is compared anew."""
        made = cls.__new__(cls)
        made._set([Reference(ready(r.form), r.maker, r.label) for r in references])
        made._calibrate(np.vectorize(log_odds, otypes=[float])(likenesses))
        return made

    def _set(self, references: list[Reference]) -> None:
        self.references = references
        self.makers = list(dict.fromkeys(r.maker for r in references))
        if len(self.makers) < 2:
            raise ShapeError(
                "A school of one maker has no neighbours to choose from",
                f"{len(references)} form(s)",
                "add forms of at least one more maker",
            )
        self.owner = np.array([self.makers.index(r.maker) for r in references])
        self.borders = dict(GENERAL)
        self.odds: Odds | None = None
        self._odds: Floats | None = None

    @property
    def calibrated(self) -> bool:
        """Whether the references themselves told the border for makers with several forms."""
        return any(b.measured for b in self.borders.values())

    @property
    def border(self) -> float:
        """The border of "none of these", in log odds, for makers with as many forms as most have here."""
        found = self.borders[min(int(np.median(np.bincount(self.owner))), 3)]
        return found.kin if found.divides_kin else found.outside

    def _scores(self, odds: Floats, leave: int | None = None) -> Floats:
        """Score of each maker from log odds with every reference; ``leave`` out one; -inf where none is left."""
        out = np.full(len(self.makers), -np.inf)
        for k in range(len(self.makers)):
            mine = [odds[i] for i in np.nonzero(self.owner == k)[0] if i != leave]
            if mine:
                out[k] = score(mine)
        return out

    def without(self, maker: str) -> Population:
        """The same population with one maker left out (to see what is said of a stranger); nothing is compared anew."""
        keep = [i for i, r in enumerate(self.references) if r.maker != maker]
        less = Population.__new__(Population)
        less._set([self.references[i] for i in keep])
        less._calibrate(None if self._odds is None else self._odds[np.ix_(keep, keep)])
        return less

    def _compared(self, tell: Progress) -> Floats | None:
        """Log odds of every two references; None where too few makers have more than one form to need it."""
        if (np.bincount(self.owner) >= 2).sum() < 3:
            return None
        n = len(self.references)
        odds = np.zeros((n, n))
        for i in range(n):
            with one_thread():
                for j in range(i):
                    odds[i, j] = odds[j, i] = log_odds(likeness(self.references[i].form, self.references[j].form))
            tell(i + 1, n)
        return odds

    def _calibrate(self, odds: Floats | None) -> None:
        """Find borders and odds from the references: each form in turn is asked with itself or its maker left out."""
        self._odds = odds
        if odds is None:
            return
        self.borders = {n: border_of(odds, self.owner, n) for n in GENERAL}
        enough = np.nonzero(np.bincount(self.owner) >= FORMS)[0]
        if len(enough) >= MAKERS:
            scores = np.stack([self._scores(odds[i], leave=i) for i in range(len(self.references))])
            self.odds = measured(scores, self.owner.tolist(), enough.tolist())

    def _ratio(self, score: float, forms: int) -> float | None:
        """The measured likelihood ratio of a score, None where it was not measured for makers with so few forms."""
        if self.odds is None or forms < FORMS or not np.isfinite(score):
            return None
        return float(f"{10 ** self.odds.log10(score):.3g}")

    def nearest(self, form: Form | Crop, k: int = 5) -> Nearest:
        """The ``k`` nearest makers of a new form; raises ShapeError for an empty crop or a single dot."""
        new = ready(form)
        with one_thread():
            odds = np.array([log_odds(likeness(new, r.form)) for r in self.references])
        scores = self._scores(odds)
        counts = np.bincount(self.owner)
        found = []
        for rank, i in enumerate(np.argsort(-scores, kind="stable")[:k], 1):
            mine = np.nonzero(self.owner == i)[0]
            best = self.references[int(mine[odds[mine].argmax()])]
            value = share(float(scores[i]))
            found.append(
                Neighbour(self.makers[i], rank, round(value, 4), round(float(-np.log(max(value, 1e-6))), 4), len(mine),
                          best.label or best.maker, self._ratio(float(scores[i]), len(mine))))
        first = int(scores.argmax())
        border = self.borders[min(int(counts[first]), 3)]
        verdict = ("near" if scores[first] >= border.kin else "none" if border.divides_kin
                   or scores[first] < border.outside else "kin")
        least = border.kin if border.divides_kin else border.outside
        return Nearest(tuple(found), verdict == "none", round(share(least), 4), border.measured, len(self.references),
                       len(self.makers), self._text(found, verdict, border, float(share(float(odds.max())))), verdict,
                       border, self.odds)

    def _text(self, found: list[Neighbour], verdict: str, border: Border, best: float) -> str:
        who = f"Among {len(self.references)} forms of {len(self.makers)} makers"
        first, forms = found[0], f"{found[0].forms} form{'s' if found[0].forms > 1 else ''}"
        if verdict == "none":
            text = (f"{who} none stands near enough to be named; the nearest is {first.maker} "
                    f"(likeness {first.likeness:.2f}).")
        else:
            text = f"{who} the form of {first.maker} stands nearest (likeness {first.likeness:.2f})"
            text += f", then {found[1].maker} ({found[1].likeness:.2f})." if len(found) > 1 else "."
        if verdict == "kin":
            text += (f" It belongs with these forms; but with {forms} of {first.maker} a maker of the same school who "
                     "is not among them cannot be told from this one.")
        if first.ratio is not None and verdict == "near":
            text += (f" Such a likeness falls to the right maker about {first.ratio:.2g} times as often as to another "
                     f"of these. {self.odds.text if self.odds else ''}")
        elif verdict != "none":
            text += (f" Odds are told only from {MAKERS} makers with {FORMS} forms each on; rank and distance are all "
                     "that can be told.")
        text += f" {rates(border)}"
        if best >= COPY:
            text += " One form agrees almost perfectly: think of a copy, or of one form photographed twice."
        return f"{text} {CAUTION}"


def rates(border: Border) -> str:
    """What a border refuses and lets through, in words."""
    where = "In these forms themselves" if border.measured else "In simulated schools, not in these forms"
    if border.divides_kin:
        return (f"{where} the border of \"none of these\" refused {border.refused} true makers and let "
                f"{border.accepted} makers through who were not among the forms.")
    return (f"{where} the border of \"none of these\" refused {border.refused_outside} true makers and let "
            f"{border.accepted_outside} of no kin through; the border that also keeps kin out would refuse "
            f"{border.refused} true ones.")
