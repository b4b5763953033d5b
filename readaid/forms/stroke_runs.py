"""Runs of a skeleton joined into strokes: which way a hand went on where lines meet.

Conventions: a run is a list of (y, x) pixels between two forks or ends. A crossing of two lines thins to two forks with
a short *bridge* between them; forks joined by bridges are one meeting, and the runs that leave it are paired by how
straight they go on, straightest first. A meeting of two runs only is always one stroke: a corner.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Pixel = tuple[int, int]
Run = list[Pixel]
Floats = npt.NDArray[np.float64]
#: Two runs that meet with others go on as one stroke up to this bend, in degrees.
BEND = 50.0


def length(line: Sequence[Sequence[float]] | Floats) -> float:
    """Length of a line of points, a run's pixels or (x, y), in their unit; 0 for a single point.

    >>> length([(0, 0), (0, 3), (4, 3)])
    7.0
    """
    points = np.asarray(line, float).reshape(-1, 2)
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def joined(runs: Sequence[Run], ends: set[Pixel], spur: float, bridge: float) -> list[Run]:
    """Strokes from runs; ``ends`` are the free ends, spurs shorter than ``spur`` go, forks nearer than ``bridge`` are
    one meeting.

    >>> cross = [[(0, 5), (5, 5)], [(9, 5), (5, 5)], [(5, 0), (5, 5)], [(5, 9), (5, 5)]]
    >>> sorted((s[0], s[-1]) for s in joined(cross, {(0, 5), (9, 5), (5, 0), (5, 9)}, 1, 2))
    [((0, 5), (9, 5)), ((5, 0), (5, 9))]
    """
    kept = [r for r in runs if length(r) >= spur or not ({r[0], r[-1]} & ends) or {r[0], r[-1]} <= ends]
    group = {p: p for r in kept for p in (r[0], r[-1])}

    def root(p: Pixel) -> Pixel:
        while group[p] != p:
            p = group[p]
        return p

    whole = []
    for run in kept:
        if run[0] not in ends and run[-1] not in ends and run[0] != run[-1] and length(run) <= bridge:
            group[root(run[-1])] = root(run[0])
        else:
            whole.append(run)
    at: dict[Pixel, list[tuple[int, int]]] = {}
    for i, run in enumerate(whole):
        for end in (0, -1):
            if run[end] not in ends:
                at.setdefault(root(run[end]), []).append((i, end))
    links: dict[tuple[int, int], tuple[int, int]] = {}
    for arms in at.values():
        bends = sorted((_bend(whole[a[0]], a[1], whole[b[0]], b[1], bridge), a, b)
                       for n, a in enumerate(arms) for b in arms[n + 1:] if a[0] != b[0] or len(arms) > 2)
        for bend, a, b in bends:
            if a not in links and b not in links and (bend < BEND or len(arms) == 2):
                links[a], links[b] = b, a
    return _followed(whole, links)


def _followed(runs: Sequence[Run], links: dict[tuple[int, int], tuple[int, int]]) -> list[Run]:
    """Runs chained along their links; a chain that comes back to its start is a ring."""
    done: set[int] = set()
    out: list[Run] = []
    starts = [(i, end) for i in range(len(runs)) for end in (0, -1) if (i, end) not in links]
    for i, end in [*starts, *((i, 0) for i in range(len(runs)))]:  # what has no loose end is a ring
        if i in done:
            continue
        chain: Run = []
        at: tuple[int, int] | None = (i, end)
        while at is not None and at[0] not in done:
            done.add(at[0])
            way = runs[at[0]] if at[1] == 0 else runs[at[0]][::-1]
            chain += way if not chain or chain[-1] != way[0] else way[1:]
            at = links.get((at[0], -1 if at[1] == 0 else 0))
        if at is not None and at == (i, end):
            chain.append(chain[0])
        out.append(chain)
    return out


def _bend(a: Run, a_end: int, b: Run, b_end: int, skip: float) -> float:
    """Degrees by which the way bends when it leaves run a at its end and goes on along run b."""
    u, v = -_away(a, a_end, skip), _away(b, b_end, skip)
    cosine = float(u @ v) / max(float(np.linalg.norm(u) * np.linalg.norm(v)), 1e-9)
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


def _away(run: Run, end: int, skip: float) -> Floats:
    """Direction of a run away from its end, past the pixels next to the fork, which thinning pulls aside."""
    ordered = np.array(run if end == 0 else run[::-1], float)
    far = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(ordered, axis=0), axis=1))])
    near = min(int(np.searchsorted(far, 0.5 * skip)), len(ordered) - 2) if len(ordered) > 2 else 0
    there = min(int(np.searchsorted(far, 0.5 * skip + 10)), len(ordered) - 1)
    return np.asarray(ordered[max(there, near + 1)] - ordered[near])


def bridged(strokes: Sequence[Sequence[tuple[float, float]]], gap: float, bend: float = 35.0
            ) -> list[tuple[tuple[float, float], ...]]:
    """Strokes (x, y) whose ends face each other over a gap joined, worn places being no ends; dots in line with an end
    belong to its stroke.

    >>> bridged([((0.0, 0.0), (20.0, 0.0)), ((26.0, 0.0), (50.0, 1.0)), ((0.0, 30.0),)], 10)
    [((0.0, 0.0), (20.0, 0.0), (26.0, 0.0), (50.0, 1.0)), ((0.0, 30.0),)]
    """
    lines = [np.asarray(s, float).reshape(-1, 2) for s in strokes]
    while True:
        best: tuple[float, int, int, Floats] | None = None
        for i, a in enumerate(lines):
            for k, b in enumerate(lines):
                if i == k or len(a) < 2 or (len(b) > 1 and k < i):
                    continue
                for first in (a, a[::-1]):
                    for second in ((b, b[::-1]) if len(b) > 1 else (b,)):
                        step = second[0] - first[-1]
                        far = float(np.hypot(*step))
                        out = [_heading(first[::-1])] + ([-_heading(second)] if len(second) > 1 else [])
                        if far <= gap and all(_angle(-o, step) <= bend or far < 1 for o in out) and (
                                len(out) < 2 or _angle(-out[0], -out[1]) <= bend):
                            found = (far, i, k, np.concatenate([first, second]))
                            best = min(best, found, key=lambda f: f[0]) if best is not None else found
        if best is None:
            return [tuple((float(x), float(y)) for x, y in line) for line in lines]
        lines = [best[3] if n == best[1] else line for n, line in enumerate(lines) if n != best[2]]


def _heading(line: Floats, reach: float = 10.0) -> Floats:
    """Direction from a line's start to a point about ``reach`` along it."""
    far = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = float(min(reach, far[-1]))
    return np.asarray(np.array([np.interp(at, far, line[:, k]) for k in (0, 1)]) - line[0])


def _angle(u: Floats, v: Floats) -> float:
    cosine = float(u @ v) / max(float(np.hypot(*u) * np.hypot(*v)), 1e-9)
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))
