"""The training code and the run time must see the same window, else the model is asked what it never learnt."""

import sys
from pathlib import Path

import numpy as np
import pytest

from readaid.glyphs.references import references
from readaid.glyphs.window import window

torch = pytest.importorskip("torch", reason="the training code needs PyTorch")
FOLDER = Path(__file__).resolve().parents[2] / "data" / "train_glyphs"


@pytest.fixture
def synth(monkeypatch):
    monkeypatch.syspath_prepend(str(FOLDER))
    import synth

    yield synth
    sys.modules.pop("synth", None)


@pytest.mark.parametrize("look", ["dark on light", "light on dark", "cut in metal"])
def test_windows_agree(synth, look):
    pages = np.stack([r.picture for c in "花あ者一し" for r in references(c)]).astype(np.float32) / 255
    if look == "light on dark":
        pages = 1 - pages
    if look == "cut in metal":
        torch.manual_seed(0)
        pages = synth.metal(torch.from_numpy(1 - pages)).numpy()
        pages = (pages - pages.min()) / (pages.max() - pages.min())
    trained = synth.normalise(torch.from_numpy(pages.copy()))[:, 0].numpy()
    for page, want in zip(pages, trained, strict=True):
        assert np.abs(window(page) - want).max() < 0.02


def test_synthesis_is_the_same_for_the_same_seed(synth):
    bits = torch.from_numpy(np.stack([np.packbits(np.pad(r.picture < 128, 40)) for r in references("花")]))
    atlas = synth.Atlas.build(bits, bits, torch.zeros(len(bits), dtype=torch.long), "cpu")
    made = []
    for _ in range(2):
        torch.manual_seed(7)
        made.append(synth.crops(atlas, torch.tensor([0, 1, 2, 0]), torch.zeros(4, dtype=torch.long), (28, 40)))
    assert torch.equal(*made)
    assert made[0].shape == (4, 1, 48, 48)
    assert -1e-5 <= float(made[0].min()) <= float(made[0].max()) <= 1 + 1e-5
