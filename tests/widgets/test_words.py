"""Words of the screen: none missing in a language, none that nobody says, none that goes past the table.

What counts as said: t`...` in the browser's modules; wording(...) and plural(...) in Python; and for ``told``, any text
that stands in the code as a whole. Sentences put together of parts lie in tables of their own (composed, records).
"""

from __future__ import annotations

import ast
import functools
import re
from pathlib import Path

import pytest

from readaid.core import errors, preference, texts
from readaid.core.character import Text
from readaid.core.confidence import VALUES as WORDS_OF
from readaid.core.confidence import Damage, Status
from readaid.core.person import ROLES
from readaid.core.photo import Evidence
from readaid.core.specimen import KAO_KINDS
from readaid.photo.views import EVERY
from readaid.piece import allotment, lamps
from readaid.piece.open_piece import OpenPiece
from readaid.widgets import piece_panel, register_pages
from readaid.widgets.bench import Bench
from readaid.widgets.desk import Desk
from readaid.widgets.head_panel import STAGES
from readaid.widgets.modules import STATIC, tagged
from tests.widgets.script_literals import is_words, literals

ERRORS = {name for name, kind in vars(errors).items()
          if isinstance(kind, type) and issubclass(kind, errors.ReadaidError)}
PACKAGE = Path(texts.__file__).resolve().parents[1]
SCRIPTS = sorted(STATIC.glob("*.js"))


@pytest.fixture(autouse=True)
def _in_english_again(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.delenv(preference.VARIABLE, raising=False)
    yield
    texts.speak("en")


def template(node: ast.expr) -> str | None:
    """A literal or an f-string with numbered places."""
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, str) else None
    if not isinstance(node, ast.JoinedStr):
        return None
    made, n = "", 0
    for part in node.values:
        if isinstance(part, ast.Constant):
            made += str(part.value)
        else:
            made += f"{{{n}}}"
            n += 1
    return made


@functools.cache
def said_in_python() -> dict[str, str]:
    """Texts handed to ``wording`` and ``plural`` as literals -> module."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
                continue
            args = {"wording": node.args[:1], "plural": node.args[1:3]}.get(node.func.id, [])
            for arg in args:
                for one in (arg.body, arg.orelse) if isinstance(arg, ast.IfExp) else (arg,):
                    if isinstance(one, ast.Constant) and path.name != "texts.py":
                        found[one.value] = path.name
    return found


@functools.cache
def standing_in_python() -> frozenset[str]:
    """Every text that stands in the code, names of records and of their fields among them; in small letters too."""
    found = set()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant | ast.JoinedStr):
                found.add(template(node) or "")
            elif isinstance(node, ast.ClassDef):
                found.add(node.name)
            elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
                found.add(node.target.id.replace("_", " "))
    return frozenset(found | {f.lower() for f in found})


@functools.cache
def said_in_scripts() -> dict[str, str]:
    return {key: path.name for path in SCRIPTS for key in tagged(path.read_text(encoding="utf-8"))}


@pytest.mark.parametrize("language", [name for name in texts.LANGUAGES if name != "en"])
def test_no_text_lacks_a_wording(language):
    known = texts.table(language)
    said = {**said_in_python(), **said_in_scripts()}
    assert len(said) > 800, "the texts of the bench were found"
    missing = {k: where for k, where in said.items() if k not in known}
    assert not missing


def test_no_wording_is_kept_that_nobody_says():
    lines = [line for name in ("ja", "ja-refusals", "ja-refusals-rooms", "ja-refusals-sources")
             for line in (texts.FOLDER / f"{name}.tsv").read_text(encoding="utf-8").splitlines()]
    kept = [line.split("\t")[0] for line in lines if line and not line.startswith("#") and not line.startswith("en\t")]
    standing = standing_in_python()
    idle = [k for k in kept if k not in said_in_scripts() and k not in standing and k.lower() not in standing]
    assert not idle


#: Every room that refuses something, with the least number of refusals the scan must find there.
REFUSING = {"core": 5, "script": 10, "photo": 10, "lexicon": 10, "glyphs": 5, "forms": 10, "reading": 10,
            "register": 10, "copies": 10, "schools": 10, "report": 10, "piece": 10, "widgets": 10}


def refused(room: str) -> dict[str, str]:
    """What errors of a room say, what and cure, as literals with numbered places -> module and line.

    A name of the module stands for its text; what only runs at run time (the system's own words) is left out.
    """
    found: dict[str, str] = {}
    for path in sorted((PACKAGE / room).rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        named = {n.targets[0].id: n.value for n in tree.body
                 if isinstance(n, ast.Assign) and isinstance(n.targets[0], ast.Name)}
        for node in ast.walk(tree):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ERRORS):
                continue
            said = [*node.args[:1], *node.args[2:3], *(k.value for k in node.keywords if k.arg in ("what", "cure"))]
            for arg in said:
                for one in (arg.body, arg.orelse) if isinstance(arg, ast.IfExp) else (arg,):
                    text = template(named.get(one.id, one) if isinstance(one, ast.Name) else one)
                    if text and any(c.isalpha() for c in text.replace("{0}", "")):
                        found[text] = f"{path.name}:{node.lineno}"
    return found


@pytest.mark.parametrize(("room", "least"), REFUSING.items())
def test_what_a_room_refuses_is_told_in_japanese(room, least):
    said, known = refused(room), texts.table("ja")
    assert len(said) >= least, "the refusals were found"
    assert not {text: where for text, where in said.items() if text not in known}


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda p: p.name)
def test_no_words_of_a_script_go_past_the_table(path):
    strays = [f"{path.name}:{x.line} {x.text!r}" for x in literals(path.read_text(encoding="utf-8"))
              if not x.said and is_words(x.text)]
    assert not strays


def test_the_scan_finds_what_it_should():
    script = '''const a = "Close"; // "Not me"
    h("p", { class: "ra-button ra-small", text: `Zone ${n ? "one more" : t`none`} here` }, t`Said`);
    say(`Stroke ${n} of ${m}.`); /[/"]x/.test(b), 'ok-ok')'''
    found = literals(script)
    assert [x.text for x in found if not x.said and is_words(x.text)] == [
        "Close", "one more", "Zone {0} here", "Stroke {0} of {1}."]
    assert [x.text for x in found if x.said] == ["none", "Said"]


def vocabulary() -> list[str]:
    """Words of lists that panels offer, each said through ``told``."""
    views = [x for v in EVERY.values() for x in (v.name.capitalize(), v.hint, *(s.label for s in v.sliders))]
    tables = [x for title, nothing, columns in register_pages.TABLES.values()
              for x in (title, nothing, *(c.title for c in columns))]
    return [*(label for _, label, _ in piece_panel.FIELDS), *piece_panel.SENSITIVE, *piece_panel.SOURCES, *views,
            *tables,
            *ROLES, *(e.value for e in Evidence), *(e.value.capitalize() for e in Evidence), *(t.value for t in Text),
            *(t.value.capitalize() for t in Text), *WORDS_OF, *STAGES.values(), *lamps.HEIGHTS,
            *allotment.KINDS.values(), *KAO_KINDS, *(title for title, _, _ in register_pages.TABLES.values()),
            *(s.value for s in Status), *(d.value for d in Damage)]


def test_every_word_of_the_lists_has_a_wording():
    known = texts.table("ja")
    assert not [w for w in vocabulary() if w not in known]


def test_a_choice_on_the_head_speaks_at_once_everywhere_and_is_kept(folder):
    with OpenPiece(folder) as piece:
        bench = Bench(Desk(piece), "reading")
        assert bench.held["head"].state["stages"][0][1] == "Photographs"
        bench.held["head"]._dispatch("language", {"name": "ja"})
        assert bench.held["head"].state["stages"][0][1] == "写真"
        assert {panel.spoken for panel in bench.panels} == {"ja"}
        assert preference.preferred(piece.reader, "language") == "ja"
        assert bench.held["sign"].state["damages"][:2] == [["not stated", "未調査"], ["intact", "完存"]]
        bench.held["board"]._dispatch("mat", {})
        assert bench.held["board"].state["mat"] == "light"
        assert preference.preferred(piece.reader, "mat") == "light"


def test_a_refusal_is_told_in_the_language_spoken(folder):
    texts.speak("ja")
    with OpenPiece(folder) as piece:
        bench = Bench(Desk(piece), "reading")
        said = []
        board = bench.held["board"]
        board.say = lambda text, kind="info": said.append((text, kind))
        board.guarded(board._dispatch, "unpin", {"note": "gone"})
        assert said == [("その覚書はもうありません（gone）。別のものを選んでください。", "error")]


#: What is asked, and the verse it is held against: between them every kind of difference.
UNLIKE = (("るのうみひねもすのたりのたりかな", "はるのうみ ひねもすのたり のたりかな"),
          ("はるのうみひねもすのたり", "はるのうみ ひねもすのたり のたりかな"),
          ("はるのうみねもすのたりのたりかな", "はるのうみ ひねもすのたり のたりかな"),
          ("はるのうみさひねもすのたりのたりかな", "はるのうみ ひねもすのたり のたりかな"),
          ("はるのうみさそひねもすのたりのたりかな", "はるのうみ ひねもすのたり のたりかな"),
          ("はるのうみひねもすのたりのたりけな", "はるのうみ ひねもすのたり のたりかな"),
          ("五月雨の雲吹きおとせ大井川", "さみだれの そらふきおとせ おほゐがは"),
          ("ひねもすのたり\nのたりかな\nはるのうみ", "はるのうみ ひねもすのたり のたりかな"))


def test_what_differs_from_a_known_verse_is_told_in_japanese():
    from readaid.reading.known_verse import find_verse

    said = [d for asked, verse in UNLIKE for d in find_verse(asked, [verse], k=1)[0].differences]
    assert len({re.sub(r"[^a-z ]", "", d) for d in said}) >= 7, said
    english = [d for d in said if re.search("[a-z]", texts.told(d, "ja"))]
    assert not english
