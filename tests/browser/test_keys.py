"""Keys and input: no key in our panels reaches the notebook, Japanese input is left alone, no mouse is needed."""

from __future__ import annotations

import json

import pytest

from readaid.piece.open_piece import OpenPiece
from tests.browser import lab as labs
from tests.browser.hands import focused, painted, settled

pytestmark = pytest.mark.browser

#: What the notebook would take as its own: delete, cut, insert, paste, merge, undo, run, change of kind ...
KEYS = [
    "d",
    "d",
    "x",
    "a",
    "b",
    "m",
    "y",
    "r",
    "z",
    "v",
    "c",
    "o",
    "l",
    "Shift+m",
    "Shift+l",
    "Control+z",
    "Control+Shift+z",
    "ArrowUp",
    "ArrowDown",
    "ArrowLeft",
    "ArrowRight",
    "Shift+Enter",
    "Control+Enter",
    "Alt+Enter",
    "Enter",
    "Escape",
    "1",
    "0",
    "0",
    "i",
    "i",
    "Backspace",
    "Space",
]


#: Kind and text of every cell.
CONTENT = """() => [...window.jupyterapp.shell.currentWidget.content.model.cells]
    .map((c) => [c.type, c.sharedModel.source])"""

#: A point of the bench that no panel covers.
BETWEEN = """() => { const r = document.querySelector('.ra-bench').getBoundingClientRect();
  for (let y = r.top + 2; y < Math.min(r.bottom, innerHeight); y += 3)
    for (let x = r.left + 2; x < r.right; x += 3) {
      const e = document.elementFromPoint(x, y);
      if (e?.closest('.ra-bench') && !e.closest('.ra')) return [x, y];
    }
  throw new Error('no ground between the panels'); }"""


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_no_key_changes_the_cells(show_notebook, number):
    page = show_notebook(number)
    settled(page)
    before = labs.cells(page)
    sources = page.evaluate(CONTENT)
    kinds = [
        "button",
        "[role=radio]",
        "select",
        "summary",
        "input[type=range]",
        "input[type=text]",
        "textarea",
        "input[type=search]",
        ".pb-view",
        ".pb-zone",
        "[tabindex='0']",
        "input[type=date]",
    ]
    tried = 0
    for panel in range(page.locator(".ra").count()):
        for kind in kinds:
            # at once and without waiting: the keys pressed before may have changed what stands there
            found = page.locator(".ra").nth(panel).locator(f"{kind}:visible:not(:disabled)").element_handles()
            if not found or not found[0].evaluate("(e) => { e.focus(); return e === document.activeElement; }"):
                continue
            tried += 1
            for key in KEYS:
                page.keyboard.press(key)
                here = focused(page)
                assert labs.cells(page) == before, f"{key} in {kind} of panel {panel} ({here})"
    assert tried >= 3
    # A click on empty ground keeps the focus in the panel.
    for panel in range(page.locator(".ra").count()):
        ground = page.locator(".ra").nth(panel)
        if ground.evaluate("(e) => getComputedStyle(e).display === 'contents'"):  # its body is the ground
            ground = ground.locator(".ra-body")
        ground.evaluate("(e) => e.scrollIntoView({ block: 'nearest' })")  # long pages scroll inside of the bench
        box = ground.bounding_box() or page.locator(".pb-mat").bounding_box()  # the board has no box of its own
        if not ground.is_visible() or not box["width"]:
            continue
        page.mouse.click(box["x"] + box["width"] - 4, min(box["y"] + 6, 990))
        for key in KEYS:
            page.keyboard.press(key)
        assert labs.cells(page) == before, f"after a click on the ground of panel {panel} ({focused(page)})"
    assert page.evaluate(CONTENT) == sources


def test_a_click_between_the_panels_leaves_the_focus_on_the_bench(show_notebook):
    page = show_notebook(1)
    painted(page)
    before = labs.cells(page)
    page.mouse.click(*page.evaluate(BETWEEN))
    for key in KEYS:
        page.keyboard.press(key)
    assert labs.cells(page) == before, focused(page)
    assert page.evaluate("document.querySelector('.ra-bench').contains(document.activeElement)"), focused(page)


def test_saving_still_reaches_the_notebook(show_notebook, notebooks):
    page = show_notebook(1)
    painted(page)
    page.locator(".pb-view").focus()
    notebook = next(notebooks.glob("1_*.ipynb"))
    stamp = notebook.stat().st_mtime_ns
    page.evaluate("() => { window.jupyterapp.shell.currentWidget.context.model.dirty = true; }")
    page.keyboard.press("Control+s")
    for _ in range(100):
        if notebook.stat().st_mtime_ns != stamp:
            break
        page.wait_for_timeout(100)
    assert notebook.stat().st_mtime_ns != stamp
    for _ in range(50):  # the server may be writing still
        if notebook.read_text(encoding="utf-8").rstrip().endswith("}"):
            break
        page.wait_for_timeout(100)
    saved = json.loads(notebook.read_text(encoding="utf-8"))
    assert "widgets" not in saved["metadata"], "no widget state is kept in the notebook: the register holds everything"


def test_japanese_input_is_taken_over_only_when_converted(show, place):
    """A composition as the input method makes it (through the browser's own protocol, not by events of ours)."""
    page = show(2)
    page.wait_for_selector(".cp-cand")
    field = page.locator(".cp-type")
    field.focus()
    input_method = page.context.new_cdp_session(page)
    before = page.locator(".cp-cand").count()
    for text in ("s", "す", "すm", "すみ"):
        input_method.send(
            "Input.imeSetComposition", {"text": text, "selectionStart": len(text), "selectionEnd": len(text)}
        )
        page.wait_for_timeout(60)
        assert field.input_value() == text, "the field being typed in was written to"
    # The Enter that ends a conversion carries isComposing; it must not enter the candidate.
    field.evaluate(
        "(e) => e.dispatchEvent(new KeyboardEvent('keydown',"
        " {key: 'Enter', isComposing: true, keyCode: 229, bubbles: true}))"
    )
    page.wait_for_timeout(300)
    assert page.locator(".cp-cand").count() == before
    with OpenPiece(place) as piece:
        version = piece.version
    input_method.send("Input.insertText", {"text": "墨"})
    page.wait_for_function("document.querySelector('.cp-type').value === '墨'")
    page.wait_for_timeout(300)
    with OpenPiece(place) as piece:
        assert piece.version == version, "nothing is written before the reader says so"
    field.press("Enter")
    page.wait_for_selector(".cp-cand [lang=ja]:text('墨')")
    assert field.input_value() == ""
    with OpenPiece(place) as piece:
        assert any(c.character == "墨" for k in piece.contents.characters for c in k.candidates)


def test_a_longer_field_is_told_once_after_the_composition(show, place):
    page = show(2)
    page.wait_for_selector(".cp-cand")
    note = page.get_by_label("What was seen", exact=False)
    note.focus()
    with OpenPiece(place) as piece:
        version = piece.version
    input_method = page.context.new_cdp_session(page)
    for text in ("ｋ", "か", "かす", "かすれ"):
        input_method.send(
            "Input.imeSetComposition", {"text": text, "selectionStart": len(text), "selectionEnd": len(text)}
        )
        page.wait_for_timeout(40)
    input_method.send("Input.insertText", {"text": "掠れ"})
    page.keyboard.press("Tab")
    settled(page)
    with OpenPiece(place) as piece:
        assert piece.version == version + 1
        assert [k.note for k in piece.contents.characters if k.note == "掠れ"] == ["掠れ"]


def press_until(page, key: str, wanted: str, most: int = 60) -> None:
    """Press a key until the focus is where the selector says."""
    for _ in range(most):
        if page.evaluate("(s) => document.activeElement?.matches(s)", wanted):
            return
        page.keyboard.press(key)
    raise AssertionError(f"{wanted} was not reached with {key}; at {focused(page)}")


def test_zones_without_a_mouse(show, place):
    page = show(1)
    painted(page)
    page.locator("[data-key=stage-photographs]").focus()
    page.keyboard.press("ArrowRight")  # to the marks
    settled(page)
    press_until(page, "Tab", ".pb-view")
    page.keyboard.press("n")
    page.wait_for_function("document.querySelector('.pb').dataset.zones === '18'")
    page.wait_for_function("document.activeElement?.matches('.pb-zone[aria-pressed=true]')")
    with OpenPiece(place) as piece:
        drawn = piece.contents.zones[-1]
        version = piece.version
    for _ in range(5):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    for _ in range(3):
        page.keyboard.press("Alt+ArrowRight")
    page.wait_for_timeout(900)
    settled(page)
    with OpenPiece(place) as piece:
        x, y, w, h = drawn.box
        assert [z.box for z in piece.contents.zones if z.id == drawn.id] == [(x + 5, y + 10, w + 3, h)]
        assert piece.version == version + 1, "one run of key presses is one revision"
    page.keyboard.press("PageUp")
    settled(page)
    page.keyboard.press("PageDown")
    settled(page)
    page.keyboard.press("Delete")
    page.wait_for_function("document.querySelector('.pb').dataset.zones === '17'")
    page.keyboard.press("Control+z")
    page.wait_for_function("document.querySelector('.pb').dataset.zones === '18'")


def test_a_candidate_without_a_mouse(show, place):
    page = show(2)
    page.wait_for_selector(".cp-cand")
    page.locator(".cp").evaluate("(e) => e.focus()")
    press_until(page, "Tab", "[data-key='next']")
    page.keyboard.press("Enter")
    page.wait_for_function("document.querySelector('.cp-which').textContent === 'Sign 2 of 17'")
    press_until(page, "Tab", ".cp-k")
    for _ in range(2):
        page.keyboard.press("ArrowLeft")  # あ, か, さ: from the right, as columns go
    for _ in range(2):
        page.keyboard.press("ArrowDown")  # し, す: the demo's reader has し among the candidates already
    page.keyboard.press("Enter")
    page.wait_for_selector(".cp-card")
    press_until(page, "Tab", ".cp-card")
    page.keyboard.press("Enter")
    page.wait_for_selector(".cp-cand [lang=ja]:text-is('す')")
    with OpenPiece(place) as piece:
        order = [c for column in piece.contents.inscriptions[0].columns for c in column]
        second = next(k for k in piece.contents.characters if k.id == order[1])
        assert "す" in [c.character for c in second.candidates]
