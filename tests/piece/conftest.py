"""A small piece with one photo and an inscription, made afresh for each test."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import readaid


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    rng = np.random.default_rng(4)
    path = tmp_path / "front.png"
    Image.fromarray(rng.integers(0, 255, (400, 600, 3), dtype=np.uint8)).save(path)
    return path


@pytest.fixture
def piece(tmp_path, picture):
    with readaid.new(tmp_path / "piece", reader="Mori", title="Lid") as opened:
        opened.add_photo(picture, surface="front")
        yield opened


@pytest.fixture
def verse(piece):
    return piece.layout.inscription("verse", piece.contents.photos[0], form="hokku")
