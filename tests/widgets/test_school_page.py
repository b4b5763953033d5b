"""Signature and comparison panels without a browser."""

from __future__ import annotations

import base64
import io

import pytest
from PIL import Image

from readaid.core import texts
from readaid.core.person import Person
from readaid.schools.makers import taught_by_self
from readaid.widgets.compare_panel import ComparePanel
from readaid.widgets.desk import Desk
from readaid.widgets.school_panel import SchoolPanel
from readaid.widgets.signature_panel import SignaturePanel, year
from tests.widgets.made import ask, errors


def test_the_signature_stands_taken_apart(piece):
    p = SignaturePanel(Desk(piece))
    kinds = [part["kind"] for part in p.state["parses"][0]["parts"]]
    assert kinds[0] == "date"
    assert "verb" in kinds
    ask(p, "keep_signature", index=0)
    assert p.state["parses"][0]["kept"]


def test_the_date_of_the_demo(piece):
    """文政己丑 is Bunsei 12 = 1829, its twelfth month runs into 1830 (old-calendar tables)."""
    p = SignaturePanel(Desk(piece))
    assert [d["range"] for d in p.state["datings"]] == ["1829-12-26 to 1830-01-24"]


def test_an_unread_sign_leaves_the_dates_that_fit(piece):
    p = SignaturePanel(Desk(piece))
    ask(p, "date", text="文化〇年壬申")
    assert [(d["era"].split()[0], d["era"].split()[1]) for d in p.state["datings"]] == [("文化", "9")]
    ask(p, "keep_date", index=0)
    assert piece.contents.dates[-1].text == "文化〇年壬申"


def test_disagreement_is_told(piece):
    p = SignaturePanel(Desk(piece))
    ask(p, "date", text="文化九年癸酉")
    assert any(d["agrees"] == "they do not agree" for d in p.state["datings"])


def test_persons_are_entered_and_changed(piece):
    p = SignaturePanel(Desk(piece))
    ask(
        p,
        "person",
        id="",
        fields={"name": "霜野鷺洲", "readings": "しものろしゅう、しものさぎす", "born": "1790", "teacher": ""},
        role="carver",
    )
    person = piece.contents.persons[-1]
    assert person.readings == ("しものろしゅう", "しものさぎす")
    assert [r.role for r in piece.contents.roles if r.person == person.id] == ["carver"]
    ask(p, "person", id=person.id, fields={"name": "霜野鷺洲", "readings": "", "born": "", "teacher": ""}, role="")
    assert piece.contents.persons[-1].born is None
    assert "no number" in errors(ask(p, "person", id="", fields={"name": "x", "born": "about 1800"}, role=""))[0]
    assert "has no name" in errors(ask(p, "person", id="", fields={"name": " "}, role=""))[0]


def test_a_loop_of_teachers_is_refused(piece):
    p = SignaturePanel(Desk(piece))
    master = next(x for x in piece.contents.persons if x.teacher is None)
    pupil = next(x for x in piece.contents.persons if x.teacher == master.id)
    sent = ask(p, "person", id=master.id, fields={"name": master.name, "teacher": pupil.id}, role="")
    assert "own pupil's pupil" in errors(sent)[0]
    assert not taught_by_self(Person("a", id="a"), {})
    assert year("") is None


def test_two_forms_are_compared_with_their_parts(piece):
    p = ComparePanel(Desk(piece))
    result = p.state["result"]
    assert 0 < float(result["likeness"]) <= 1
    assert {"outline", "structure", "dots"} <= {k for k, _ in result["parts"]}
    assert len(result["transform"]) == 6
    assert "no likelihood" in result["population"]
    sent = ask(p, "forms")
    pictures = next(b for m, b in sent if m.get("type") == "forms")
    assert [Image.open(io.BytesIO(x)).format for x in pictures] == ["JPEG", "JPEG", "PNG"]


def test_the_same_form_twice_is_refused_and_turning_compares_again(piece):
    p = ComparePanel(Desk(piece))
    before = p.state["result"]["likeness"]
    ask(p, "turn", turn="mirrored")
    assert p.state["result"]["likeness"] != before
    ask(p, "pick", which="b", id=p.a)
    assert p.state["result"] is None
    assert "same form" in p.state["words"]


def test_a_comparison_and_a_form_are_kept(piece):
    p = ComparePanel(Desk(piece))
    ask(p, "keep", note="Strichenden")
    assert piece.contents.comparisons[-1].note == "Strichenden"
    zone = p.state["zones"][0][0]
    ask(p, "add", zone=zone, person="", kind="unclassified", year="1829")
    assert (piece.contents.specimens[-1].zone, piece.contents.specimens[-1].year) == (zone, 1829)
    sent = ask(p, "thumbnails", ids=[piece.contents.specimens[-1].id])
    assert max(Image.open(io.BytesIO(sent[0][1][0])).size) <= 260


def test_too_few_forms_to_compare(empty):
    p = ComparePanel(Desk(empty))
    assert p.state["specimens"] == []
    assert "Nothing is compared yet" in errors(ask(p, "keep"))[0]


@pytest.mark.parametrize("which", ["c", ""])
def test_there_are_two_sides(piece, which):
    p = ComparePanel(Desk(piece))
    assert "Unknown side" in errors(ask(p, "pick", which=which, id=p.a))[0]


def test_counts_are_corrected_by_hand_beside_the_machine_s(piece):
    p = ComparePanel(Desk(piece))
    form = next(s for s in piece.contents.specimens if s.id == p.a)
    ask(p, "correct", id=p.a, fields={"strokes": "11", "dots": "2"})
    now = next(s for s in piece.contents.specimens if s.id == p.a)
    assert (now.corrected.strokes, now.corrected.dots, now.corrected.ends) == (11, 2, form.counted.ends)
    assert now.counted == form.counted
    assert p.state["result"]["counts"][1][:2] == ("strokes", "11*")
    assert "whole number" in errors(ask(p, "correct", id=p.a, fields={"dots": "-1"}))[0]


def test_a_form_without_an_owner_is_named_in_the_language_spoken(piece, monkeypatch):
    monkeypatch.setattr(texts, "_now", ["ja"])
    p = SchoolPanel(Desk(piece))
    ask(p, "compare_all")
    matrix = p.state["matrix"]
    assert any(n.startswith("この作品") for n in matrix["names"])
    assert matrix["of"].startswith("この作品")
    assert "不明" in base64.b64decode(p.state["charts"][1]["svg"]).decode(), "the map tells makers apart, and this one"


def test_all_forms_with_all(piece):
    p = SchoolPanel(Desk(piece))
    assert [m["column"] for m in p.state["makers"]] == [0, 1, 1]
    sent = ask(p, "compare_all")
    told = [m["put"]["busy"] for m, _ in sent if "busy" in m.get("put", {})]
    assert [w and w["share"] for w in told][:1] == [None]
    assert any(w and w["share"] is not None and 0 <= w["share"] <= 1 for w in told[1:])
    assert told[-1] is None
    matrix = p.state["matrix"]
    assert len(matrix["names"]) == 7
    assert all(row[i] == 1 for i, row in enumerate(matrix["rows"]))
    assert matrix["rows"][0][1] == matrix["rows"][1][0]
    shown = [float(r[2]) for r in matrix["nearest"]]
    assert shown == sorted(shown, reverse=True)
    assert "霜野鷺汀" in matrix["nearest"][0][1]
    assert matrix["sentence"]
    assert "at least four are needed" in p.state["tests"][-1], "three makers are too few to test lineage"
    assert len(p.state["charts"]) == 2
    pictures = [base64.b64decode(c["svg"]).decode() for c in p.state["charts"]]
    assert all(x.lstrip().startswith("<svg") and "霜野鷺石" in x for x in pictures)


def test_stopping_changes_nothing(piece, monkeypatch):
    def stopped(forms, pictures, people, asked, progress):
        p.work.do_stop()
        progress(0, 21)

    monkeypatch.setattr("readaid.widgets.school_panel.worked_out", stopped)
    p = SchoolPanel(Desk(piece))
    sent = ask(p, "compare_all")
    assert any("Stopped" in m.get("say", "") for m, _ in sent)
    assert p.state["matrix"] is None


def test_makers_from_a_table(piece):
    p = SchoolPanel(Desk(piece))
    master = next(x for x in piece.contents.persons if x.teacher is None)
    ask(p, "makers", text=f"name,teacher,born\n{master.name},,1781\n新弟子,{master.name},1820\n")
    people = {x.name: x for x in piece.contents.persons}
    assert people["新弟子"].teacher == master.id
    assert len(people) == 4, "a maker known by name is changed, not doubled"
    sent = ask(p, "makers", text="name,teacher\nA,B\nB,A\n")
    assert "loop" in errors(sent)[0]


def test_a_school_without_makers_or_forms(empty):
    p = SchoolPanel(Desk(empty))
    assert p.state["makers"] == []
    assert "At least two forms" in p.state["words"]
