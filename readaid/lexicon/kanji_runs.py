"""What a run of kanji reads in old verse: readings of the period with how often they were met, as arcs for a lattice.

Conventions
-----------
* ``kanji_runs.tsv``: written (kanji, and the okurigana that belong to them: 散り), kana (historical, voiced),
  ``full`` (how often it stands for just
  these kana) and ``bare`` (how often it would, were okurigana left out: 散 ちり). Counts are weighted; its header
  names the sources. That 散
  is ち before り is no reading of 散 alone.
* A reading r of a run x weighs p = P(r | x) ** ``FORWARD`` * P(x | r) ** ``BACK``: how x is read, and how r is
  written. Both matter: 五月雨
  is seldom anything but さみだれ, and かは is written 川 far oftener than 河. Its arc costs -700 ln p.
* What the table lacks the dictionary supplies (modern readings turned historical), at ``LENT`` counts in all; a run
  within a run may begin
  voiced (ごころ). Arcs have the source ``SOURCE``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from readaid.core.errors import TableError
from readaid.core.lattice import COST_FACTOR, Arc, Lattice, Reason
from readaid.lexicon import dictionary
from readaid.script import kana as letters
from readaid.script import kanji as signs
from readaid.script import spelling, voicing

TABLE = Path(__file__).resolve().parent / "kanji_runs.tsv"
SOURCE = "old verse"
LONGEST = 6
FORWARD, BACK = 0.7, 0.7
#: Counts that the dictionary's readings of a run weigh together.
LENT = 2.0
#: Weight of a reading that okurigana was left out of; of a voiced beginning that no text shows,
#: usually and rarely; counts kept for the unknown.
BARE, VOICED, RARELY, UNKNOWN = 0.2, 0.15, 0.02, 2.0
#: Arcs dearer than this are left out (e**-12).
DEAREST = 12.0 * COST_FACTOR
#: Kanji (and runs of one length) read from one node, and from all nodes together; the cheapest stay. Forty candidates
#: for each of 200 signs are 2,500 kanji, and reading them all took as long as all the rest.
MOST_KANJI, MOST_TOGETHER = 60, 3_000
#: Never fewer than this are read from a node.
FEWEST_KANJI = 12
#: Arcs of readings in one lattice; the cheapest stay.
MOST_ARCS = 10_000
#: Readings kept for one run.
MOST = 60
#: What a kanji that nobody reads costs, to be passed over: its kana are itself.
UNREADABLE = 16.0 * COST_FACTOR
#: What a count within longer runs weighs where a run stands alone: 海 is かい in 海上, and うみ between kana.
COMPOUND = 0.15
COLUMNS = ("written", "kana", "full", "bare", "heard", "alone")


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of a run, and the logarithm of its weight."""

    kana: str
    log: float
    bare: bool = False  # mostly met with okurigana that are not here


class Runs:
    """The table, looked up by run."""

    def __init__(self, rows: Sequence[tuple[str, str, float, float, float, float]]) -> None:
        self._by: dict[str, list[tuple[str, float, float]]] = {}
        self._alone: dict[tuple[str, str], float] = {}
        self._said: dict[str, float] = {}
        self.heads: set[str] = set()  # beginnings of what is in the table
        self._heard: dict[str, float] = {}
        for written, kana, full, bare, heard, alone in rows:
            self._heard[kana] = heard
            self._alone[written, kana] = alone
            self._by.setdefault(written, []).append((kana, full, bare))
            self._said[kana] = self._said.get(kana, 0.0) + full + BARE * bare
            self.heads.update(written[:n] for n in range(1, len(written) + 1))
        self._known: dict[tuple[str, bool, bool], tuple[Reading, ...]] = {}

    def kana(self, written: str) -> tuple[str, ...]:
        """Readings that the table has for a run, okurigana or not."""
        return tuple(k for k, _, _ in self._by.get(written, ()))

    def readings(self, written: str, within: bool = False, alone: bool = False) -> tuple[Reading, ...]:
        """Readings of a run, likeliest first.

        ``within`` a longer run a reading may begin voiced; ``alone``, with no kanji beside it, those count that the run
        has by itself.

        >>> runs().readings("五月雨")[0].kana
        'さみだれ'
        """
        key = written, within, alone
        if key not in self._known:
            self._known[key] = self._made(written, within, alone)
        return self._known[key]

    def _made(self, written: str, within: bool, alone: bool) -> tuple[Reading, ...]:
        met = {kana: full + BARE * bare for kana, full, bare in self._by.get(written, ())}
        if alone:
            for kana, full, _ in self._by.get(written, ()):
                met[kana] -= (1.0 - COMPOUND) * (full - self._alone[written, kana])
        bare = {kana for kana, full, less in self._by.get(written, ()) if full < BARE * less}
        # Longer runs are left to the table.
        lent = _lent(written) if len(written) <= 4 else {}
        total = sum(met.values()) + (LENT if lent else 0.0) + (UNKNOWN if len(written) == 1 else 0.3)
        for kana, share in lent.items():
            met[kana] = met.get(kana, 0.0) + LENT * share
        # 山々 やまやま, 人々 ひとびと: seldom in the table, and always made alike.
        if len(written) == 2 and written[1] == "々":
            for kana, full, _ in self._by.get(written[0], ()):
                for again in {kana, _voiced(kana)}:
                    met[kana + again] = met.get(kana + again, 0.0) + 0.05 * full
        if within:
            for kana, count in list(met.items()):
                if _voiced(kana) not in met:  # a word that holds a voiced sound seldom begins voiced (Lyman's law)
                    met[_voiced(kana)] = count * (RARELY if any(voicing.plain(c) != c for c in kana[1:]) else VOICED)
        out = []
        for kana, count in met.items():
            if count > 0.0:
                log = FORWARD * math.log(min(1.0, count / total)) + BACK * math.log(
                    count / (max(self._said.get(kana, 0.0), self._heard.get(kana, 0.0)) + count + 3.0))
                out.append(Reading(kana, log, kana in bare))
        return tuple(sorted(out, key=lambda r: -r.log)[:MOST])


def _voiced(kana: str) -> str:
    return voicing.VOICED.get(kana[0], kana[0]) + kana[1:]


@lru_cache(maxsize=20_000)
def _lent(written: str) -> dict[str, float]:
    """The dictionary's readings of a run, historical as far as known, with their shares."""
    out: dict[str, float] = {}
    for entry in dictionary.opened().look_up(written):
        said = letters.to_hiragana(entry.kana or "")
        if said and all(letters.is_hiragana(c) for c in said):
            old = spelling.norm(said, written) or said
            out[old] = max(out.get(old, 0.0), math.exp(-entry.cost / 1400.0))
    total = sum(out.values())
    return {k: v / total for k, v in out.items()} if total else {}


@lru_cache(maxsize=50_000)
def historical(written: str, said: str) -> str:
    """The historical spelling of a dictionary's reading of kanji, where the table or the list of words has one.

    >>> historical("声", "こえ")
    'こゑ'
    """
    found = [r.kana for r in runs().readings(written) if spelling.modern(r.kana) == said and r.kana != said]
    return found[0] if found else spelling.norm(said, written) or said


def load(path: Path = TABLE) -> Runs:
    """Read a table of readings; raises TableError naming every faulty row."""
    rows, faults = [], []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if line.startswith(("#", "written\t")) or not line:
            continue
        try:
            written, kana, full, bare, heard, alone = line.split("\t")
            if not written or len(written) > LONGEST or not all(letters.is_hiragana(c) for c in kana) or not kana:
                raise ValueError
            rows.append((written, kana, float(full), float(bare), float(heard), float(alone)))
        except ValueError:
            faults.append(f"row {number}")
    if faults:
        raise TableError("The readings of kanji have faulty rows: " + "; ".join(faults[:20]), path.name,
                         f"give {', '.join(COLUMNS)}, up to {LONGEST} signs and hiragana", faults=faults)
    return Runs(rows)


@lru_cache(maxsize=1)
def runs() -> Runs:
    """The table the project ships, read once."""
    return load()


def _is_kanji(arc: Arc) -> bool:
    """Kanji as they stand, one or with the mark that repeats it."""
    return not arc.kana and bool(arc.text) and all(letters.kind(c) is letters.Kind.KANJI or c == "々" for c in arc.text)


def _is_kana(arc: Arc) -> bool:
    return len(arc.kana) == 1 and arc.text == arc.kana and arc.end == arc.start + 1 and arc.source != "filler"


def arcs(lattice: Lattice) -> tuple[Arc, ...]:
    """Arcs for every run of kanji (with okurigana) that some way through the lattice writes and somebody reads.

    Each spans its signs, is asked of the dictionary in today's spelling, and costs what its signs and its reading cost.
    """
    table = runs()
    kanji: dict[int, list[Arc]] = {}
    kana: dict[int, list[Arc]] = {}
    for arc in lattice.arcs:
        if _is_kanji(arc):
            kanji.setdefault(arc.start, []).append(arc)
        elif _is_kana(arc):
            kana.setdefault(arc.start, []).append(arc)
    if not kanji:
        return ()
    enders = {arc.end for group in kanji.values() for arc in group}
    out: list[Arc] = []
    most = max(FEWEST_KANJI, min(MOST_KANJI, MOST_TOGETHER // len(kanji)))
    for start in kanji:
        chains: list[tuple[Arc, ...]] = [(arc,) for arc in _cheapest(kanji[start], most)]
        while chains:
            longer = []
            for chain in chains:
                text = "".join(a.text for a in chain)
                end = chain[-1].end
                alone = start not in enders and (bool(chain[-1].kana) or end not in kanji)
                out += _made(chain, text, table, start in enders, alone)
                after = [*kana.get(end, ()), *kanji.get(end, ())]  # kanji after kana too: 春の海, 天の河
                longer += [(*chain, arc) for arc in _cheapest(after, most) if _known(text + arc.text, table)]
            longer = sorted(longer, key=lambda c: sum(a.cost for a in c))[:most]
            chains = [c for c in longer if sum(len(a.text) for a in c) <= LONGEST]
    return tuple(_fewer(out))


def _fewer(found: list[Arc]) -> list[Arc]:
    """The cheapest arcs from each node, where there are more in all than a search can hold."""
    if len(found) <= MOST_ARCS:
        return found
    kept: list[Arc] = []
    by_start: dict[int, list[Arc]] = {}
    for arc in found:
        by_start.setdefault(arc.start, []).append(arc)
    for group in by_start.values():
        group.sort(key=lambda a: a.cost)
        many = max(1, MOST_ARCS // len(by_start))
        first = {arc.end: n for n, arc in reversed(list(enumerate(group)))}  # so that each end stays within reach
        kept += [arc for n, arc in enumerate(group) if n < many or first[arc.end] == n]
    return kept


def _cheapest(found: Sequence[Arc], many: int) -> list[Arc]:
    best: dict[str, Arc] = {}
    for arc in found:
        if arc.text not in best or arc.cost < best[arc.text].cost:
            best[arc.text] = arc
    return sorted(best.values(), key=lambda a: a.cost)[:many]


@lru_cache(maxsize=100_000)
def _known(text: str, table: Runs) -> bool:
    return text in table.heads or (text[1:2] == "々" and len(text) == 2) or (
        2 <= len(text) <= 4 and not any(map(letters.is_hiragana, text)) and bool(_lent(text)))


@lru_cache(maxsize=50_000)
def _modern(written: str, kana: str) -> str:
    """Today's spelling of a reading; は begins a word where the second kanji does (行春 ゆくはる, not ゆくわる)."""
    for cut in range(1, len(written)):
        for head in runs().kana(written[:cut]):
            if kana.startswith(head) and kana[len(head):] in runs().kana(written[cut:]):
                return spelling.modern(head) + _modern(written[cut:], kana[len(head):])
    return spelling.modern(kana)


def _made(chain: Sequence[Arc], text: str, table: Runs, within: bool, alone: bool) -> list[Arc]:
    found = table.readings(text, within, alone)
    # The table has today's forms: 櫻 is read as 桜.
    if not found and len(text) == 1 and text != signs.new_form(text):
        found = table.readings(signs.new_form(text), within, alone)
    cost, written = sum(a.cost for a in chain), "".join(a.written for a in chain)
    before = tuple(r for a in chain for r in a.reasons)
    start, end = chain[0].start, chain[-1].end
    # What shape alone saw stays marked as such: it is nobody's judgement, read or not.
    source = "shape" if chain[0].source == "shape" else SOURCE
    out = []
    for r in found:
        price = -COST_FACTOR * r.log
        if price <= DEAREST:
            told = Reason("kanji reading", written, r.kana, start, price, "okurigana left out" if r.bare else "")
            out.append(Arc(start, end, _modern(text, r.kana), cost + price, written, r.kana, (*before, told), source))
    if len(chain) == 1 and not out:
        told = Reason("kanji reading", written, text, start, UNREADABLE, "nobody reads it")
        out.append(Arc(start, end, text, cost + UNREADABLE, written, text, (*before, told), source))
    return out


def units(arc: Arc) -> int:
    """Morae of an arc by what the dictionary is asked (today's spelling)."""
    return sum(c not in "ぁぃぅぇぉゃゅょゎゕゖ" for c in arc.text)


