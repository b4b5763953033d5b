"""Readings where shape speaks for the signs that nobody has judged."""

import pytest
from PIL import Image

import readaid
from readaid.core.errors import OptionError
from readaid.core.photo import rectangle
from readaid.piece.claims import GUESS
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
    piece.change(piece.contents.zones[3], note=GUESS)
    before = piece.register.version
    found = piece.decipherment.propose_reading(verse, among="kana")
    assert voicing.plain(found.readings[0].kana) == "はるのやま"
    assert piece.register.version == before
    assert not any(c.candidates for column in piece.decipherment.characters(verse) for c in column)
    assert sum(s.probability for s in found.solution.shares if s.at == 1) == pytest.approx(1.0, abs=0.02)
    assert found.notes[0].startswith("Sign 4 is not to be seen: its place is a guess"), "told, though it was read"


def test_what_the_reader_judged_stands(line):
    piece, verse = line
    second = piece.decipherment.characters(verse)[0][1]
    piece.decipherment.tag(second, "な", 0.9)
    found = piece.decipherment.propose_reading(verse, among="kana")
    assert voicing.plain(found.readings[0].kana) == "はなのやま"
    assert {s.character for s in found.solution.shares if s.at == 1} == {"な"}


def test_an_unknown_kind_of_signs_is_refused(line):
    piece, verse = line
    with pytest.raises(OptionError, match="did you mean 'kana'"):
        piece.decipherment.propose_reading(verse, among="kanas")


def test_what_shape_read_is_never_kept_as_a_judgement(line):
    """Whoever calls ``keep``, a sign that nobody judged is unread in the attempt: the rule lives below the screen."""
    piece, verse = line
    signs = piece.decipherment.characters(verse)[0]
    piece.decipherment.tag(signs[0], "は", 0.9)
    best = piece.propose_reading(verse, among="kana").readings[0]
    kept = piece.decipherment.keep(verse, best)
    assert [sign for _, sign in kept.chosen] == ["は", "", "", "", ""]
    assert kept.written == "は????"
    assert "4 signs from shape alone, judged by nobody" in str(kept.reasons[0])
    assert kept.kana == best.kana, "what was proposed is told, as a proposal"


def test_one_way_from_python_command_line_and_bench(line):
    """The board, the command and the bench see the same zones and say the same."""
    import json

    import numpy as np
    from click.testing import CliRunner

    from readaid.cli import main
    from readaid.reading import sight

    piece, verse = line
    here = piece.propose_reading(verse, k=1, time_limit=None)
    _, boxes = rendered.line()
    pixels = np.asarray(Image.open(piece.folder / piece.contents.photos[0].file).convert("RGB"))
    bench = sight.read_zones(pixels, [boxes], form="prose", k=1)
    assert bench.solution.readings[0].kana == here.readings[0].kana
    told = CliRunner().invoke(main, ["propose", str(piece.folder), "-k", "1", "--json"])
    assert told.exit_code == 0, told.output
    assert json.loads(told.output)["solution"]["readings"][0]["kana"] == here.readings[0].kana


def test_a_zone_round_two_signs_holds_both_and_says_so(tmp_path):
    page, boxes = rendered.line("はるのやま")
    both = (min(boxes[1][0], boxes[2][0]), boxes[1][1], max(boxes[1][2], boxes[2][2]),
            boxes[2][1] + boxes[2][3] - boxes[1][1])
    Image.fromarray(page).save(tmp_path / "line.png")
    with readaid.new(tmp_path / "piece", reader="Mori", title="Lid") as piece:
        piece.add_photo(tmp_path / "line.png", surface="front")
        photo = piece.contents.photos[0]
        verse = piece.layout.inscription("verse", photo, form="prose")
        for box in (boxes[0], both, *boxes[3:]):
            piece.layout.draw(verse, photo, rectangle(*box))
        first = piece.decipherment.characters(verse)[0][0]
        piece.decipherment.tag(first, "は", 1.0)
        found = piece.propose_reading(verse, among="kana")
    assert voicing.plain(found.readings[0].kana) == "はるのやま"
    assert [voicing.plain(c) for c in found.readings[0].chosen] == ["は", "るの", "や", "ま"]
    assert found.by_shape == {1, 2, 3}
    assert "Zone 2 seems to hold two signs." in found.notes
