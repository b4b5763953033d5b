"""The bench: its places, its head, the sheet, what it tells the browser, and silence where nothing was said."""

from __future__ import annotations

import pytest

from readaid.core.errors import OptionError
from readaid.core.photo import Zone, rectangle
from readaid.widgets.bench import Bench
from readaid.widgets.desk import Desk
from readaid.widgets.head_panel import STAGES, HeadPanel
from readaid.widgets.panel import FEW, difference
from readaid.widgets.photo_board import PhotoBoard
from readaid.widgets.reading_panel import ReadingPanel
from readaid.widgets.sheet_panel import SheetPanel
from tests.widgets.made import ask, errors, heard


def laid(before: dict, told: dict) -> dict:
    """What the browser has after it laid what it was told on what it knew (as ``patched`` in kit.js does)."""
    now = {k: v for k, v in before.items() if k not in told["gone"]} | told["put"]
    for name, rows in told["rows"].items():
        known = {r["id"]: r for r in before[name]} | {r["id"]: r for r in rows["changed"]}
        ids, order = [r["id"] for r in before[name]], rows["order"]
        if order:
            ids[order["at"]:order["at"] + order["gone"]] = order["ids"]
        now[name] = [known[i] for i in ids]
        for k, run in rows["counted"].items():
            for at, v in enumerate(run["values"], run["at"]):
                now[name][at] = {**now[name][at], k: v}
    return now


# --- what is told ---------------------------------------------------------------------------
def test_the_browser_has_the_whole_state_after_every_change(piece):
    b = PhotoBoard(Desk(piece))
    seen, sent = b.state, heard(b)
    steps = [("add_zone", {"box": [1700, 300, 60, 80]}), ("add_zone", {"box": [100, 300, 60, 80]}), ("undo", {}),
             ("select", {"zone": b.state["zones"][4]["id"]}), ("view", {"name": "fine cut"}), ("redo", {})]
    for do, args in steps:
        del sent[:]
        b._asked(b, {"do": do, "n": 1, **args}, [])
        assert not b.fault
        for m, _ in sent:
            if m.get("type") == "state":
                seen = laid(seen, m)
        assert seen == b.state, do


def test_one_new_zone_among_many_is_told_as_one_row(piece):
    b = PhotoBoard(Desk(piece))
    sent = [m for m, _ in ask(b, "add_zone", box=[1900, 100, 40, 40])]  # at the right: every number changes
    (told,) = [m for m in sent if m.get("type") == "state" and "zones" in m["rows"]]
    rows = told["rows"]["zones"]
    assert len(rows["changed"]) == 1
    assert rows["order"] == {"at": 0, "gone": 0, "ids": [b.state["zones"][0]["id"]]}
    assert rows["counted"]["label"] == {"at": 1, "values": [str(n) for n in range(2, 19)]}
    assert [m for m in sent if m.get("type") == "state"] == [told], "told once, not once for each word of the desk"


def test_rows_few_or_all_new_are_told_whole():
    rows = [{"id": str(n), "v": n} for n in range(FEW)]
    assert difference({"r": rows[1:]}, {"r": rows[:-1]})["rows"] == {}
    assert difference({"r": rows}, {"r": [{**r, "v": 0} for r in rows]})["put"]["r"][1]["v"] == 0
    assert difference({"r": rows}, {"r": rows[::-1]})["rows"]["r"] == {
        "changed": [], "order": {"at": 0, "gone": FEW, "ids": [str(n) for n in range(FEW)][::-1]}, "counted": {}}


def test_a_browser_that_missed_something_is_told_the_whole(piece):
    b = SheetPanel(Desk(piece))
    ask(b, "step", by=1)
    ask(b, "step", by=1)
    whole = [m for m, _ in ask(b, "whole", told=0) if m.get("type") == "state"]
    assert whole[0]["whole"]["chosen"] == b.state["chosen"]
    assert whole[0]["n"] == b.told
    assert not [m for m, _ in ask(b, "whole", told=b.told) if m.get("type") == "state"]


# --- silence ----------------------------------------------------------------------------------
def test_nothing_entered_nothing_claimed(piece):
    for k in piece.contents.characters:
        if k.candidates or k.fixed:
            piece.decipherment.clear(k)
    desk = Desk(piece)
    desk.choose(inscription=piece.contents.inscriptions[0].id)
    p = ReadingPanel(desk)
    assert p.state["readings"] == []
    assert p.state["dots"] == "·" * 17
    assert p.state["words"].startswith("Nothing is said of any sign yet")
    assert desk.best is None
    assert all(not s["text"] and not s["machine"] for c in SheetPanel(desk).state["columns"] for s in c["signs"])
    ask(p, "shape", on=True)  # asked for, it proposes, and nothing of it is the reader's
    assert p.state["readings"][0]["machine"]


def test_no_reading_is_sought_before_the_reader_comes_to_it(piece, monkeypatch):
    asked = []
    monkeypatch.setattr("readaid.piece.decipherment.Decipherment.solve", lambda *a, **k: asked.append(1) or 1 / 0)
    desk = Desk(piece)
    desk.stage = "photographs"
    p = ReadingPanel(desk)
    assert not asked
    assert (p.state["dots"], p.state["words"]) == ("·" * 17, "Readings come at the place Reading.")


def test_what_was_read_is_let_go_where_the_signs_change_before_they_are_read_again(piece):
    desk = Desk(piece)
    p, sheet = ReadingPanel(desk), SheetPanel(desk)
    piece.decipherment.clear(desk.ordered()[0])  # nothing entered there: the sheet shows what the search takes it for
    desk.changed()
    desk.stage = "marks"
    desk.tell("choice")
    assert p.state["readings"], "as long as nothing changed it stands"
    assert sheet.state["columns"][0]["signs"][0]["machine"]
    ask(p, "hold", character=desk.ordered()[1].id, fields={"word_ends": True})
    assert p.state["readings"] == []
    assert p.state["words"] == "Readings come at the place Reading."
    assert not sheet.state["columns"][0]["signs"][0]["machine"], "no other panel goes on telling it"
    desk.stage = "reading"
    desk.tell("choice")
    assert p.state["readings"]


# --- places -------------------------------------------------------------------------------------
def test_the_bench_goes_through_its_places_and_panels_are_made_when_visited(piece):
    bench = Bench(Desk(piece), "photographs")
    assert list(bench.held) == ["head", "board", "sheet", "sign", "line", "log"]
    assert "ra-at-photographs" in bench._dom_classes
    ask(bench.panel("head"), "stage", stage="report")
    assert bench.desk.stage == "report"
    assert [c for c in bench._dom_classes if c.startswith("ra-at-")] == ["ra-at-report"]
    assert {"register", "piece", "report", "sharing"} <= set(bench.held)
    held = bench.panel("register")
    ask(bench.panel("head"), "stage", stage="marks")
    ask(bench.panel("head"), "stage", stage="report")
    assert bench.panel("register") is held
    assert "Report: Lid" in repr(bench)
    assert "did you mean 'marks'" in errors(ask(bench.panel("head"), "stage", stage="mark"))[0]
    with pytest.raises(OptionError, match="did you mean 'reading'"):
        Bench(Desk(piece), "readin")
    assert [panel.fault for panel in bench.panels] == [""] * len(bench.panels)


def test_a_piece_is_started_and_another_one_opened_from_the_head(piece, folder):
    bench = Bench(Desk(piece), "reading")
    before = bench.panel("head")
    ask(before, "new", title="Knife handle, two signs")
    assert bench.desk.piece.folder == folder.parent / "Knife-handle-two-signs"
    assert bench.desk.contents.piece.title == "Knife handle, two signs"
    assert bench.desk.stage == "photographs", "an empty piece begins with its photographs"
    assert bench.panel("head") is not before
    listed = [m["rows"] for m, _ in ask(bench.panel("head"), "pieces") if m.get("type") == "pieces"]
    assert (str(folder), folder.name) in listed[0]
    ask(bench.panel("head"), "open", folder=str(folder))
    assert bench.desk.contents.piece.title.startswith("Lid")
    assert "There is no such folder" in errors(ask(bench.panel("head"), "open", folder=str(folder / "no")))[0]
    assert bench.desk.contents.piece.title.startswith("Lid"), "what lay there still lies there"


def test_the_head_tells_the_way_back_and_who_reads(piece):
    desk = Desk(piece)
    head, board = HeadPanel(desk, lambda _: None, lambda _: None), PhotoBoard(desk)
    assert [s[0] for s in head.state["stages"]] == list(STAGES)
    ask(board, "add_zone", box=[1700, 300, 60, 80])
    assert head.state["undo"] == "zone drawn"
    ask(head, "undo")
    assert head.state["undo"] == ""
    assert head.state["redo"] == "zone drawn"
    ask(head, "reader", name="Second hand")
    assert piece.register.since(0)[-1].record.reader == piece.reader == "Second hand"


# --- light ----------------------------------------------------------------------------------------
def test_lamps_and_surface_of_a_batch_are_one_gesture(piece):
    b = PhotoBoard(Desk(piece))
    photos = piece.contents.photos
    rows = {r["title"]: r for r in b.state["photos"]}
    assert rows["verse_left"]["side"] == "left"
    assert rows["verse_left"]["hint"] == "", "the lamp is known: nothing to take from the name"
    before = piece.version
    sides = {p.id: side for p, side in zip(photos[:3], ("top", "right", "bottom left"), strict=False)}
    ask(b, "batch", photos=[p.id for p in photos[:2]], surface=" lid ", sides=sides)
    made = piece.register.since(before)
    assert len({r.gesture for r in made}) == 1
    now = {p.id: p for p in piece.contents.photos}
    assert [now[p.id].surface for p in photos[:3]] == ["lid", "lid", photos[2].surface]
    assert [r["side"] for r in b.state["photos"][:3]] == ["top", "right", "bottom left"]
    ask(b, "undo")
    assert piece.contents.photos[:3] == photos[:3]


def test_what_is_chosen_stays_when_another_lamp_is_lit(piece):
    first, top = (next(p for p in piece.contents.photos if p.title == t) for t in ("verse_left", "verse_top"))
    piece.change(top, to_reference=(1.0, 0, 0, 0, 1, 0, 0, 0, 1), reference=first.id)
    b = PhotoBoard(Desk(piece))
    zone = b.state["zones"][3]["id"]
    ask(b, "select", zone=zone)
    frames = {c["title"]: c["frame"] for c in b.state["companions"]}
    assert frames["verse_top"] == [1, 0, 0, 1, 0, 0]
    layer = b.layer
    ask(b, "photo", photo=top.id)
    assert b.state["selected"] == zone
    assert b.layer != layer
    ask(b, "photo", photo=first.id)
    assert b.layer == layer, "the browser has the tiles of the lamp before already"
    right = next(p for p in piece.contents.photos if p.title == "verse_right")  # of the same side, not laid over
    ask(b, "photo", photo=right.id)
    assert (b.state["photo"], b.state["selected"]) == (right.id, zone)
    other = next(p for p in piece.contents.photos if p.surface != right.surface)
    ask(b, "photo", photo=other.id)
    assert b.state["selected"] == "", "another side does let go of it"


def test_the_frame_of_a_companion_leads_to_the_shown_photograph(piece):
    """Checked against the homography itself at points inside."""
    first, top = (next(p for p in piece.contents.photos if p.title == t) for t in ("verse_left", "verse_top"))
    piece.change(top, to_reference=(0.5, 0.1, 30, -0.1, 0.5, 40, 0, 0, 1), reference=first.id)
    b = PhotoBoard(Desk(piece))
    ask(b, "photo", photo=first.id)
    a, b_, c, d, e, f = next(x["frame"] for x in b.state["companions"] if x["title"] == "verse_top")
    for x, y in ((0, 0), (700, 300), (1900, 1400)):
        assert (a * x + c * y + e, b_ * x + d * y + f) == pytest.approx(
            (0.5 * x + 0.1 * y + 30, -0.1 * x + 0.5 * y + 40), abs=0.05)


# --- the sheet ------------------------------------------------------------------------------------
def test_the_sheet_stands_as_on_the_piece_with_the_kept_reading_beside_it(piece):
    desk = Desk(piece)
    desk.choose(inscription=piece.contents.inscriptions[0].id)
    line, sheet = ReadingPanel(desk), SheetPanel(desk)  # the reading line reads what the sheet shows
    assert line.state["one"] is None
    assert [len(c["signs"]) for c in sheet.state["columns"]] == [6, 6, 5]
    assert sum(n for c in sheet.state["columns"] for _, n in c["morae"]) == 17
    first = [n for _, n in sheet.state["columns"][0]["morae"]]
    assert first == [5, 1], "the first column carries the first of the second line, too"
    edition = sheet.state["edition"]
    assert edition["kept"]
    assert [x["morae"] for x in edition["lines"]] == [5, 7, 5]
    keys = [s["crop"] for c in sheet.state["columns"] for s in c["signs"]]
    sent = ask(sheet, "crops", keys=[*keys, "gone 1"])
    told, pictures = next((m, data) for m, data in sent if m.get("type") == "crops")
    assert told["keys"] == keys
    assert all(p[:2] == b"\xff\xd8" for p in pictures)


# --- how it grows ---------------------------------------------------------------------------------
def test_a_gesture_reads_the_register_no_more_often_among_many_zones(empty, monkeypatch):
    """Counted and not timed: how often the whole register is read and how much is told, among 20 and 400 zones."""
    photo = empty.contents.photos[0]

    def count(n: int) -> tuple[int, int]:
        made = empty.layout.inscription("verse", photo)
        empty.layout.draw_columns(made, photo, [[rectangle(40 * c + 4, 30 * r + 4, 25, 20) for r in range(20)]
                                                for c in range(n // 20)])
        desk = Desk(empty)
        desk.choose(inscription=made.id)
        board, sheet = PhotoBoard(desk), SheetPanel(desk)
        read: list[int] = []
        whole = type(empty.register).contents
        monkeypatch.setattr(type(empty.register), "contents", lambda self, *a: read.append(1) or whole(self, *a))
        ask(board, "add_zone", box=[1500, 900, 40, 40])
        sent = [m for m, _ in ask(board, "add_zone", box=[1500, 1000, 40, 40])]
        monkeypatch.undo()
        assert sheet.state["chosen"] == desk.character
        return len(read), sum(len(m["rows"].get("zones", {"changed": []})["changed"]) for m in sent if "rows" in m)

    few, some = count(20)
    many, told = count(400)
    assert many <= few <= 6
    assert told <= 3
    assert some <= 3


def test_records_read_before_are_not_read_anew(empty):
    zone = Zone(empty.contents.photos[0].id, rectangle(1, 1, 9, 9))
    empty.save(zone, reason="test")
    first = empty.contents.zones[0]
    empty.describe(notes="something else")
    assert empty.contents.zones[0] is first
