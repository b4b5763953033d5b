"""A demo piece for every test of the notebook face, built once and copied."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from readaid.piece.open_piece import OpenPiece
from tests.widgets import held_to_types
from tests.widgets.made import demo_piece


@pytest.fixture(autouse=True)
def _held_to_types(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """What any panel tells in a test is of the type that the browser's code was checked against."""
    held_to_types.WRONG.clear()
    held_to_types.watch(monkeypatch)
    yield
    assert held_to_types.WRONG == []


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo_piece(tmp_path_factory.mktemp("demo") / "piece")


@pytest.fixture
def folder(demo_folder: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(demo_folder, tmp_path / "piece"))


@pytest.fixture
def piece(folder: Path) -> Iterator[OpenPiece]:
    with OpenPiece(folder) as opened:
        yield opened


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[OpenPiece]:
    """A piece with one photograph and nothing on it."""
    with OpenPiece.new(tmp_path / "empty", reader="Test reader", title="Test piece") as opened:
        from readaid.core.places import share

        opened.add_photo(share("data") / "demo" / "photos" / "verse_left.jpg")
        yield opened
