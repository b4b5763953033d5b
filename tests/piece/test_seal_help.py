"""Seal script is not read: what is offered to look for, place by place."""

import pytest

from readaid.core.contents import Contents
from readaid.core.errors import OptionError
from readaid.core.person import Person
from readaid.core.piece import Piece
from readaid.piece import seal_help


def contents(**fields):
    return Contents(piece=Piece("A box"), **fields)


def test_places_are_read_down_the_right_column_first():
    assert seal_help.places([2, 1]) == ((1, 1), (1, 2), (2, 1))
    with pytest.raises(OptionError, match="few places"):
        seal_help.places([])
    with pytest.raises(OptionError, match="few places"):
        seal_help.places([9])


def test_a_sketch_finds_names_that_were_met_and_stays_unread():
    held = contents(persons=(Person("蘆江", aliases=("松泉",)),))
    found = seal_help.look_for(held, [2, 2], {(1, 1): ("木",), (1, 2): ("氵",), (2, 1): ("金",)},
                               makers=(Person("桂林"),))
    first, second, third, last = found
    assert [o.sign for o in first.offered][:3] == ["松", "桂", "林"]  # and 私, whose 禾 the table of parts knows
    assert first.offered[0].met == "in the name 松泉 on this piece"
    assert first.offered[1].met == "in the name 桂林 of the school"
    assert "江" in [o.sign for o in second.offered]
    assert third.offered == ()
    assert "none of the characters met so far has 金" in third.words
    assert all(p.words.startswith("unread") for p in found)
    assert "印 or 章 often stands last" in last.words


def test_without_names_only_closings_are_looked_for():
    assert [o.sign for o in seal_help.met(contents())] == list(seal_help.CLOSING)
    (place,) = seal_help.look_for(contents(), [1], {(1, 1): ("印",)})
    assert [o.sign for o in place.offered] == ["印"]
    with pytest.raises(OptionError, match="outside"):
        seal_help.look_for(contents(), [1], {(2, 1): ("木",)})
    assert seal_help.look_for(contents(), [1], {(1, 1): ("no such part",)})[0].offered == ()
