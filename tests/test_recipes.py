"""The "add a ..." recipes of DEVELOPERS.md, followed by the letter: what is added works with nothing else touched."""

from types import MappingProxyType

import pytest

import readaid
from readaid.core.photo import rectangle
from readaid.report import formats
from readaid.script import verse_forms
from readaid.script.verse_forms import Form
from tests.report.conftest import full
from tests.widgets.made import ask

__all__ = ["full"]


@pytest.fixture
def quatrain(monkeypatch):
    """A made-up form of four lines, added in the one place where forms stand."""
    added = Form("quatrain", "四句", (3, 4, 3, 4))
    known = {**verse_forms.BY_NAME, added.name: added}
    monkeypatch.setattr(verse_forms, "BY_NAME", MappingProxyType(known))
    monkeypatch.setattr(verse_forms, "FORMS", MappingProxyType({n: f.lines for n, f in known.items()}))
    return added


def test_add_a_verse_form(quatrain):
    # made-up text of 3 + 4 + 3 + 4 morae
    given = readaid.verse("さくら さきぬる はるの やまみち", form="quatrain")
    assert (given.form, given.morae, given.surplus) == ("quatrain", (3, 4, 3, 4), (0, 0, 0, 0))
    found = readaid.verse("さくら さきぬる はるの やまみち")
    assert (found.form, found.morae) == ("quatrain", (3, 4, 3, 4))
    best = readaid.read("さくらさきぬるはるのやまみち", form="quatrain", k=1)[0]
    assert best.morae == (3, 4, 3, 4)
    assert readaid.read("ふるいけやかはづとびこむみづのおと", k=1)[0].lines  # and searching among all forms goes on


def test_add_a_report_format(monkeypatch, full):
    monkeypatch.setitem(formats.FORMATS, "headings", formats.Format("txt", "tests.recipe_format", "headings only",
                                                                    "headings"))
    written = full.report(format="headings")
    assert written.name == "headings.txt"
    assert "Verse" in written.read_text(encoding="utf-8")


def test_add_a_source_of_candidates(full):
    photo = full.contents.photos[0]
    inscription = full.layout.inscription("verse", photo, title="Rim")
    _, sign = full.layout.draw(inscription, photo, rectangle(10, 10, 60, 80))
    full.decipherment.tag(sign, "ま", 0.4, source="x-ray", probability=0.7)
    row = full.register.candidates.query("character_id == @sign.id").iloc[0]
    assert (row["character"], row["source"], row["confidence"], row["probability"]) == ("ま", "x-ray", 0.4, 0.7)
    solution = full.decipherment.solve(inscription, form="prose")
    assert {share.character for share in solution.shares} == {"ま"}
    assert solution.readings[0].kana == "ま"


def test_add_a_panel(full):
    from readaid.widgets.desk import Desk
    from readaid.widgets.panel import Panel, module_text, style_text

    class SignCount(Panel):
        _esm = module_text("report_panel.js")
        _css = style_text("report_panel.css")

        def __init__(self, desk):
            self.desk = desk
            super().__init__()
            self.refresh()

        def refresh(self):
            self.state = {"signs": len(self.desk.piece.contents.characters)}

        def do_note(self, text):
            self.desk.piece.add_note(self.desk.piece.piece.id, text)

    panel = SignCount(Desk(full))
    before = panel.state["signs"]
    ask(panel, "note", text="counted")
    assert before == len(full.contents.characters)
    assert [n.text for n in full.contents.notes] == ["counted"]
