"""The browser's modules held to what a front-end engineer asks: types, lint, one layout, unit tests, short modules.

Outside checks: TypeScript's checker (strict, over JSDoc), ESLint, Prettier and Node's own test runner, from npm at the
versions of the lock file. Installed once beside the lock; a machine without npm skips with a reason, in CI that fails.
"""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import get_args, get_type_hints

import pytest

from readaid.widgets.messages import TOLD
from tests.javascript import message_types

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
WIDGETS = ROOT / "readaid" / "widgets"
STATIC = WIDGETS / "static"
LOCK = HERE / "package-lock.json"
#: Lines of a module of the browser. A longer one was always two things: the cards of photographs and those of marks
#: once stood in one module of 757 lines.
MODULE = 300

#: Where a module says ``any``, and how often: attributes of an element, a trait of any panel. Anything else that comes
#: from Python has a type in ``widgets.states`` or ``widgets.messages``. These numbers may only fall.
ANY = {"kit.js": 2, "panel_frame.js": 1, "window_widgets.js": 2, "window_wire.js": 1}


@pytest.fixture(scope="session")
def npm() -> str:
    """npm, with what the lock file names installed beside it; a stamp tells which lock that was."""
    path = shutil.which("npm")
    if path is None:
        pytest.skip("npm is missing: Debian's apt-get install npm, or Node from elsewhere, brings it")
    stamp = HERE / "node_modules" / ".of-lock"
    wanted = hashlib.sha256(LOCK.read_bytes()).hexdigest()
    if not stamp.is_file() or stamp.read_text() != wanted:
        got = subprocess.run([path, "ci", "--no-audit", "--no-fund"], cwd=HERE, capture_output=True, text=True)
        if got.returncode:
            pytest.skip(f"the checkers could not be installed by npm ci ({got.stderr.strip()[-200:]})")
        stamp.write_text(wanted)
    return path


@pytest.mark.slow
@pytest.mark.parametrize("check", ["types", "lint", "laid-out", "test"])
def test_the_wing_is_clean(npm: str, check: str) -> None:
    done = subprocess.run([npm, "run", "--silent", check], cwd=HERE, capture_output=True, text=True)
    assert done.returncode == 0, (done.stdout + done.stderr)[-6000:]
    if check == "test":
        passed = re.search(r"^# pass (\d+)$", done.stdout, re.M)
        assert int(passed[1] if passed else 0) >= 20, "Node's runner found its tests"


@pytest.mark.parametrize("path", sorted(STATIC.glob("*.js")), ids=lambda p: p.name)
def test_a_module_is_short_and_says_what_it_owns(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines()
    assert len(lines) < MODULE
    assert lines[0].startswith("// ")


def test_what_comes_from_python_has_a_type() -> None:
    """``any`` switches the checker off for all that it touches, so each one is counted."""
    said = {path.name: sum(len(re.findall(r"(?<=[\s{(|<:.,])any(?=[\[\])}|>,;])", comment))
                           for comment in re.findall(r"/\*\*.*?\*/", path.read_text(encoding="utf-8"), re.S))
            for path in STATIC.glob("*.js")}
    assert {name: n for name, n in said.items() if n} == ANY


def test_the_limit_of_functions_is_the_linters() -> None:
    """Sixty lines a function: ESLint counts, so the rule must stand, and nothing may be excused from it."""
    rules = (HERE / "eslint.config.js").read_text(encoding="utf-8")
    assert '"max-lines-per-function": ["error", 60]' in rules
    for path in [*STATIC.glob("*.js"), *(WIDGETS / "labextension" / "static").glob("*.js")]:
        text = path.read_text(encoding="utf-8")
        excused = re.search(r"eslint-disable|@ts-(ignore|nocheck|expect-error)|prettier-ignore", text)
        assert not excused, path.name


def test_the_lock_names_no_registry() -> None:
    """What stands in the lock must hold anywhere: a package by name, version and digest, no address to fetch from."""
    lock = json.loads(LOCK.read_text(encoding="utf-8"))
    packages = {name: p for name, p in lock["packages"].items() if name}
    assert packages
    assert not [name for name, p in packages.items() if "resolved" in p or "integrity" not in p]


def test_both_sides_know_the_same_messages() -> None:
    """What the browser's checker holds askings against is what the panels answer, name by name and type by type."""
    assert message_types.TARGET.read_text(encoding="utf-8") == message_types.made(), (
        "the panels' askings or what they tell changed: python -m tests.javascript.message_types, then mend the types")


def test_all_that_is_told_has_a_type() -> None:
    """Every ``{"type": ...}`` that a panel sends, read from the source, is one of the kinds; none of them is idle."""
    source = "\n".join(p.read_text(encoding="utf-8") for p in WIDGETS.glob("*.py") if p.name != "messages.py")
    sent = set(re.findall(r'send\(\s*\{"type": "(\w+)"|\{\s*"type": "(\w+)",', source))
    kinds = {get_args(get_type_hints(k)["type"])[0] for k in TOLD if "type" in k.__annotations__}
    assert {a or b for a, b in sent} == kinds
