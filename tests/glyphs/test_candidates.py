"""Candidates by shape: what is promised of any crop, and what bad input is answered."""

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from PIL import Image

from readaid.core.candidate import Suggestion
from readaid.core.errors import OptionError, ShapeError
from readaid.glyphs.candidates import embed, suggest, suggest_many, weigh, weigh_many
from readaid.glyphs.classes import classes, index, sounds
from readaid.glyphs.references import reference, references

NEAR = 1e-6


def crop(character: str, hand: str = "regular") -> np.ndarray:
    return np.pad(reference(character, hand).picture, 6, constant_values=255)


def test_the_form_in_the_book_is_found():
    """Clean regular forms of kanji and kana come among five (the model was trained on this hand)."""
    wanted = "花風春山川水人月日年作銘東西南北金石竹松梅鶴亀国家道心手目口あいうえおかさたなはまやらわをんきしちに"
    found = [wanted[i] in [s.character for s in one] for i, one in
             enumerate(suggest_many([crop(c) for c in wanted], k=5))]
    assert np.mean(found) >= 0.95


@pytest.mark.parametrize("among", ["all", "kana", "kanji"])
def test_filters_and_sums(among):
    for character in "花あ者アん":
        seen = weigh(crop(character), k=5000, among=among)
        total = sum(s.probability for s in seen.suggestions) + seen.none
        assert total == pytest.approx(1, abs=NEAR)
        assert all(0 < s.probability <= 1 for s in seen.suggestions)
        order = [s.probability for s in seen.suggestions]
        assert order == sorted(order, reverse=True)
        kinds = {classes()[index()[s.character]].kind for s in seen.suggestions}
        assert kinds <= {"all": {"hiragana", "katakana", "letter", "kanji"}, "kana": {"hiragana", "katakana", "letter"},
                         "kanji": {"kanji", "letter"}}[among]
        if among == "kana":
            assert all(s.sounds for s in seen.suggestions)
            assert sum(p for _, p in seen.sounds) + seen.none == pytest.approx(1, abs=NEAR)
        assert {s for s, _ in seen.sounds} <= set(sounds())


def test_hentaigana_are_shown_as_letters_among_kana_and_as_kanji_else():
    """者 is a parent of the hentaigana は (Unicode names list); drawn as the Unicode charts draw the letter."""
    page = crop("者", "letter")
    kana, every = suggest(page, among="kana"), suggest(page)
    assert index()[kana[0].character] == index()["者"]
    assert kana[0].character in classes()[index()["者"]].letters
    assert any(s.character == "者" and s.sounds == ("は",) for s in every)


def test_polarity_does_not_matter():
    for character in "花あ者一":
        dark = crop(character)
        one, two = suggest(dark), suggest(255 - dark)
        assert [s.character for s in one] == [s.character for s in two]
        assert np.allclose([s.probability for s in one], [s.probability for s in two], atol=1e-3)


def test_same_answer_every_time_and_in_batches():
    pages = [crop(c) for c in "花あ者"]
    assert suggest(pages[0]) == suggest(pages[0])
    for alone, together in zip([weigh(p) for p in pages], weigh_many(pages), strict=True):
        assert [s.character for s in alone.suggestions] == [s.character for s in together.suggestions]
        assert alone.none == pytest.approx(together.none, abs=1e-5)


def test_every_kind_of_image_gives_the_same_answer(tmp_path):
    page = crop("花")
    rgb = np.repeat(page[..., None], 3, axis=2)
    Image.fromarray(page).save(tmp_path / "crop.png")
    want = [s.character for s in suggest(page)]
    for image in (rgb, Image.fromarray(page), Image.fromarray(rgb), tmp_path / "crop.png", str(tmp_path / "crop.png"),
                  np.asfortranarray(page), page.astype(np.float32) / 255, page.astype(np.uint16) * 257):
        assert [s.character for s in suggest(image)] == want


def test_size_and_margin_matter_little():
    page = crop("花")
    large = np.kron(page, np.ones((12, 12), np.uint8))
    wide = np.pad(page, ((30, 10), (5, 40)), constant_values=255)
    for other in (large, wide):
        assert suggest(other)[0].character == suggest(page)[0].character


def test_k_is_kept_and_checked():
    assert [len(suggest(crop("花"), k=k)) for k in (1, 3, 10)] == [1, 3, 10]
    for k in (0, -1, 2.5, True, "3"):
        with pytest.raises(OptionError, match="k is"):
            suggest(crop("花"), k=k)


def test_unknown_option_is_answered_with_the_nearest_name():
    with pytest.raises(OptionError, match="did you mean 'kanji'"):
        suggest(crop("花"), among="kanjis")


@pytest.mark.parametrize(("bad", "words"), [
    (np.zeros((0, 0), np.uint8), "shape"), (np.zeros((40, 0), np.uint8), "shape"),
    (np.full((40, 40), 128, np.uint8), "no stroke"), (np.zeros((40, 40), np.uint8), "no stroke"),
    (np.zeros((2, 2), np.uint8), "too small"), (np.full((40, 40), np.nan), "not numbers"),
    (np.full((40, 40), np.inf, np.float32), "not numbers"), (np.zeros((3, 4, 5, 6), np.uint8), "shape"),
    (np.array([["a", "b"]]), "no picture"), (np.full((40, 40), 5000, np.int64), "no picture"),
    (np.full((40, 40), 1j), "no picture"), (np.broadcast_to(np.uint8(9), (20000, 20000)), "large"),
], ids=lambda v: "" if isinstance(v, str) else f"{v.dtype}{v.shape}")
def test_bad_arrays(bad, words):
    with pytest.raises(ShapeError, match=words):
        suggest(bad)


def test_bad_files(tmp_path):
    (tmp_path / "a.txt").write_text("no picture")
    (tmp_path / "b.png").write_bytes(b"")
    for path in (tmp_path / "a.txt", tmp_path / "b.png", tmp_path / "none.png", tmp_path):
        with pytest.raises(ShapeError):
            suggest(path)


def test_one_dot_is_answered_without_certainty():
    page = np.full((60, 60), 255, np.uint8)
    page[30, 30] = 0
    seen = weigh(page)
    assert isinstance(seen.suggestions[0], Suggestion)
    assert all(np.isfinite(s.probability) for s in seen.suggestions)


@settings(max_examples=25, deadline=None)
@given(arrays.arrays(np.uint8, st.tuples(st.integers(4, 90), st.integers(4, 90))),
       st.sampled_from(["all", "kana", "kanji"]))
def test_any_picture_gives_probabilities_or_one_error(page, among):
    try:
        seen = weigh(page, among=among)
    except ShapeError:
        return
    assert 0 <= seen.none <= 1
    assert sum(s.probability for s in seen.suggestions) + seen.none <= 1 + NEAR


def test_texture_without_writing_leans_to_none_of_these():
    """Plain noise (a ground with no cut) gets a larger share of "none of these" than any clean form does."""
    noise = np.random.default_rng(3).integers(90, 160, (60, 60)).astype(np.uint8)
    assert weigh(noise).none > 0.5 > max(weigh(crop(c)).none for c in "花あ者")


def test_embedding_is_a_unit_vector():
    assert np.linalg.norm(embed(crop("花"))) == pytest.approx(1, abs=1e-5)


def test_html_of_an_answer_names_every_candidate():
    html = weigh(crop("花"), k=3)._repr_html_()
    assert html.count("<tr>") == 5
    assert "none of these" in html


def test_reference_picture_is_a_png():
    assert Image.open(io.BytesIO(reference("花", "grass").png(2))).size == (96, 96)
    assert references("\N{SNOWMAN}") == ()
    with pytest.raises(OptionError, match="did you mean 'grass'"):
        reference("花", "gras")
