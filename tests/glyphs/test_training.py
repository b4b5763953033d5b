"""The training code and the run time must see the same window, else the model is asked what it never learnt."""

import numpy as np
import pytest

from readaid.glyphs.references import references
from readaid.glyphs.window import window
from tests.glyphs import windows


@pytest.fixture(scope="module")
def torch():
    return pytest.importorskip("torch", reason="the training code needs PyTorch")


@pytest.fixture(scope="module")
def kept():
    with np.load(windows.FILE) as file:
        return file["pages"], file["windows"].astype(np.float32) / 255


def test_the_run_time_makes_the_windows_of_training(kept):
    """Against windows that the training code made; in three looks, see ``windows.py``."""
    pages, expected = kept
    assert len(pages) >= 3 * len(windows.SIGNS)
    for page, want in zip(pages, expected, strict=True):
        assert np.abs(window(page / np.float32(255)) - want).max() < 0.02


def test_training_still_makes_the_windows_that_are_kept(torch, kept):
    pages, expected = kept
    assert np.abs(windows.trained(pages) - expected).max() < 0.003


def test_synthesis_is_the_same_for_the_same_seed(torch):
    synth = windows.training()
    bits = torch.from_numpy(np.stack([np.packbits(np.pad(r.picture < 128, 40)) for r in references("花")]))
    atlas = synth.Atlas.build(bits, bits, torch.zeros(len(bits), dtype=torch.long), "cpu")
    made = []
    for _ in range(2):
        torch.manual_seed(7)
        made.append(synth.crops(atlas, torch.tensor([0, 1, 2, 0]), torch.zeros(4, dtype=torch.long), (28, 40)))
    assert torch.equal(*made)
    assert made[0].shape == (4, 1, 48, 48)
    assert -1e-5 <= float(made[0].min()) <= float(made[0].max()) <= 1 + 1e-5
