"""What the board shows: views while a slider moves, mirrored and negative pictures, a file that goes meanwhile."""

from __future__ import annotations

import io
import json
import re
import shutil

import numpy as np
import pytest
from PIL import Image

from readaid.core.photo import Evidence, Scale, rectangle
from readaid.core.places import share
from readaid.piece.lamps import words as lamp_words
from readaid.piece.open_piece import OpenPiece
from readaid.widgets.desk import Desk
from readaid.widgets.modules import module_text
from readaid.widgets.photo_board import PhotoBoard
from readaid.widgets.sheet_panel import SheetPanel
from tests.widgets.made import ask, errors

DEMO = share("data") / "demo" / "photos"


def board(piece: OpenPiece) -> PhotoBoard:
    return PhotoBoard(Desk(piece))


def said(sent) -> str:
    return " ".join(m.get("say", "") for m, _ in sent)


def pixels(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data))).astype(int)


# --- views --------------------------------------------------------------------------------------------


def test_while_a_slider_moves_the_picture_follows_and_nothing_is_recorded(empty):
    b = board(empty)
    ask(b, "view", name="colour strength")
    before, layer = empty.version, b.layer
    sent = ask(b, "slide", name="gain", value=1.0, done=False)
    assert [m for m, _ in sent if m.get("type") == "relook"] == [{"type": "relook", "layer": layer + 1}]
    weak = next(x[0] for m, x in sent if m.get("type") == "overview")
    sent = ask(b, "slide", name="gain", value=9.0, done=False)
    strong = next(x[0] for m, x in sent if m.get("type") == "overview")
    assert pixels(strong).mean() > 1.5 * pixels(weak).mean()  # the more strength, the lighter what is coloured
    assert empty.version == before
    ask(b, "slide", name="gain", value=9.0)
    assert empty.version == before + 1
    assert b.state["layer"] == layer + 2  # letting go draws nothing anew


def test_stroke_width_is_set_in_mm_where_there_is_a_scale(empty):
    b = board(empty)
    ask(b, "view", name="fine cut")
    names = {v["name"]: v for v in b.state["views"]}
    assert names["fine cut"]["sliders"][0]["label"] == "Stroke width (px)"
    empty.set_scale(empty.contents.photos[0], Scale((0, 0), (260, 0), 10.0))
    b.desk.changed()
    names = {v["name"]: v for v in b.state["views"]}
    assert names["fine cut"]["sliders"][0]["label"] == "Stroke width (mm)"


def test_a_view_used_before_comes_back_with_its_sliders_in_another_kernel(folder):
    with OpenPiece(folder) as mine, OpenPiece(folder) as theirs:
        first = board(mine)
        ask(first, "view", name="local contrast")
        ask(first, "slide", name="gain", value=77.0)
        second = PhotoBoard(Desk(theirs))
        told = {v["name"]: v["label"] for v in second.state["views"]}
        assert told["local contrast"] == "Local contrast · used"
        assert told["stain off"] == "Stain off"
        ask(second, "view", name="local contrast")
        assert second.showing.looking.options(theirs.contents.photos[0])["values"]["gain"] == 77.0


def test_a_view_chosen_on_the_page_of_the_signs_is_recorded_too(piece):
    b = PhotoBoard(Desk(piece))
    ask(b, "view", name="stain off")
    assert "stain off" in [v.view for v in piece.contents.views]


def test_the_overview_through_a_view_is_sent_again_when_asked(empty):
    b = board(empty)
    ask(b, "view", name="dark and light swapped")
    sent = ask(b, "overview", layer=b.layer)
    assert any(m.get("type") == "overview" for m, _ in sent)
    first = b.layer
    ask(b, "view", name="fine cut")
    assert not any(m.get("type") == "overview" for m, _ in ask(b, "overview", layer=first)), "a look left behind"
    ask(b, "view", name="dark and light swapped")
    assert b.layer == first, "a look that was there before keeps its number"


def test_every_view_has_a_plain_name_and_says_what_it_is_for(empty):
    for view in board(empty).state["views"][1:]:
        assert view["help"]
        assert view["label"][0].isupper()
        for slider in view["sliders"]:
            assert slider["min"] <= slider["value"] <= slider["max"]
            steps = (slider["max"] - slider["min"]) / slider["step"]
            assert 2 <= steps <= 260


# --- mirrored, negative -----------------------------------------------------------------------------------


def test_a_mirrored_picture_is_turned_on_the_screen_and_zones_point_into_the_file(empty):
    b = board(empty)
    width = empty.contents.photos[0].width
    ask(b, "about", name="mirrored", value=True)
    assert b.state["flip"] is True
    ask(b, "add_zone", box=[100, 300, 50, 60])  # as seen on the screen
    (zone,) = empty.contents.zones
    assert zone.box == (width - 150, 300, 50, 60)
    assert (b.state["zones"][0]["x"], b.state["zones"][0]["w"]) == (100, 50)
    ask(b, "change_zone", zone=zone.id, box=[120, 300, 50, 60])
    assert empty.contents.zones[0].box == (width - 170, 300, 50, 60)
    ask(b, "scale", points=[[0, 10], [200, 10]], length="20", what="", which="scale")
    assert empty.contents.photos[0].scale.a == (width, 10)
    assert b.state["scale"]["a"] == (0, 10)
    ask(b, "about", name="mirrored", value=False)
    assert b.state["zones"][0]["x"] == width - 170


def test_the_mirrored_view_turns_zones_as_well(piece):
    b = board(piece)
    width, before = piece.contents.photos[0].width, b.state["zones"][0]
    plain = b.overview
    sent = ask(b, "view", name="mirrored")
    row = b.state["zones"][0]
    assert row["x"] == pytest.approx(width - before["x"] - before["w"], abs=1)
    assert b.state["flip"] is True
    assert b.overview == plain  # the browser turns it
    assert not errors(sent)


def test_squaring_up_and_straightening_a_mirrored_picture(empty):
    b = board(empty)
    first = empty.contents.photos[0]
    ask(b, "about", name="mirrored", value=True)
    ask(b, "square_up", corners=[[100, 200], [500, 200], [500, 900], [100, 900]])
    made = next(p for p in empty.contents.photos if p.evidence is Evidence.COMPUTED)
    assert made.mirrored
    assert (b.state["width"], b.state["height"], b.state["flip"]) == (400, 700, True)
    ask(b, "add_zone", box=[10, 20, 50, 60])
    (zone,) = empty.contents.zones
    assert zone.photo == first.id
    assert zone.box == pytest.approx((first.width - 160, 220, 50, 60), abs=0.01)


def test_columns_on_a_mirrored_picture_count_from_the_right_of_the_screen(empty):
    b = board(empty)
    ask(b, "about", name="mirrored", value=True)
    for x in (300, 900):
        ask(b, "add_zone", box=[x, 300, 100, 100])
    assert {z["x"]: z["label"] for z in b.state["zones"]} == {900: "1", 300: "2"}
    sheet = SheetPanel(b.desk)
    ask(sheet, "order", character=b.desk.columns()[0][0].id, step="left")
    ask(sheet, "order", character=b.desk.columns()[0][0].id, step="by_position")
    assert {z["x"]: z["label"] for z in b.state["zones"]} == {900: "1", 300: "2"}


def test_a_negative_is_a_mark_of_the_record_and_can_be_taken_back(empty):
    b = board(empty)
    ask(b, "about", name="swapped", value=True)
    assert b.state["swap"] is True
    assert empty.contents.photos[0].swapped
    ask(b, "undo")
    assert b.state["swap"] is False


# --- what is known of the photograph ------------------------------------------------------------------------


def test_kind_surface_and_lamp_of_a_photograph(empty):
    b = board(empty)
    ask(b, "about", name="evidence", value="rubbing")
    ask(b, "about", name="surface", value=" front ")
    ask(b, "lamp", side="top left", height="low")
    photo = empty.contents.photos[0]
    assert (photo.evidence, photo.surface) == (Evidence.RUBBING, "front")
    x, y, z = photo.light_direction  # x right, y down, z to the camera, by hand: 20 degrees high
    assert (x, y, z) == pytest.approx((-0.664, -0.664, 0.342), abs=0.001)
    assert (b.state["about"]["side"], b.state["about"]["height"]) == ("top left", "low")
    ask(b, "lamp", side="")
    assert empty.contents.photos[0].light_direction is None
    assert "Unknown side of the lamp 'topleft'" in errors(ask(b, "lamp", side="topleft"))[0]
    assert "Unknown photo field 'sha256'" in errors(ask(b, "about", name="sha256", value="0"))[0]


def test_the_lamp_of_a_mirrored_picture_is_told_as_it_is_seen(empty):
    b = board(empty)
    ask(b, "about", name="mirrored", value=True)
    ask(b, "lamp", side="left", height="middle")
    assert empty.contents.photos[0].light_direction[0] > 0.7  # in the file the lamp stands at the right
    assert b.state["about"]["side"] == "left"
    assert lamp_words(empty.contents.photos[0])["side"] == "right"


def test_the_lamp_is_read_from_a_shiny_ball(empty, tmp_path):
    """A ball drawn by the mirror's law: the highlight lies where the normal halves the angle to the lamp."""
    lamp = np.array([-0.6, -0.2, 0.775])
    lamp = lamp / np.linalg.norm(lamp)
    half = lamp + np.array([0, 0, 1])
    half = half / np.linalg.norm(half)
    y, x = np.mgrid[0:400, 0:400] + 0.5
    nx, ny = (x - 200) / 80, (y - 200) / 80
    nz = np.sqrt(np.clip(1 - nx**2 - ny**2, 0, 1))
    shine = np.clip(nx * half[0] + ny * half[1] + nz * half[2], 0, 1) ** 200
    picture = np.where(nx**2 + ny**2 < 1, 40 + 210 * shine, 90).astype(np.uint8)
    Image.fromarray(picture).save(tmp_path / "ball.png")
    photo = empty.add_photo(tmp_path / "ball.png")
    b = board(empty)
    ask(b, "photo", photo=photo.id)
    sent = ask(b, "sphere", points=[[120, 200], [280, 200]])
    assert "the lamp stood at the left" in said(sent)
    found = np.array(empty.find(type(photo), photo.id).light_direction)
    assert np.degrees(np.arccos(found @ lamp)) < 3
    assert "needs two points" in errors(ask(b, "sphere", points=[[1, 1]]))[0]


# --- the file goes ----------------------------------------------------------------------------------------------


def test_a_file_that_goes_while_it_is_open_is_told_with_the_cure(empty):
    b = board(empty)
    path = empty.path(empty.contents.photos[0])
    shutil.move(path, path.with_suffix(".away"))
    sent = ask(b, "tiles", layer=b.layer, keys=[[0, 0, 0], [0, 1, 0]])
    assert [m["keys"] for m, _ in sent if m.get("type") == "tiles_failed"] == [[[0, 0, 0], [0, 1, 0]]]
    assert "has gone from the piece folder" in errors(sent)[0]
    assert "copy it back from the original" in b.state["trouble"]
    assert "Try again" in b.state["trouble"]
    assert not any(m.get("type") == "tiles_done" for m, _ in sent)
    ask(b, "again")
    assert b.state["trouble"]
    shutil.move(path.with_suffix(".away"), path)
    assert "there again" in said(ask(b, "again"))
    assert b.state["trouble"] == ""
    assert any(m.get("type") == "tile" for m, _ in ask(b, "tiles", layer=b.layer, keys=[[0, 0, 0]]))


def test_a_page_opens_although_its_photograph_has_gone(folder):
    with OpenPiece(folder) as piece:
        path = piece.path(piece.contents.photos[0])
        path.unlink()
        b = board(piece)
        assert "has gone" in b.state["trouble"]
        assert len(b.state["zones"]) == 17
        assert b.state["width"] == piece.contents.photos[0].width


def test_another_picture_under_the_same_name_is_not_taken_for_it(empty):
    b = board(empty)
    path = empty.path(empty.contents.photos[0])
    Image.new("RGB", (300, 200)).save(path, "JPEG")
    ask(b, "tiles", layer=b.layer, keys=[[0, 0, 0]])
    assert "is not the photo that was taken in: 300 x 200" in b.state["trouble"]


def test_a_file_cut_off_while_it_is_open(empty):
    b = board(empty)
    path = empty.path(empty.contents.photos[0])
    path.write_bytes(path.read_bytes()[:9000])
    sent = ask(b, "tiles", layer=b.layer, keys=[[0, 0, 0]])
    assert b.state["trouble"]
    assert errors(sent)
    assert not b.fault


def test_a_disk_that_fails_is_a_sentence_and_no_fault(empty, monkeypatch):
    b = board(empty)

    def fail(self, photo):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(OpenPiece, "pyramid", fail)
    ask(b, "tiles", layer=b.layer, keys=[[0, 0, 0]])
    assert "cannot be read any more" in b.state["trouble"]
    assert "Input/output error" in b.state["trouble"]
    assert not b.fault


def test_every_module_is_handed_over_with_the_board():
    text = module_text("photo_board.js")
    parts, _ = json.JSONDecoder().raw_decode(text, len("const parts = "))
    assert {"photo_board.js", "kit.js", "mat_view.js", "mat_cards.js", "geometry.js"} <= set(parts)
    for _, module in parts.values():
        assert set(re.findall(r'from "\./([\w.]+)"', module)) <= set(parts), "what is imported is there, too"
    marks = {name: mark for name, (mark, _) in parts.items()}
    other, _ = json.JSONDecoder().raw_decode(module_text("sheet_panel.js"), len("const parts = "))
    assert other["kit.js"][0] == marks["kit.js"], "two panels share one kit"


# --- straightening ------------------------------------------------------------------------------------------------


def test_a_column_is_straightened_and_the_zones_go_with_it(empty):
    b = board(empty)
    first = empty.contents.photos[0]
    ask(b, "add_zone", box=[1410, 300, 135, 125])
    sent = ask(b, "straighten", line=[[1470, 250], [1480, 600], [1475, 1000]], width=260)
    assert "column straightened is among the photographs now" in said(sent)
    assert (b.state["width"], b.state["height"]) == (260, pytest.approx(750, abs=3))
    row = b.state["zones"][0]
    assert (row["home"], row["x"]) == ("verse_left", pytest.approx(1410 - 1470 + 130, abs=8))
    assert "middle line (1470, 250)" in b.state["computed"]
    ask(b, "add_zone", box=[80, 300, 100, 110])
    assert {z.photo for z in empty.contents.zones} == {first.id}
    moved = b.state["zones"][0]
    ask(b, "change_zone", zone=moved["id"], box=[moved["x"] + 10, moved["y"], moved["w"], moved["h"]])
    assert empty.contents.zones[0].box[0] == pytest.approx(1420, abs=2)
    for _ in range(3):
        ask(b, "undo")
    assert [p.evidence for p in empty.contents.photos] == [Evidence.PHOTOGRAPH]


def test_a_line_marked_from_below_is_turned_and_told(empty):
    b = board(empty)
    sent = ask(b, "straighten", line=[[1470, 1000], [1480, 600], [1470, 250]], width=200)
    assert "taken from the top down" in said(sent)
    assert empty.contents.photos[-1].bend[0] == (1470, 250)


def test_a_line_of_one_point_is_a_sentence(empty):
    b = board(empty)
    assert "no length" in errors(ask(b, "straighten", line=[[10, 10]], width=50))[0]
    assert b.state["busy"] is None
    assert len(empty.contents.photos) == 1


def test_the_width_offered_comes_from_the_zones(empty):
    b = board(empty)
    assert b.state["across"] == round(empty.contents.photos[0].height / 10)
    empty.layout.draw(empty.layout.inscription(), empty.contents.photos[0], rectangle(100, 100, 80, 90))
    b.desk.changed()
    assert b.state["across"] == 160


# --- the surface under a lamp that is moved ---------------------------------------------------------------------------


@pytest.fixture
def small(tmp_path):
    """The demo's verse side under its four lights at a third of its pixels: what is shown of it is asked, not how good
    it is."""
    lights = json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))["lights"]
    with OpenPiece.new(tmp_path / "small", reader="Test reader", title="Plate") as opened:
        for side, light in lights.items():
            Image.open(DEMO / f"verse_{side}.jpg").reduce(3).save(tmp_path / f"{side}.png")
            opened.add_photo(tmp_path / f"{side}.png", surface="front", light_direction=tuple(light))
        yield opened


def test_a_surface_shape_opens_under_a_lamp_and_leaves_with_it(small):
    piece, b = small, board(small)
    ask(b, "relief")
    assert b.state["shapes"] is True
    ask(b, "relief", show="shape")
    assert b.state["view"] == "lamp moved"
    assert [v["name"] for v in b.state["views"]] == ["plain", "lamp moved", "mirrored"]
    assert b.state["views"][0]["label"] == "As computed"
    sent = ask(b, "slide", name="height", value=10.0)
    assert not errors(sent)
    assert [(v.view, dict(v.values)["height"]) for v in piece.contents.views if v.photo == b.desk.photo] == [
        ("lamp moved", 10.0)]
    ask(b, "view", name="plain")
    assert b.state["view"] == "plain"  # the picture of the normals itself, if it is asked for
    ask(b, "photo", photo=piece.contents.photos[0].id)
    assert b.state["view"] == "plain"
    assert "lamp moved" not in [v["name"] for v in b.state["views"]]


def test_what_the_shown_photograph_lacks_comes_first(piece):
    b = board(piece)
    photo = piece.contents.photos[0]
    assert all(a.startswith((f"{photo.title}:", f"{photo.surface}:")) for a in b.state["advice"])
    assert set(b.state["advice"]) | set(b.state["advice_others"]) == set(piece.advice())
    assert len(b.state["advice_others"]) >= 6  # the school's specimens have no scale
    other = next(p for p in piece.contents.photos if p.scale is None and p.evidence is Evidence.PHOTOGRAPH)
    ask(b, "photo", photo=other.id)
    assert any("no scale" in a and a.startswith(other.title) for a in b.state["advice"])


def test_a_photograph_without_the_marks_says_where_they_lie(piece):
    first, second = piece.contents.photos[:2]
    board = PhotoBoard(Desk(piece))
    assert board.state["elsewhere"] is None
    ask(board, "photo", photo=second.id)
    assert board.state["zones"] == []
    assert board.state["elsewhere"] == {"id": first.id, "title": first.title}
    for zone in piece.contents.zones:
        piece.layout.delete(zone)
    board.desk.changed()
    assert board.state["elsewhere"] is None, "no marks at all"
