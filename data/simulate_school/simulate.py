"""Simulate a school of monograms: strokes handed from master to pupil by known rules.

The makers are invented. Every monogram is a few strokes, each a chain of nine points. Rules, from master to pupil:
the strokes and their order are kept; each stroke may be bent, turned, lengthened or shifted a little; with a set
chance one flourish changes (a dot comes, goes or moves; a hook grows at an end; a small stroke is added). One maker
repeats a form with the unsteadiness of a hand and, if asked, a drift with the years. Pictures then get what
photographs of worn metal have: turn, scale, loose cropping, uneven light, grain, scratches, lost bits.

``HAND`` and ``WEAR`` were set so that plain histograms of oriented gradients with cosine find the right maker in at
most 70 % (seeds 1-5, before the comparison of the project was run on them) and are not to be tuned afterwards.

    python simulate.py FOLDER [--seed 1] [--makers 12] [--each 4]
"""

from __future__ import annotations

import argparse
import csv
from dataclasses import dataclass, field
from pathlib import Path

import cv2
import numpy as np

#: Unsteadiness of one hand (share of the form), and how bad the photographs are (1 = as described above).
HAND, WEAR = 0.028, 1.0
#: How far a pupil's strokes go from the teacher's (share of the form), and the chance of each change of flourish.
PUPIL, FLOURISH = 0.085, 0.75


@dataclass
class Maker:
    """An invented maker: name, teacher's name or "", generation from 1, years of work, strokes (list of (9, 2)
    arrays)."""

    name: str
    teacher: str
    generation: int
    active_from: int
    active_to: int
    school: str
    strokes: list = field(default_factory=list)
    drift: list = field(default_factory=list)


def stroke(rng, size=1.0):
    """A new stroke: a line, a bow, a bent line, a loop or a wave, (9, 2) within about -1..1."""
    kind = rng.choice(["line", "bow", "bend", "loop", "wave"], p=[0.2, 0.3, 0.25, 0.15, 0.1])
    length = size * rng.uniform(0.9, 2.0)
    heading = rng.uniform(0, 2 * np.pi)
    step = np.arange(8)
    turn = {
        "line": 0 * step,
        "bow": rng.uniform(-2, 2) * step / 8,
        "bend": (step >= rng.integers(2, 7)) * rng.uniform(-2.4, 2.4),
        "loop": rng.choice([-1, 1]) * rng.uniform(4.5, 6.5) * step / 8,
        "wave": rng.uniform(1, 2) * np.sin(step * 1.4),
    }[kind]
    points = np.vstack(
        [[0, 0], np.cumsum(np.stack([np.cos(heading + turn), np.sin(heading + turn)], 1) * length / 8, 0)]
    )
    return points - points.mean(0) + rng.uniform(-0.6, 0.6, 2)


def new_form(rng):
    """Strokes of a master's monogram: three to six, some joined, perhaps a dot."""
    strokes = [stroke(rng) for _ in range(rng.integers(3, 6))]
    for i in range(1, len(strokes)):
        if rng.random() < 0.5:
            strokes[i] += strokes[i - 1][rng.integers(0, 9)] - strokes[i][0]
    if rng.random() < 0.5:
        strokes.append(dot(rng))
    return centred(strokes)


def dot(rng):
    return rng.uniform(-1, 1, 2) + np.linspace(-0.03, 0.03, 9)[:, None] * np.array([1, 0.6])


def is_dot(points):
    return np.ptp(points, 0).max() < 0.2


def centred(strokes):
    every = np.concatenate(strokes)
    middle, size = every.mean(0), np.sqrt(every.var(0).sum() / 2)
    return [(s - middle) / size for s in strokes]


def varied(strokes, rng, amount):
    """Strokes shifted, turned, bent and lengthened, each by its own amount."""
    out = []
    for s in strokes:
        middle = s.mean(0)
        turn = rng.normal(0, 1.6 * amount)
        rotate = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        along = np.linspace(-1, 1, 9)[:, None]
        bow = (1 - along**2) * rng.normal(0, 1.2 * amount, 2) + along**3 * rng.normal(0, amount, 2)
        grow = np.exp(rng.normal(0, 1.5 * amount))
        out.append((s - middle) @ rotate.T * grow + middle + rng.normal(0, 1.1 * amount, 2) + (0 if is_dot(s) else bow))
    return out


def pupil_of(strokes, rng):
    """A pupil's monogram: the teacher's structure, other strokes' run, one flourish changed with chance FLOURISH."""
    form = varied(strokes, rng, PUPIL)
    if rng.random() < FLOURISH:
        change = rng.choice(["dot", "hook", "small stroke"])
        dots = [i for i, s in enumerate(form) if is_dot(s)]
        if change == "dot" and dots:
            form[dots[0]] = dot(rng)
        elif change == "dot":
            form.append(dot(rng))
        elif change == "hook":
            i = rng.choice([i for i, s in enumerate(form) if not is_dot(s)])
            hook = form[i][-1] + np.cumsum(np.tile(rng.normal(0, 0.12, 2), (3, 1)), 0)
            form[i] = resampled(np.vstack([form[i], hook]))
        elif len(form) < 8:
            form.append(stroke(rng, 0.5))
    return centred(form)


def resampled(points):
    at = np.linspace(0, len(points) - 1, 9)
    return np.stack([np.interp(at, np.arange(len(points)), points[:, k]) for k in (0, 1)], 1)


NAMES = [
    a + b
    for a in ("Aki", "Fuji", "Hide", "Kane", "Masa", "Nobu", "Shige", "Toshi", "Yasu", "Yoshi")
    for b in ("haru", "hisa", "kage", "mitsu", "nori", "tane", "tomo", "tsura")
]


def school(seed, makers=12, lines=1, name="Invented school", follow=True):
    """Makers from master to pupil in generations; ``lines`` masters who have nothing to do with each other.

    ``follow`` False gives every maker a form of their own (a school whose forms follow no lineage).
    """
    rng = np.random.default_rng(seed)
    names = list(rng.permutation(NAMES)[:makers])
    people = []
    for i, given in enumerate(names):
        if i < lines:
            people.append(Maker(given, "", 1, 1700 + int(rng.integers(0, 15)), 0, name, new_form(rng)))
        else:
            teacher = people[int(rng.integers(max(0, (i - 1) // 3), i))]
            begin = teacher.active_from + int(rng.integers(16, 30))
            people.append(
                Maker(
                    given,
                    teacher.name,
                    teacher.generation + 1,
                    begin,
                    0,
                    name,
                    pupil_of(teacher.strokes, rng) if follow else new_form(rng),
                )
            )
        people[-1].active_to = people[-1].active_from + int(rng.integers(20, 35))
        people[-1].drift = [rng.normal(0, 1, 2) for _ in range(12)]
    return people


def picture(maker, rng, year=None, drift=0.0, size=200, hand=HAND, wear=WEAR, fashion=None):
    """One specimen as a grey photograph, uint8 (size, size): the maker's form in an unsteady hand on worn metal.

    ``drift`` moves each stroke with the years of the maker's life; ``fashion`` (list of vectors) moves the strokes
    of all makers with the year.
    """
    form = varied(maker.strokes, rng, hand)
    if year is not None and drift:
        share = (year - maker.active_from) / 30 * drift
        form = [s + share * maker.drift[i % 12] for i, s in enumerate(form)]
    if year is not None and fashion is not None:
        form = [s + (year - 1740) / 60 * fashion[i % len(fashion)] for i, s in enumerate(form)]
    form = centred(form)
    turn = np.deg2rad(rng.normal(0, 5 * wear))
    shear, stretch = rng.normal(0, 0.05 * wear), np.exp(rng.normal(0, 0.07 * wear))
    change = (
        np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        @ np.array([[1, shear], [0, 1]])
        @ np.diag([stretch, 1 / stretch])
    )
    form = [s @ change.T for s in form]
    every = np.concatenate(form)
    low, side = every.min(0), np.ptp(every, 0).max()
    room = rng.uniform(0.62, 0.84) * size
    spare = size - room - 16
    offset = 8 + rng.uniform(0.25, 0.75, 2) * spare
    big = 4
    page = np.zeros((size * big, size * big), np.uint8)
    pen = int(max(3, rng.normal(6.0, 0.9)) * big)
    for s in form:
        fine = smooth(s)
        line = (((fine - low) / side * room + offset) * big).round().astype(np.int32)
        cv2.polylines(page, [line], False, 255, pen, cv2.LINE_AA)
    ink = cv2.resize(page, (size, size), interpolation=cv2.INTER_AREA).astype(np.float32) / 255
    return worn(ink, rng, wear)


def smooth(points):
    """A curve through the nine points (Catmull-Rom)."""
    p = np.vstack([2 * points[0] - points[1], points, 2 * points[-1] - points[-2]])
    t = np.linspace(0, 1, 9)[:, None]
    parts = []
    for a, b, c, d in zip(p, p[1:], p[2:], p[3:], strict=False):
        parts.append(0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3))
    return np.concatenate(parts)


def worn(ink, rng, wear):
    """Grey photograph of incised lines: light, grain, scratches, lost bits; dark on light or light on dark."""
    size = len(ink)
    loss = cv2.GaussianBlur(rng.normal(0, 1, ink.shape).astype(np.float32), (0, 0), 4)
    ink = ink * (loss < loss.std() * (2.3 - 0.4 * wear))
    ink = cv2.GaussianBlur(ink.astype(np.float32), (0, 0), 0.8)
    ys, xs = np.mgrid[:size, :size] / size - 0.5
    slope = rng.normal(0, 0.16 * wear, 2)
    ground = 0.62 + slope[0] * xs + slope[1] * ys
    ground = ground + 0.03 * wear * cv2.GaussianBlur(rng.normal(0, 6, ink.shape).astype(np.float32), (0, 0), 9)
    scratches = np.zeros_like(ink)
    for _ in range(rng.poisson(4 * wear)):
        a = rng.uniform(0, size, 2)
        b = a + rng.normal(0, 35, 2)
        cv2.line(
            scratches,
            tuple(a.astype(int).tolist()),
            tuple(b.astype(int).tolist()),
            float(rng.uniform(0.1, 0.35)),
            1,
            cv2.LINE_AA,
        )
    sign = 1 if rng.random() < 0.35 else -1
    grey = ground + sign * (0.36 * ink + 0.5 * scratches * (1 - ink)) + rng.normal(0, 0.03 * wear, ink.shape)
    return (np.clip(grey, 0, 1) * 255).round().astype(np.uint8)


def write(folder, seed=1, makers=12, each=4):
    """Write makers.csv and one PNG per specimen into ``folder``; returns the number of pictures."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(seed + 1000)
    people = school(seed, makers)
    with (folder / "makers.csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file)
        table.writerow(["name", "teacher", "generation", "active_from", "active_to", "school"])
        for m in people:
            table.writerow([m.name, m.teacher, m.generation, m.active_from, m.active_to, m.school])
    with (folder / "forms.csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file)
        table.writerow(["file", "maker", "year"])
        for m in people:
            for k in range(each):
                year = int(rng.integers(m.active_from, m.active_to))
                name = f"{m.name.lower()}-{k + 1}.png"
                cv2.imwrite(str(folder / name), picture(m, rng, year, drift=0.06))
                table.writerow([name, m.name, year])
    return len(people) * each


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--makers", type=int, default=12)
    parser.add_argument("--each", type=int, default=4)
    given = parser.parse_args()
    print(write(given.folder, given.seed, given.makers, given.each), "pictures written")
