"""Bad input through the front door: a clear sentence each time, nothing lost."""

import os
import shutil
import signal
import sqlite3
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import pytest
from lxml import html as lxml_html
from PIL import Image

import readaid
from readaid.core.attempt import Attempt
from readaid.core.errors import NewerRegisterError, PhotoError, ReadaidError, RegisterError, TextError


@pytest.fixture
def piece(tmp_path):
    with readaid.new(tmp_path / "piece", reader="Mori") as opened:
        yield opened


def bomb(path: Path) -> None:
    """A PNG of 30,000 x 30,000 pixels in a few kilobytes (PNG specification: IHDR, IDAT, IEND)."""
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    rows = zlib.compressobj(9)
    data = b"".join(rows.compress(b"\0" * 30001) for _ in range(30000)) + rows.flush()
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", 30000, 30000, 8, 0, 0, 0, 0))
                     + chunk(b"IDAT", data) + chunk(b"IEND", b""))


def test_photos_that_are_none(piece, tmp_path):
    (tmp_path / "text.jpg").write_text("not a photo")
    (tmp_path / "empty.jpg").write_bytes(b"")
    Image.new("RGB", (400, 300), "grey").save(tmp_path / "whole.jpg")
    (tmp_path / "cut.jpg").write_bytes((tmp_path / "whole.jpg").read_bytes()[:900])
    bomb(tmp_path / "bomb.png")
    for name in ("text.jpg", "empty.jpg", "cut.jpg", "bomb.png", "missing.jpg"):
        with pytest.raises(PhotoError) as caught:
            piece.add_photo(tmp_path / name)
        assert caught.value.cure, name
    assert piece.contents.photos == ()
    assert list((piece.folder / "photos").iterdir()) == []


@pytest.mark.parametrize("text", ["hello", "かな🙂", "\ud7ff\U000e0fff"])
def test_reading_with_signs_that_are_no_japanese_writing(text):
    with pytest.raises(TextError):
        readaid.read(text)


def test_no_dictionary_installed():
    code = ("import sys\nsys.modules['unidic_lite'] = None\n"
            "import readaid\n"
            "try:\n    readaid.read('すすはらひ')\n"
            "except readaid.ReadaidError as e:\n    print(type(e).__name__, e)\n")
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert out.stdout.startswith("DictionaryError"), out.stderr
    assert "unidic-lite" in out.stdout


def test_register_of_a_newer_version_is_left_alone(piece):
    piece.close()
    path = piece.folder / "register.sqlite"
    with sqlite3.connect(path) as raw:
        tables = [r[0] for r in raw.execute("select name from sqlite_master where type='table'")]
        assert "migration" in " ".join(tables)
        name = next(t for t in tables if "migration" in t)
        columns = [r[1] for r in raw.execute(f"pragma table_info({name})")]
        row = dict(zip(columns, raw.execute(f"select * from {name} order by 1 desc").fetchone(), strict=True))
        first = columns[0]
        row[first] = 9999 if isinstance(row[first], int) else "9999"
        if "name" in row:
            row["name"] = "from the future"
        raw.execute(f"insert into {name} ({','.join(row)}) values ({','.join('?' * len(row))})", list(row.values()))
        raw.execute("pragma user_version = 9999")
    raw.close()
    before = path.read_bytes()
    with pytest.raises(NewerRegisterError):
        readaid.open(piece.folder)
    assert path.read_bytes() == before


def mounted(folder: Path, options: str):
    """Mount a small tmpfs, or skip where that is not permitted."""
    folder.mkdir(exist_ok=True)
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(folder)], capture_output=True)
    if done.returncode:
        pytest.skip("no right to mount a tmpfs here")


def save_until_full(piece, inscription: str, kept: list[str]) -> None:
    """Save attempts one by one, noting each that the register acknowledged."""
    for n in range(4000):
        attempt = Attempt(inscription=inscription, written="あ" * 200, note=f"{n} " + "x" * 2000)
        piece.save(attempt)
        kept.append(attempt.id)


@pytest.mark.skipif(not shutil.which("mount") or os.name != "posix", reason="needs mount")
def test_full_disk_loses_nothing(tmp_path):
    disk = tmp_path / "disk"
    mounted(disk, "size=3m")
    try:
        kept = []
        with readaid.new(disk / "piece", reader="Mori") as piece:
            verse = piece.layout.inscription("verse")
            with pytest.raises(RegisterError) as caught:
                save_until_full(piece, verse.id, kept)
            assert "full" in str(caught.value) or "room" in str(caught.value)
            assert kept
        with readaid.open(disk / "piece", read_only=True) as piece:
            assert {a.id for a in piece.contents.attempts} >= set(kept)
            with pytest.raises(ReadaidError, match="room"):
                piece.report()
    finally:
        subprocess.run(["umount", "-l", str(disk)], check=False)


@pytest.mark.skipif(not shutil.which("mount") or os.name != "posix", reason="needs mount")
def test_read_only_folder_can_be_read(tmp_path):
    disk = tmp_path / "disk"
    mounted(disk, "size=8m")
    try:
        with readaid.new(disk / "piece", reader="Mori", title="Lid") as piece:
            verse = piece.layout.inscription("verse")
            piece.decipherment.write_down(verse, "すすはらひ")
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        with readaid.open(disk / "piece") as piece:
            assert piece.piece.title == "Lid"
            assert len(piece.register.attempts) == 1
            with pytest.raises(RegisterError, match="reading only"):
                piece.describe(title="x")
            written = piece.report(path=tmp_path / "report.html")
            assert written.is_file()
        # the bench opens there too: server, kernels and pages live in a folder lent for the start
        opened = subprocess.Popen([sys.executable, "-m", "readaid", "open", str(disk / "piece"), "--no-browser"],
                                  stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True)
        try:
            assert any("http://127.0.0.1" in line or "http://localhost" in line for line in opened.stdout)
        finally:
            os.killpg(opened.pid, signal.SIGTERM)
            opened.wait(60)
    finally:
        subprocess.run(["umount", "-l", str(disk)], check=False)


def test_folder_that_cannot_be_made(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(ReadaidError, match="file, not a folder"):
        readaid.new(tmp_path / "file")
    with pytest.raises(ReadaidError, match="cannot be made"):
        readaid.new(tmp_path / "file" / "piece")


def test_hostile_text_comes_back_as_it_was(piece):
    nasty = "'; DROP TABLE revision; -- <b>\x00\n\u202e か\u3099 \U0001f600"
    piece.describe(notes=nasty)
    assert piece.piece.notes == nasty.replace("\x00", "\u2400")  # shown as its picture: no file format holds a NUL
    tree = lxml_html.fromstring(piece.report().read_text(encoding="utf-8"))
    assert tree.xpath("//b") == []
    assert "'; DROP TABLE revision; -- <b>" in tree.text_content()
