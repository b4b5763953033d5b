"""How far readers agree: Krippendorff's alpha with an interval, and plain agreement.

Conventions
-----------
* Data is one row per unit (a character, a reading), one column per reader, None where a reader gave none.
* alpha = 1 - observed / expected disagreement (K. Krippendorff, "Computing Krippendorff's Alpha-Reliability", 2011);
  1 is full agreement, 0 what chance gives; it may be negative.
* The interval is a percentile bootstrap over units (95 %, fixed seed); with fewer than about 20 units it is wide,
  and says so by being wide.
* With many categories alpha and plain agreement are nearly equal; both are given.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np

from readaid.core.character import UNREAD, Character, Inscription
from readaid.core.confidence import Damage, Status
from readaid.core.errors import OptionError, RegisterError, unknown_option
from readaid.register.judgements import judgements
from readaid.register.view import View

if TYPE_CHECKING:
    import pandas as pd


Rows = Sequence[Sequence[Any]]
#: An attempt that still stands.
STANDING = (Status.OPEN, Status.PREFERRED, Status.SETTLED)
LEVELS = ("nominal", "ordinal", "interval", "ratio")


def _coincidences(rows: Rows, order: Sequence[Hashable] | None) -> tuple[np.ndarray, list[Any]]:
    """Coincidence matrix of pairable values and the values in order."""
    units = [[v for v in row if v is not None and v == v] for row in rows]
    # A sign that one reader alone judged says nothing of agreement (Krippendorff 2011: pairable values only).
    units = [u for u in units if len(u) > 1]
    present = {v for u in units for v in u}
    if order is None:
        try:
            values = sorted(present)
        except TypeError:
            # Values of different types (a sign and a number) have no order; for a nominal level any will do.
            values = sorted(present, key=str)
    else:
        values = [v for v in order if v in present]
        if len(values) < len(present):
            raise OptionError("A value is not in the order given", ", ".join(map(str, present - set(values))),
                              "name every value in `order`")
    at = {v: i for i, v in enumerate(values)}
    table = np.zeros((len(units), len(values)))
    for n, unit in enumerate(units):
        for value in unit:
            table[n, at[value]] += 1
    return table, values


def _distance(level: str, values: list[Any], margins: np.ndarray) -> np.ndarray:
    """Squared difference of each pair of values at a level of measurement (Krippendorff 2011, section C-D)."""
    size = len(values)
    if level == "nominal":
        return 1.0 - np.eye(size)
    if level == "ordinal":
        upto = np.cumsum(margins)
        between = upto[None, :] - upto[:, None] + (margins[:, None] - margins[None, :]) / 2
        return np.asarray(between**2)
    numbers = np.asarray(values, dtype=float)
    apart = numbers[:, None] - numbers[None, :]
    if level == "interval":
        return np.asarray(apart**2)
    together = numbers[:, None] + numbers[None, :]
    return np.asarray(np.divide(apart, together, out=np.zeros_like(apart), where=together != 0) ** 2)


def _alpha(table: np.ndarray, level: str, values: list[Any]) -> float:
    size = table.sum(axis=1)
    weighted = table / (size - 1)[:, None]
    pairs = weighted.T @ table - np.diag(weighted.sum(axis=0))
    margins = pairs.sum(axis=0)
    total = margins.sum()
    distance = _distance(level, values, margins)
    expected = (np.outer(margins, margins) * distance).sum()
    if total < 2 or expected == 0:
        return 1.0 if total >= 2 else float("nan")  # nothing varies: nobody disagreed
    return float(1 - (total - 1) * (pairs * distance).sum() / expected)


def alpha(rows: Rows, level: str = "nominal", order: Sequence[Hashable] | None = None) -> float:
    """Krippendorff's alpha of units (rows) by readers (columns); nan if no unit was judged twice.

    >>> round(alpha([("か", "か"), ("の", "の"), ("く", "う"), ("を", "を")]), 3)
    0.72

    Parameters
    ----------
    level: "nominal", "ordinal", "interval" or "ratio".
    order: the values from least to most, for an ordinal level whose values are no numbers.
    """
    if level not in LEVELS:
        raise unknown_option("level", level, LEVELS)
    table, values = _coincidences(rows, order)
    return _alpha(table, level, values)


def plain(rows: Rows) -> float:
    """Share of pairs of readers that agree, averaged over units judged by two or more (0..1; nan if none was).

    >>> plain([("か", "か", "の"), ("を", "を", None)])
    0.6666666666666666
    """
    shares = []
    for row in rows:
        unit = [v for v in row if v is not None and v == v]
        if len(unit) > 1:
            n = len(unit)
            shares.append(sum(a == b for i, a in enumerate(unit) for b in unit[i + 1:]) / (n * (n - 1) / 2))
    return float(np.mean(shares)) if shares else float("nan")


def interval(rows: Rows, level: str = "nominal", order: Sequence[Hashable] | None = None, *, samples: int = 2000,
             share: float = 0.95, seed: int = 0) -> tuple[float, float]:
    """Bootstrap interval of alpha: units drawn with replacement, percentiles of the alphas."""
    table, values = _coincidences(rows, order)
    if len(table) < 2:
        return float("nan"), float("nan")
    chance = np.random.default_rng(seed)
    found = []
    for _ in range(samples):
        # Whole signs are drawn, not judgements: those of one sign hang together.
        drawn = table[chance.integers(0, len(table), len(table))]
        found.append(_alpha(drawn, level, values))
    low, high = np.nanquantile(found, [(1 - share) / 2, (1 + share) / 2])
    return float(low), float(high)


@dataclass(frozen=True, slots=True)
class Agreement:
    """Agreement of readers over units. ``table`` has one row per unit: who said what, and whether all agree."""

    alpha: float
    low: float
    high: float
    plain: float
    units: int
    readers: tuple[str, ...]
    table: pd.DataFrame
    level: str = "nominal"

    def _repr_html_(self) -> str:
        if not self.units:
            return "<p>No two readers judged the same thing yet.</p>"
        text = (f"alpha {self.alpha:.3f} (95 % {self.low:.3f} to {self.high:.3f}, {self.level}), plain agreement "
                f"{self.plain:.0%}, {self.units} judged by two or more of {', '.join(self.readers)}")
        return f"<p>{escape(text)}</p>{self.table.to_html(escape=True)}"


def measure(units: dict[str, dict[str, Any]], level: str = "nominal", order: Sequence[Hashable] | None = None,
            labels: Callable[[str], str] = str) -> Agreement:
    """Agreement over units given as {unit: {reader: value}}."""
    import pandas as pd

    readers = tuple(sorted({r for unit in units.values() for r in unit}))
    rows = [[unit.get(r) for r in readers] for unit in units.values()]
    judged = [sum(v is not None for v in row) > 1 for row in rows]
    low, high = interval(rows, level, order)
    table = pd.DataFrame(rows, columns=list(readers), index=pd.Index([labels(u) for u in units], name="unit"),
                         dtype="object")
    table["agree"] = pd.array([len({v for v in row if v is not None}) == 1 if twice else pd.NA
                               for row, twice in zip(rows, judged, strict=True)], dtype="boolean")
    return Agreement(alpha(rows, level, order), low, high, plain(rows), sum(judged), readers, table, level)


def characters(view: View, of: str = "sign", *, piece: str | None = None) -> Agreement:
    """Agreement per character.

    Parameters
    ----------
    of: "sign" (the letter as written, nominal), "sound" (𛀁 and え agree, nominal) or "damage" (ordinal).

    Raises
    ------
    RegisterError: where the register holds no character.
    """
    if of not in ("sign", "sound", "damage"):
        raise unknown_option("of", of, ("sign", "sound", "damage"))
    held: list[Character] = view.all("character", piece=piece)
    if not held:
        raise RegisterError("There are no characters yet", view.where, "draw zones and enter candidates first")
    units: dict[str, dict[str, Any]] = {c.id: {} for c in held}
    for judged in judgements(view, piece=piece):
        if judged.character in units:
            looked = judged.damage is not Damage.NOT_STATED  # who did not look neither agrees nor differs
            value = (str(judged.damage) if looked else "") if of == "damage" else judged.sign
            if of == "sound" and value:
                value = _sound(value)
            if value:
                units[judged.character][judged.reader] = value
    places = _places(view, piece)
    ordered = sorted(units, key=lambda id: places.get(id, (len(places), id))[0])
    return measure({id: units[id] for id in ordered}, "ordinal" if of == "damage" else "nominal",
                   [str(d) for d in Damage if d is not Damage.NOT_STATED] if of == "damage" else None,
                   lambda id: str(places.get(id, (0, id))[1]))


def _sound(sign: str) -> str:
    from readaid.script import hentaigana

    letter = hentaigana.letter(sign)
    return letter.sounds[0] if letter is not None and letter.sounds else sign


def _places(view: View, piece: str | None) -> dict[str, tuple[int, str]]:
    """Place in reading order of each character, and its label."""
    found: dict[str, tuple[int, str]] = {}
    for inscription in view.all("inscription", piece=piece):
        for column, ids in enumerate(inscription.columns, 1):
            for place, id in enumerate(ids, 1):
                found[id] = (len(found), f"column {column}, character {place}")
    return found


def readings(view: View, *, piece: str | None = None) -> Agreement:
    """Agreement per reading: each reader's last standing attempt, compared sign by sign.

    Signs are taken from the attempt's choices, else by position where it has as many signs as its inscription.
    Unread signs count as not judged.
    """
    inscriptions: dict[str, Inscription] = {i.id: i for i in view.all("inscription", piece=piece)}
    last: dict[tuple[str, str], dict[str, str]] = {}
    for row in view.all("attempt", piece=piece):
        if row.status not in STANDING:
            continue
        inscription = inscriptions.get(row.inscription)
        if inscription is None:
            continue
        signs = dict(row.chosen)
        written = "".join(row.written.split())
        # An attempt typed by hand has no choices; where the lengths differ nobody knows which sign is which.
        if not signs and len(written) == len(inscription.characters):
            signs = dict(zip(inscription.characters, written, strict=True))
        last[row.inscription, row.reader] = {id: s for id, s in signs.items() if s and s != UNREAD}
    units: dict[str, dict[str, Any]] = {id: {} for i in inscriptions.values() for id in i.characters}
    for (_, reader), signs in last.items():
        for id, sign in signs.items():
            if id in units:
                units[id][reader] = sign
    places = _places(view, piece)
    return measure(units, labels=lambda id: places[id][1])
