"""Only the listed formats are ever tried: a file that is something else starts no other program, whatever its name."""

import subprocess

import numpy as np
import pytest
from PIL import EpsImagePlugin, Image, ImageFile

import readaid
from readaid.core.errors import PhotoError, ReadaidError, ShapeError
from readaid.photo import file

#: A PostScript page with its bounding box (Adobe, PostScript Language Document Structuring Conventions 3.0).
POSTSCRIPT = b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 40 40\n%%EndComments\n(x) run\nshowpage\n%%EOF\n"


@pytest.fixture
def started(monkeypatch):
    """Programs that somebody tried to start."""
    found = []

    def tell(*args, **options):
        found.append(args)
        raise OSError("nothing is started here")

    monkeypatch.setattr(subprocess, "Popen", tell)
    monkeypatch.setattr(EpsImagePlugin, "Ghostscript", tell)
    return found


@pytest.mark.parametrize("name", ["sign.jpg", "sign.png", "sign.tif", "sign.eps"])
def test_a_disguised_postscript_file_starts_nothing(tmp_path, started, name):
    path = tmp_path / name
    path.write_bytes(POSTSCRIPT)
    with pytest.raises(ShapeError, match="no picture that can be opened"):
        readaid.suggest(path)
    with pytest.raises(ReadaidError):
        readaid.compare(path, path)
    for work in (file.describe, file.load, file.opened):
        with pytest.raises(PhotoError, match="PostScript files are not read"):
            work(path)
    assert started == []


@pytest.mark.parametrize("format", ["GIF", "BMP", "PPM", "PCX", "TGA", "ICO", "DDS", "PDF", "SGI"])
def test_other_formats_are_not_tried(tmp_path, format):
    path = tmp_path / "picture.jpg"
    Image.fromarray(np.zeros((64, 64, 3), np.uint8)).save(path, format)
    with pytest.raises(PhotoError, match=r"not read|not a photo"):
        file.opened(path)
    with pytest.raises(ShapeError, match="no picture that can be opened"):
        readaid.suggest(path)


def test_no_module_opens_a_picture_without_the_list():
    """Read from the source: every ``Image.open`` names its formats; OpenCV reads only what was opened so before."""
    import ast
    from pathlib import Path

    calls = []
    for path in sorted(Path(readaid.__file__).parent.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
                continue
            called = ast.unparse(node.func)
            if called == "Image.open":
                calls.append((path.name, any(k.arg == "formats" for k in node.keywords)))
            if called in ("cv2.imread", "cv2.imdecode"):
                calls.append((path.name, path.name == "sixteen_bit.py"))
    assert len(calls) >= 3
    assert [name for name, listed in calls if not listed] == []
    assert "EPS" not in file.FORMATS
    assert ImageFile.LOAD_TRUNCATED_IMAGES is False
