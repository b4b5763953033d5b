"""The training code and the run time must see the same window, else the model is asked what it never learnt."""

import os
import re
import subprocess
import sys

import numpy as np
import pytest

from readaid.glyphs import character_net
from readaid.glyphs.classes import FOLDER, classes
from readaid.glyphs.references import references
from readaid.glyphs.window import window
from tests.glyphs import small_training, windows

#: What the training of the character model wants beyond the package; ``.ci/run`` installs both.
HOW = "the training code needs PyTorch and onnx: pip install torch onnx"


@pytest.fixture(scope="module")
def torch():
    return pytest.importorskip("torch", reason=HOW)


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


def _run(script, *arguments):
    one = {**os.environ, "OMP_NUM_THREADS": "1", "CUDA_VISIBLE_DEVICES": ""}  # the same on every machine
    done = subprocess.run([sys.executable, str(windows.TRAINING / script), *map(str, arguments)], capture_output=True,
                          text=True, timeout=900, env=one)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def trained(torch, tmp_path_factory):
    """Folder of a small training as the README of the training says it, and the losses it told."""
    pytest.importorskip("onnx", reason=HOW)
    folder = tmp_path_factory.mktemp("training")
    glyphs, real = small_training.write(folder)
    told = _run("train.py", FOLDER / "classes.tsv", glyphs, real, folder, "--steps", 25, "--batch", 16,
                "--real-sounds")
    _run("export.py", FOLDER / "classes.tsv", folder / "eye.pt", folder / "eye.onnx")
    return folder, [float(x) for x in re.findall(r" loss ([0-9.]+) ", told)]


def test_a_small_training_learns(trained):
    """Eight signs of our own drawing among all classes: the loss of the last steps lies well under the first's."""
    _, losses = trained
    assert len(losses) == 5
    assert losses[-1] < 0.7 * losses[0], losses


def test_exported_weights_run_in_the_product_as_they_were_trained(trained, torch, monkeypatch):
    """The product's forward pass of the exported file against PyTorch's of the checkpoint."""
    folder, _ = trained
    monkeypatch.setattr(character_net, "FILE", folder / "eye.onnx")
    seen = np.stack([window(r.picture / np.float32(255)) for r in references("花")])[:, None].astype(np.float32)
    scores, embedding = character_net.run(seen)
    monkeypatch.syspath_prepend(windows.TRAINING)
    monkeypatch.delitem(sys.modules, "net", raising=False)  # the finder's training has a module of that name
    import export

    model = export.load(folder / "eye.pt", len(classes()) + 1)
    with torch.no_grad():
        whole, place = model(torch.from_numpy(seen))
        table = torch.nn.functional.normalize(model.out.weight, dim=1) * model.scale.exp()
        want = place @ table.T.half().float()  # the file holds 16 bits of each weight
    assert np.abs(want.numpy() - whole.numpy()).max() < 5e-3, "rounding takes no more than this"
    assert np.abs(embedding - place.numpy()).max() < 1e-4
    assert np.abs(scores - want.numpy()).max() < 1e-4 * np.abs(want.numpy()).max()
