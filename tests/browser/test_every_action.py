"""Every action of every panel by keyboard: what a panel may be asked, a control that takes the focus or a key asks.

What may be asked is read from the panels (``messages.askings``); what the keyboard asks is found by using every control
of every panel in a plain page (``keyboard_walk.js``). An action that is added and has no such way fails here.
"""

from __future__ import annotations

import asyncio
import shutil
from unittest import mock

import pytest

from readaid.piece.open_piece import OpenPiece
from readaid.widgets import messages
from readaid.widgets.album_panel import album
from readaid.widgets.bench import Bench
from readaid.widgets.desk import Desk
from tests.browser.plain_page import unnamed, walked

pytestmark = pytest.mark.browser

#: What the screen asks of its own accord: pictures, fonts, the state anew, what fits on the screen.
BY_ITSELF = {"tiles", "overview", "plane", "crops", "thumbnails", "forms", "font", "face", "whole"}
#: What pointers do by another asking than keys: dragging a sign on the sheet is moving it by its buttons (``order``).
SAME_AS = {"place_before": "order", "place_last": "order"}


def at_once():
    """The browser's driver keeps a loop running, on which nothing of ours would be done: it is done at once."""
    return mock.patch.object(asyncio, "get_running_loop", side_effect=RuntimeError)


@pytest.fixture(scope="module")
def bench(demo_folder, tmp_path_factory):
    folder = tmp_path_factory.mktemp("actions") / "piece"
    shutil.copytree(demo_folder, folder)
    with pytest.MonkeyPatch.context() as patch, OpenPiece(folder) as piece:
        patch.setenv("XDG_CONFIG_HOME", str(folder.parent))
        with at_once():
            made = Bench(Desk(piece), "photographs")
            for stage in ("school", "report", "reading"):
                made.go(stage)
            made.trace()
            desk = made.desk
            desk.choose(inscription=piece.contents.inscriptions[0].id)
            first = desk.ordered()[0]
            desk.choose(character=first.id, zone=first.zones[0])
        yield made


@pytest.fixture(scope="module")
def plain(browser):
    """A page with nothing on it; a fault on it fails the test."""
    page = browser.new_page(viewport={"width": 1400, "height": 1000})
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.route("http://plain/", lambda route: route.fulfill(
        body="<!doctype html><meta charset=utf-8><body>", content_type="text/html"))
    page.goto("http://plain/")
    yield page
    page.close()
    assert not faults, faults


def asked(panel, **asking) -> None:
    """Ask a panel and wait."""
    with at_once():
        panel._asked(panel, asking, [])
    assert not panel.fault, panel.fault


#: A date that fits, as the signature panel shows it.
WORK = {"label": "x", "share": 0.5, "stoppable": True}
DATING = {"era": "文政 12", "range": "1829", "cycle": "", "agrees": "", "notes": "", "folded": False}
RULER = {"words": "a ruler", "uses": [["scale", "use"]], "outline": [], "marks": []}


def first_asked(bench, name) -> list[dict[str, str]]:
    """What is asked so that the rest of a panel is there: two forms chosen, an attempt opened."""
    contents = bench.desk.contents
    one, other = contents.specimens[:2]
    return {"compare": [{"do": "pick", "which": "a", "id": one.id}, {"do": "pick", "which": "b", "id": other.id}],
            "register": [{"do": "open", "id": contents.attempts[0].id}]}.get(name, [])


def everything(page, panel, place, *states) -> dict[str, str]:
    """What was asked by keyboard in any of the states (``opening``: controls pressed first)."""
    found: dict[str, str] = {}
    for state in states or ({},):
        changed = dict(state)
        opening = changed.pop("opening", ())
        for asked, way in walked(page, panel, changed.get("stage", place), opening, **changed).items():
            found.setdefault(asked, way)
    return found


def lacking(panel, found) -> set[str]:
    """What may be asked of the panel and no keyboard asked; a step through the signs is asked where they stand."""
    may = set(messages.askings((panel, *panel.parts))) - BY_ITSELF - ({"step"} - set(found))
    return {name for name in may if SAME_AS.get(name, name) not in found}


def test_every_action_of_the_photograph(bench, plain):
    board = bench.held["board"]
    zone = {**board.state["zones"][0], "sure": "hardly sure", "faint": True, "joined": True}
    row = {"n": 0, "zone": zone["id"], "words": "two", "boxes": []}
    few = {"zones": [zone, *board.state["zones"][1:4]], "photos": board.state["photos"][:2]}
    found = everything(
        plain, board, "marks",
        {**few, "stage": "photographs", "scale": None, "about": {**board.state["about"], "side": "left"}},
        {**few, "stage": "photographs", "ruler": RULER,
         "notes": [{"id": "n", "text": "seen", "private": False, "point": [5, 5]}], "view": "relief",
         "views": [{"name": "relief", "label": "Relief", "sliders": [
             {"name": "depth", "label": "Depth", "min": 0, "max": 1, "step": 0.1, "value": 0.5}]}]},
        {**few, "stage": "marks", "selected": zone["id"]},
        {**few, "stage": "marks", "corrections": [row, {**row, "n": 1}], "trouble": "gone",
         "busy": WORK,
         "question": {"text": "?", "choices": [["add", "add"]], "region": None, "base": ""}})
    assert not lacking(board, found), found


def test_every_action_of_the_sheet_and_the_sign(bench, plain):
    sign = bench.held["sign"]
    asked(sign, do="by_sound", sound="か")
    of_sheet = everything(plain, bench.held["sheet"], "marks", {"stage": "marks"})
    assert not lacking(bench.held["sheet"], of_sheet), of_sheet
    own = [{"id": "e", "character": "す"}]
    of_sign = everything(plain, sign, "reading", {
        "traced": True, "inside": [[sign.state["character"], "1"], ["x", "2"]], "own": own,
        "shape": {**sign.state["shape"], "state": "ready"}})
    assert not lacking(sign, of_sign), of_sign


def test_every_action_of_reading_log_and_head(bench, plain):
    line = {"id": "g", "when": "", "who": "r", "words": "w", "character": "c", "stands": True, "back": True}
    chinese = {"signs": "山", "rows": [], "words": [], "known": ""}
    states = {"line": {"opening": ("more",), "chinese": chinese}, "log": {"lines": [line]},
              "tracing": {"strokes": [[[1, 1], [5, 5]]], "turn": 9}, "head": {"redo": "x"}}
    for name, state in states.items():
        found = everything(plain, bench.held[name], "reading", state, {**state, "busy": True})
        assert not lacking(bench.held[name], found), (name, found)


@pytest.mark.parametrize(("name", "states"), [
    ("signature", ({"datings": [DATING]},)), ("compare", ({"traced": [{"side": "a", "words": "First", "on": False}]},)),
    ("school", ({}, {"busy": WORK})), ("register", ({"total": 500},)),
    ("piece", ({},)),
    ("report", ({}, {"busy": WORK})), ("sharing", ({}, {"busy": WORK, "where": "out"}))])
def test_every_action_of_school_and_report(bench, plain, name, states):
    panel = bench.held[name]
    for asking in first_asked(bench, name):
        asked(panel, **asking)
    found = everything(plain, panel, "school" if name in ("signature", "compare", "school") else "report", *states)
    assert not lacking(panel, found), found


def test_every_action_of_the_album(plain, tmp_path):
    panel = album(tmp_path / "school", title="t", reader="r")
    form = {"id": "f", "maker": "m", "year": "1790", "thumb": "", "traced": False}
    full = {"forms": [form, {**form, "id": "g"}], "makers": [["m", 1]], "figures": [["tree", "Tree"]],
            "sentences": ["s"], "figure": {"svg": "PHN2Zy8+", "title": "Tree"}}
    found = everything(plain, panel, "school", full, {**full, "busy": WORK})
    panel.school.close()
    assert not lacking(panel, found), found


def test_a_control_without_a_name_is_seen(plain):
    """Of the walk's own check: the browser's accessibility tree tells a nameless button from a named one."""
    plain.evaluate("document.body.innerHTML = '<button></button><button>Keep</button><input aria-label=\"Why\">'")
    assert len(unnamed(plain)) == 1
