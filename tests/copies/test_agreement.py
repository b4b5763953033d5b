"""Agreement and calibration, against published examples and the ``krippendorff`` package."""

import math

import numpy as np
import pytest
from lxml import etree

from readaid.copies import agreement, calibration, reader_copy
from readaid.core.attempt import Attempt
from readaid.core.character import Candidate, Character, Inscription
from readaid.core.confidence import Status
from readaid.core.errors import OptionError, RegisterError
from readaid.core.piece import Piece
from readaid.register.book import Register

# Four observers, twelve units: K. Krippendorff, "Computing Krippendorff's Alpha-Reliability" (2011), section C.
FOUR = [[1, 2, 3, 3, 2, 1, 4, 1, 2, None, None, None],
        [1, 2, 3, 3, 2, 2, 4, 1, 2, 5, None, 3],
        [None, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, None],
        [1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, None]]


@pytest.mark.parametrize(("level", "published"), [("nominal", 0.743), ("ordinal", 0.815), ("interval", 0.849),
                                                  ("ratio", 0.797)])
def test_the_worked_example(level, published):
    rows = list(zip(*FOUR, strict=True))
    assert round(agreement.alpha(rows, level), 3) == published


@pytest.mark.parametrize("level", agreement.LEVELS)
def test_equal_to_the_package(level):
    krippendorff = pytest.importorskip("krippendorff")
    chance = np.random.default_rng(3)
    for _ in range(25):
        data = chance.integers(1, 6, (chance.integers(2, 5), 20)).astype(float)
        data[chance.random(data.shape) < 0.25] = np.nan
        theirs = krippendorff.alpha(reliability_data=data, level_of_measurement=level)
        assert agreement.alpha(data.T.tolist(), level) == pytest.approx(theirs, abs=1e-12)


def test_words_in_order_are_ordinal():
    order = ["intact", "worn", "traces", "lost"]
    words = [("intact", "worn"), ("lost", "lost"), ("worn", "worn"), ("traces", "lost")]
    numbers = [[order.index(w) for w in row] for row in words]
    assert agreement.alpha(words, "ordinal", order) == pytest.approx(agreement.alpha(numbers, "ordinal"))
    with pytest.raises(OptionError, match="not in the order"):
        agreement.alpha([("intact", "gone")], "ordinal", order)
    with pytest.raises(OptionError, match="did you mean 'ordinal'"):
        agreement.alpha(words, "ordnal")


def test_edges():
    assert math.isnan(agreement.alpha([("か", None)]))
    assert agreement.alpha([("か", "か"), ("か", "か")]) == 1.0
    assert agreement.alpha([("a", "b"), ("b", "a")]) < 0, "worse than chance"
    assert math.isnan(agreement.plain([]))


def test_the_interval_holds_the_value_and_narrows_with_more_units():
    chance = np.random.default_rng(1)

    def rows(count):
        truth = chance.integers(0, 30, count)
        return [(int(t), int(t) if chance.random() < 0.8 else int(chance.integers(0, 30))) for t in truth]

    few, many = rows(20), rows(400)
    for data in (few, many):
        low, high = agreement.interval(data)
        assert low <= agreement.alpha(data) <= high
        assert (low, high) == agreement.interval(data), "the same seed, the same interval"
    assert np.diff(agreement.interval(many)) < np.diff(agreement.interval(few))


def test_many_categories_make_alpha_and_plain_nearly_equal():
    """As the trade expects with some twenty characters of many kinds (common practice, no source)."""
    signs = "あいうえおかきくけこさしすせそたちつてと"
    rows = [(s, s) for s in signs[:17]] + [("な", "に"), ("ぬ", "ね"), ("の", "は")]
    assert abs(agreement.alpha(rows) - agreement.plain(rows)) < 0.02


@pytest.fixture
def two_readers(tmp_path):
    """Aki read six characters, Bun read them from a blind copy."""
    ids = [f"c{i}" for i in range(6)]
    with Register.open(tmp_path / "a.sqlite") as register:
        register.save(Piece("tray", id="p"), reader="Aki")
        register.save_all([Inscription(id="i", columns=(tuple(ids[:3]), tuple(ids[3:]))),
                           *(Character((f"z{i}",), (Candidate(s, 0.8),), id=i)
                             for i, s in zip(ids, "きくのか𛀁を", strict=True))], reader="Aki")
        reader_copy.receive(reader_copy.write(register, tmp_path / "c.zip", blind=True), tmp_path / "b")
        with Register.open(tmp_path / "b") as other:
            for id, sign in zip(ids, "きうのかえ?", strict=True):
                if sign != "?":
                    other.save(Character((f"z{id}",), (Candidate(sign, 0.6),), id=id), reader="Bun")
            other.save(Attempt("i", "きうの\nかえ?", reader="Bun"), reader="Bun")
            back = reader_copy.write(other, tmp_path / "back.zip")
        register.save(Attempt("i", "x", chosen=tuple(zip(ids, "きくのかえを", strict=True)), id="a"), reader="Aki")
        reader_copy.merge(register, back, "Aki")
        yield register


def test_agreement_per_character(two_readers):
    found = agreement.characters(two_readers)
    assert found.readers == ("Aki", "Bun")
    assert found.units == 5
    assert found.plain == pytest.approx(3 / 5), "く/う and 𛀁/え differ as signs"
    assert found.table["agree"].tolist()[:5] == [True, False, True, True, False]
    assert found.table.index[1] == "column 1, character 2"
    assert found.low <= found.alpha <= found.high
    assert agreement.characters(two_readers, "sound").plain == pytest.approx(4 / 5)
    assert agreement.characters(two_readers, "damage").level == "ordinal"
    assert "alpha" in found._repr_html_()
    with pytest.raises(OptionError, match="did you mean 'sound'"):
        agreement.characters(two_readers, "sounds")


def test_a_merge_is_not_the_mergers_own_reading(two_readers):
    """Aki's merge added Bun's う beside く; Aki still reads く."""
    assert agreement.characters(two_readers).table["Aki"].tolist() == ["き", "く", "の", "か", "𛀁", "を"]


def test_agreement_per_reading(two_readers):
    two_readers.save(Attempt("i", "other", id="old", status=Status.SET_ASIDE), reader="Bun")
    attempts = two_readers.all("attempt")
    assert {a.reader for a in attempts} == {"", "Bun"}
    found = agreement.readings(two_readers)
    assert found.units == 5
    assert found.plain == pytest.approx(4 / 5)


def test_no_characters_yet(tmp_path):
    with Register.open(tmp_path) as register, pytest.raises(RegisterError, match="no characters yet"):
        agreement.characters(register)


# -- calibration --------------------------------------------------------------------------------------------------
def test_brier_and_its_bounds():
    """Definition by hand; always 0.5 gives 0.25 whatever happens (G. W. Brier, 1950)."""
    assert calibration.brier([(0.5, True), (0.5, False)]) == 0.25
    assert calibration.brier([(1.0, True), (0.0, False)]) == 0.0
    assert calibration.brier([(0.7, True), (0.2, False), (0.9, False)]) == pytest.approx((0.09 + 0.04 + 0.81) / 3)


@pytest.mark.parametrize(("right", "of"), [(0, 5), (5, 5), (8, 10), (40, 100)])
def test_wilson_interval(right, of):
    """Against SciPy's own."""
    from scipy.stats import binomtest

    theirs = binomtest(right, of).proportion_ci(method="wilson")
    assert calibration.wilson(right, of) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_steps_follow_the_words_and_hold_everyone():
    pairs = [(c / 20, c % 3 == 0) for c in range(21)]
    found = calibration.measure("Aki", pairs)
    assert [s.word for s in found.steps] == ["guess", "unsure", "probable", "certain"]
    assert sum(s.count for s in found.steps) == 21
    assert found.frame().loc["guess", "count"] == 8
    assert "too sure by" in found.sentence
    assert "too few" in calibration.measure("Aki", pairs[:3]).sentence


def test_each_reader_is_measured_on_what_was_settled(two_readers):
    with pytest.raises(RegisterError, match="Nothing is settled"):
        calibration.readers(two_readers)
    ids = [f"c{i}" for i in range(6)]
    chosen = tuple(zip(ids, "きうのか𛀁を", strict=True))
    two_readers.save(Attempt("i", "x", chosen=chosen, status=Status.SETTLED, id="a"), reader="Aki")
    by_reader = {c.reader: c for c in calibration.readers(two_readers)}
    assert by_reader["Aki"].judged == 6
    assert by_reader["Aki"].brier == pytest.approx((5 * 0.04 + 0.64) / 6)
    assert by_reader["Bun"].judged == 5
    assert by_reader["Bun"].brier == pytest.approx((4 * 0.16 + 0.36) / 5)
    two_readers.save(Character((), (Candidate("う", 0.99),), id="c1"), reader="Aki", reason="after the fact")
    assert {c.reader: c.judged for c in calibration.readers(two_readers)} == {"Aki": 6, "Bun": 5}
    assert next(c for c in calibration.readers(two_readers) if c.reader == "Aki").brier == by_reader["Aki"].brier


def test_the_plot_is_well_formed_and_names_are_text():
    found = calibration.measure("<script>", [(0.9, True), (0.3, False)])
    root = etree.fromstring(found.svg().encode())
    assert len(root.findall("{*}circle")) == 2
    assert "<script" not in found._repr_html_()
