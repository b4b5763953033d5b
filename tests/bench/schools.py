"""Schools: borders with one form a maker, odds, crests by halves, strokes from tracings, a hundred thousand specimens.

Conventions: seeds and halves here were used to set nothing. Crests are measured where READAID_FORMS names a folder with
``crests/labels.tsv``: designs are halved by the hash of their names; odds are fitted on the first half and reported on
the second; no figure of theirs is printed for a carved monogram. Shares with their Wilson interval (95 %).
"""

from __future__ import annotations

import csv
import hashlib
import os
import resource
import tempfile
import time
from pathlib import Path

import numpy as np

from readaid.core.specimen import Specimen
from readaid.forms.tracing import strokes
from readaid.forms.tracing_counts import count_tracing
from readaid.schools.album import School
from readaid.schools.form_index import KIND, LENGTH
from readaid.schools.matrix import likeness_matrix, ready
from readaid.schools.nearest import Population, Reference, log_odds
from readaid.schools.odds import cost, curve, fit
from tests.bench.forms import simulator

Row = tuple[str, object, str, str]


def share(k: int, n: int) -> str:
    """A share with its Wilson interval, in per cent."""
    p, z = k / n, 1.96
    whole = 1 + z * z / n
    middle, half = (p + z * z / 2 / n) / whole, z * np.sqrt(p * (1 - p) / n + z * z / 4 / n / n) / whole
    return f"{100 * p:.0f} ({100 * (middle - half):.0f}-{100 * (middle + half):.0f}), n={n}"


def one_form(seeds=range(320, 326)) -> list[Row]:
    """Twelve makers with one form each; two new forms a maker, eight kin who are not among them, twelve strangers."""
    sim = simulator()
    asked = first = near = kept = kin = strangers = kin_asked = strangers_asked = 0
    for seed in seeds:
        rng = np.random.default_rng(seed)
        people = sim.school(seed, makers=20)
        known, others = people[:12], people[12:]
        population = Population([Reference(ready(sim.picture(m, rng)), m.name) for m in known])
        for m in known:
            for _ in range(2):
                found = population.nearest(sim.picture(m, rng))
                asked += 1
                right = found.neighbours[0].maker == m.name
                first += right
                kept += right and found.verdict != "none"
                near += right and found.verdict == "near"
        for m in others:
            kin_asked += 1
            kin += population.nearest(sim.picture(m, rng)).verdict == "near"
        for k in range(12):
            stranger = sim.school(9000 + 100 * seed + k, makers=1)[0]
            strangers_asked += 1
            strangers += population.nearest(sim.picture(stranger, rng)).verdict != "none"
    return [("one form a maker: right maker first, %", share(first, asked), "", ""),
            ("one form a maker: of these not refused, %", share(kept, first), "", ">= 83 (10 of 12)"),
            ("one form a maker: first and not refused, of all, %", share(kept, asked), "", ">= 83 (10 of 12)"),
            ("one form a maker: named alone, kin told apart, of all, %", share(near, asked), "", ""),
            ("one form a maker: strangers of no kin accepted, %", share(strangers, strangers_asked), "", "< 10"),
            ("one form a maker: absent kin named as another, %", share(kin, kin_asked), "", "< 10")]


def drawings(count=60) -> list[Row]:
    """Strokes and dots of drawings of the simulation without wear, from the machine's tracing and after one mend."""
    sim = simulator()
    right = mended = mends = both = plain = plain_right = 0
    for seed in range(7000, 7000 + count):
        rng = np.random.default_rng(seed)
        maker = sim.school(seed, makers=1)[0]
        dots = sum(sim.is_dot(s) for s in maker.strokes)
        found = count_tracing(strokes(sim.picture(maker, rng, wear=0)))
        off = abs(found.strokes - (len(maker.strokes) - dots)) + abs(found.dots - dots)
        right += off == 0
        mended += off <= 1
        mends += off
        both += found.dots == dots
        if apart(sim, maker.strokes):
            plain += 1
            plain_right += off == 0
    return [("strokes and dots of 60 drawings right, machine tracing, %", share(right, count), "", "70"),
            ("the same, drawings whose strokes can be told apart, %", share(plain_right, plain), "", ""),
            ("dots alone right, %", share(both, count), "", ""),
            ("right after one mend at most, %", share(mended, count), "", "100"),
            ("mends a drawing, mean (each stroke or dot too many or too few is one)", mends / count, "", "")]


def apart(sim, drawn) -> bool:
    """Whether no two strokes meet end to end and no dot lies on a stroke: else the drawing itself does not tell."""
    every = np.concatenate(drawn)
    pen = 0.05 * float(np.ptp(every, 0).max())
    fine = [sim.smooth(s) for s in drawn]
    for i, a in enumerate(fine):
        for k, b in enumerate(fine):
            ends = min(float(np.hypot(*(p - q))) for p in (a[0], a[-1]) for q in (b[0], b[-1]))
            near = float(np.hypot(*(a[:, None] - b[None]).transpose(2, 0, 1)).min())
            if (k < i and ends < pen) or (k != i and sim.is_dot(drawn[i]) and near < 1.4 * pen):
                return False
    return True


def crests(folder: Path) -> list[Row]:
    """Nearest first and in five on each half of the designs; odds fitted on the first half, told of the second."""
    with (folder / "labels.tsv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file, delimiter="\t"))
    names = [r["name"] for r in rows]
    alike = likeness_matrix([ready(folder / r["file"]) for r in rows])
    half = [int(hashlib.sha256(n.encode()).hexdigest(), 16) % 2 for n in names]
    out: list[Row] = []
    pairs = []
    for h in (0, 1):
        inside = [i for i, x in enumerate(half) if x == h]
        first = {names[i]: i for i in reversed(inside)}
        places = [sum(alike[j, i] > alike[first[names[i]], i] for j in first.values())
                  for i in inside if i != first[names[i]]]
        told = "set" if h == 0 else "left out"
        out += [(f"crests, half {told}: first, %", share(sum(p == 0 for p in places), len(places)), "", "95"),
                (f"crests, half {told}: in five, %", share(sum(p < 5 for p in places), len(places)), "", "99.5")]
        odds = {same: np.array([log_odds(alike[i, j]) for i in inside for j in inside
                                if i < j and (names[i] == names[j]) is same]) for same in (True, False)}
        pairs.append((odds[True], odds[False]))
    slope, intercept = fit(*pairs[0])
    most = np.log10(len(pairs[0][0]))
    same, other = (np.clip((slope * x + intercept) / np.log(10), -most, most) for x in pairs[1])
    points, error = curve(same, other)
    rng = np.random.default_rng(0)
    again = [curve(rng.choice(same, len(same)), rng.choice(other, len(other)))[1] for _ in range(100)]
    low, high = np.nanquantile([np.nan if e is None else e for e in again], (0.025, 0.975))
    told = f"{error:.2f} ({low:.2f}-{high:.2f}), n={len(same)} and {len(other)} pairs, {len(points)} bins"
    out += [("crests, odds on the half left out: error of log10", told, "", "< 0.15"),
            ("crests, odds on the half left out: cost", cost(same, other), "", "")]
    return out


def many(count=100_000) -> list[Row]:
    """A school of so many specimens: loading, then the nearest of a new form; memory of the process."""
    sim = simulator()
    rng = np.random.default_rng(0)
    new = sim.picture(sim.school(1, makers=1)[0], rng)
    with tempfile.TemporaryDirectory() as place, School(Path(place), title="Many", reader="bench") as school:
        names = [f"{i:064x}" for i in range(count)]
        vectors = rng.standard_normal((count, LENGTH), np.float32)
        vectors /= np.linalg.norm(vectors, axis=1, keepdims=True)
        np.savez(Path(place) / "forms.npz", kind=np.array(KIND), names=np.array(names),
                 vectors=vectors.astype(np.float16))
        del vectors
        start = time.perf_counter()
        for at in range(0, count, 20_000):
            block = [Specimen(image=f"pictures/{n[:20]}.png", sha256=n) for n in names[at:at + 20_000]]
            school.register.save_all(block, reader="bench", reason="made")
        made = time.perf_counter() - start
        start = time.perf_counter()
        school.nearest(new)
        loaded = time.perf_counter() - start
        start, busy = time.perf_counter(), time.process_time()
        for _ in range(3):
            school.nearest(new)
        each, used = (time.perf_counter() - start) / 3, (time.process_time() - busy) / 3
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return [(f"{count} specimens: entered", made, "s", ""), ("  loaded and first answer", loaded, "s", ""),
            ("  nearest of a new form, wall", each, "s", "< 0.5"), ("  the same, processor", used, "s", ""),
            ("  most memory of the process, making them included", peak / 1024, "MB", "")]


def bench() -> list[Row]:
    rows = one_form() + drawings()
    folder = os.environ.get("READAID_FORMS")
    if folder and (Path(folder) / "crests").is_dir():
        rows += crests(Path(folder) / "crests")
    return rows + many()
