"""The reading log: sentences, who and when, the way back by new revisions; notes pinned to a place."""

from pathlib import Path

import pytest

from readaid.copies import reader_copy
from readaid.core import texts
from readaid.core.errors import ConflictError, OptionError
from readaid.core.piece import Note
from readaid.core.veil import Veil
from readaid.piece.open_piece import OpenPiece
from tests.widgets.made import demo_piece


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> Path:
    return demo_piece(tmp_path_factory.mktemp("log") / "piece")


@pytest.fixture
def piece(made, tmp_path):
    import shutil

    with OpenPiece(Path(shutil.copytree(made, tmp_path / "piece"))) as opened:
        yield opened
    texts.speak("en")


def signs(piece):
    inscription = piece.contents.inscriptions[0]
    return [k for column in piece.contents.characters_of(inscription) for k in column]


def test_a_candidate_is_told_with_sign_sureness_and_where_it_was_seen(piece):
    piece.decipherment.tag(signs(piece)[6], "お", 0.8, seen="verse_left")
    line = piece.log.lines()[0]
    assert line.words == "sign 7: お, probable, seen on verse_left"
    assert (line.reader, line.character, line.stands, line.way_back) == (piece.reader, signs(piece)[6].id, True, False)


def test_the_same_gesture_is_told_in_the_language_spoken_now(piece):
    piece.decipherment.tag(signs(piece)[6], "お", 0.8)
    texts.speak("ja")
    assert piece.log.lines()[0].words == "7字目：お、ほぼ確か"


def test_the_way_back_takes_back_all_that_followed_and_keeps_it_in_the_log(piece):
    kept = piece.decipherment.tag(signs(piece)[0], "お", 0.8)
    base = piece.log.lines()[0].gesture
    piece.decipherment.tag(signs(piece)[1], "き", 0.5)
    piece.decipherment.mark(signs(piece)[2], note="a scratch")
    count = len(piece.log.lines())
    before = piece.version
    assert piece.log.back_to(base) == 2
    assert piece.version > before  # new revisions, nothing erased
    now = signs(piece)
    assert now[0] == kept
    assert all(c.character != "き" for c in now[1].candidates)
    assert now[2].note == ""
    lines = piece.log.lines()
    assert len(lines) == count + 2
    assert lines[0].words.startswith("Taken back: sign 2: き")
    assert [line.stands for line in lines[:5]] == [False, False, False, False, True]
    with pytest.raises(OptionError, match="Nothing of your own"):
        piece.log.back_to(base)


def test_another_readers_work_is_not_taken_back(piece):
    piece.decipherment.tag(signs(piece)[0], "お", 0.8)
    base = piece.log.lines()[0].gesture
    piece.save(Note(piece.contents.piece.id, "mine"))
    piece.register.save(Note(piece.contents.piece.id, "theirs"), reader="Second reader")
    assert piece.log.back_to(base) == 1
    assert [n.text for n in piece.contents.notes if n.text in ("mine", "theirs")] == ["theirs"]


def test_what_a_colleague_changed_since_is_refused_in_words(piece):
    base = piece.log.lines()[0].gesture
    note = piece.add_note(piece.contents.piece.id, "mine")
    piece.register.save(Note(note.about, "theirs on mine", id=note.id), reader="Second reader")
    with pytest.raises(ConflictError, match="changed after"):
        piece.log.back_to(base)


def test_many_of_a_kind_are_counted(piece):
    piece.save(*[Note(piece.contents.piece.id, f"note {n}") for n in range(5)])
    assert piece.log.lines()[0].words == "note: note 0; note: note 1; note: note 2, and 2 more of the kind"


def test_a_pinned_note_keeps_its_place_and_a_private_one_stays_here(piece):
    photo = piece.contents.photos[0]
    piece.add_note(photo.id, "a burr beside the stroke", place=(120.0, 80.5))
    piece.add_note(photo.id, "shown by Mrs Tani", place=(10.0, 10.0), private=True)
    pinned = {n.text: n for n in piece.contents.notes if n.about == photo.id}
    assert pinned["a burr beside the stroke"].place == (120.0, 80.5)
    veil = Veil.over(pinned.values())
    assert veil.record(pinned["a burr beside the stroke"]) is not None
    assert veil.record(pinned["shown by Mrs Tani"]) is None
    assert Veil.over(pinned.values(), private=True).record(pinned["shown by Mrs Tani"]) is not None
    assert Veil.over(pinned.values(), blind=True).record(pinned["a burr beside the stroke"]) is None


def test_the_way_back_leads_past_what_is_listed(piece, monkeypatch):
    piece.add_note(piece.piece.id, "stays")
    stays = piece.log.lines()[0].gesture
    for n in range(3):
        piece.add_note(piece.piece.id, f"note {n}")
    monkeypatch.setattr(type(piece.log).lines, "__defaults__", (2,))
    assert piece.log.back_to(stays) == 3
    assert [n.text for n in piece.contents.notes][-1] == "stays"


def test_a_note_made_private_later_stays_with_its_former_words(piece, tmp_path):
    first = piece.add_note(piece.piece.id, "told by Mrs Tani")
    piece.change(first, private=True)
    shown = piece.add_note(piece.piece.id, "not for others yet", private=True)
    piece.change(shown, private=False, text="bent by hand")
    rows = reader_copy.read(piece.custody.copy(tmp_path / "copy.zip", photos=False))[1]
    notes = [r["body"] for r in rows if r["kind"] == "note"]
    assert not any("Mrs Tani" in body or "not for others" in body for body in notes)
    assert any("bent by hand" in body for body in notes)
    full = reader_copy.read(piece.custody.copy(tmp_path / "full.zip", photos=False, private=True))[1]
    assert sum("Mrs Tani" in r["body"] for r in full) == 2


def test_a_note_at_no_place_on_earth_is_refused_from_outside():
    from readaid.register.values import faults

    assert faults(Note("p", "x", place=(1e9, 0.0)))
    assert not faults(Note("p", "x", place=(10.0, 20.0)))
