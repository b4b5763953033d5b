"""Floors of the signature grammar on the invented sheets; figures are printed by ``python -m tests.bench lines``."""

import pytest

from readaid.script import signature
from tests.script.examine import marks, sheets


def test_own_sheet_keeps_its_floor():
    m = marks.marked("signatures.tsv")
    assert m.lines >= 200
    assert len(m.wrong_person) <= 4, m.wrong_person
    assert len(m.wrong_role) <= 4, m.wrong_role
    assert len(m.missing_part) <= 6, m.missing_part
    assert not m.unread_name


def test_added_sheet_keeps_its_floor():
    m = marks.marked("signatures_added.tsv")
    assert m.lines >= 100
    assert len(m.wrong_person) <= 3, m.wrong_person
    assert not m.unread_name


@pytest.mark.parametrize(("sheet", "lines"), [("signatures_fresh.tsv", 90), ("signatures_fourth.tsv", 80)])
def test_later_sheets_keep_their_floors(sheet, lines):
    """Seven of 98 (7 %) and four of 80 (5 %) were wrong at first sight; that is what new lines may expect."""
    m = marks.marked(sheet)
    assert m.lines >= lines
    assert len(m.wrong_person) <= 3, m.wrong_person


def test_marking_finds_faults():
    """The marking itself: a wrong, a missing and a right answer."""
    cell = "一峯斎+蘆香:maker;梅渓:designer"
    assert not sheets.persons_wrong(cell, [("蘆香", "一峯斎"), ("梅渓翁",)])
    assert "is no person" in sheets.persons_wrong(cell, [("蘆香",), ("梅渓",), ("江戸",)])
    assert "梅渓 is not named" in sheets.persons_wrong(cell, [("一峯斎蘆香",)])
    assert sheets.persons_wrong("-", [("於江",)])
    assert sheets.roles_wrong(cell, [(("蘆香",), "maker"), (("梅渓",), "author")]) == "梅渓 is not designer"


def test_lines_that_are_no_signatures_name_nobody():
    """Verse, Chinese lines, titles, dates and prose of the sheets of kinds, taken apart as if they were signatures."""
    texts = [row["text"] for sheet in ("kinds.tsv", "kinds_added.tsv", "kinds_fresh.tsv") for row in sheets.rows(sheet)
             if row["kind"] in ("verse", "Chinese", "title", "prose", "date")]
    assert len(texts) > 100
    named = [t for t in texts if signature.persons(signature.parse(t)[0])]
    assert len(named) <= 6, named
