"""The character panel without a browser. Parent kanji are checked against Unicode's own names list (unicodedata)."""

from __future__ import annotations

import base64
import io
import unicodedata

import numpy as np
import pytest
from PIL import Image

from readaid.core.candidate import Suggestion
from readaid.core.character import Character
from readaid.core.errors import OptionError
from readaid.core.photo import Tracing, Zone, rectangle
from readaid.forms.tracing import strokes
from readaid.glyphs import components
from readaid.glyphs.candidates import Weighed
from readaid.glyphs.classes import classes
from readaid.glyphs.lookalikes import lookalikes
from readaid.glyphs.references import reference, references
from readaid.script.typed_signs import romanised, signs
from readaid.widgets.character_panel import CharacterPanel
from readaid.widgets.desk import Desk
from readaid.widgets.panel import letters_font
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
    told = errors(ask(panel, "by_part", part="watr"))[0]
    assert "Unknown part 'watr': did you mean 'water'?" in told
    assert len(told) < 200, "not all 214 names"
    if components.installed():
        ask(panel, "by_part", part="氵", place="bottom left")
        assert "落" in [r["character"] for r in panel.state["found"]["rows"]]
        assert "海" not in [r["character"] for r in panel.state["found"]["rows"]]


def test_parts_without_the_optional_table_are_told_in_plain_words(panel, monkeypatch):
    monkeypatch.setattr(components, "installed", lambda: False)
    assert errors(ask(panel, "by_part", part="氵", place="left")) == []
    found = panel.state["found"]
    assert "海" in [r["character"] for r in found["rows"]]
    assert found["words"].startswith("Where a part stands is not known on this computer")
    assert "can be added later: pip install readaid[parts]" in found["words"]


@pytest.mark.skipif(not components.installed(), reason="the table of parts is not installed")
def test_a_part_that_stands_nowhere_there_is_explained(panel):
    ask(panel, "by_part", part="氵", place="around")
    assert panel.state["found"]["rows"] == []
    assert "No kanji that is known here has 氵, around" in panel.state["found"]["words"]


def decoded(address: str) -> Image.Image:
    """The picture of a data address."""
    kind, text = address.split(",", 1)
    assert kind in ("data:image/png;base64", "data:image/jpeg;base64")
    return Image.open(io.BytesIO(base64.b64decode(text)))


def test_kanji_found_by_a_part_bear_a_picture(panel):
    ask(panel, "by_part", part="氵")
    rows = panel.state["found"]["rows"]
    pictured = [r for r in rows if r["pictures"]]
    assert len(pictured) > 0.9 * len(rows)
    for r in pictured[:5]:
        (src, words) = r["pictures"][0]
        assert decoded(src).size == (48, 48)
        assert words.startswith(r["character"])


def test_look_alikes_with_pictures(panel):
    """は and ほ differ by one stroke and は's parent is 波 in other hands (writing primers, from memory)."""
    ask(panel, "alike", character="は")
    found = panel.state["found"]
    assert found["by"] == "alike"
    assert found["rows"][0]["character"] == "ほ"
    assert all(decoded(p[0]).size == (48, 48) for r in found["rows"] for p in r["pictures"])
    assert "は was taken for it in" in found["rows"][0]["title"]
    assert len(found["forms"]) >= 2, "the character itself is shown, too"
    alone = next(c.character for c in classes() if not lookalikes(c.character))
    ask(panel, "alike", character=alone)
    assert panel.state["found"]["rows"] == []
    assert f"Nothing is known to be taken for {alone}" in panel.state["found"]["words"]
    ask(panel, "alike", character="☆")
    assert "not among the characters that are known by shape" in panel.state["found"]["words"]
    assert "one character at a time" in errors(ask(panel, "alike", character="はな"))[0]


def test_every_proposal_bears_the_reference_form_it_resembles(panel):
    """With the real model: the picture shown is one of the shipped reference forms of that very character."""
    ask(panel, "shape", among="all")
    rows = panel.state["shape"]["rows"]
    assert len(rows) == 12
    for r in rows:
        held = {(ref.address, ref.words): ref.hand for ref in references(r["character"])}
        assert bool(r["pictures"]) == bool(held), r["character"]
        if held:
            (src, words) = r["pictures"][0]
            assert decoded(src).size == (48, 48)
            assert r["hand"].split()[0] == {"letter": "kana"}.get(held[src, words], held[src, words])
            assert f"most like its {r['hand']}" in r["title"]


def test_the_crop_may_come_from_a_photograph_laid_over_and_what_was_seen_is_kept(panel, piece):
    """The demo's photographs under four lights lie over each other by construction: the identity lays them."""
    first, top = (next(p for p in piece.contents.photos if p.title == t) for t in ("verse_left", "verse_top"))
    assert [i for i, _ in panel.state["look"]["photos"]] == [first.id], "not laid over yet"
    plain = panel.crop
    piece.change(top, to_reference=(1.0, 0, 0, 0, 1, 0, 0, 0, 1), reference=first.id)
    panel.desk.changed()
    assert [i for i, _ in panel.state["look"]["photos"]] == [first.id, top.id]
    assert panel.crop == plain, "the default stays the untouched photograph"
    ask(panel, "look", photo=top.id)
    assert panel.crop != plain
    expected = piece.pyramid(top).crop(piece.find(Zone, panel._record().zones[0]).box, 0.25)
    assert Image.open(io.BytesIO(panel.crop)).size == (expected.shape[1], expected.shape[0])
    ask(panel, "shape", among="all")
    row = panel.state["shape"]["rows"][0]
    assert panel.state["shape"]["words"].startswith("Compared: verse_top.")
    sign = row["character"]
    if any(c.character == sign for c in panel._record().candidates):
        ask(panel, "untag", candidate=sign)
    ask(panel, "tag", candidate=sign, source=row["source"], probability=row["probability"])
    kept = next(c for c in panel._record().candidates if c.character == sign)
    assert (kept.note, kept.source) == ("seen on verse_top", "shape")
    assert piece.register.history(panel.desk.character)[-1].reason == "candidate entered by shape, seen on verse_top"
    ask(panel, "look", view="fine cut")
    assert panel.state["look"]["words"] == "verse_top, view fine cut"
    ask(panel, "look", photo=first.id, view="")
    assert panel.crop == plain


def test_a_view_changes_the_crop_and_an_unknown_one_is_refused(panel, piece):
    plain = panel.crop
    ask(panel, "look", view="dark and light swapped")
    a, b = (np.asarray(Image.open(io.BytesIO(x)).convert("L"), float) for x in (plain, panel.crop))
    assert abs(a + b - 255).mean() < 6, "JPEG of the picture and of its opposite"
    assert "Unknown view 'fine cot': did you mean 'fine cut'" in errors(ask(panel, "look", view="fine cot"))[0]
    assert panel.look.view == "dark and light swapped", "the former look stands"
    ask(panel, "tag", candidate="寸")
    reason = piece.register.history(panel.desk.character)[-1].reason
    assert reason.endswith("seen on verse_left, view dark and light swapped")
    ask(panel, "step", by=1)
    assert panel.state["look"]["view"] == "dark and light swapped", "kept from sign to sign"


def test_a_sign_that_does_not_show_on_the_chosen_photograph_is_cropped_from_its_own(panel, piece):
    first, top = (next(p for p in piece.contents.photos if p.title == t) for t in ("verse_left", "verse_top"))
    piece.change(top, to_reference=(1.0, 0, 0, 0, 1, 0, 0, 0, 1), reference=first.id)
    panel.desk.changed()
    ask(panel, "look", photo=top.id)
    signature = next(i for i in piece.contents.inscriptions if i.kind.value != "verse")
    ask(panel, "choose", character=signature.characters[0])
    assert panel.state["look"]["photo"] != top.id
    assert panel.crop
    assert panel.state["shape"]["among"] == "all", "kanji and kana together, in a verse too"


@pytest.mark.parametrize("text", ["?", "？", " ? ", "□"])
def test_a_question_mark_means_unread_and_is_no_candidate(panel, piece, text):
    before = entered(panel)
    assert before
    ask(panel, "type", text=text)
    assert entered(panel) == []
    assert piece.decipherment.written(panel.desk.inscription)[0] == "?"
    assert panel.desk.undo() == "marked as unread"
    assert entered(panel) == before
    assert "type it alone" in errors(ask(panel, "type", text="の?"))[0]
    with pytest.raises(OptionError, match="no candidate"):
        piece.decipherment.tag(panel.desk.character, text.strip())


def test_marking_an_unread_sign_again_changes_nothing(panel, piece):
    ask(panel, "unread")
    version = piece.version
    told = [m.get("say", "") for m, _ in ask(panel, "unread")]
    assert "The sign is unread already." in told
    assert piece.version == version


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


def test_why_a_candidate_is_not_taken_is_entered_beside_it(panel):
    ask(panel, "tag", candidate="か", confidence=0.9)
    ask(panel, "tag", candidate="う", confidence=0.3)
    ask(panel, "reject", candidate="う", why="払いがない")
    said = {c["character"]: c["rejected"] for c in panel.state["candidates"]}
    assert {c: why for c, why in said.items() if why} == {"う": "払いがない"}
    assert "not there any more" in errors(ask(panel, "reject", candidate="ぬ", why="x"))[0]


def test_a_note_is_kept(panel):
    ask(panel, "mark", fields={"note": "右の払いのみ見える"})
    assert panel.desk.find(Character, panel.desk.character).note == "右の払いのみ見える"


def test_proposals_by_shape_are_shown_and_never_entered_unasked(panel, monkeypatch):
    two = (Suggestion("す", ("す",), 0.4), Suggestion("寸", ("す",), 0.3))
    found = Weighed(two, 0.2, (("す", 0.72), ("く", 0.005)))
    monkeypatch.setattr("readaid.piece.decipherment.Decipherment.weigh", lambda self, character, k, among, look: found)
    before = entered(panel)
    ask(panel, "shape")
    shape = panel.state["shape"]
    assert [r["character"] for r in shape["rows"]] == ["す", "寸"]
    assert "half a sign): 20 %." in shape["none"]
    assert shape["none"].endswith("together: 10 %.")
    assert shape["sounds"] == [["す", "72 %"]], "letters of one sound are summed, traces of others left out"
    assert entered(panel) == before
    ask(panel, "tag", candidate="す", source="shape", probability=0.4)
    row = next(c for c in panel.state["candidates"] if c["character"] == "す")
    assert (row["source"], row["probability"], row["confidence"]) == ("shape", 0.4, 0.8), "kept apart"


def test_without_a_shape_model_the_section_says_so(panel, monkeypatch):
    def absent(self, character, k, among, look):
        raise ModuleNotFoundError("readaid.glyphs.candidates")

    monkeypatch.setattr("readaid.piece.decipherment.Decipherment.weigh", absent)
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
    assert "your own example" in top["title"]
    assert (top["hand"], top["pictures"][0][1]) == ("your example", "鷺, your own example")
    assert decoded(top["pictures"][0][0]).size[0] > 20
    ask(panel, "learn")
    assert len(piece.contents.examples) == 1, "one example for one zone"


def test_own_crops_change_the_ranking_at_once_and_are_taken_back(panel, piece):
    ask(panel, "tag", candidate="鷺", confidence=0.97)
    ask(panel, "shape", among="all")
    before = [r["character"] for r in panel.state["shape"]["rows"]]
    assert "鷺" not in before[:1]
    ask(panel, "learn")
    assert panel.state["shape"]["rows"][0]["character"] == "鷺", "without asking again"
    assert [(o["character"], o["where"]) for o in panel.state["own"]] == [("鷺", "sign 1")]
    ask(panel, "forget", example=panel.state["own"][0]["id"])
    assert [r["character"] for r in panel.state["shape"]["rows"]] == before
    assert panel.state["own"] == []
    assert panel.desk.undo() == "own crop taken back"
    assert panel.state["shape"]["rows"][0]["character"] == "鷺"


def test_letters_are_looked_for_in_the_tracing(panel, piece):
    """The middle lines of a shipped reference form, kept as a tracing, propose that form's character."""
    zone = panel._record().zones[0]
    lines = strokes(np.kron(reference("花", "running").picture, np.ones((5, 5), np.uint8)), "dark")
    assert not panel.state["traced"]
    piece.save(Tracing(zone, tuple(tuple((x / 50, y / 50) for x, y in line) for line in lines)), reason="tracing kept")
    panel.desk.changed()
    assert panel.state["traced"]
    ask(panel, "shape", among="kanji", tracing=True)
    shape = panel.state["shape"]
    assert shape["rows"][0]["character"] == "花"
    assert shape["words"].startswith("Compared: the tracing.")
    ask(panel, "tag", candidate="花", source="shape", probability=shape["rows"][0]["probability"])
    assert next(c for c in panel._record().candidates if c.character == "花").note == "seen on the tracing"
    ask(panel, "step", by=1)
    assert panel.state["shape"]["tracing"] is False


def test_a_tracing_of_one_dot_is_answered(panel, piece):
    zone = panel._record().zones[0]
    piece.save(Tracing(zone, (((1.0, 1.0),),)), reason="tracing kept")
    panel.desk.changed()
    ask(panel, "shape", among="all", tracing=True)
    assert len(panel.state["shape"]["rows"]) == 12


def test_a_crop_without_a_stroke_is_told_in_a_sentence(panel, piece, tmp_path):
    Image.fromarray(np.full((80, 80, 3), 128, np.uint8)).save(tmp_path / "blank.png")
    photo = piece.add_photo(tmp_path / "blank.png", surface="back")
    _, sign = piece.layout.draw(piece.contents.inscriptions[0], photo, rectangle(10, 10, 50, 50))
    panel.desk.changed()
    ask(panel, "choose", character=sign.id)
    assert errors(ask(panel, "shape")) == []
    assert panel.state["shape"]["state"] == "absent"
    assert "no stroke in the crop" in panel.state["shape"]["words"]
    assert panel.state["shape"]["rows"] == []
