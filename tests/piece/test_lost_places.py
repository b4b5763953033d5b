"""Places where it is not known how many signs are lost: the search reads round them, the entry tells them."""

import pytest
from PIL import Image

import readaid
from readaid.core.character import Candidate, Character
from readaid.core.confidence import Damage
from readaid.core.entry import Allusion
from readaid.core.errors import LatticeError, TextError
from readaid.core.photo import rectangle
from readaid.core.reading import VerseMatch
from readaid.piece import lost_places


def gap(least, most):
    return Character(damage=Damage.LOST, missing=(least, most))


def signs(text):
    return [Character(candidates=(Candidate(c, 0.97),)) for c in text]


@pytest.fixture
def pond(tmp_path):
    """A verse by Matsuo Basho (1686; 5-7-5 beyond doubt), unvoiced; a place that may hold no sign where / stands."""
    Image.new("RGB", (600, 400)).save(tmp_path / "front.jpg")

    def made(text, missing=(0, 1)):
        piece = readaid.new(tmp_path / "pond", reader="Aki", title="Lid")
        photo = piece.add_photo(tmp_path / "front.jpg")
        verse = piece.layout.inscription("verse", photo, form="hokku")
        columns = [[rectangle(400 - 70 * c, 20 + 60 * n, 50, 50) for n in range(min(6, len(text) - 6 * c))]
                   for c in range((len(text) + 5) // 6)]
        piece.layout.draw_columns(verse, photo, columns)
        for record, sign in zip(piece.contents.inscriptions[0].characters, text, strict=True):
            if sign == "/":
                piece.decipherment.mark(record, damage=Damage.LOST, missing=missing)
            else:
                piece.decipherment.tag(record, sign, 0.97)
        return piece, piece.contents.inscriptions[0]
    return made


def test_nothing_is_put_where_nothing_need_be_lost(pond):
    """Seventeen signs and a place that may hold none: the verse is whole without it, in the metre it is known in."""
    piece, verse = pond("ふるいけや/かはつとひこむみつのおと")
    with piece:
        best = piece.decipherment.solve(verse, k=1).readings[0]
        assert (best.kana, best.morae) == ("ふるいけやかはづとびこむみづのおと", (5, 7, 5))
        assert best.restored == ()
        assert len(best.chosen) == 18, "places stay those of the inscription"
        assert best.chosen[5] == ""
        assert best.chosen[6] == "か"
        entry = piece.write_up.propose(verse, known=False)
        assert entry.not_read == "0 to 1 signs lost at sign 6: nothing is supplied"


def test_what_is_lacking_is_supplied_and_told_as_such(pond, monkeypatch):
    """Sixteen signs of a hokku and a gap: one more is supplied, and the entry says that nobody saw it."""
    monkeypatch.setattr(lost_places, "UNKNOWN", 1)  # fewer ways to search: what is told stays the same
    piece, verse = pond("ふるいけやかはつと/こむみつのおと", (0, 0))
    with piece:
        best = piece.decipherment.solve(verse, k=1).readings[0]
        (supplied,) = best.restored
        assert supplied.at == 9
        said = f"an unknown number of signs lost at sign 10: {supplied.kana} is supplied from the context"
        assert piece.write_up.propose(verse, known=False).not_read == said
        piece.write_up.write(verse, not_read=said, allusions=(Allusion("", "3,000 verses that come with readaid"),))
        japanese = piece.report(language="ja", part="entry").read_text(encoding="utf-8")
        assert f"第10字の箇所欠字数不明: 前後から「{supplied.kana}」を補う" in japanese
        assert "readaidに付属する3,000首" in japanese
        assert "supplied from" not in japanese


def test_every_way_is_tried_until_there_are_too_many():
    def kept(columns):
        return [places for _, places in lost_places.ways(columns)]
    a, b = signs("かな")
    assert kept([[a, gap(0, 2), b]]) == [[0, 1, 2], [0, 2]]
    assert kept([[a, gap(0, 2)], [gap(0, 0)]]) == [[0, 1, 2], [0, 2], [0, 1], [0]]
    assert kept([[gap(0, 1), gap(0, 1), gap(0, 1), b]]) == [[0, 1, 2, 3], [3]]
    assert kept([[gap(0, 1)]]) == [[0]], "a way without any sign is none"
    assert kept([[a, gap(1, 2)]]) == [[0, 1]]
    (columns, _), *_ = lost_places.ways([[a, gap(0, 0)]])
    assert columns[0][1].missing == (1, 7), "a line of verse at most"


def test_all_ways_together_keep_to_the_time_given(monkeypatch):
    limits = []

    def timed(signs, form, k, time_limit):
        limits.append(time_limit)
        raise LatticeError("no way")

    monkeypatch.setattr("readaid.reading.solve.solve", timed)
    for columns in ([signs("かな")], [[*signs("か"), gap(0, 2)], [gap(0, 0)]]):
        with pytest.raises(LatticeError, match="no way"):
            lost_places.solved(columns, None, 1, 10.0)
    assert limits == [10.0, 2.5, 2.5, 2.5, 2.5]


def test_the_nearest_verse_is_that_of_the_way_that_comes_nearest():
    """What stands without the gap is the verse itself; with a sign in it, one more than the verse has."""
    def find(given):
        many = sum(c.missing[0] for c in given if not c.candidates)
        return [VerseMatch("x", "", "", "", "a variant", float(many), (), 0.5)]
    assert lost_places.nearest_verses([signs("かな"), [gap(0, 3)]], find)[0].distance == 0.0


def test_a_worn_sign_that_was_read_is_no_open_place():
    read = Character(candidates=(Candidate("か", 0.6),), damage=Damage.LOST, missing=(0, 3))
    assert lost_places.open_places([read, gap(0, 1), gap(1, 1)]) == [1]


def test_an_inscription_without_a_sign_says_so(tmp_path):
    with readaid.new(tmp_path / "p", reader="Mori") as piece:
        empty = piece.layout.inscription("verse")
        for ask in (piece.decipherment.solve, piece.propose_reading):
            with pytest.raises(TextError, match="nothing to read"):
                ask(empty)
        assert piece.decipherment.known(empty) == []
