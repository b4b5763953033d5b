"""Cautions at their place: each material named in the trade calls up its own, and only its own."""

import re

import pytest

import readaid
from readaid.core.condition import Layer
from readaid.core.entry import Allusion
from readaid.core.piece import DateRecord
from readaid.report.cautions import fitting, said

METAL, PATINA, LACQUER, REGULATED = "Lamps heat metal", "The colour of this alloy", "CIE 157", "rhinoceros horn"


@pytest.fixture
def bare(tmp_path):
    with readaid.new(tmp_path / "bare", reader="x", title="Bare") as piece:
        yield piece


def told(piece):
    return " ".join(fitting(piece.contents))


@pytest.mark.parametrize(("material", "expected"), [
    ("shakudō", {METAL, PATINA}), ("shibuichi ground", {METAL, PATINA}), ("sentoku", {METAL, PATINA}),
    ("四分一地", {METAL, PATINA}), ("砂張", {METAL}), ("iron", {METAL}), ("irons", {METAL}),
    ("walrus ivory", {REGULATED}), ("Rhinoceros horn", {REGULATED}), ("hornbill", {REGULATED}),
    ("coral bead", {REGULATED}), ("whale tooth", {REGULATED}),
    ("tortoiseshell", {REGULATED}), ("urushi on wood", {LACQUER}), ("boxwood", set()),
    ("environmental stain", set()), ("fashion", set()), ("testing", set()), ("golden brown wood", set())])
def test_a_material_calls_up_its_own_cautions(bare, material, expected):
    bare.describe(material=material)
    found = {w for w in (METAL, PATINA, LACQUER, REGULATED) if w in told(bare)}
    assert found == expected


def test_what_is_always_told(bare):
    """Common practice of the trade, no source."""
    words = told(bare)
    for said_so in ("Local law comes first", "no magnet", "Nothing is dismounted", "no flash and no laser",
                    "older treatment", "Read without touching", "Nitrile gloves"):
        assert said_so in words, said_so
    assert fitting(bare.contents)[0].startswith("Local law")


def test_fame_and_era_names_neither_date_nor_attribute(bare):
    assert "neither dates nor attributes" not in told(bare)
    bare.save(DateRecord("文政十二年", "1829-02-04", "1830-01-24", "文政", 12, ""))
    assert "An era name on a piece is what stands there" in told(bare)
    verse = bare.layout.inscription("verse", None)
    bare.write_up.write(verse, allusions=(Allusion("", "59 verses", "not traced"),))
    assert "neither dates nor attributes" not in told(bare)
    bare.write_up.write(verse, allusions=(Allusion("ふるいけや", "a collection", "the same"),))
    assert "neither dates nor attributes" in told(bare)


def test_a_layer_speaks_too(bare):
    bare.save(Layer("inlay", "gold"))
    assert METAL in told(bare)


def test_each_caution_once_in_the_report(bare):
    bare.describe(material="shakudo, gold inlay, iron", sensitive=("lacquer",))
    text = bare.report().read_text(encoding="utf-8")
    for caution in fitting(bare.contents):
        assert len(re.findall(re.escape(caution.replace("'", "&#x27;")), text)) == 1


def test_words_and_no_parts_of_words():
    assert said("tin", "tin foil")
    assert not said("tin", "tinted")
    assert said("赤銅", "赤銅魚子地")
