"""The user's own labelled crops, look-alikes and the pictures beside them."""

import io

import numpy as np
import pytest
from PIL import Image

from readaid.core.errors import OptionError, ShapeError, TableError
from readaid.glyphs.candidates import suggest, weigh
from readaid.glyphs.classes import index
from readaid.glyphs.examples import Examples
from readaid.glyphs.lookalikes import lookalikes, picture, read
from readaid.glyphs.references import closest, reference, references


def strokes(seed: int) -> np.ndarray:
    """A sign no font has: level and upright bars from a seed."""
    rng = np.random.default_rng(seed)
    page = np.full((80, 80), 250, np.uint8)
    for _ in range(4):
        a, b = np.sort(rng.integers(8, 72, 2))
        at = int(rng.integers(10, 70))
        if rng.random() < 0.5:
            page[at:at + 4, a:b + 6] = 10
        else:
            page[a:b + 6, at:at + 4] = 10
    return page


def test_one_example_lifts_the_sign_at_once():
    page = strokes(1)
    mine = Examples()
    assert "我" not in [s.character for s in suggest(page, k=3)]
    mine.add(page, "我")
    shaken = np.roll(page, (2, -1), (0, 1))
    seen = weigh(shaken, examples=mine)
    assert seen.suggestions[0].character == "我"
    assert seen.suggestions[0].source == "example"
    assert sum(s.probability for s in seen.suggestions) + seen.none <= 1 + 1e-6


def test_an_example_far_away_changes_nothing():
    mine = Examples()
    mine.add(reference("一", "regular").picture, "一")
    page = reference("鶴", "regular").picture
    assert suggest(page, examples=mine) == suggest(page)


def test_a_name_the_model_does_not_know():
    mine = Examples()
    mine.add(strokes(2), "monogram of the house")
    first = suggest(strokes(2), examples=mine)[0]
    assert (first.character, first.sounds) == ("monogram of the house", ())


def test_an_example_of_another_kind_is_left_out():
    mine = Examples()
    mine.add(strokes(3), "鶴")
    assert "鶴" not in [s.character for s in suggest(strokes(3), k=500, among="kana", examples=mine)]


def test_kana_example_shown_as_letter_and_its_sound_rises():
    mine = Examples()
    mine.add(strokes(4), "者")
    before = dict(weigh(strokes(4), among="kana").sounds).get("は", 0)
    seen = weigh(strokes(4), among="kana", examples=mine)
    assert index()[seen.suggestions[0].character] == index()["者"]
    assert dict(seen.sounds)["は"] > before


def test_arrays_go_round():
    mine = Examples()
    mine.add(strokes(1), "我")
    mine.add(strokes(2), "花")
    held = io.BytesIO()
    np.savez(held, **mine.arrays())
    held.seek(0)
    again = Examples.from_arrays(np.load(held))
    assert again.characters == mine.characters
    assert suggest(strokes(1), examples=again) == suggest(strokes(1), examples=mine)
    again.remove(0)
    assert again.characters == ("花",)


def test_bad_examples():
    mine = Examples()
    with pytest.raises(ShapeError, match="no character"):
        mine.add(strokes(1), " ")
    with pytest.raises(ShapeError, match="no stroke"):
        mine.add(np.full((40, 40), 9, np.uint8), "我")
    with pytest.raises(ShapeError, match="no such example"):
        mine.remove(0)
    for bad in ({}, {"vectors": np.zeros((2, 128)), "characters": np.array(["a"])},
                {"vectors": np.zeros((2, 3)), "characters": np.array(["a", "b"])},
                {"vectors": np.full((1, 128), np.nan), "characters": np.array(["a"])}):
        with pytest.raises(ShapeError, match="cannot be read"):
            Examples.from_arrays(bad)
    assert len(mine) == 0


@pytest.mark.parametrize(("one", "other"), [("工", "エ"), ("ろ", "る"), ("る", "ろ"), ("末", "未")])
def test_known_lookalikes(one, other):
    """Pairs every primer warns of (common practice, no source)."""
    known = [a.character for a in lookalikes(one)] + [a.character for a in lookalikes(other)]
    assert other in known or one in known


def test_lookalikes_are_ordered_and_never_the_character_itself():
    for character in "あろるは末川":
        held = lookalikes(character)
        assert character not in [a.character for a in held]
        assert [a.share for a in held] == sorted((a.share for a in held), reverse=True)
    assert lookalikes("\N{SNOWMAN}") == ()
    with pytest.raises(OptionError, match="k is"):
        lookalikes("あ", 0)


def test_lookalike_picture_has_one_column_each():
    sheet = Image.open(io.BytesIO(picture("ろ", k=4, scale=1)))
    assert sheet.size == (48 * (1 + len(lookalikes("ろ", 4))) + 4, 144)


def test_faulty_lookalike_rows_are_told_at_once(tmp_path):
    path = tmp_path / "l.tsv"
    path.write_text("character\tother\tshare\nあ\tあ\t0.5\nあ\tお\t2\nお\tか\tx\n", encoding="utf-8")
    with pytest.raises(TableError, match=r"row 2.*row 3.*row 4"):
        read(path)


def test_closest_reference_is_of_the_character_asked():
    seen = closest(reference("花", "grass").picture, "花")
    assert (seen.character, seen.hand) == ("花", "grass")
    assert seen.likeness == pytest.approx(1, abs=1e-3)
    assert closest(strokes(1), "\N{SNOWMAN}") is None
    assert len(references("者")) == 4
