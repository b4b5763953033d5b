"""Repetition marks as arcs that span what they copy and the mark itself.

Conventions: a mark never copies a candidate that was not chosen, so its arc runs from before the
signs copied to after the mark, one arc for each way these may be read. Group marks copy two to five signs (one to
four kanji); where the ways to read them are too many, the cheapest are kept and the lattice is labelled as cut.
Marks in a row copy each other's copies (か ゝ ゝ ゝ): their number trebles with each, so that they too are kept few.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from readaid.core.character import UNREAD
from readaid.core.errors import LatticeError
from readaid.core.lattice import Arc, Reason
from readaid.lexicon.costs import Costs
from readaid.script import kana, repetition, spelling

#: Ways to read what stands before kept for each mark: of one sign, and of a group of each length.
MOST_SINGLE, MOST_GROUPS = 200, 1500
#: Never fewer than this are kept, however many marks there are.
FEWEST = 20
#: Longest run of marks, in signs with what they copy.
LONGEST = 24


def arcs(mark: str, cost: float, at: int, before: Sequence[Sequence[Arc]], costs: Costs, source: str,
         most: int = MOST_SINGLE) -> tuple[list[Arc], bool]:
    """Arcs of a mark at position ``at`` with its own candidate cost; ``before[i]`` are the arcs that end at node i.

    ``most`` bounds the ways copied. Returns the arcs and whether some ways of reading what it copies were left out.
    Raises LatticeError for a run of marks longer than ``LONGEST``.
    """
    unit = repetition.MARKS[mark].unit
    out: list[Arc] = []
    standing = [arc for arc in before[at] if at - arc.start < LONGEST]
    if before[at] and not standing:
        raise LatticeError(f"More than {LONGEST - 1} repetition marks stand in a row", f"sign {at + 1}",
                           "write ? for some of them, or the kana that they stand for")
    near = heapq.nsmallest(max(FEWEST, min(MOST_SINGLE, most)), standing, key=lambda a: a.cost)
    cut = len(near) < len(before[at])
    copied = [list(_copies(mark, cost, at, [arc], costs, source)) for arc in near]
    bare = [arc for arc, copies in zip(near, copied, strict=True) if not copies]
    # 日ゝ: the mark for kana after a kanji, as carvers write it for 日々.
    if unit in ("kana", "kanji") or len(bare) == len(near):
        out += _loosely(mark, cost, at, bare, costs, source)
    if unit in ("kana", "kanji"):
        for arc, copies in zip(near, copied, strict=True):
            out += copies
            if unit == "kanji" and _kanji(arc):
                out.append(_made(mark, cost, at, [arc], "々", "", costs.weight("repetition"), "repetition", source))
        return out, cut
    longest = 2 if unit == "word" else max(repetition.GROUP)
    for length in range(1, min(longest, at) + 1):
        # Plain signs only: a group that copied a group (〱 after 〱) would treble with each mark.
        chains, fewer = _chains([[a for a in before[i] if a.start == i - 1 and _plain(a)]
                                 for i in range(at - length + 1, at + 1)], max(FEWEST, min(MOST_GROUPS, most // 4)))
        cut |= fewer
        for chain in chains:
            for arc in _copies(mark, cost, at, chain, costs, source):
                out.append(arc)
                out += _respelled(arc, costs)
    return out or _loosely(mark, cost, at, near, costs, source), cut  # a second mark after a mark (之〱〱)


def _loosely(mark: str, cost: float, at: int, before: Sequence[Arc], costs: Costs, source: str) -> list[Arc]:
    """A mark that has nothing of its own kind before it copies the one sign there all the same (日ゝ for 日々)."""
    price = costs.weight("repetition") + costs.grade("seldom")
    out = []
    for arc in before:
        if (not arc.kana and arc.text) or len(arc.kana) == len(arc.text) > 0:
            spelled = arc.kana[-1:] if arc.kana else ""
            out.append(_made(mark, cost, at, [arc], arc.text[-1], spelled, price, "repetition", source))
            if _kanji(arc):
                out.append(_made(mark, cost, at, [arc], "々", "", price, "repetition", source))
    return out


def _respelled(arc: Arc, costs: Costs) -> list[Arc]:
    """A group in old spelling asks the dictionary for its modern one too (かへす〱 かえすがえす)."""
    text = spelling.modern(arc.kana) if arc.kana else ""
    if not text or text == arc.text:
        return []
    price = costs.weight("old spelling")
    reason = Reason("old spelling", arc.kana, text, arc.start, price)
    return [replace(arc, text=text, cost=arc.cost + price, reasons=(*arc.reasons, reason))]


def _plain(arc: Arc) -> bool:
    return _kanji(arc) or (len(arc.kana) == 1 and arc.text == arc.kana)


def _kanji(arc: Arc) -> bool:
    return not arc.kana and len(arc.text) == 1 and kana.kind(arc.text) is kana.Kind.KANJI


def _copies(mark: str, cost: float, at: int, chain: Sequence[Arc], costs: Costs, source: str) -> Iterator[Arc]:
    before = "".join(a.text if _kanji(a) else a.kana for a in chain)
    if not before:
        return
    for way in repetition.expansions(mark, before):
        if way.copied != (len(chain) if len(chain) > 1 else 1):
            continue
        given = repetition.MARKS[mark].voiced == "yes"
        kind = "voiced repetition" if way.voiced and not given else "repetition"
        spelled = "" if any(_kanji(a) for a in chain) else way.text
        yield _made(mark, cost, at, chain, way.text, spelled, costs.weight(kind) + costs.grade(way.grade), kind, source)


def _made(mark: str, cost: float, at: int, chain: Sequence[Arc], text: str, spelled: str, price: float, kind: str,
          source: str) -> Arc:
    whole = "".join(a.kana for a in chain) + spelled
    if not spelled:
        whole = ""  # a kanji is among them: its reading comes from the dictionary
    reason = Reason(kind, mark, text, at, price)
    total = cost + price + sum(a.cost for a in chain)
    return Arc(chain[0].start, at + 1, "".join(a.text for a in chain) + text, total,
               "".join(a.written or UNREAD for a in chain) + mark, whole,  # an unread sign keeps its place: あ?〱
               (*(r for a in chain for r in a.reasons), reason),
               source)


def _chains(choices: list[list[Arc]], most: int) -> tuple[list[list[Arc]], bool]:
    """The cheapest chains of one arc each, and whether some were left out."""
    if not all(choices):
        return [], False
    ordered = [sorted(c, key=lambda a: a.cost) for c in choices]
    fewer = math.prod(map(len, ordered)) > most
    start = (0,) * len(ordered)
    heap = [(sum(c[0].cost for c in ordered), start)]
    seen = {start}
    out: list[list[Arc]] = []
    while heap and len(out) < most:
        _, place = heapq.heappop(heap)
        out.append([c[i] for c, i in zip(ordered, place, strict=True)])
        for n, i in enumerate(place):
            if i + 1 < len(ordered[n]):
                following = (*place[:n], i + 1, *place[n + 1:])
                if following not in seen:
                    seen.add(following)
                    heapq.heappush(heap, (sum(c[j].cost for c, j in zip(ordered, following, strict=True)), following))
    return out, fewer
