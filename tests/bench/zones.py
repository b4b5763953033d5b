"""What zones hold, and signs under a stain: on pieces of our own drawing in fonts that nothing was fitted on.

Conventions: pieces and true kinds as in ``data/fit/zone_kinds.py``, HELD fonts, seeds of their own; a zone's kind is
right where the likeliest one is the true one. Hidden signs: one sign of a regular piece is covered by an even stain;
right where a guess lies on it (IoU >= 0.3). An interval is Wilson's, of zones taken one by one.
"""

from __future__ import annotations

import os
from multiprocessing import Pool

import numpy as np

from data.fit import zone_kinds as drawn
from readaid.copies.calibration import wilson
from readaid.core.photo import ZONE_KINDS
from readaid.glyphs import zone_kinds
from readaid.photo.columns import propose
from readaid.photo.pitch import box
from readaid.piece.claims import COUNTS
from tests.photo import rendered

Row = tuple[str, float, str, str]


def kinds(pieces: int) -> list[Row]:
    """Right by kind, calibration, and what of the writing would be left out of the text."""
    sure, good, truth, said = [], [], [], []
    with Pool(os.cpu_count()) as pool:
        looked = pool.map(drawn.held_one, range(90000, 90000 + pieces))
    for rows, true, _, _ in looked:
        if not len(rows):
            continue
        powers = rows @ zone_kinds._weights()
        each = np.exp(powers - powers.max(1, keepdims=True))
        each /= each.sum(1, keepdims=True)
        top = each.argmax(1)
        truth += true
        said += [ZONE_KINDS[k] for k in top]
        sure += each.max(1).tolist()
        good += [ZONE_KINDS[k] == t for k, t in zip(top, true, strict=True)]
    out: list[Row] = []
    for kind in ("all", *ZONE_KINDS):
        own = [g for g, t in zip(good, truth, strict=True) if kind in ("all", t)]
        low, high = wilson(sum(own), len(own)) if own else (0.0, 1.0)
        out.append((f"kind of zone right, {kind} (n {len(own)}, {100 * low:.1f}-{100 * high:.1f})",
                    100 * float(np.mean(own or [0])), "%", ""))
    for name, among in (("writing and signatures left out of the text", ("writing", "signature")),
                        ("monograms and seals that stay in the text", ("monogram", "seal"))):
        own = [k in COUNTS and s >= COUNTS[k] for k, s, t in zip(said, sure, truth, strict=True) if t in among]
        own = own if "left out" in name else [not o for o in own]
        low, high = wilson(sum(own), len(own)) if own else (0.0, 1.0)
        out.append((f"{name} (n {len(own)}, {100 * low:.1f}-{100 * high:.1f})", 100 * float(np.mean(own or [0])), "%",
                    ""))
    out.append(("calibration error of kinds", rendered.calibration_error(sure, good), "", "< 0.06"))
    return out


def covered(seed: int) -> tuple[int, int, int | None]:
    """Signs of a piece, guesses where nothing is hidden, whether a covered sign is guessed (None: no column)."""
    piece = rendered.render(seed, "regular", rendered.HELD, surface=("metal", "paper")[seed % 2])
    false = sum(z.guess for c in propose(piece.image) for z in c.zones)
    column = max(piece.columns, key=len)
    if len(column) < 6:
        return len(piece.boxes), false, None
    x, y, w, h = (int(v) for v in column[len(column) // 2])
    image = piece.image.copy()
    around = image[max(0, y - 8):y + h + 8, max(0, x - 8):x + w + 8]
    around[:] = (0.7 * np.median(around, (0, 1))).astype(np.uint8)
    guesses = [box(z) for c in propose(image) for z in c.zones if z.guess]
    return len(piece.boxes), false, int(any(rendered.overlap(g, column[len(column) // 2]) >= 0.3 for g in guesses))


def hidden(pieces: int) -> list[Row]:
    """Signs under a stain that a guess lies on, and guesses where nothing is hidden."""
    with Pool(os.cpu_count()) as pool:
        each = pool.map(covered, range(91000, 91000 + pieces))
    hits = [hit for _, _, hit in each if hit is not None]
    low, high = wilson(sum(hits), len(hits)) if hits else (0.0, 1.0)
    plain = sum(signs for signs, _, _ in each)
    return [(f"hidden signs guessed from the pitch (n {len(hits)}, {100 * low:.0f}-{100 * high:.0f})",
             100 * sum(hits) / max(1, len(hits)), "%", ""),
            (f"guesses where nothing is hidden (of {plain} signs)", 100 * sum(f for _, f, _ in each) / plain, "%", "")]


def bench() -> list[Row]:
    pieces = int(os.environ.get("READAID_PIECES", 120))
    return [*kinds(pieces), *hidden(pieces)]
