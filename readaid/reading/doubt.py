"""Typed signs that may be misread: kana that would make a typed text far likelier as verse, as arcs with their price.

Conventions: a typed sign is taken to be misread three times in a thousand, and then as any kana alike (``MISREAD``);
the price is -700 times the logarithm of that. Only kana that stand within ``REACH`` (a logarithm) of the text as typed,
price and all, become arcs, so that most texts get none. ``written`` stays what was typed; the reason says "misread".
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from readaid.core.lattice import COST_FACTOR, Arc, Lattice, Reason
from readaid.lexicon import ear
from readaid.lexicon.chain import Way
from readaid.lexicon.costs import Costs
from readaid.lexicon.ear import BASE, BEGIN, END, ORDER, Ear

MISREAD = 0.003
REACH = 3.0
#: Longer texts are taken as they were typed: hearing them a second time would double what they take.
MOST_SIGNS = 200
KIND = "misread"


def doubtful(lattice: Lattice) -> bool:
    """Was this text typed, so that its signs have no other candidates, and is it a line or a verse and no page?"""
    return lattice.last <= MOST_SIGNS and any(arc.source == "typed" for arc in lattice.arcs)


def arcs(lattice: Lattice, way: Way, used: Sequence[Arc], heard: Ear, costs: Costs) -> list[Arc]:
    """Arcs for the signs of a text's likeliest way that another kana would suit far better.

    ``used`` are the arcs of ``way``, one for each of its groups.
    """
    others = [k for k, _ in costs.fillers("kana")]
    price = -math.log(MISREAD / (len(others) - 1))
    told, known = [], _known(lattice)
    gains = _gains(way.lines, others, heard)
    at = 0
    for arc in used:
        single = arc.source == "typed" and len(arc.kana) == arc.end - arc.start == 1
        for n in np.flatnonzero(gains[at] > price - REACH).tolist() if single else ():
            if others[n] not in known[arc.start]:
                cost = COST_FACTOR * price
                why = Reason(KIND, arc.written, others[n], arc.start, cost, "the sign may be misread")
                told.append(replace(arc, text=others[n], kana=others[n], cost=cost, reasons=(why,), source=KIND))
        at += len(arc.kana)
    return told


def _known(lattice: Lattice) -> list[set[str]]:
    """What each sign may be already."""
    out: list[set[str]] = [set() for _ in range(lattice.last)]
    for arc in lattice.arcs:
        if arc.end == arc.start + 1:
            out[arc.start].add(arc.kana)
    return out


def _gains(lines: Sequence[str], others: Sequence[str], heard: Ear) -> NDArray[np.float64]:
    """How much likelier (a logarithm) the text is with each other kana in each place, shape (kana, others)."""
    symbols = [BEGIN, *(c for line in lines for c in [*ear.codes(line), END])]
    places = [n for n, c in enumerate(symbols) if c not in (BEGIN, END)]
    text = np.array([0] * (ORDER - 1) + symbols + [0] * (ORDER - 1), dtype=np.uint64)
    codes = np.array([END, *(ear.codes(k)[0] for k in others)], dtype=np.uint64)
    # one row for each place and kana, the typed one first: what stands within reach of the place
    windows = np.stack([text[p:p + 2 * ORDER - 1] for p in places])[:, None, :].repeat(len(codes), axis=1)
    windows[:, 1:, ORDER - 1] = codes[None, 1:]
    flat = windows.reshape(-1, 2 * ORDER - 1)
    score = np.zeros(len(flat))
    for here in range(ORDER - 1, 2 * ORDER - 1):
        history = np.zeros(len(flat), dtype=np.uint64)
        for back in range(1, ORDER):
            history += flat[:, here - back] * np.uint64(BASE ** (back - 1))
        there = flat[:, here] > 0
        score[there] += heard.after(history[there], flat[there, here])
    table = score.reshape(len(places), len(codes))
    return np.asarray(table[:, 1:] - table[:, :1])
