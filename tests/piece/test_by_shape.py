"""Readings where shape speaks for the signs that nobody has judged."""

import pytest
from PIL import Image

import readaid
from readaid.core.errors import OptionError
from readaid.core.photo import rectangle
from readaid.script import voicing
from tests.photo import rendered


@pytest.fixture
def line(tmp_path):
    """A piece with one line in ink, a zone for each sign, nothing judged."""
    page, boxes = rendered.line()
    Image.fromarray(page).save(tmp_path / "line.png")
    with readaid.new(tmp_path / "piece", reader="Mori", title="Lid") as opened:
        opened.add_photo(tmp_path / "line.png", surface="front")
        photo = opened.contents.photos[0]
        verse = opened.layout.inscription("verse", photo, form="prose")
        for box in boxes:
            opened.layout.draw(verse, photo, rectangle(*box))
        yield opened, verse


def test_signs_nobody_judged_are_read_by_shape_and_nothing_is_saved(line):
    piece, verse = line
    before = piece.register.version
    found = piece.decipherment.solve(verse, by_shape="kana")
    assert voicing.plain(found.readings[0].kana) == "はるのやま"
    assert piece.register.version == before
    assert not any(c.candidates for column in piece.decipherment.characters(verse) for c in column)
    assert sum(s.probability for s in found.shares if s.at == 1) == pytest.approx(1.0, abs=0.02)


def test_what_the_reader_judged_stands(line):
    piece, verse = line
    second = piece.decipherment.characters(verse)[0][1]
    piece.decipherment.tag(second, "な", 0.9)
    found = piece.decipherment.solve(verse, by_shape="kana")
    assert voicing.plain(found.readings[0].kana) == "はなのやま"
    assert {s.character for s in found.shares if s.at == 1} == {"な"}


def test_an_unknown_kind_of_signs_is_refused(line):
    piece, verse = line
    with pytest.raises(OptionError, match="did you mean 'kana'"):
        piece.decipherment.solve(verse, by_shape="kanas")
