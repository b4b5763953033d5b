"""What the board proposes: nothing doubled, corrections, how sure it is, the kind of an inscription, a ruler."""

from __future__ import annotations

import dataclasses

import pytest

from readaid.core.character import Inscription, Text
from readaid.core.errors import PhotoError
from readaid.core.photo import Scale, Zone, rectangle
from readaid.core.places import share
from readaid.piece.doubles import sorted_out
from readaid.piece.layout import RUNNING
from readaid.piece.open_piece import OpenPiece
from readaid.widgets.desk import Desk
from readaid.widgets.photo_board import PhotoBoard
from readaid.widgets.zone_rows import inscription_title
from tests.widgets.made import ask, errors

IDENTITY = (1.0, 0, 0, 0, 1.0, 0, 0, 0, 1.0)


def board(piece: OpenPiece) -> PhotoBoard:
    return PhotoBoard(Desk(piece))


def said(sent) -> str:
    return " ".join(m.get("say", "") for m, _ in sent)


def proposals(monkeypatch, columns):
    """Let the finder find these boxes (per column), with a confidence and a note each where given."""

    def found(self, photo, **options):
        return [[Zone(photo if isinstance(photo, str) else photo.id, rectangle(*box[:4]),
                      confidence=box[4] if len(box) > 4 else 0.8, note=box[5] if len(box) > 5 else "")
                 for box in column] for column in columns]

    monkeypatch.setattr("readaid.piece.layout.Layout.propose", found)


@pytest.fixture
def two(empty):
    """Two photographs of one surface; the verse's zones were drawn on the first, the second shows itself alone."""
    first = empty.contents.photos[0]
    empty.change(first, surface="front")
    other = empty.add_photo(share("data") / "demo" / "photos" / "verse_top.jpg", surface="front")
    b = board(empty)
    ask(b, "kind", kind="verse")
    for y in (300, 500, 700):
        ask(b, "add_zone", box=[1400, y, 130, 150])
    return b, empty.contents.photos[0], other


# --- sorting by hand: boxes whose answer is plain ---------------------------------------------------------


def zone(*box):
    return Zone("p", rectangle(*box))


def test_sorting_proposals_by_what_is_there():
    known = {"a": (0.0, 0.0, 100.0, 100.0), "b": (0.0, 120.0, 100.0, 100.0), "c": (0.0, 240.0, 100.0, 100.0),
             "d": (0.0, 360.0, 100.0, 100.0)}
    same, narrow = zone(3, 2, 98, 99), zone(10, 125, 50, 60)
    half, other_half = zone(0, 240, 100, 48), zone(0, 291, 100, 49)
    new, further = zone(0, 480, 100, 100), zone(300, 0, 100, 100)
    fresh, corrections, on_zones = sorted_out([[same, narrow, half, other_half, new], [further]], known)
    assert fresh == [[new], [further]]
    assert on_zones == 4
    assert [(c["what"], c["zones"], len(c["boxes"])) for c in corrections] == [("outline", ["b"], 1),
                                                                              ("split", ["c"], 2)]
    over_two = zone(0, 0, 100, 225)
    fresh, corrections, _ = sorted_out([[over_two]], known)
    assert fresh == []
    assert [(c["what"], c["zones"]) for c in corrections] == [("join", ["a", "b"])]


# --- another photograph of the same surface -----------------------------------------------------------------


def test_signs_on_a_photograph_laid_over_are_not_doubled(two, monkeypatch):
    b, first, other = two
    b.desk.piece.change(other, to_reference=(1.0, 0, 40.0, 0, 1.0, 0, 0, 0, 1.0), reference=first.id)
    ask(b, "photo", photo=other.id)
    proposals(monkeypatch, [[(1360, 300, 130, 150), (1362, 505, 128, 148), (1360, 705, 130, 150),
                             (1360, 900, 130, 150)]])
    sent = ask(b, "propose")
    assert "1 zone in 1 column proposed" in said(sent)
    assert "3 more lie on zones that are there already: nothing was doubled" in said(sent)
    assert [z["label"] for z in b.state["zones"]] == ["1", "2", "3", "4"]
    assert len(b.desk.columns()) == 1  # the new sign stands below the others, in their column
    assert b.state["question"] is None


def test_a_photograph_not_laid_over_is_asked_about_first(two, monkeypatch):
    b, first, other = two
    ask(b, "photo", photo=other.id)
    proposals(monkeypatch, [[(1400, 300, 130, 150)]])
    before = b.desk.piece.version
    sent = ask(b, "propose", region=[1, 2, 300, 400])
    assert "they would be counted twice" in said(sent)
    question = b.state["question"]
    assert [c[0] for c in question["choices"]] == ["lay", "+", "add"]
    assert question["region"] == [1, 2, 300, 400]
    assert b.desk.piece.version == before
    ask(b, "leave_question")
    assert b.state["question"] is None
    assert len(b.desk.contents.zones) == 3
    ask(b, "propose")
    ask(b, "photo", photo=first.id)
    assert b.state["question"] is None  # the question belongs to the other photograph


def test_laid_over_first_and_then_proposed(two, monkeypatch):
    b, first, other = two
    ask(b, "photo", photo=other.id)
    proposals(monkeypatch, [[(1400, 300, 130, 150), (1400, 1000, 130, 150)]])
    monkeypatch.setattr("readaid.piece.surfaces.Surfaces.find_alignment", lambda self, photo, base:
                        dataclasses.replace(self._photo(photo), to_reference=IDENTITY, reference=self._photo(base).id))
    ask(b, "propose")
    sent = ask(b, "propose", where="lay")
    assert "1 more lies on zones that are there already" in said(sent)
    assert len(b.desk.contents.zones) == 4
    assert b.desk.find(type(other), other.id).reference == first.id
    assert b.state["question"] is None
    assert b.desk.undo_words == "zones proposed"


def test_a_photograph_that_cannot_be_laid_over_draws_nothing(two, monkeypatch):
    b, _, other = two
    ask(b, "photo", photo=other.id)
    proposals(monkeypatch, [[(1400, 300, 130, 150)]])

    def refuse(self, photo, base):
        raise PhotoError("The two photos cannot be laid over each other", "quality 0.1", "check that they match")

    monkeypatch.setattr("readaid.piece.surfaces.Surfaces.find_alignment", refuse)
    sent = ask(b, "propose", where="lay")
    assert "so nothing was drawn" in errors(sent)[0]
    assert "say that these are other signs" in errors(sent)[0]
    assert len(b.desk.contents.zones) == 3
    assert b.state["busy"] is None


def test_other_signs_become_an_inscription_of_their_own(two, monkeypatch):
    b, _, other = two
    ask(b, "photo", photo=other.id)
    proposals(monkeypatch, [[(300, 300, 130, 150)]])
    ask(b, "propose", where="+")
    assert [(i.kind, len(i.characters)) for i in b.desk.contents.inscriptions] == [(Text.VERSE, 3), (Text.UNKNOWN, 1)]
    assert [i["title"] for i in b.state["inscriptions"]] == ["Verse 1", "Inscription 2"]


def test_further_signs_may_still_be_added(two, monkeypatch):
    b, _, other = two
    ask(b, "photo", photo=other.id)
    proposals(monkeypatch, [[(300, 300, 130, 150)]])
    ask(b, "propose", where="add")
    assert [len(i.characters) for i in b.desk.contents.inscriptions] == [4]


def test_photographs_of_surfaces_named_differently_are_not_offered_for_laying_over(two, monkeypatch):
    b, _, other = two
    b.desk.piece.change(other, surface="back")
    ask(b, "photo", photo=other.id)
    proposals(monkeypatch, [])
    ask(b, "propose")
    assert [c[0] for c in b.state["question"]["choices"]] == ["+", "add"]


# --- corrections ----------------------------------------------------------------------------------------------


def test_corrections_are_offered_and_taken_one_by_one(two, monkeypatch):
    b, _, _ = two
    ids = [z["id"] for z in b.state["zones"]]
    proposals(monkeypatch, [[(1410, 305, 70, 80), (1400, 500, 130, 74), (1400, 576, 130, 74)]])
    sent = ask(b, "propose")
    assert "2 of them differ" in said(sent)
    rows = b.state["corrections"]
    assert [r["words"] for r in rows] == ["Zone 1: another outline", "Zone 2: perhaps 2 signs"]
    assert rows[0]["boxes"] == [{"x": 1410.0, "y": 305.0, "w": 70.0, "h": 80.0}]
    assert [z.box for z in b.desk.contents.zones] == [(1400, y, 130, 150) for y in (300, 500, 700)]
    ask(b, "correct", which=1)
    assert [(z["label"], z["y"], z["h"]) for z in b.state["zones"]] == [("1", 300, 150), ("2", 500, 74),
                                                                        ("3", 576, 74), ("4", 700, 150)]
    assert b.desk.undo_words == "zone split"
    ask(b, "undo")
    assert [z["id"] for z in b.state["zones"]] == ids
    assert [r["words"] for r in b.state["corrections"]] == ["Zone 1: another outline"]
    ask(b, "correct", which=0, take=False)
    assert b.state["corrections"] == []
    assert "not offered any more" in errors(ask(b, "correct", which=0))[0]


def test_two_zones_that_may_be_one_sign(two, monkeypatch):
    b, _, _ = two
    proposals(monkeypatch, [[(1400, 300, 130, 350)]])
    ask(b, "propose")
    assert [r["words"] for r in b.state["corrections"]] == ["Zones 1, 2: perhaps one sign"]
    ask(b, "correct", which=0)
    assert [(z["label"], z["y"], z["h"]) for z in b.state["zones"]] == [("1", 300, 350), ("2", 700, 150)]
    ask(b, "undo")
    assert len(b.state["zones"]) == 3


def test_a_correction_found_on_another_photograph_moves_the_zone_on_its_own(two, monkeypatch):
    b, first, other = two
    b.desk.piece.change(other, to_reference=(1.0, 0, 40.0, 0, 1.0, 0, 0, 0, 1.0), reference=first.id)
    ask(b, "photo", photo=other.id)
    proposals(monkeypatch, [[(1370, 305, 70, 80)]])
    ask(b, "propose")
    ask(b, "correct", which=0)
    moved = b.desk.contents.zones[0]
    assert (moved.photo, moved.box) == (first.id, (1410, 305, 70, 80))


def test_corrections_go_with_their_zone(two, monkeypatch):
    b, _, _ = two
    proposals(monkeypatch, [[(1410, 305, 70, 80)]])
    ask(b, "propose")
    assert len(b.state["corrections"]) == 1
    ask(b, "delete_zone", zone=b.state["zones"][0]["id"])
    assert b.state["corrections"] == []
    ask(b, "leave_corrections")


# --- how sure ---------------------------------------------------------------------------------------------------


def test_how_sure_is_shown_until_the_reader_has_looked(empty, monkeypatch):
    b = board(empty)
    proposals(monkeypatch, [[(1400, 300, 130, 150, 0.83), (1400, 500, 130, 150, 0.41),
                             (1400, 700, 130, 150, 0.7, RUNNING)]])
    ask(b, "propose")
    rows = b.state["zones"]
    assert [(r["sure"], r["faint"]) for r in rows] == [
        ("proposed, 83 % sure", False), ("proposed, 41 % sure", True), (f"proposed, 70 % sure; {RUNNING}", True)]
    assert sorted(b.state["to_look"]) == sorted(r["id"] for r in rows[1:])
    ask(b, "right", zone=rows[1]["id"])
    ask(b, "change_zone", zone=rows[2]["id"], box=[1400, 710, 130, 150])
    assert [(r["sure"], r["faint"]) for r in b.state["zones"][1:]] == [("", False), ("", False)]
    assert b.state["to_look"] == []
    ask(b, "undo")
    ask(b, "undo")
    assert [r["faint"] for r in b.state["zones"]] == [False, True, True]
    reasons = [r.reason for r in empty.register.history(rows[1]["id"])]
    assert "proposed zone found right" in reasons


def test_small_signs_are_told_when_they_are_found(empty, monkeypatch):
    b = board(empty)
    proposals(monkeypatch, [[(1400, 300, 30, 31)]])
    assert "only about 31 pixels high" in said(ask(b, "propose"))


# --- what an inscription is -----------------------------------------------------------------------------------------


def test_a_first_zone_begins_an_inscription_that_is_not_known_yet(empty):
    b = board(empty)
    assert (b.state["kind"], b.state["inscription"]) == (Text.UNKNOWN.value, "")
    assert "no metre is expected" in b.state["kind_words"]
    ask(b, "add_zone", box=[1410, 300, 135, 125])
    (made,) = empty.contents.inscriptions
    assert made.kind is Text.UNKNOWN
    assert inscription_title(made, 0) == "Inscription 1"
    assert made.form is None


def test_the_kind_can_be_chosen_before_the_first_zone(empty):
    b = board(empty)
    ask(b, "kind", kind="signature")
    assert b.state["kind"] == "signature"
    assert empty.contents.inscriptions == ()
    ask(b, "add_zone", box=[1410, 300, 135, 125])
    assert empty.contents.inscriptions[0].kind is Text.SIGNATURE


def test_the_kind_can_be_put_right_later_and_taken_back(two):
    b, _, _ = two
    ask(b, "kind", kind="date")
    target = b.desk.contents.inscriptions[0]
    assert target.kind is Text.DATE
    assert b.state["inscriptions"][0]["title"] == "Date 1"
    ask(b, "undo")
    assert b.desk.find(Inscription, target.id).kind is Text.VERSE
    assert "Unknown kind of inscription 'datum'" in errors(ask(b, "propose", where="+datum"))[0]


def test_a_new_inscription_is_chosen_and_its_kind_is_open(two):
    b, _, _ = two
    ask(b, "inscription", inscription="+")
    assert b.state["kind"] == Text.UNKNOWN.value
    assert len(b.desk.contents.inscriptions) == 2
    assert b.state["inscription"] == b.desk.contents.inscriptions[1].id
    assert {k["id"] for k in b.state["kinds"]} == {k.value for k in Text}


# --- a ruler ----------------------------------------------------------------------------------------------------------


def test_a_ruler_is_offered_and_taken_only_when_the_reader_says_so(empty):
    """The demo's photograph holds a scale card of 30 mm, 780 px long by the script that drew it."""
    b = board(empty)
    sent = ask(b, "find_ruler")
    assert "A ruler was found: 1 mm is 26.0 pixels. Is it one?" in said(sent)
    assert empty.contents.photos[0].scale is None
    offer = b.state["ruler"]
    assert [u[0] for u in offer["uses"]] == ["scale", "bu"]
    assert len(offer["outline"]) == 4
    ask(b, "use_ruler", use="scale")
    scale = empty.contents.photos[0].scale
    assert 1 / scale.mm_per_pixel == pytest.approx(26, rel=0.003)
    assert b.state["ruler"] is None
    assert b.desk.undo_words == "scale set"
    ask(b, "find_ruler")
    assert [u[0] for u in b.state["ruler"]["uses"]] == ["check", "scale", "bu"]
    assert "comes out the same" in b.state["ruler"]["words"]
    ask(b, "use_ruler", use="check")
    assert empty.contents.photos[0].scale.check_what == "ruler in the picture"
    assert "not offered" not in said(ask(b, "leave_ruler"))
    assert "No ruler is offered" in errors(ask(b, "use_ruler"))[0]
    assert "Unknown use of the ruler 'scales'" in errors(ask(b, "use_ruler", use="scales"))[0]


def test_a_ruler_in_bu_is_the_readers_word(empty, monkeypatch):
    b = board(empty)
    ask(b, "find_ruler")
    ask(b, "use_ruler", use="bu")
    scale = empty.contents.photos[0].scale
    assert 1 / scale.mm_per_pixel == pytest.approx(26 / (100 / 33), rel=0.003)  # 1 bu = 100/33 mm, law of 1891
    assert scale.what.endswith("bu")


def test_no_ruler_is_a_sentence(empty, monkeypatch):
    b = board(empty)
    monkeypatch.setattr("readaid.photo.scale.ruler", lambda image: None)
    sent = ask(b, "find_ruler")
    assert "No ruler with even marks was found" in said(sent)
    assert b.state["ruler_sought"] is True
    assert b.state["ruler"] is None


def test_a_scale_from_the_hand_is_not_replaced_unasked(empty):
    b = board(empty)
    empty.set_scale(empty.contents.photos[0], Scale((0, 0), (100, 0), 7.0))
    ask(b, "find_ruler")
    ask(b, "leave_ruler")
    assert empty.contents.photos[0].scale.millimetres == 7.0
