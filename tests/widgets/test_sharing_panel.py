"""The sharing panel without a browser: what went where, agreement and calibration in plain words."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

import readaid
from readaid.copies.reader_copy import receive
from readaid.core.confidence import Status
from readaid.widgets.desk import Desk
from readaid.widgets.sharing_panel import SharingPanel, agreement_words, cell
from tests.widgets.made import ask, errors


@pytest.fixture
def panel(piece):
    return SharingPanel(Desk(piece))


def files(sent) -> list[dict]:
    return [m for m, _ in sent if m.get("type") == "file"]


def test_files_are_told_by_their_place_in_the_folder(panel, piece):
    (copy,) = files(ask(panel, "copy", blind=True))
    assert (copy["shown"], copy["where"]) == ("in the piece folder: exports/blind-copy.zip", "out")
    (bag,) = files(ask(panel, "archive"))
    assert (bag["shown"], bag["where"]) == ("beside the piece folder: piece-archive.zip", "check")


def test_nothing_settled_is_no_fault(panel, piece):
    assert errors(ask(panel, "calibration")) == []
    assert panel.state["calibration"] == []
    attempt = piece.contents.attempts[-1]
    piece.decipherment.set_status(attempt, Status.SETTLED)
    ask(panel, "calibration")
    assert panel.state["calibration"], "one row a reader"


def test_a_copy_that_comes_back_is_told_sign_by_sign(panel, piece, tmp_path):
    copy = piece.custody.copy(tmp_path / "copy.zip")
    receive(copy, tmp_path / "theirs")
    with readaid.open(tmp_path / "theirs", reader="Tanaka") as theirs:
        theirs.decipherment.tag(theirs.contents.characters[0], "う", 0.9)
        back = theirs.custody.copy(tmp_path / "back.zip")
    ask(panel, "receive", [back.read_bytes()], id="a", name="back.zip", at=0, of=1)
    assert "by Tanaka taken in" in panel.state["merged"]["words"]
    (row,) = panel.state["merged"]["conflicts"]
    assert row[0].endswith("character 1")
    assert row[4] == "う 0.90"
    ask(panel, "agreement")
    assert "Demo reader, Tanaka" in panel.state["agreement"][0]
    assert "too few for a figure corrected for chance" in panel.state["agreement"][0]


@pytest.mark.parametrize(
    ("alpha", "words"), [(-0.3, "hardly better than chance"), (0.5, "too little to lean on"),
                         (0.7, "tentative conclusions"), (0.9, "good.")])
def test_agreement_in_words(alpha, words):
    """Limits 0.667 and 0.8: Krippendorff, Content Analysis, 2004, p. 241 (from memory)."""
    found = SimpleNamespace(alpha=alpha, low=alpha - 0.1, high=alpha + 0.1, plain=0.5, units=20, readers=("A", "B"))
    told = agreement_words(found)
    assert told.startswith(words if words == "good." else told.split(".")[0])
    assert words in told
    assert "50 % of 20" in told
    assert "so few" not in told
    found.units = 9
    assert "With so few the figure says little." in agreement_words(found)


def test_one_judged_by_two_has_no_interval_and_none_is_told():
    found = SimpleNamespace(alpha=1.0, low=float("nan"), high=float("nan"), plain=1.0, units=1, readers=("A", "B"))
    assert agreement_words(found) == ("The readers agree on 100 % of 1 judged by two or more of A, B: "
                                      "too few for a figure corrected for chance.")


def test_cells_of_a_conflict():
    assert [cell(v) for v in (None, "", (), "x", ("a", "b"))] == ["–", "–", "–", "x", "a、b"]


def stop_when(panel, share):
    """Press Stop once the work under way has come as far as ``share``."""
    def look(change):
        if ((change.new["busy"] or {}).get("share") or 0) >= share:
            panel.unobserve(look, "state")
            panel.work.do_stop()
    panel.observe(look, "state")


@pytest.mark.parametrize("asked", [("archive",), ("worksheet",), ("copy", {"blind": False})])
def test_what_goes_out_can_be_stopped(panel, piece, asked, monkeypatch):
    monkeypatch.setattr("readaid.widgets.long_work.EVERY", 0.0)
    stop_when(panel, 0.2)
    before = {p for p in piece.folder.parent.rglob("*") if p.is_file()}
    sent = ask(panel, asked[0], **(asked[1] if asked[1:] else {}))
    told = [m["put"]["busy"] for m, _ in sent if "busy" in m.get("put", {})]
    assert [w["stoppable"] for w in told if w][-1] is False, "it lets go at the next step"
    assert told[-1] is None
    assert [m["say"] for m, _ in sent if "say" in m] == ["Stopped; nothing was changed."]
    assert not files(sent)
    assert {p for p in piece.folder.parent.rglob("*") if p.is_file()} - before == set()


def test_a_merge_that_is_stopped_changes_nothing(panel, piece, tmp_path, monkeypatch):
    monkeypatch.setattr("readaid.widgets.long_work.EVERY", 0.0)
    receive(piece.custody.copy(tmp_path / "copy.zip"), tmp_path / "theirs")
    with readaid.open(tmp_path / "theirs", reader="Tanaka") as theirs:
        theirs.decipherment.tag(theirs.contents.characters[0], "う", 0.9)
        back = theirs.custody.copy(tmp_path / "back.zip").read_bytes()
    version = piece.version
    stop_when(panel, 0.8)
    ask(panel, "receive", [back], id="a", name="back.zip", at=0, of=1)
    assert (piece.version, panel.state["merged"], panel.state["busy"]) == (version, None, None)
    # Stopped after the last step it is written all the same, and told so.
    merge = type(piece.custody).merge
    monkeypatch.setattr(type(piece.custody), "merge", lambda self, *a: (merge(self, *a), panel.work.do_stop())[0])
    ask(panel, "receive", [back], id="b", name="back.zip", at=0, of=1)
    assert piece.version > version
    assert "by Tanaka taken in" in panel.state["merged"]["words"]
    # A copy that is still coming is let go of, too.
    ask(panel, "receive", [back[:9]], id="c", name="back.zip", at=0, of=2)
    assert panel.state["busy"]["share"] == 0.5
    ask(panel, "stop")
    assert "lost on the way" in errors(ask(panel, "receive", [back[9:]], id="c", name="back.zip", at=1, of=2))[0]


def test_nothing_else_is_begun_while_something_is_written(panel, monkeypatch):
    said = []
    monkeypatch.setattr(type(panel.desk.piece.custody), "archive",
                        lambda *a, **k: said.extend(errors(ask(panel, "worksheet"))) or 1 / 0)
    panel._asked(panel, {"do": "archive", "n": 1}, [])
    assert said == ["Something is being written already: wait until it has ended, or stop it."]
    assert "ZeroDivisionError" in panel.fault
    panel.fault = ""
    ask(panel, "worksheet")
    assert panel.state["busy"] is None
