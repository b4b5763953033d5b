"""Windows as the training code makes them, kept so that the run time can be held to them without PyTorch.

    python -m tests.glyphs.windows        # needs PyTorch; writes windows.npz beside this file

Conventions: ``pages`` (n, side, side) and ``windows`` (n, 48, 48) are uint8 of 0..1. Run it again whenever the size
normalisation changes, in the training code (``data/train_glyphs/synth.py``) and at run time together.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

FILE = Path(__file__).with_name("windows.npz")
TRAINING = Path(__file__).resolve().parents[2] / "data" / "train_glyphs"
SIGNS = "花あ者一し"


def training():
    """The training code's ``synth``; PyTorch must be there."""
    sys.path.insert(0, str(TRAINING))
    try:
        import synth
    finally:
        sys.path.remove(str(TRAINING))
    return synth


def pages() -> np.ndarray:
    """Reference forms of a few signs: dark on light, light on dark, cut in metal."""
    import torch

    from readaid.glyphs.references import references

    dark = np.stack([r.picture for sign in SIGNS for r in references(sign)]).astype(np.float32) / 255
    torch.manual_seed(0)
    metal = training().metal(torch.from_numpy(1 - dark)).numpy()
    metal = (metal - metal.min()) / (metal.max() - metal.min())
    return np.rint(np.concatenate([dark, 1 - dark, metal]) * 255).astype(np.uint8)


def trained(seen: np.ndarray) -> np.ndarray:
    """The windows that training makes of pages, 0..1."""
    import torch

    return training().normalise(torch.from_numpy(seen.astype(np.float32) / 255))[:, 0].numpy()


if __name__ == "__main__":
    made = pages()
    np.savez_compressed(FILE, pages=made, windows=np.rint(trained(made).clip(0, 1) * 255).astype(np.uint8))
