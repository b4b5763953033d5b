"""The photo board without a browser: messages in, register and messages out."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from readaid.core.photo import Zone
from readaid.piece import folder as places
from readaid.piece.doubles import overlap
from readaid.piece.open_piece import OpenPiece
from readaid.widgets.desk import Desk
from readaid.widgets.photo_board import PhotoBoard
from readaid.widgets.sheet_panel import SheetPanel
from tests.widgets.made import ask, errors, heard


def board(piece: OpenPiece) -> PhotoBoard:
    return PhotoBoard(Desk(piece))


def test_first_paint_is_in_the_first_state(empty):
    """The overview travels with the widget: a busy kernel cannot hold it up."""
    b = board(empty)
    assert Image.open(io.BytesIO(b.overview)).size == (1280, 926)
    assert (b.state["width"], b.state["height"]) == (1976, 1430)
    assert len(b.overview) < 400_000


def test_tiles_come_as_binary_buffers(empty):
    b = board(empty)
    sent = ask(b, "tiles", layer=b.layer, keys=[[0, 1, 1], [0, 3, 2]])
    tiles = [(m, buffers) for m, buffers in sent if m.get("type") == "tile"]
    assert [m["k"] for m, _ in tiles] == [[0, 1, 1], [0, 3, 2]]
    assert [Image.open(io.BytesIO(x[0])).size for _, x in tiles] == [(512, 512), (1976 - 3 * 512, 1430 - 2 * 512)]


def test_tiles_of_a_photo_no_longer_shown_are_not_made(empty):
    b = board(empty)
    assert [m for m, _ in ask(b, "tiles", layer=b.layer - 1, keys=[[0, 0, 0]])] == [{"ack": 7, "ok": True}]


def test_a_tile_that_is_not_there_is_a_sentence(empty):
    b = board(empty)
    sent = ask(b, "tiles", layer=b.layer, keys=[[0, 99, 0]])
    assert "There is no tile (99, 0)" in errors(sent)[0]


def test_zones_are_numbered_in_reading_order_from_the_right(empty):
    b = board(empty)
    for box in ([990, 270, 120, 140], [1410, 300, 135, 125], [1440, 545, 125, 140], [1020, 440, 100, 120]):
        ask(b, "add_zone", box=box)
    rows = b.state["zones"]
    assert [(r["label"], r["x"]) for r in rows] == [("1", 1410), ("2", 1440), ("3", 990), ("4", 1020)]
    assert [len(col["signs"]) for col in SheetPanel(b.desk).state["columns"]] == [2, 2]


def test_coordinates_are_full_size_pixels_in_the_register(empty):
    b = board(empty)
    ask(b, "add_zone", box=[1410, 300, 135, 125])
    (zone,) = empty.contents.zones
    assert zone.box == (1410, 300, 135, 125)
    ask(b, "change_zone", zone=zone.id, box=[1400, 310, 150, 100])
    assert empty.find(Zone, zone.id).box == (1400, 310, 150, 100)


def test_an_outline_keeps_its_form_when_resized(empty):
    b = board(empty)
    target = empty.layout.inscription()
    zone, _ = empty.layout.draw(target, empty.contents.photos[0], [(100, 100), (200, 150), (150, 300)])
    b.desk.changed()
    ask(b, "change_zone", zone=zone.id, box=[100, 100, 200, 400])
    assert empty.find(Zone, zone.id).outline == ((100, 100), (300, 200), (200, 500))


def test_one_gesture_is_one_group_of_revisions_and_undo_is_a_new_one(empty):
    b = board(empty)
    ask(b, "add_zone", box=[1410, 300, 135, 125])  # starts an inscription: two gestures
    before = empty.version
    ask(b, "add_zone", box=[990, 270, 120, 140])
    made = empty.register.since(before)
    assert len({r.gesture for r in made}) == 1
    ask(b, "undo")
    assert empty.version > made[-1].number
    assert len(b.state["zones"]) == 1
    assert b.desk.redo_words == "zone drawn"
    ask(b, "redo")
    assert len(b.state["zones"]) == 2
    assert {r.withdrawn for r in empty.register.history(made[0].record.id)} == {False, True}


def test_a_new_step_ends_what_could_be_done_again(empty):
    b = board(empty)
    ask(b, "add_zone", box=[1410, 300, 135, 125])
    ask(b, "undo")
    ask(b, "add_zone", box=[990, 270, 120, 140])
    assert b.desk.redo_words == ""


def test_deleting_takes_the_sign_too_and_undo_brings_both_back(piece):
    b = board(piece)
    first = b.state["zones"][0]
    ask(b, "delete_zone", zone=first["id"])
    assert len(piece.contents.characters_of(piece.contents.inscriptions[0])[0]) == 5
    ask(b, "undo")
    assert b.state["zones"][0] == first


def test_two_joined_signs_in_one_zone_and_back(piece):
    b = board(piece)
    zone = b.state["zones"][0]["id"]
    ask(b, "join_two", zone=zone)
    assert b.state["zones"][0]["label"] == "1·2"
    ask(b, "unjoin", zone=zone)
    assert [z["label"] for z in b.state["zones"][:2]] == ["1", "2"]


def test_one_sign_over_two_zones_and_back(piece):
    b = board(piece)
    first, second = (z["id"] for z in b.state["zones"][:2])
    ask(b, "merge_next", zone=first)
    assert [z["label"] for z in b.state["zones"][:3]] == ["1", "1", "2"]
    assert {z["id"] for z in b.state["zones"][:2]} == {first, second}
    ask(b, "unjoin", zone=first)
    assert [z["label"] for z in b.state["zones"][:3]] == ["1", "2", "3"]


def test_the_last_zone_has_no_next_one(piece):
    b = board(piece)
    last = next(z for z in b.state["zones"] if z["label"] == "17")
    assert "There is no next zone" in errors(ask(b, "merge_next", zone=last["id"]))[0]


def order(b: PhotoBoard) -> list[list[str]]:
    return [[k.id for k in column] for column in b.desk.columns()]


def test_order_by_hand(piece):
    b = board(piece)
    before = order(b)
    second = before[0][1]
    ask(SheetPanel(b.desk), "order", character=second, step="earlier")
    assert order(b)[0][:2] == [second, before[0][0]]
    ask(b, "undo")
    ask(SheetPanel(b.desk), "order", character=before[1][0], step="right")
    assert order(b) == [before[1], before[0], before[2]]
    ask(SheetPanel(b.desk), "order", character=before[1][0], step="left")
    ask(SheetPanel(b.desk), "order", character=before[0][3], step="break")
    assert order(b) == [before[0][:3], before[0][3:], *before[1:]]
    ask(SheetPanel(b.desk), "order", character=before[0][3], step="join")
    assert order(b) == before
    ask(SheetPanel(b.desk), "place_before", character=before[2][0], before=before[0][0])
    assert order(b)[0][0] == before[2][0]
    ask(SheetPanel(b.desk), "place_last", character=before[2][0], column=3)
    assert order(b)[2][-1] == before[2][0]


def test_order_by_position_finds_the_carver_s_columns_again(piece):
    b = board(piece)
    right = order(b)
    ask(SheetPanel(b.desk), "place_before", character=right[2][0], before=right[0][0])
    ask(SheetPanel(b.desk), "order", character=right[0][0], step="by_position")
    assert order(b) == right


def test_scale_and_its_check(empty):
    b = board(empty)
    ask(b, "scale", points=[[100, 100], [880, 100]], length="30", what="ruler", which="scale")
    assert empty.contents.photos[0].scale.mm_per_pixel == pytest.approx(30 / 780)
    ask(b, "scale", points=[[100, 100], [100, 1140]], length="4 cm", what="height", which="check")
    assert "comes out the same" in b.state["scale"]["words"]
    assert b.state["scale"]["warning"] == ""
    ask(b, "scale", points=[[100, 100], [100, 1340]], length="40 mm", what="height", which="check")
    assert "19.2% longer" in b.state["scale"]["words"]
    assert "not square to the surface, or one length is wrong" in b.state["scale"]["warning"]


@pytest.mark.parametrize("length", ["", "long", "-3", "0", "1e5x"])
def test_a_length_that_is_none_is_refused(empty, length):
    b = board(empty)
    sent = ask(b, "scale", points=[[0, 0], [10, 0]], length=length, what="", which="scale")
    assert "That is no length" in errors(sent)[0]
    assert empty.contents.photos[0].scale is None


def test_views_change_the_look_and_are_recorded(empty):
    b = board(empty)
    layer = b.layer
    sent = ask(b, "view", name="dark and light swapped")
    assert b.layer == layer + 1
    assert any(m.get("type") == "overview" for m, _ in sent)
    plain = empty.pyramid(empty.contents.photos[0]).tile(0, 0, 0)
    seen = [x[0] for m, x in ask(b, "tiles", layer=b.layer, keys=[[0, 0, 0]]) if m.get("type") == "tile"]
    assert seen[0] != plain
    assert [v.view for v in empty.contents.views] == ["dark and light swapped"]
    assert errors(ask(b, "view", name="x-ray"))[0].startswith("Unknown view 'x-ray'")


def test_a_slider_moves_only_within_its_range(empty):
    b = board(empty)
    ask(b, "view", name="even light")
    ask(b, "slide", name="size", value=20.0)
    assert dict(empty.contents.views[0].values)["size"] == 20.0
    assert "cannot be 900" in errors(ask(b, "slide", name="size", value=900.0))[0]


def test_proposed_zones_are_one_gesture_and_can_be_stopped(empty, monkeypatch):
    b = board(empty)
    photo = empty.contents.photos[0].id

    def found(self, photo, **options):
        return [
            [Zone(photo, ((1400, 300), (1540, 300), (1540, 420), (1400, 420)), confidence=0.8)],
            [Zone(photo, ((990, 270), (1110, 270), (1110, 410), (990, 410)), confidence=0.6)],
        ]

    monkeypatch.setattr("readaid.piece.layout.Layout.propose", found)
    sent = ask(b, "propose")
    assert any("2 zones in 2 columns proposed" in m.get("say", "") for m, _ in sent)
    assert {z.confidence for z in empty.contents.zones} == {0.8, 0.6}
    sent = ask(b, "propose")  # the same again: nothing new
    assert any("All 2 signs that were found have zones already" in m.get("say", "") for m, _ in sent)
    assert len(empty.contents.zones) == 2
    assert photo == empty.contents.photos[0].id


def test_a_failing_search_leaves_the_board_free(empty, monkeypatch):
    b = board(empty)
    heard(b)
    monkeypatch.setattr("readaid.piece.layout.Layout.propose", lambda *a, **k: 1 / 0)
    b._asked(b, {"do": "propose", "n": 1}, [])
    assert "ZeroDivisionError" in b.fault
    assert b.work.busy is None


def test_a_photograph_from_the_reader_s_disk_comes_in_parts(empty, tmp_path):
    b = board(empty)
    buffer = io.BytesIO()
    Image.new("RGB", (900, 700), (200, 180, 150)).save(buffer, "PNG")
    data = buffer.getvalue()
    cut = len(data) // 2
    ask(b, "receive", [data[:cut]], id="f", name="../../kiku.png", at=0, of=2)
    ask(b, "receive", [data[cut:]], id="f", name="../../kiku.png", at=1, of=2)
    assert [p.file for p in empty.contents.photos][-1] == "photos/kiku.png"
    assert b.state["width"] == 900
    sent = ask(b, "receive", [b"no photo"], id="g", name="notes.jpg", at=0, of=1)
    assert "notes.jpg" in errors(sent)[0]
    sent = ask(b, "receive", [b"x"], id="h", name="late.jpg", at=3, of=5)
    assert "lost on the way" in errors(sent)[0]


def test_many_photographs_come_together_or_not_at_all(empty, tmp_path, monkeypatch):
    b = board(empty)
    pictures = []
    for n in range(3):
        buffer = io.BytesIO()
        Image.new("RGB", (90, 70), (40 * n, 180, 150)).save(buffer, "PNG")
        pictures.append(buffer.getvalue())
    before, there = empty.version, sorted((empty.folder / "photos").iterdir())

    def send(n, last):
        return ask(b, "receive", [pictures[n]], id=f"{n}", name=f"{n}.png", at=0, of=1, last=last, share=(n + 1) / 3)

    send(0, False)
    assert b.state["busy"] == {"label": "0.png: 1 of 1 MB …", "share": 1 / 3, "stoppable": True}
    assert "Stopped" in ask(b, "stop")[-2][0]["say"], "while they come"
    send(0, False)
    send(1, False)
    stopped = "readaid.piece.photo_intake.places.take_in"
    with monkeypatch.context() as patched:
        first = places.take_in
        patched.setattr(stopped, lambda *a: (first(*a), b.work.do_stop())[0])
        sent = send(2, True)  # while the first of them is copied
    assert [m["say"] for m, _ in sent if "say" in m] == ["Stopped; nothing was changed."]
    assert (empty.version, sorted((empty.folder / "photos").iterdir())) == (before, there)
    send(0, False)
    send(1, False)
    sent = send(2, True)
    assert any("3 photographs are in the piece now" in m.get("say", "") for m, _ in sent)
    assert [p.file for p in empty.contents.photos][1:] == ["photos/0.png", "photos/1.png", "photos/2.png"]
    assert b.state["busy"] is None
    ask(b, "undo")
    assert len(empty.contents.photos) == 1, "one step of undo"


def test_another_kernel_s_change_is_seen(folder):
    with OpenPiece(folder) as mine, OpenPiece(folder) as theirs:
        b = board(mine)
        n = len(b.state["zones"])
        theirs.layout.draw(
            theirs.contents.inscriptions[0], theirs.contents.photos[0], [(10, 10), (60, 10), (60, 60), (10, 60)]
        )
        assert b.desk.look()
        assert len(b.state["zones"]) == n + 1
        assert not b.desk.look()


def test_what_was_changed_elsewhere_is_not_taken_back_unseen(folder):
    with OpenPiece(folder) as mine, OpenPiece(folder) as theirs:
        b = board(mine)
        zone = b.state["zones"][0]
        ask(b, "change_zone", zone=zone["id"], box=[zone["x"] + 9, zone["y"], zone["w"], zone["h"]])
        theirs.layout.move(zone["id"], [(1, 1), (50, 1), (50, 50), (1, 50)])
        b.desk.look()
        assert "changed after" in errors(ask(b, "undo"))[0]


def test_no_photograph_no_crash(tmp_path):
    with OpenPiece.new(tmp_path / "bare", reader="R") as bare:
        b = board(bare)
        assert b.state["photos"] == []
        assert errors(ask(b, "add_zone", box=[0, 0, 10, 10]))


def test_an_unknown_asking_is_a_sentence(empty):
    b = board(empty)
    assert "does not know 'explode'" in errors(ask(b, "explode"))[0]


def test_a_read_only_piece_shows_without_tools(folder):
    with OpenPiece(folder, read_only=True) as locked:
        b = board(locked)
        assert b.editing is False
        assert len(b.state["zones"]) == 17
        assert errors(ask(b, "delete_zone", zone=b.state["zones"][0]["id"]))


def test_overlap_against_shapely_s_definition():
    """Intersection over union of [0,2]x[0,1] and [1,3]x[0,1] is 1/3 (by hand)."""
    assert overlap((0, 0, 2, 1), (1, 0, 2, 1)) == pytest.approx(1 / 3)


def test_zones_are_proposed_only_in_what_is_on_the_screen(empty):
    """With the real finder: the right-hand column of the demo photograph lies right of x = 1350."""
    b = board(empty)
    ask(b, "propose", region=[1350, 220, 300, 920])
    boxes = [z.box for z in empty.contents.zones]
    assert boxes
    assert all(x >= 1350 and y >= 220 and x + w <= 1650 and y + h <= 1140 for x, y, w, h in boxes)


@pytest.fixture
def laid(empty):
    """Two photographs of one surface, the second laid over the first but 40 pixels off, and a zone on the first."""
    from readaid.core.places import share

    first = empty.contents.photos[0]
    empty.change(first, surface="front")
    top = empty.add_photo(share("data") / "demo" / "photos" / "verse_top.jpg", surface="front")
    b = board(empty)
    ask(b, "add_zone", box=[1410, 300, 135, 125])
    empty.change(top, to_reference=(1.0, 0, 40.0, 0, 1.0, 0, 0, 0, 1.0), reference=first.id)
    return b, first, top


def test_a_zone_is_shown_and_moved_on_a_photo_laid_over(laid):
    b, first, top = laid
    ask(b, "photo", photo=top.id)
    (row,) = b.state["zones"]
    assert (row["x"], row["y"], row["w"], row["h"], row["label"], row["home"]) == (1370, 300, 135, 125, "1",
                                                                                   "verse_left")
    assert b.state["over"] == first.id
    ask(b, "select", zone=row["id"])
    assert b.state["photo"] == top.id  # choosing a zone does not leave the photograph
    ask(b, "change_zone", zone=row["id"], box=[1380, 310, 135, 125])
    (zone,) = b.desk.contents.zones
    assert (zone.photo, zone.box) == (first.id, (1420, 310, 135, 125))


def test_laying_over_and_letting_go_by_hand(laid):
    b, first, top = laid
    ask(b, "photo", photo=top.id)
    ask(b, "lay_over", reference="")
    assert b.state["zones"] == []
    sent = ask(b, "lay_over", reference=first.id)
    assert not errors(sent)
    assert b.state["busy"] is None
    (row,) = b.state["zones"]
    assert abs(row["x"] - 1410) <= 2
    ask(b, "undo")
    assert b.state["zones"] == []


def test_a_photo_that_does_not_fit_is_a_sentence(laid):
    b, first, _ = laid
    ask(b, "photo", photo=first.id)
    assert "different surfaces" not in str(b.state["over_choices"])
    over = next(p for p in b.desk.contents.photos if p.reference)
    sent = ask(b, "lay_over", reference=over.id)
    assert "already lies over this one" in errors(sent)[0]
    assert b.state["busy"] is None


def test_relief_with_too_few_lights_is_the_second_best(laid):
    b, first, _ = laid
    ask(b, "photo", photo=first.id)
    shares = []
    b.observe(lambda change: shares.append((change.new["busy"] or {}).get("share")), "state")
    sent = ask(b, "relief")
    assert any("2 lights only: this is the second best" in m.get("say", "") for m, _ in sent)
    assert any(s is not None and s > 0 for s in shares)
    assert b.state["busy"] is None
    assert "computed from photos/verse_left.jpg" in b.state["computed"]
    assert [z["label"] for z in b.state["zones"]] == ["1"]
    ask(b, "add_zone", box=[1440, 545, 125, 140])  # drawn on the computed picture, kept on the photograph
    assert {z.photo for z in b.desk.contents.zones} == {first.id}
    assert b.state["computed"]
    ask(b, "undo")
    ask(b, "undo")
    assert b.state["computed"] == ""
    assert len(b.state["photos"]) == 2


def test_squaring_up_from_four_corners(laid):
    b, first, _ = laid
    ask(b, "photo", photo=first.id)
    assert "clockwise" in errors(ask(b, "square_up", corners=[[0, 0], [0, 100], [100, 100], [100, 0]]))[0]
    ask(b, "square_up", corners=[[1300, 200], [1700, 200], [1700, 900], [1300, 900]])
    (row,) = b.state["zones"]
    assert (row["x"], row["y"], row["home"]) == (110, 100, "verse_left")
    assert (b.state["width"], b.state["height"]) == (400, 700)
