"""The veil on every way out: tell-tale words in every text field of every kind of record, looked for in every file.

Judged from outside: what leaves is unpacked and read as bytes and by other programs (zipfile, openpyxl, pyarrow).
"""

import dataclasses
import io
import typing
import zipfile
from enum import Enum
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import readaid
from readaid.core.contents import KINDS, SCHOOL_KINDS
from readaid.core.person import Person, Role
from readaid.core.photo import Scale, rectangle
from readaid.core.veil import TAKEN_OUT
from readaid.register.codec import kind_of
from readaid.register.view import PLURALS
from readaid.report.formats import FORMATS
from tests.photo import test_metadata as pictures

OWNER, PLACE, SOURCE = "Ownerman", "Placehouse", "Provenancefrom"
#: What a blind copy may show, being neither reading nor judgement: who may use the picture, and which piece it is.
MAY = {"piece.inventory", "piece.rights", "photo.rights"}
#: Filled by hand, because something must lie there or it is no text of anybody's.
GIVEN = {"id", "file", "sha256", "photo", "zone", "zones", "columns", "inscription", "person", "about", "a", "b",
         "source", "reference", "teacher", "form", "made", "reader", "made_by", "unit", "by", "model",
         "descriptor_kind", "piece", "specimen", "specimens", "makers", "schools", "school_id"}


def word(kind: str, field: str) -> str:
    """A word that stands nowhere else."""
    return f"Tell{kind.capitalize()}{field.replace('_', '').capitalize()}"


def filled(kind: str, **given):
    """A record with a word in every field that is a text or holds texts."""
    cls = KINDS[kind]
    hints = typing.get_type_hints(cls)
    values = {f.name: value for f in dataclasses.fields(cls)
              if f.name not in given and (value := _filled(kind, f.name, hints[f.name])) is not None}
    return cls(**{**values, **given})


def _filled(kind, name, hint):
    if name in GIVEN:
        return None
    if hint is str or hint == str | None:
        return word(kind, name)
    if hint == tuple[str, ...]:
        return (word(kind, name),)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return None
    if typing.get_origin(hint) is tuple and dataclasses.is_dataclass(typing.get_args(hint)[0]):
        inner = typing.get_args(hint)[0]
        types = typing.get_type_hints(inner)
        needed = {f.name: 0 if types[f.name] is int else 0.0 for f in dataclasses.fields(inner)
                  if types[f.name] in (int, float) and f.default is dataclasses.MISSING}
        texts = {f.name: v for f in dataclasses.fields(inner)
                 if (v := _filled(kind, f.name if f.name != "source" else "", types[f.name])) is not None
                 and f.name != "source"}
        return (inner(**{**needed, **texts}),)
    return None


@pytest.fixture(scope="module")
def full(tmp_path_factory):
    """A piece with every kind of record, every text a word of its own; the photo is a phone's, with words in all parts.
    """
    place = tmp_path_factory.mktemp("veil")
    photo = place / "TellPhotoName.jpg"
    photo.write_bytes(pictures.jpeg(orientation=1))
    with readaid.new(place / "piece", reader="Mori") as piece:
        shot = piece.add_photo(photo)
        named = filled("photo", id=shot.id, file=shot.file, sha256=shot.sha256, width=shot.width, height=shot.height,
                       scale=Scale((0, 0), (10, 0), 5.0, "TellPhotoWhat", (0, 0), (0, 9), 4.0, "TellPhotoCheckwhat"))
        texts = {f.name: _filled("piece", f.name, str) for f in dataclasses.fields(KINDS["piece"])
                 if typing.get_type_hints(KINDS["piece"])[f.name] is str and f.name not in GIVEN}
        piece.describe(**{**texts, "place_kept": PLACE, "provenance": SOURCE, "reader": "Mori",
                          "notes": f"TellPieceNotes of {OWNER}, at {PLACE}"})
        outline = ((2.0, 2.0), (30.0, 2.0), (30.0, 40.0), (2.0, 40.0))
        zone = dataclasses.replace(filled("zone", photo=shot.id, outline=outline, id="z1"), kind="writing")
        held = [
            named, zone, filled("view", photo=shot.id, id="v1"),
            filled("tracing", zone="z1", strokes=(((0.1, 0.1), (0.2, 0.2)),), id="t1"),
            filled("character", zones=("z1",), id="c1"),
            filled("inscription", photo=shot.id, columns=(("c1",),), id="i1"),
            filled("attempt", inscription="i1", id="a1", reader="Mori", status="preferred"),
            filled("person", id="m1"), filled("role", person="m1", role="maker", id="r1"),
            Person(OWNER, id="o1", aliases=(f"{OWNER} junior",), school="TellOwnerSchool", note="TellOwnerNote"),
            Role("o1", "owner", id="r2", note="TellOwnerRolenote"),
            filled("signature", id="g1", inscription="i1"), filled("specimen", zone="z1", person="m1", id="s1"),
            filled("specimen", photo=shot.id, id="s2"),
            filled("comparison", a="s1", b="s2", likeness=0.5, id="k1"),
            filled("example", vector=(0.5, 0.5), zone="z1", id="e1"), filled("source", id="q1"),
            filled("note", about="c1", id="n1"), filled("note", about="o1", text="TellOwnerAbout", id="n2"),
            filled("note", about="m1", text=f"{OWNER} said so, at {PLACE}: {SOURCE}", id="n3"),
            filled("date", inscription="i1", id="d1", first="1800-01-01", last="1800-12-31"),
            filled("region", photo=shot.id, outline=outline, id="x1"),
            filled("measure", zone="z1", width=0.4, width_error=0.05, id="w1")]
        known = {"photo": shot.id, "zone": "z1", "inscription": "i1", "character": "c1", "person": "m1", "about": "c1",
                 "reader": "Mori", "specimens": ("s1", "s2"), "a": "s1", "b": "s2"}
        for kind in set(KINDS) - {"piece", *SCHOOL_KINDS} - {kind_of(r) for r in held}:  # a kind that came later
            needs = {f.name for f in dataclasses.fields(KINDS[kind])}
            held.append(filled(kind, id=f"later-{kind}", **{n: v for n, v in known.items() if n in needs}))
        assert any(o.address == "TellSpecimenAddress" for r in held for o in getattr(r, "origins", ()))
        piece.save(*held, reason=f"told by {OWNER}", base=piece.contents)
        yield piece


def _all(piece, name):
    held = getattr(piece.contents, name)
    return held if isinstance(held, tuple) else (held,)


def words_of(piece) -> dict[str, str]:
    """Field -> word, of every word that really lies in the register."""
    found = {}
    text = "".join(r["body"] for r in _bodies(piece))
    for kind, cls in KINDS.items():
        for field in dataclasses.fields(cls):
            if word(kind, field.name) in text:
                found[f"{kind}.{field.name}"] = word(kind, field.name)
    return found


def _bodies(piece):
    from sqlalchemy import select

    from readaid.register.schema import revision

    return piece.register._read(lambda c: c.execute(select(revision)).mappings().all())


def unpacked(path: Path) -> list[bytes]:
    """The bytes of a file, of the files in it, and of their names."""
    out = [path.name.encode()]
    for file in sorted(path.rglob("*")) if path.is_dir() else [path]:
        data = file.read_bytes()
        out += [file.name.encode(), data]
        if file.suffix == ".parquet":
            import pandas as pd

            out.append(repr(pd.read_parquet(file).to_dict()).encode())
        if zipfile.is_zipfile(io.BytesIO(data)):
            with zipfile.ZipFile(io.BytesIO(data)) as archive:
                for name in archive.namelist():
                    out += [name.encode(), archive.read(name)]
    return out


BOTH = (("leiden", "en"), ("japanese", "ja"))


def ways_out(piece, folder: Path, blind: bool, spoken=BOTH) -> dict[str, list[bytes]]:
    """Everything that can leave a piece (the archive for keeping is another thing: it keeps all). An archive for others
    is never blind. ``spoken``: editions and languages of the reports.
    """
    found = {"archive for others": unpacked(piece.custody.archive(folder / f"bag-{blind}.zip", veiled=True)),
             "copy": unpacked(piece.custody.copy(folder / "a.zip", blind=blind)),
             "copy without photos": unpacked(piece.custody.copy(folder / "b.zip", blind=blind, photos=False)),
             "worksheet": unpacked(piece.custody.worksheet(folder / "w.html"))}
    for name in FORMATS:
        for edition, language in spoken:
            made = piece.report(name, folder / f"{edition}-{name}", edition=edition, language=language, blind=blind)
            found[f"{name} {edition}"] = unpacked(made)
    for name in ("xlsx", "parquet"):
        found[name] = unpacked(piece.report(name, folder / name, blind=blind))
    return found


def test_the_piece_is_full_of_words(full):
    """Of the fixture itself: a field that nobody filled would be proved by nothing."""
    words = words_of(full)
    assert len(words) > 60
    assert {kind_of(r) for name in ("piece", *PLURALS.values()) if name not in ("pieces", "schools", "studies")
            for r in _all(full, name)} == set(KINDS) - set(SCHOOL_KINDS)
    assert (full.folder / full.contents.photos[0].file).read_bytes().count(pictures.TELL.encode()) > 20


def test_a_blind_way_out_shows_no_word_of_anybody(full, tmp_path):
    words = {name: w for name, w in words_of(full).items() if name not in MAY}
    private = (OWNER, PLACE, SOURCE, "TellOwner", "TellPhotoName", "Mori told", pictures.TELL)
    for way, parts in ways_out(full, tmp_path, blind=True).items():
        if way.startswith("archive"):
            continue
        told = sorted({name for part in parts for name, w in words.items() if w.encode() in part})
        told += sorted({w for part in parts for w in private if w.encode() in part})
        assert told == [], way


def test_a_plain_way_out_shows_no_owner_place_or_camera(full, tmp_path):
    private = (OWNER, PLACE, SOURCE, "TellOwner", "TellSpecimenAddress", pictures.TELL)
    shown = set()
    for way, parts in ways_out(full, tmp_path, blind=False).items():
        assert sorted({w for part in parts for w in private if w.encode() in part}) == [], way
        if way != "worksheet":
            shown |= {name for part in parts for name, w in words_of(full).items() if w.encode() in part}
    assert len(shown) > 60, "what is not private leaves"
    assert any(TAKEN_OUT.encode() in part for part in unpacked(full.report("html", tmp_path / "m.html")))


def test_what_is_asked_for_leaves(full, tmp_path):
    for way in ("html", "xlsx"):
        parts = unpacked(full.report(way, tmp_path / way, private=True))
        assert any(OWNER.encode() in p for p in parts)
        assert any(PLACE.encode() in p for p in parts)
    parts = unpacked(full.custody.copy(tmp_path / "private.zip", private=True))
    assert any(pictures.TELL.encode() in p for p in parts)


def test_the_owner_stays_out_of_a_file_s_name(tmp_path):
    path = tmp_path / f"{OWNER} shelf 4.png"
    Image.fromarray(np.full((40, 60, 3), 90, np.uint8)).save(path)
    with readaid.new(tmp_path / "piece", reader="Mori", title="Lid") as piece:
        photo = piece.add_photo(path)
        piece.layout.draw(piece.layout.inscription("verse", photo), photo, rectangle(2, 2, 20, 20))
        piece.save(Person(OWNER, id="o"), Role("o", "owner"))
        for blind in (False, True):
            (tmp_path / str(blind)).mkdir()
            for way, parts in ways_out(piece, tmp_path / str(blind), blind, BOTH[:1]).items():
                assert not any(OWNER.encode() in p for p in parts), way
        assert piece.contents.photos[0].file == photo.file, "here it keeps its name"


def test_zones_and_their_order_stay_in_a_blind_copy(full, tmp_path):
    from readaid.copies.reader_copy import receive

    sent = full.custody.copy(tmp_path / "blind.zip", blind=True)
    receive(sent, tmp_path / "theirs")
    with readaid.open(tmp_path / "theirs", reader="Second") as theirs:
        c = theirs.contents
        assert [z.outline for z in c.zones] == [z.outline for z in full.contents.zones]
        assert [i.columns for i in c.inscriptions] == [i.columns for i in full.contents.inscriptions]
        assert c.photos[0].scale.mm_per_pixel == full.contents.photos[0].scale.mm_per_pixel
        assert theirs.check_photos() == []
        assert theirs.crop(c.zones[0]).shape[0] > 0


def test_a_second_reader_is_not_steered_by_the_first_one_s_signs(piece, verse):
    """The first reader labels a crop; the second one's proposals are as if nobody had."""
    _, character = piece.layout.draw(verse, piece.contents.photos[0], rectangle(100, 20, 60, 80))
    before = piece.decipherment.suggest(character)
    piece.decipherment.learn(character, "ぬ")
    assert piece.decipherment.suggest(character) != before
    with readaid.open(piece.folder, reader="Second") as second:
        assert second.decipherment.suggest(character) == before
        second.decipherment.learn(character, "ぬ")
        assert second.decipherment.suggest(character) != before


def test_every_way_out_asks_the_veil():
    """Read from the source: whoever writes what leaves imports it."""
    for name in ("copies/reader_copy.py", "copies/worksheet.py", "report/formats.py", "register/exports.py"):
        text = (Path(readaid.__file__).parent / name).read_text(encoding="utf-8")
        assert "from readaid.core.veil import" in text, name
