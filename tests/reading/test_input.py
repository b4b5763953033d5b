"""Bad and odd input: a clear sentence or a right answer, never a hang."""

import pytest

from readaid.core.character import Candidate, Character
from readaid.core.confidence import Damage
from readaid.core.errors import LatticeError, OptionError, TextError
from readaid.core.lattice import Fixed, Name, WordEnd
from readaid.reading.solve import read, solve


def test_decomposed_and_half_width_kana_are_read():
    assert read("か\u3099く", k=1)[0].kana == "がく"
    assert read("ﾊﾙﾉﾊﾅ", k=1)[0].kana == "はるのはな"


@pytest.mark.parametrize("bad", ["はる🌸", "haru", "\u0378", "はる1"])
def test_signs_that_are_no_writing_are_named(bad):
    with pytest.raises(TextError, match="cannot stand in an inscription"):
        read(bad)
    with pytest.raises(TextError, match="sign 2"):
        read([[("は", 1.0)], [(bad, 0.5)]])


def test_mark_with_nothing_to_repeat():
    with pytest.raises(TextError, match="nothing before it to repeat"):
        read("ゝは")


def test_confidence_outside_its_range():
    with pytest.raises(OptionError, match="not between 0 and 1"):
        read([[("は", 1.5)]])
    with pytest.raises(TextError, match="no candidate"):
        read([["は", "る"]])


def test_confidence_nought_everywhere_still_gives_an_answer():
    places = [[("は", 0), ("た", 0)], [("る", 0), ("け", 0)]]
    assert read(places)[0].chosen[0] in {"は", "た"}


def test_no_candidates_are_an_unread_sign():
    found = solve([[("は", 0.9)], [], [("な", 0.9)]])
    assert found.readings[0].restored[0].at == 1
    assert found.readings[0].chosen[1] == ""


def test_lost_signs_are_restored_with_probability():
    seen = {c: Character(candidates=(Candidate(c, 0.9),)) for c in "さらのはな"}
    signs = [seen["さ"], Character(damage=Damage.LOST, missing=(1, 2)), *(seen[c] for c in "らのはな")]
    found = solve(signs, k=5)
    assert found.readings[0].kana == "さくらのはな"
    assert [(r.at, r.kana) for r in found.readings[0].restored] == [(1, "く")]
    fillers = [s for s in found.shares if s.at == 1]
    assert all(s.restored for s in fillers)
    assert fillers[0].kana == "く"
    assert sum(s.probability for s in found.shares if s.at == 0) == pytest.approx(1.0, abs=0.01)


def test_columns_of_characters_are_read_together():
    columns = [[Character(candidates=(Candidate("は", 0.9),))], [Character(candidates=(Candidate("な", 0.9),))]]
    assert read(columns)[0].written == "はな"


def test_what_the_reader_fixes_holds():
    assert read("かき")[0].kana == "かき"
    assert read("かき", k=1)[0].kana != solve("かき", k=1, constraints=[Fixed(0, 1, "が")]).readings[0].kana
    for reading in solve("はるさめやむ", k=5, constraints=[WordEnd(2)]).readings:
        assert 2 in {w.end for w in reading.words}
    place = [Character(candidates=(Candidate(c, 0.9),), name_of="place") for c in "かすが"]
    reading = solve([*place, Character(candidates=(Candidate("の", 0.9),))], k=1).readings[0]
    assert (reading.words[0].text, reading.words[0].end) == ("かすが", 3)
    assert "地名" in reading.words[0].part


def test_fixed_by_the_character_record():
    signs = [Character(candidates=(Candidate("う", 0.9), Candidate("の", 0.1)), fixed="の"),
             Character(candidates=(Candidate("み", 0.9),))]
    assert read(signs)[0].chosen[0] == "の"


def test_constraints_that_cannot_hold_are_told():
    with pytest.raises(LatticeError, match="lies outside the 2 signs"):
        solve("けふ", constraints=[Name(0, 9)])


def test_five_hundred_candidates_and_two_thousand_signs_end_in_time():
    """No time at all is given: the search still answers, and says that it was cut."""
    many = [chr(0x3041 + i) for i in range(80)] + [chr(0x4E00 + i) for i in range(420)]
    places = [[(c, 0.0) for c in many]] * 40
    found = solve(places, form="hokku", k=2, time_limit=0.0)
    assert found.readings
    assert found.cut
    long = solve("はるのうみひねもすのたりのたりかな" * 118, k=1, time_limit=0.0)
    assert long.readings[0].written.startswith("はるのうみ")
    assert long.cut
    assert all(r.cut for r in long.readings)
