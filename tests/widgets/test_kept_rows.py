"""Rows that are kept: made anew where what they are made from changed, and where another language is spoken."""

import random

from readaid.core import texts
from readaid.core.character import Text
from readaid.core.errors import OptionError, ZoneError
from readaid.core.photo import rectangle
from readaid.piece import allotment, sign_order
from readaid.widgets.desk import Desk
from readaid.widgets.kept_rows import KeptRows
from readaid.widgets.photo_board import PhotoBoard
from readaid.widgets.sheet_panel import SheetPanel
from readaid.widgets.zone_rows import zone_rows


def test_a_row_is_made_again_for_other_parts_and_in_another_language(monkeypatch):
    monkeypatch.setattr(texts, "_now", ["en"])
    rows, record = KeptRows(), [1]

    def made(*parts, label=None):
        return rows.row("a", parts, lambda *given: {"words": texts.told("verse"), "of": given}, label)

    first = made(record, "1")
    assert made(record, "1") is first
    assert made([1], "1") is first, "a record that came anew and says the same"
    assert made([2], "1") is not first
    assert made(record, "1", label="2") == {"words": "verse", "of": (record, "1"), "label": "2"}
    assert made(record, "1", label="2") is made(record, "1", label="2")
    assert made(record, "1", label="3")["label"] == "3"
    texts.speak("ja")
    assert made(record, "1", label="2")["words"] == texts.table("ja")["verse"]
    texts.speak("en")
    assert made(record, "1")["words"] == "verse"


def changed(desk, dice):
    """One change of any kind that the rows show."""
    piece, c = desk.piece, desk.contents
    zone, sign = dice.choice(c.zones), dice.choice(desk.ordered() or c.characters)
    target = next(i for i in c.inscriptions if i.id == desk.inscription)
    match dice.choice(("draw", "draw", "move", "delete", "tag", "clear", "join", "spread", "unjoin", "order", "part",
                       "allot", "inscription", "sound", "zone")):
        case "draw":
            x, y = dice.randrange(50, 1900), dice.randrange(50, 1300)
            piece.layout.draw(target, desk.photo, rectangle(x, y, 40, 50))
        case "move":
            piece.layout.move(zone, rectangle(dice.randrange(50, 1200), dice.randrange(50, 900), 30, 30))
        case "delete":
            piece.layout.delete(zone)
        case "tag":
            piece.decipherment.tag(sign, dice.choice("かきくけこ"), dice.choice((0.3, 0.6, 0.9)))
        case "clear":
            piece.decipherment.clear(sign)
        case "join":
            piece.layout.join(zone)
        case "spread":
            piece.layout.spread(zone, dice.choice(c.zones))
        case "unjoin":
            sign_order.unjoin(piece, desk.inscription, zone.id)
        case "order":
            piece.layout.reorder(target, sign_order.moved(target.columns, sign.id, dice.choice(("earlier", "left"))))
        case "part":
            piece.layout.reorder(target, sign_order.moved(target.columns, sign.id, "break"))
        case "allot":
            allotment.allot(piece, [zone.id], dice.choice(("signature", "monogram", "other")))
        case "inscription":
            desk.choose(inscription=dice.choice(c.inscriptions).id)
        case "sound":
            desk.sounds[sign.id] = dice.choice("あいう")
        case "zone":
            desk.choose(zone=zone.id)
    desk.changed()


def test_an_old_letter_is_told_with_its_sound(piece):
    """No voice of a screen reader knows the letters of Unicode's Kana Supplement: U+1B050 is a す of 須."""
    told = {z["text"] for z in PhotoBoard(Desk(piece)).state["zones"]}
    assert "𛁐 す" in told
    assert "ら" in told


def test_kept_rows_are_those_that_are_made_anew_after_every_kind_of_change(piece, monkeypatch):
    """Seeded; the rows of the mat and the columns of the sheet against those of a desk that kept nothing."""
    monkeypatch.setattr(texts, "_now", ["en"])
    dice, desk, refused, bodies = random.Random(5), Desk(piece), 0, set()
    board, sheet = PhotoBoard(desk), SheetPanel(desk)
    for step in range(60):
        try:
            changed(desk, dice)
        except (OptionError, ZoneError):  # such as joining what is joined
            refused += 1
            continue
        if step == 40:
            texts.speak("ja")
            desk.tell("choice")
        fresh = Desk(piece)
        fresh.choose(photo=desk.photo, inscription=desk.inscription, zone=desk.zone, character=desk.character)
        fresh.sounds = desk.sounds
        assert board.state["zones"] == zone_rows(fresh) == zone_rows(desk)
        assert sheet.state["columns"] == SheetPanel(fresh).state["columns"]
        bodies |= {z["body"] for z in board.state["zones"]}
    assert refused < 20
    assert len(desk.contents.inscriptions) > 2
    assert bodies >= {"", "monogram", Text.SIGNATURE.value}
