"""The album panel without a browser: pictures in, makers, one comparison, figures out, in few askings."""

import base64
import dataclasses
import io

import numpy as np
import pytest
from lxml import etree, html

from readaid.core.person import Person, Role
from readaid.schools.study import Study
from readaid.widgets import album
from tests.schools.test_album import STROKES, drawn
from tests.widgets.made import ask, errors


def picture(maker, n):
    buffer = io.BytesIO()
    drawn(maker, n).save(buffer, "PNG")
    return buffer.getvalue()


def bring(panel, named=True, each=2):
    """Send pictures as the browser does: each in one part, the last one saying that it is the last."""
    names = [(maker, n) for maker in STROKES for n in range(each)]
    for k, (maker, n) in enumerate(names):
        sent = ask(panel, "picture", [picture(maker, 10 * k + n)], id=str(k), name=f"{maker}_{1790 + n}_{n}.png", at=0,
                   of=1, last=k == len(names) - 1, named=named)
    return sent


@pytest.fixture
def panel(tmp_path):
    made = album(tmp_path / "school", title="Three hands", reader="Mori")
    yield made
    made.school.close()


def test_from_pictures_to_a_printed_figure_in_four_askings(panel):
    told = bring(panel)  # one choice of files
    assert "6 pictures came in" in told[-2][0]["say"]
    assert [m[0] for m in panel.state["makers"]] == ["Rokusen", "Tansei", "Unkei sha"]
    assert {f["year"] for f in panel.state["forms"]} == {"1790", "1791"}
    assert panel.school.register.last(panel.state["forms"][0]["id"]).reader == "Mori"
    ask(panel, "compare")
    assert len(panel.school.studies) == 1  # kept
    ask(panel, "show", figure="tree")
    etree.fromstring(base64.b64decode(panel.state["figure"]["svg"]))
    sent = ask(panel, "print", ending="pdf")
    (message, buffers) = next((m, b) for m, b in sent if m.get("type") == "file")
    assert message["name"] == "tree.pdf"
    assert bytes(buffers[0])[:5] == b"%PDF-"
    assert (panel.school.folder / "exports" / "tree.pdf").is_file()
    assert any("no proof of authorship" in s for s in panel.state["sentences"])


def test_what_is_printed_leaves_under_the_veil(panel):
    bring(panel)
    owner = Person("Tsukuda Keizo", id="o")
    panel.school.register.save_all([owner, Role("o", "owner")], reader="Mori")
    maker = next(p for p in panel.school.people if p.name == "Tansei")
    panel.school.register.save(dataclasses.replace(maker, name="Tansei of Tsukuda Keizo"), reader="Mori")
    ask(panel, "compare")
    ask(panel, "show", figure="matrix")
    assert "Tsukuda" in base64.b64decode(panel.state["figure"]["svg"]).decode("utf-8")  # in the house it is seen
    ask(panel, "print", ending="svg")
    printed = (panel.school.folder / "exports" / "matrix.svg").read_text(encoding="utf-8")
    assert "Tansei of" in printed
    assert "Tsukuda" not in printed


def test_makers_by_hand_undo_and_what_cannot_be_done(panel):
    bring(panel, named=False)
    assert panel.state["makers"] == []
    ids = [f["id"] for f in panel.state["forms"]]
    ask(panel, "assign", ids=ids[:2], maker="蘆香")
    assert panel.state["makers"] == [["蘆香", 2]]
    ask(panel, "undo")
    assert [f["maker"] for f in panel.state["forms"][:2]] == ["", ""]
    assert "No form is chosen" in errors(ask(panel, "assign", ids=[], maker="蘆香"))[0]
    assert "Nothing is compared" in errors(ask(panel, "nearest", id=ids[0]))[0]
    ask(panel, "makers", text="name,teacher\n蘆香,\n鷺洲,蘆香\n")
    ask(panel, "assign", ids=ids[:3], maker="蘆香")
    ask(panel, "assign", ids=ids[3:], maker="鷺洲")
    ask(panel, "compare")
    ask(panel, "nearest", id=ids[0])
    assert panel.state["sentence"].startswith("Among 5 forms of 2 makers the form of 蘆香 stands nearest")
    ask(panel, "show", figure="calibration")
    assert panel.state["figure"]["svg"] == ""
    assert "too few makers" in panel.state["figure"]["title"]
    ask(panel, "assign", ids=ids[:1], maker="")
    bring(panel, each=3)  # others came: the study no longer shows all
    assert panel.study is None


def test_pictures_coming_in_can_be_stopped(panel, monkeypatch):
    bring(panel, each=1)
    pictures, version = panel.school.folder / "pictures", panel.school.register.version
    before, there = sorted(pictures.iterdir()), panel.state["forms"]
    with monkeypatch.context() as patched:
        take_in = panel.school.images.take_in

        def stopped(path):  # at the second, which is new
            if "1791" in path.name:
                panel.work.do_stop()
            return take_in(path)

        patched.setattr(panel.school.images, "take_in", stopped)
        for k, name in enumerate(("Rokusen_1790_0.png", "Hakuun_1791_1.png", "Hakuun_1792_2.png")):
            # The first is there already; the others would bring a maker with them.
            maker, n = ("Rokusen", 0) if k == 0 else ("Tansei", 30 + k)
            sent = ask(panel, "picture", [picture(maker, n)], id=str(k), name=name, at=0, of=1, last=k == 2, named=True)
    assert [m["say"] for m, _ in sent if "say" in m] == ["Stopped; nothing was changed."]
    assert sorted(pictures.iterdir()) == before, "what was there stays, what came is gone"
    assert (panel.state["forms"], panel.school.register.version) == (there, version)


def test_the_whole_study_is_written_as_a_page(panel, monkeypatch):
    bring(panel)
    ask(panel, "compare")
    page = panel.school.folder / "exports" / "study.html"
    with monkeypatch.context() as patched:
        monkeypatch.setattr("readaid.widgets.long_work.EVERY", 0.0)
        drawn = Study.figure
        patched.setattr(Study, "figure", lambda *a: (panel.work.do_stop(), drawn(*a))[1])
        sent = ask(panel, "print", ending="page")
    assert [m["say"] for m, _ in sent if "say" in m] == ["Stopped; nothing was changed."]
    assert not page.exists()
    sent = ask(panel, "print", ending="page")
    shares = [m["put"]["busy"]["share"] for m, _ in sent if m.get("put", {}).get("busy")]
    assert shares[1:] == sorted(shares[1:])
    assert len(shares) > 3
    (message, buffers) = next((m, b) for m, b in sent if m.get("type") == "file")
    assert (message["name"], message["mime"]) == ("study.html", "text/html")
    assert bytes(buffers[0]) == page.read_bytes()
    tree = html.fromstring(page.read_text(encoding="utf-8"))
    assert "Makers and their years" in [h.text for h in tree.iter("h2")]


def test_a_part_that_is_lost_is_told(panel):
    said = errors(ask(panel, "picture", [b"x"], id="a", name="a.png", at=1, of=2, last=True, named=True))
    assert "lost on the way" in said[0]
    said = errors(ask(panel, "picture", [b"no picture"], id="b", name="b.png", at=0, of=1, last=True, named=True))
    assert said
    assert len(panel.school.specimens) == 0
    bring(panel, each=1)
    assert len(panel.state["forms"]) == 3
    assert np.all([f["thumb"] for f in panel.state["forms"]])
