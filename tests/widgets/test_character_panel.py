"""The character panel without a browser. Parent kanji are checked against Unicode's own names list (unicodedata)."""

from __future__ import annotations

import io
import unicodedata

import pytest
from PIL import Image

from readaid.core.candidate import Suggestion
from readaid.core.character import Character
from readaid.shape import components
from readaid.widgets.character_panel import CharacterPanel
from readaid.widgets.desk import Desk
from readaid.widgets.panel import letters_font
from readaid.widgets.typing_in import romanised, signs
from tests.widgets.made import ask, errors


@pytest.fixture
def panel(piece):
    desk = Desk(piece)
    desk.step(1)
    return CharacterPanel(desk)


def entered(panel) -> list[tuple[str, float]]:
    return [(c["character"], c["confidence"]) for c in panel.state["candidates"]]


def test_shows_the_sign_with_its_crop(panel):
    assert (panel.state["n"], panel.state["total"]) == (1, 17)
    near = Image.open(io.BytesIO(panel.crop)).size
    ask(panel, "around", by=1)
    far = Image.open(io.BytesIO(panel.crop)).size
    assert far[0] > near[0]
    assert far[1] > near[1]


def test_every_letter_of_a_sound_with_its_parent_as_unicode_names_them(panel):
    ask(panel, "by_sound", sound="す")
    found = [r["character"] for r in panel.state["found"]["rows"] if 0x1B000 <= ord(r["character"][0]) <= 0x1B122]
    named = [
        chr(c) for c in range(0x1B002, 0x1B11F) if unicodedata.name(chr(c)).split("-")[0] == "HENTAIGANA LETTER SU"
    ]
    assert sorted(found) == sorted(named)
    assert len(named) == 8
    assert panel.state["found"]["rows"][0]["character"] == "す"
    assert panel.state["found"]["rows"][0]["under"] == "寸"


def test_by_parent_kanji_old_or_new_form(panel):
    ask(panel, "by_parent", parent="与")
    new = [r["character"] for r in panel.state["found"]["rows"]]
    ask(panel, "by_parent", parent="與")
    assert {"よ", "ヨ"} <= set(new)
    assert set(new) - {"与"} == {r["character"] for r in panel.state["found"]["rows"]} - {"與"}
    ask(panel, "by_parent", parent="龍")
    assert "No kana letter comes from 龍" in panel.state["found"]["words"]


def test_by_a_part_that_can_be_seen(panel):
    """海 is filed under water, 落 under grass (school dictionaries, from memory)."""
    ask(panel, "by_part", part="氵")
    found = panel.state["found"]
    assert found["by"] == "part"
    assert "海" in [r["character"] for r in found["rows"]]
    assert "kanji, fewest strokes first" in found["words"]
    assert "Unknown part" in errors(ask(panel, "by_part", part="watr"))[0]
    if components.installed():
        ask(panel, "by_part", part="氵", place="bottom left")
        assert "落" in [r["character"] for r in panel.state["found"]["rows"]]
        assert "海" not in [r["character"] for r in panel.state["found"]["rows"]]
    else:
        assert "readaid[parts]" in errors(ask(panel, "by_part", part="氵", place="left"))[0]


def test_the_shipped_font_draws_every_letter():
    """All 285 hentaigana and E-1 are in the font's own character map (read by fontTools, where installed)."""
    fonts = pytest.importorskip("fontTools.ttLib")
    held = fonts.TTFont(io.BytesIO(letters_font())).getBestCmap()
    assert set(range(0x1B001, 0x1B11F)) <= set(held)


def test_the_font_is_handed_over_as_bytes(panel):
    sent = ask(panel, "font")
    assert sent[0][1] == [letters_font()]
    assert letters_font()[:4] == b"wOF2"


def test_a_candidate_is_entered_changed_and_taken_away(panel):
    before = entered(panel)
    ask(panel, "tag", candidate="す", confidence=0.5)
    assert ("す", 0.5) in entered(panel)
    ask(panel, "sure", candidate="す", confidence=0.97)
    assert entered(panel)[0] == ("す", 0.97)
    ask(panel, "untag", candidate="す")
    assert entered(panel) == before
    history = panel.desk.piece.register.history(panel.desk.character)
    assert len(history) >= 4, "nothing was overwritten"


def test_picking_what_is_entered_takes_it_away(panel):
    ask(panel, "tag", candidate="す")
    ask(panel, "tag", candidate="す")
    assert "す" not in dict(entered(panel))


def test_confidences_are_not_renormalised(panel):
    before = dict(entered(panel))
    ask(panel, "tag", candidate="寸", confidence=1.0)
    assert {k: v for k, v in entered(panel) if k != "寸"} == before


@pytest.mark.parametrize("confidence", [-0.1, 1.1, float("nan")])
def test_a_confidence_outside_0_to_1_is_refused(panel, confidence):
    assert "is not between 0 and 1" in errors(ask(panel, "tag", candidate="す", confidence=confidence))[0]


@pytest.mark.parametrize("text", ["🙂", "\u3099", "\U0001b200"])
def test_what_is_no_sign_is_refused_in_a_sentence(panel, text):
    before = entered(panel)
    assert errors(ask(panel, "type", text=text))
    assert entered(panel) == before


def test_typing_kana_kanji_and_romanised_sounds(panel):
    ask(panel, "type", text="寸 す")
    assert {"寸", "す"} <= set(dict(entered(panel)))
    ask(panel, "type", text="mu")
    assert "む" in dict(entered(panel))
    assert "no sound of Japanese" in errors(ask(panel, "type", text="xyz"))[0]


def test_romanised_sounds_against_the_fifty_sounds():
    """Spellings of the table of fifty sounds (ISO 3602:1989, table 1; Hepburn as commonly printed)."""
    for text, kana in {
        "shi": "し",
        "si": "し",
        "chi": "ち",
        "ti": "ち",
        "tsu": "つ",
        "tu": "つ",
        "fu": "ふ",
        "hu": "ふ",
        "ji": "じ",
        "zi": "じ",
        "wo": "を",
        "wi": "ゐ",
        "we": "ゑ",
        "n": "ん",
        "na": "な",
        "nna": "んな",
        "hanabi": "はなび",
    }.items():
        assert romanised(text) == kana
    assert signs("ののめ") == ["の", "め"]


def test_damage_and_confidence_are_two_things(panel):
    before = entered(panel)
    ask(panel, "mark", fields={"damage": "worn"})
    assert panel.state["damage"] == "worn"
    assert entered(panel) == before
    ask(panel, "mark", fields={"damage": "lost"})
    ask(panel, "mark", fields={"missing": [2, 4]})
    assert panel.state["missing"] == [2, 4]
    ask(panel, "mark", fields={"damage": "intact"})
    assert panel.state["missing"] == [1, 1]
    assert "cannot be missing" in errors(ask(panel, "mark", fields={"missing": [5, 2]}))[0]


def test_a_note_is_kept(panel):
    ask(panel, "mark", fields={"note": "右の払いのみ見える"})
    assert panel.desk.find(Character, panel.desk.character).note == "右の払いのみ見える"


def test_proposals_by_shape_are_shown_and_never_entered_unasked(panel, monkeypatch):
    found = [Suggestion("す", ("す",), 0.4), Suggestion("寸", ("す",), 0.3)]
    monkeypatch.setattr("readaid.piece.judging.Judging.suggest", lambda self, character, k, among: found)
    before = entered(panel)
    ask(panel, "shape")
    shape = panel.state["shape"]
    assert [r["character"] for r in shape["rows"]] == ["す", "寸"]
    assert "None of these: 30 %" in shape["words"]
    assert entered(panel) == before
    ask(panel, "tag", candidate="す", source="shape", probability=0.4)
    row = next(c for c in panel.state["candidates"] if c["character"] == "す")
    assert (row["source"], row["probability"], row["confidence"]) == ("shape", 0.4, 0.8), "kept apart"


def test_without_a_shape_model_the_section_says_so(panel, monkeypatch):
    def absent(self, character, k, among):
        raise ModuleNotFoundError("readaid.shape.candidates")

    monkeypatch.setattr("readaid.piece.judging.Judging.suggest", absent)
    assert errors(ask(panel, "shape")) == []
    assert panel.state["shape"]["state"] == "absent"
    assert "No shape model" in panel.state["shape"]["words"]


def test_going_on_forgets_the_proposals(panel):
    panel.shape = {**panel.shape, "state": "ready", "rows": [{}]}
    ask(panel, "step", by=1)
    assert panel.state["n"] == 2
    assert panel.state["shape"]["state"] == "none"
    ask(panel, "step", by=-5)
    assert panel.state["n"] == 1


def test_nothing_chosen_is_a_sentence(empty):
    p = CharacterPanel(Desk(empty))
    assert p.state["character"] == ""
    assert "No sign is chosen" in errors(ask(p, "tag", candidate="す"))[0]


def test_a_remembered_crop_draws_like_ones_towards_it(panel, piece):
    """With the real model: after one crop is remembered under another name, the same crop proposes that name."""
    ask(panel, "tag", candidate="鷺", confidence=0.97)
    ask(panel, "learn")
    assert [e.character for e in piece.contents.examples] == ["鷺"]
    ask(panel, "shape", among="all")
    top = panel.state["shape"]["rows"][0]
    assert (top["character"], top["source"]) == ("鷺", "example")
    ask(panel, "learn")
    assert len(piece.contents.examples) == 1, "one example for one zone"
