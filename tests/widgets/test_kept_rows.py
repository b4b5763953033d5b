"""Rows that are kept: made anew where what they are made from changed, and where another language is spoken."""

from readaid.core import texts
from readaid.widgets.kept_rows import KeptRows


def test_a_row_is_made_again_for_other_parts_and_in_another_language(monkeypatch):
    monkeypatch.setattr(texts, "_now", ["en"])
    rows, record = KeptRows(), [1]

    def made(*parts, **counted):
        return rows.row("a", parts, lambda: {"words": texts.told("verse")}, **counted)

    first = made(record, "1")
    assert made(record, "1") is first
    assert made([1], "1") is not first, "an equal record is another record"
    assert made(record, "1", label="2") == {"words": "verse", "label": "2"}
    texts.speak("ja")
    assert made(record, "1", label="2") == {"words": texts.table("ja")["verse"], "label": "2"}
    texts.speak("en")
    assert made(record, "1")["words"] == "verse"
