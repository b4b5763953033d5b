"""Nearest forms: whose known forms a new signature stands nearest to, with "none of these" allowed.

Conventions: a maker's score is the mean log odds of likeness with the two best of the maker's forms (one, if there
is one only); likeness 0..1. Rank 1 is the nearest; the population is told with its size. A likelihood ratio is given
only where at least three makers have at least three forms each; otherwise rank and distance must do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError
from readaid.forms.form import Form
from readaid.forms.likeness import likeness, share
from readaid.forms.wording import CAUTION
from readaid.photo.ink import Crop
from readaid.schools.matrix import Progress, ready

Floats = npt.NDArray[np.float64]
#: Border of "none of these" in log odds where the references cannot tell it (one form of each maker).
BORDER = 1.5
#: Share of true strangers that the border should refuse.
REFUSED = 0.93
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
    one."""

    maker: str
    rank: int
    likeness: float
    distance: float
    forms: int
    nearest: str
    ratio: float | None = None


@dataclass(frozen=True, slots=True)
class Nearest:
    """Makers by nearness; ``none`` True if the new form stands too far from all of them to be named at all.

    ``border`` is the likeness below which none is named, ``calibrated`` whether the references themselves told it.
    """

    neighbours: tuple[Neighbour, ...]
    none: bool
    border: float
    calibrated: bool
    population: int
    makers: int
    text: str

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

    def __init__(self, references: Sequence[Reference], progress: Progress | None = None) -> None:
        self._set([Reference(ready(r.form), r.maker, r.label) for r in references])
        self._calibrate(self._compared(progress or (lambda done, of: None)))

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
        self.border, self.calibrated = BORDER, False
        self._within: Floats = np.empty(0)
        self._between: Floats = np.empty(0)
        self._odds: Floats | None = None

    def _scores(self, odds: Floats, leave: int | None = None) -> Floats:
        """Score of each maker from log odds with every reference; ``leave`` out one; -inf where none is left."""
        out = np.full(len(self.makers), -np.inf)
        for k in range(len(self.makers)):
            mine = [odds[i] for i in np.nonzero(self.owner == k)[0] if i != leave]
            if mine:
                # the best two: the mean of all punishes a maker whose hand changed over a life
                out[k] = float(np.mean(sorted(mine)[-2:]))
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
            for j in range(i):
                odds[i, j] = odds[j, i] = log_odds(likeness(self.references[i].form, self.references[j].form))
            tell(i + 1, n)
        return odds

    def _calibrate(self, odds: Floats | None) -> None:
        """Find the border from the references: each form in turn is a stranger when its own maker is left out."""
        self._odds = odds
        count = np.bincount(self.owner)
        if odds is None or (count >= 2).sum() < 3:
            return
        within, strangers, between = [], [], []
        for i in range(len(self.references)):
            scores = self._scores(odds[i], leave=i)
            others = np.delete(scores, self.owner[i])
            strangers.append(float(others.max()))
            if np.isfinite(scores[self.owner[i]]):
                within.append(float(scores[self.owner[i]]))
                between += list(others[np.isfinite(others)])
        self.border, self.calibrated = float(np.quantile(strangers, REFUSED)), True
        if (count >= 3).sum() >= 3:
            self._within, self._between = np.array(within), np.array(between)

    def _ratio(self, score: float) -> float | None:
        """How much oftener such a score falls to the right maker than to a wrong one (normal curves), None if
        unknown."""
        if len(self._within) < 9 or not np.isfinite(score):
            return None

        def curve(values: Floats) -> float:
            # three forms may be alike by chance; without a floor their curve is a needle and the ratio absurd
            spread = max(float(values.std(ddof=1)), 0.2)
            return float(-0.5 * ((score - values.mean()) / spread) ** 2 - np.log(spread))

        # beyond a thousand to one the curves are drawn from too few forms to be believed
        return float(np.exp(np.clip(curve(self._within) - curve(self._between), -np.log(1000), np.log(1000))))

    def nearest(self, form: Form | Crop, k: int = 5) -> Nearest:
        """The ``k`` nearest makers of a new form; raises ShapeError for an empty crop or a single dot."""
        new = ready(form)
        odds = np.array([log_odds(likeness(new, r.form)) for r in self.references])
        scores = self._scores(odds)
        found = []
        for rank, i in enumerate(np.argsort(-scores, kind="stable")[:k], 1):
            mine = np.nonzero(self.owner == i)[0]
            best = self.references[int(mine[odds[mine].argmax()])]
            value = share(float(scores[i]))
            ratio = self._ratio(float(scores[i]))
            found.append(
                Neighbour(
                    self.makers[i],
                    rank,
                    round(value, 4),
                    round(float(-np.log(max(value, 1e-6))), 4),
                    len(mine),
                    best.label or best.maker,
                    None if ratio is None else float(f"{ratio:.3g}"),
                )
            )
        none = bool(scores.max() < self.border)
        return Nearest(
            tuple(found),
            none,
            round(share(self.border), 4),
            self.calibrated,
            len(self.references),
            len(self.makers),
            self._text(found, none, float(share(float(odds.max())))),
        )

    def _text(self, found: list[Neighbour], none: bool, best: float) -> str:
        who = f"Among {len(self.references)} forms of {len(self.makers)} makers"
        if none:
            text = (
                f"{who} none stands near enough to be named; "
                f"the nearest is {found[0].maker} (likeness {found[0].likeness:.2f})."
            )
        else:
            text = f"{who} the form of {found[0].maker} stands nearest (likeness {found[0].likeness:.2f})"
            text += f", then {found[1].maker} ({found[1].likeness:.2f})." if len(found) > 1 else "."
        if found[0].ratio is not None and not none:
            text += (
                f" Such a likeness falls to the right maker about {found[0].ratio:.2g} times as often as "
                "to a wrong one, reckoned from these forms alone."
            )
        elif not none:
            text += (
                " There are too few forms of each maker to say how likely this is; "
                "rank and distance are all that can be told."
            )
        if not self.calibrated:
            text += ' The border of "none of these" is a general one, not taken from these forms.'
        if best >= COPY:
            text += " One form agrees almost perfectly: think of a copy, or of one form photographed twice."
        return f"{text} {CAUTION}"
