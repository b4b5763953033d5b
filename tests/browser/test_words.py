"""Words on the real screen: whole in the language chosen, and readable (contrast by WCAG 2.2, criterion 1.4.3).

Conventions: a word of the program is any run of three Latin letters that stands neither in the piece's own records nor
among the names of keys, formats and units; on the mat nothing is measured, since a photograph lies under it.
"""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import pytest

from readaid.core import preference
from readaid.piece.open_piece import OpenPiece
from tests.browser import lab as labs
from tests.browser.hands import painted, settled, walked

pytestmark = pytest.mark.browser

STAGES = ("photographs", "marks", "reading", "school", "report")
#: Names that are the same in every language.
NAMES = {"Ctrl", "Enter", "Page", "Down", "Escape", "Alt", "Shift", "Delete", "Tab", "Backspace", "Control", "Run",
         "Menu", "All", "Cells", "HTML", "DOCX", "CATALOGUE", "MARKDOWN", "TEI", "ANNOTATIONS", "IIIF", "CSV", "XML",
         "JSON", "BagIt", "UTC", "English", "EpiDoc", "Annotation", "Web", "Presentation", "pip", "install", "readaid",
         "parts", "SIL", "OFL"}
#: Everything a reader or a screen reader is told on the bench.
TOLD = """() => {
  const out = [];
  const seen = (e) => e.checkVisibility?.({ checkOpacity: true, checkVisibilityCSS: true }) ?? true;
  for (const e of document.querySelectorAll('.ra-bench *')) {
    if (!seen(e) || e.closest('svg title')) continue;
    for (const n of e.childNodes) if (n.nodeType === 3 && n.textContent.trim()) out.push(n.textContent.trim());
    for (const a of ['aria-label', 'title', 'placeholder', 'alt']) if (e.getAttribute(a)) out.push(e.getAttribute(a));
  }
  return [...new Set(out)];
}"""
#: Texts whose contrast with what is painted behind them is below the ratio their size asks for.
FAINT = (Path(__file__).parent / "faint_text.js").read_text(encoding="utf-8")


def own_words(place) -> set[str]:
    """Latin words that stand in the piece's records: titles, names, notes."""
    with OpenPiece(place, read_only=True) as piece:
        text = repr(dataclasses.asdict(piece.contents)) + str(place)
    return set(re.findall(r"[A-Za-z]{3,}", text))


@pytest.fixture(autouse=True)
def _no_choice_kept(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.delenv(preference.VARIABLE, raising=False)


def test_the_whole_bench_speaks_japanese_once_chosen_and_all_text_is_readable(show, place):
    page = show(1)
    painted(page)
    foreign, faint = {}, {}
    mine = own_words(place) | NAMES
    for name in ("en", "ja"):
        if name == "ja":
            page.locator("[data-key=speak]").click()
            page.wait_for_function("document.querySelector('.hd')?.lang === 'ja'")
            settled(page)
        for stage in walked(page, STAGES):
            page.wait_for_timeout(400)
            labs.keep_picture(page, f"words_{name}_{stage.replace(' ', '_')}")
            faint |= dict.fromkeys(page.evaluate(FAINT), f"{name} {stage}")
            if name == "ja":
                for told in page.evaluate(TOLD):
                    strange = [w for w in re.findall(r"[A-Za-z]{3,}", told) if w not in mine]
                    if strange:
                        foreign[told] = (stage, strange)
    page.locator("[data-key=speak]").click()  # the choice is kept: the next test's bench speaks English again
    page.wait_for_function("document.querySelector('.hd')?.lang === 'en'")
    assert not foreign, "\n".join(f"{where}: {told!r}" for told, (where, _) in list(foreign.items())[:60])
    assert not faint, "\n".join(f"{where}: {x}" for x, where in list(faint.items())[:40])
