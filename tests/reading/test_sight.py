"""From what shape says to readings: likelihoods without the prior, zones split and joined, pieces left out.

The model's own answers are no subject here: sights are written by hand, but for one rendered verse.
"""

import math

import numpy as np
import pytest

from readaid.core.candidate import Suggestion
from readaid.core.character import Candidate, Character
from readaid.core.errors import TextError
from readaid.glyphs.candidates import Weighed, log_prior
from readaid.glyphs.classes import classes, index
from readaid.reading import shape_evidence, sight, stretches
from readaid.reading.shape_evidence import Option
from readaid.reading.stretches import Layout, Stretch
from readaid.script import voicing
from tests.photo import rendered

LETTER_KA = "\N{HENTAIGANA LETTER KA-2}"


def seen(none: float = 0.02, **probability: float) -> Weighed:
    ranked = sorted(probability.items(), key=lambda x: -x[1])
    return Weighed(tuple(Suggestion(c, classes()[index()[c]].sounds, p) for c, p in ranked), none, ())


def as_sure_of(sounds: str, sure: float = 0.9) -> Weighed:
    first, *rest = sounds
    return seen(**{first: sure, **{c: (1 - sure) / 2 / len(rest) for c in rest}})


def test_a_sign_that_one_lamp_leaves_dark_is_seen_under_another():
    page, boxes = rendered.line()
    dark = page.copy()
    x, y, w, h = (round(v) for v in boxes[1])
    dark[y - 2:y + h + 2, x - 2:x + w + 2] = np.median(page, (0, 1)).astype(np.uint8)
    alone = stretches.of_zones(dark, [boxes], "kana", free=False)
    both = stretches.of_zones(dark, [boxes], "kana", free=False, lamps=[page])
    clear = stretches.of_zones(page, [boxes], "kana", free=False)
    place = {s.first: s for s in both.stretches}
    assert place[1].lamp == 1, "told which picture shows it best"
    assert place[0].lamp == 0, "the first of equals"
    known = {s.first: s for s in clear.stretches}[1].seen.suggestions[0].character
    assert place[1].seen.suggestions[0].character == known
    less = [stretches.certainty(s.seen) for s in alone.stretches if s.first == 1]
    assert all(c < stretches.certainty(place[1].seen) for c in less)


def test_a_judged_sign_is_asked_nothing_and_keeps_what_its_reader_said():
    page, boxes = rendered.line()
    no = Character(zones=("z",), candidates=(Candidate("も", 0.9),))
    found = sight.read_zones(page, [boxes], form="prose", among="kana", k=1, judged={2: no})
    assert [s for s in found.layout.stretches if found.layout.zones[s.first] == 2] == []
    assert voicing.plain(found.solution.readings[0].kana) == "はるもやま"


# -- options ------------------------------------------------------------------------------------------
def test_the_prior_is_taken_out():
    """A crop that fits every class alike is told as the prior: what is left must favour nothing."""
    prior = np.exp(log_prior("kana"))
    each = [(c.letters[0] if c.kind == "letter" else c.character, c.sounds, float(prior[c.number])) for c in classes()]
    flat = Weighed(tuple(Suggestion(*e) for e in each if e[2] > 0), float(prior[-1]), ())
    fits = shape_evidence.likelihoods(flat, "kana")
    assert np.allclose(fits[prior > 0], 1.0)
    shares = [o.share for o in shape_evidence.options(flat, "kana")]
    assert max(shares) == pytest.approx(min(shares))


def test_letters_of_one_sound_are_one_option_written_with_the_likeliest():
    both = seen(**{"か": 0.30, LETTER_KA: 0.30, "や": 0.38})
    own = shape_evidence.options(both, "kana")
    assert [o.sign for o in own].count("か") == 1
    # the seldomer letter fits better once the prior is taken out
    assert next(o for o in own if o.sign == "か").written == LETTER_KA
    assert sum(o.share for o in own) == pytest.approx(1.0)


def test_a_parent_kanji_is_a_letter_and_a_kanji():
    own = shape_evidence.options(seen(none=0.01, 加=0.95), "all", kanji=0.5)
    assert {(o.sign, o.kanji) for o in own} == {("か", False), ("加", True)}
    assert not any(o.kanji for o in shape_evidence.options(seen(**{LETTER_KA: 0.95}), "kana"))


def test_the_weight_of_kanji_calls_none_back_that_is_unlikely():
    sure = seen(none=0.0, の=0.9999, 山=0.00001)
    assert [o.sign for o in shape_evidence.options(sure, "all", kanji=0.3, weight=100.0)] == ["の"]


def test_share_of_kanji_is_found_from_the_signs():
    kana, kanji = [seen(**{c: 0.95}) for c in "のるかむ"], [seen(**{c: 0.95}) for c in "風鳥雪花"]
    assert shape_evidence.kanji_share(kana, "all") < 0.15 < 0.85 < shape_evidence.kanji_share(kanji, "all")
    assert 0.4 < shape_evidence.kanji_share(kana + kanji, "all") < 0.6
    assert (shape_evidence.kanji_share(kanji, "kana"), shape_evidence.kanji_share(kana, "kanji")) == (0.0, 1.0)


def test_thinning_keeps_one_of_each_and_more_of_the_doubtful():
    sure = [Option("あ", "あ", 0.99), Option("い", "い", 0.01)]
    doubtful = [Option(c, c, 0.2) for c in "うえおかき"]
    kept = shape_evidence.thinned([sure, doubtful], [1.0, 1.0], 5)
    assert [len(k) for k in kept] == [1, 4]
    assert [len(k) for k in shape_evidence.thinned([sure, doubtful], [1.0, 1.0], 1)] == [1, 1]


# -- stretches ----------------------------------------------------------------------------------------
def test_odds_fall_with_none_and_with_a_strange_size():
    box, side = (0.0, 0.0, 40.0, 40.0), 40.0
    odds = [stretches.log_odds(seen(none=n, の=0.5), box, side) for n in (0.01, 0.3, 0.9)]
    assert odds == sorted(odds, reverse=True)
    assert odds[0] > 0 > odds[2]
    assert stretches.log_odds(seen(の=0.5), (0.0, 0.0, 8.0, 9.0), side) < odds[0] - 2


def laid(*parts: tuple[int, int, Weighed, float], pieces: int, left_out: float = 2.7) -> Layout:
    boxes = tuple((0.0, 50.0 * n, 40.0, 40.0) for n in range(pieces))
    return Layout(boxes, (left_out,) * pieces, (),
                  tuple(Stretch(a, b, (0.0, 50.0 * a, 40.0, 50.0 * (b - a)), s, odds) for a, b, s, odds in parts))


def kana(layout: Layout) -> str:
    lattice, _ = sight.build(layout, "kana", 0.0)
    return voicing.plain(sight.solve(lattice, "prose", k=1).readings[0].kana)


def test_two_halves_are_read_as_one_sign_where_that_is_likelier():
    ha, ru, halves = as_sure_of("はほ"), as_sure_of("るろ"), seen(none=0.6, こ=0.1, い=0.1)
    parts = ((0, 1, ha, 3.0), (1, 2, halves, -3.0), (2, 3, halves, -3.0), (1, 3, ru, 2.0))
    assert kana(laid(*parts, pieces=3)) == "はる"
    parts = ((0, 1, ha, 3.0), (1, 2, ru, 3.0), (2, 3, ru, 3.0), (1, 3, halves, -4.0))
    assert kana(laid(*parts, pieces=3)) == "はるる"


@pytest.mark.parametrize("place", [0, 1, 2])
def test_what_is_no_sign_is_left_out_wherever_it_stands(place):
    signs = [("はほ", 3.0), ("るろ", 3.0)]
    signs.insert(place, ("ちら", -5.0))
    parts = [(n, n + 1, as_sure_of(s, 0.3 if odds < 0 else 0.9), odds) for n, (s, odds) in enumerate(signs)]
    assert kana(laid(*parts, pieces=3)) == "はる"


def test_a_sure_sign_is_never_left_out_and_drawn_zones_neither():
    far = as_sure_of("ぬめ")
    assert len(kana(laid(*[(n, n + 1, far, 3.0) for n in range(3)], pieces=3))) == 3
    assert len(kana(laid(*[(n, n + 1, far, -6.0) for n in range(3)], pieces=3, left_out=math.inf))) == 3


def test_every_path_bears_the_same_constant():
    """Costs are odds and likelihoods but for LEVEL times the pieces: a whole path's is the same for all."""
    one, two = as_sure_of("はほ"), as_sure_of("るろ")
    layout = laid((0, 1, one, 1.0), (1, 2, two, 1.0), (0, 2, one, 0.5), pieces=2)
    lattice, own = sight.build(layout, "kana", 0.0)
    share = {(s.first, s.last, o.sign): o.share for s, options in own for o in options}

    def bare(first: int, last: int, sign: str, extra: float = 0.0) -> float:
        cost = min(a.cost for a in lattice.arcs if (a.start, a.end, a.kana) == (first, last, sign) and not a.reasons)
        return cost / 700 + math.log(share[first, last, sign]) + extra

    through = bare(0, 1, "は", 1.0) + bare(1, 2, "る", 1.0) + 2 * sight.GAIN
    across = bare(0, 2, "は", 0.5) + sight.GAIN
    assert through == pytest.approx(across) == pytest.approx(2 * sight.LEVEL)
    assert min(a.cost for a in lattice.arcs) > 0


def test_old_spelling_reaches_over_pieces_left_out_between_no_letters():
    """けふ is read きょう also where ふ is made of two pieces."""
    layout = laid((0, 1, as_sure_of("けは"), 3.0), (1, 3, as_sure_of("ふゐ"), 3.0), pieces=3)
    lattice, _ = sight.build(layout, "kana", 0.0)
    assert any(a.text == "きょう" and (a.start, a.end) == (0, 3) and a.kana == "けふ" for a in lattice.arcs)


# -- pictures -----------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def verse():
    """A line in ink, and the boxes of its signs."""
    return rendered.line()


def test_a_verse_is_read_from_its_zones_alone(verse):
    page, boxes = verse
    found = sight.read_zones(page, [boxes], form="prose", among="kana", free=False)
    assert voicing.plain(found.solution.readings[0].kana) == "はるのやま"
    assert found.boxes == tuple(boxes)
    assert found.kanji == 0.0


def test_a_zone_parted_and_a_zone_too_many_are_mended(verse):
    page, boxes = verse
    x, y, w, h = boxes[1]
    nothing = (50.0, 480.0, 40.0, 30.0)
    parted = [boxes[0], (x, y, w, h / 2), (x, y + h / 2, w, h / 2), *boxes[2:], nothing]
    found = sight.read_zones(page, [parted], form="prose", among="kana")
    assert voicing.plain(found.solution.readings[0].kana) == "はるのやま"
    assert len(found.boxes) == 5
    assert found.boxes[1] == pytest.approx(boxes[1])


def test_zones_without_a_stroke_say_so():
    with pytest.raises(TextError, match="No zone holds a stroke"):
        sight.read_zones(np.full((90, 90), 200, np.uint8), [[(10.0, 10.0, 40.0, 40.0)]])
    with pytest.raises(TextError, match="No zone holds a stroke"):
        sight.read_zones(np.full((90, 90), 200, np.uint8), [])


def test_a_wider_look_stops_at_the_neighbours():
    zones = [(10.0, 0.0, 40.0, 40.0), (10.0, 50.0, 40.0, 40.0), (10.0, 140.0, 40.0, 40.0)]
    x, y, w, h = stretches._wider(zones, 1, 40.0)
    assert (x, x + w) == (6.0, 54.0)
    assert (y, y + h) == (44.0, 106.0)
    assert stretches._wider(zones, 0, 40.0)[1:] == (-6.0, 48.0, 56.0)
    overlapping = [(0.0, 0.0, 40.0, 40.0), (0.0, 35.0, 40.0, 40.0)]
    assert stretches._wider(overlapping, 0, 40.0)[3] == 46.0
