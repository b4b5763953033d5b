"""Thin a picture of a sign and take 192 points of its lines, as ``train.py`` wants them."""

import numpy as np

from readaid.forms.stroke_points import thin

NUMBER = 192


def points(mask, rng):
    """Points (192, 2) uint8 as (x, y) of a bool mask of at most 256 x 256, spread as evenly as can be; None for a
    speck."""
    ys, xs = np.nonzero(thin(mask))
    found = np.stack([xs, ys], 1).astype(np.float32)
    if len(found) < 8:
        return None
    if len(found) <= NUMBER:
        chosen = np.concatenate([np.arange(len(found)), rng.choice(len(found), NUMBER - len(found))])
    else:  # each next point is the one farthest from those taken
        far, chosen = np.full(len(found), np.inf), [0]
        for _ in range(NUMBER - 1):
            far = np.minimum(far, ((found - found[chosen[-1]]) ** 2).sum(1))
            chosen.append(int(far.argmax()))
    return found[chosen].round().astype(np.uint8)
