"""The door of reading: wrong types and masses are refused in words, before anything is searched; the time is kept."""

import itertools
import math
import time

import numpy as np
import pytest

from readaid.core.character import Candidate, Character
from readaid.core.errors import LatticeError, OptionError, ReadaidError, TextError
from readaid.core.lattice import Fixed, Gap, Lattice
from readaid.lexicon import builder, chain, kbest
from readaid.lexicon.budget import FULL, STANDARD
from readaid.lexicon.costs import standard
from readaid.lexicon.kbest import Search
from readaid.reading import hearing, known_verse, verse_alignment
from readaid.reading.known_verse import find_verse
from readaid.reading.solve import MOST, read, solve
from readaid.reading.verse import verse

NO_NUMBERS = ["x", None, 2.5, math.nan, True, [5], b"5"]
NO_SIGNS = [None, 5, 5.0, b"\xe3\x81\x8b", {"か": 1.0}, {"か", "な"}, object()]
NO_CANDIDATES = [5, None, {"か": 1.0}, 0.5, b"ka", object()]
NO_PAIRS = [(5, 0.5), (None, 0.5), ("か", None), ("か", "much"), ("か",), ("か", 0.5, 1), 7, ("か", 1j),
            ("か", 10**400), "か", ({}, 0.5), ("か", math.nan), ("か", -1), ("か", 2)]


@pytest.mark.parametrize("k", NO_NUMBERS)
def test_a_k_that_is_no_number(k):
    for call in (read, find_verse):
        with pytest.raises(OptionError, match="is no whole number"):
            call("はる", k=k)


@pytest.mark.parametrize("k", [0, -3, MOST + 1, 10**30])
def test_a_k_outside_its_range(k):
    with pytest.raises(OptionError, match=f"give a number from 1 to {MOST}"):
        read("はる", k=k)


def test_numbers_of_other_libraries_are_numbers():
    assert len(read("はる", k=np.int64(2))) == 2


@pytest.mark.parametrize("form", [5, ["hokku"], {}, b"hokku", ("hokku",), 1.5])
def test_a_form_that_is_no_name(form):
    for call in (read, verse):
        with pytest.raises(OptionError, match="verse form is a name"):
            call("はるのうみ", form=form)


@pytest.mark.parametrize("limit", ["x", "3", -1, math.nan, True, [1]])
def test_a_time_that_is_none(limit):
    with pytest.raises(OptionError, match="no span of time"):
        solve("はる", time_limit=limit)


@pytest.mark.parametrize("given", NO_SIGNS, ids=lambda v: type(v).__name__)
def test_what_is_no_text_and_no_list(given):
    for call in (read, find_verse):
        with pytest.raises(TextError, match="no text and no list of signs"):
            call(given)
    with pytest.raises(TextError, match="no text to count"):
        verse(given)


@pytest.mark.parametrize("entry", NO_CANDIDATES, ids=lambda v: type(v).__name__)
def test_an_entry_that_is_no_list_of_candidates(entry):
    with pytest.raises(TextError, match=r"no list of candidates \(sign 2\)"):
        read(["は", entry])


@pytest.mark.parametrize("pair", NO_PAIRS, ids=repr)
def test_a_pair_that_is_no_candidate(pair):
    with pytest.raises((TextError, OptionError), match="sign 1"):
        read([[pair]])


@pytest.mark.parametrize("record", [
    Character(candidates=(5,)), Character(candidates=(Candidate("か"), "な")), Character(missing=("a", "b")),
    Character(missing=5), Character(candidates=None), Character(fixed=5)])
def test_a_record_that_holds_something_else(record):
    with pytest.raises(ReadaidError, match="sign 1"):
        read([record])


def test_constraints_that_are_none():
    with pytest.raises(OptionError, match="no constraint"):
        solve("はる", constraints=["は"])
    with pytest.raises(OptionError, match="no constraint"):
        solve("はる", constraints=[Fixed("a", 1, "は")])


def test_masses_are_refused_before_they_are_looked_through():
    endless = itertools.repeat([("か", 1.0)])
    with pytest.raises(LatticeError, match=f"More than {builder.MOST_POSITIONS:,} signs"):
        read(endless)
    with pytest.raises(LatticeError, match=r"candidates cannot be searched \(sign 1\)"):
        read([itertools.repeat(("か", 1.0))])
    with pytest.raises(LatticeError, match="are more than can be searched"):
        read("か" * 10**6)
    with pytest.raises(LatticeError, match="give the likeliest"):
        read([[("か", 1.0)] * 1_900] * 50)
    with pytest.raises(TextError, match=f"more than {builder.MOST_JOINED} signs"):
        read([[("か" * 100_000, 1.0)]])


def test_no_more_candidates_are_kept_than_can_be_searched():
    lattice = builder.build([[(chr(0x4E00 + i), 1 / (1 + i)) for i in range(400)]] * 40)
    assert lattice.cut
    assert sum(a.end - a.start == 1 and not a.kana for a in lattice.arcs) <= 2 * builder.MOST_TOGETHER


def test_known_verses_are_compared_with_no_more_signs_than_a_verse_has():
    with pytest.raises(LatticeError, match="more than one verse has"):
        find_verse("はるのうみ" * 200)


def test_known_verses_in_parts_give_the_same(monkeypatch):
    whole = find_verse("はるの?みひね?す")
    monkeypatch.setattr(verse_alignment, "MOST_CELLS", 3_000)
    known_verse.chance._decoys.cache_clear()
    assert find_verse("はるの?みひね?す") == whole


def test_less_time_means_a_smaller_budget():
    assert STANDARD.within(None) == STANDARD == STANDARD.within(FULL)
    half = STANDARD.within(FULL / 2)
    assert (half.kept, half.cells) == (STANDARD.kept // 2, STANDARD.cells // 2)
    assert 0 < STANDARD.within(0.0).kept < STANDARD.kept / 20


@pytest.fixture
def clock(monkeypatch):
    """A clock that is over once ``stop`` is called."""

    class Clock:
        now = 0.0

        def monotonic(self):
            return self.now

    made = Clock()
    monkeypatch.setattr(kbest, "time", made)
    return made


def test_when_the_time_is_over_no_further_form_is_tried(clock, monkeypatch):
    search = Search(builder.build("はるのうみひねもすのたりのたりかな"), None, 1.0)
    tried = []
    of = search._of

    def counted(form, k, prior):
        tried.append(form.name)
        clock.now = 2.0
        return of(form, k, prior)

    monkeypatch.setattr(search, "_of", counted)
    best = search.best(None, 30)
    assert len(tried) == 1
    assert best.strings
    assert best.cut


def test_when_the_time_is_over_few_states_are_heard_and_that_is_told():
    characters = [[(c, 0.6), ("ら", 0.4)] for c in "はるのうみひねもすのたりのたりかな"]
    told = hearing.heard(builder.build(characters), None, standard(), time.monotonic() - 1.0)
    assert told.cut
    assert max(len(keys) for keys in told.chain.keys) <= chain.FEW + 60  # and the best of each place in the verse
    assert told.chain.best(2)


def test_when_no_way_is_heard_in_time_the_words_are_read_and_that_is_told(monkeypatch):
    """A zone of twelve kana fits no line of hokku. With time left that is refused in words; with none left nobody can
    know it, and what the dictionary alone reads is given as cut."""
    characters = [[("いろはにほへとちりぬるを", 1.0)], [("か", 1.0)], [("な", 1.0)]]

    monkeypatch.setattr(time, "monotonic", lambda: 0.0)
    with pytest.raises(LatticeError, match="No reading leads from the first sign"):
        solve(characters, form="hokku")
    # The search begins at 0 and finds nine tenths of its time gone: hearing may have two thirds of the rest and has
    # less; the words have what is left.
    limit = kbest.DEFAULT_LIMIT
    told = itertools.chain([0.0, 0.9 * limit, 0.9 * limit], itertools.repeat(0.98 * limit))
    monkeypatch.setattr(time, "monotonic", lambda: next(told))
    found = solve(characters, form="hokku", k=2)
    assert found.cut
    assert found.form == "hokku"
    assert found.readings[0].kana.startswith("いろはにほへと")
    assert all(r.cut for r in found.readings)


def test_a_reading_that_was_cut_says_so():
    assert all(r.cut for r in solve([[(c, 1 / (2 + n)) for n, c in enumerate("いろはにほへとちりぬるを")]] * 31, k=2,
                                    form="tanka", time_limit=0.2).readings)


def test_verse_of_a_hundred_unread_signs_counts_and_says_that_it_was_cut():
    counted = verse("?" * 100)
    assert "".join(counted.lines) == "?" * 100
    assert counted.cut
    assert not verse("はるのうみひねもすのたりのたりかな").cut


def test_lost_passages_together_are_bounded():
    with pytest.raises(LatticeError, match="narrower numbers of lost signs"):
        solve(Lattice(("",) * 60, (), tuple(Gap(i, i + 1, 1, 40) for i in range(60))))
