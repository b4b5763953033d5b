"""The browser's modules of a panel as one text, so that no server has to hand out files.

Conventions: a notebook loads the text of a module and not its address, so a relative import cannot work. The text made
here holds every module that the entry imports and gives each an address of its own the first time it is asked for; two
panels that hold the same text of a module share it. With the modules go the words they say (t`...`) in every language.
"""

from __future__ import annotations

import base64
import functools
import hashlib
import json
import re
from pathlib import Path

from readaid.core.places import latin_font
from readaid.core.texts import LANGUAGES, table

STATIC = Path(__file__).resolve().parent / "static"
_IMPORT = re.compile(r'from "\./([\w.]+)"')

#: Gives each module an address; ``readaidModules`` outlives the panel, so that the next one finds it there.
_LOADER = """
for (const [language, rows] of Object.entries(words))
  Object.assign((globalThis.readaidTexts ??= {})[language] ??= {}, rows);
const addresses = (globalThis.readaidModules ??= {});
const address = (name) => {
  const [mark, text] = parts[name];
  return addresses[mark] ??= URL.createObjectURL(new Blob(
    [text.replace(/from "\\.\\/([\\w.]+)"/g, (_, other) => `from "${address(other)}"`)], { type: "text/javascript" }));
};
const entry = await import(address(%s));
export default entry.default;
"""


@functools.cache
def names(entry: str) -> tuple[str, ...]:
    """The entry and all modules it imports, directly or not, each once.

    >>> names("geometry.js"), "texts.js" in names("report_panel.js")
    (('geometry.js',), True)
    """
    found = [entry]
    for name in found:
        found += [n for n in _IMPORT.findall((STATIC / name).read_text(encoding="utf-8")) if n not in found]
    return tuple(dict.fromkeys(found))


@functools.cache
def module_text(entry: str) -> str:
    """The text that a panel hands to the browser as its module."""
    def text(name: str) -> str:
        return (STATIC / name).read_text(encoding="utf-8")

    def mark(name: str) -> str:  # of the module and of all it imports: a changed one must not meet an old one
        return hashlib.sha256("".join(text(n) for n in names(name)).encode()).hexdigest()[:12]

    parts = {n: [f"{n} {mark(n)}", text(n)] for n in names(entry)}
    said = dict.fromkeys(key for n in names(entry) for key in tagged(text(n)))
    words = {one: {k: table(one)[k] for k in said if k in table(one)} for one in LANGUAGES if one != "en"}
    return f"const parts = {json.dumps(parts)}, words = {json.dumps(words)};{_LOADER % json.dumps(entry)}"


@functools.cache
def style_text(*sheets: str) -> str:
    """The shared style sheet followed by the panel's own."""
    return "\n".join((STATIC / n).read_text(encoding="utf-8") for n in ("kit.css", *sheets))


@functools.cache
def latin_face() -> str:
    """A style rule that holds the Latin letters of the text face.

    The whole face comes after the first pictures; words laid with another one until then would move when it comes.
    """
    data = base64.b64encode(latin_font().read_bytes()).decode("ascii")
    return (f'@font-face {{ font-family: "Readaid Latin"; font-display: block; '
            f'src: url("data:font/woff2;base64,{data}") format("woff2"); }}\n')


def tagged(script: str) -> list[str]:
    """The texts a module says, t`Zone ${n}` as "Zone {0}"; also those inside what another one puts in.

    >>> tagged("h('p', {}, t`Zone ${n ? t`no ${n}` : ''} of ${m}`)")
    ['Zone {0} of {1}', 'no {0}']
    """
    found = []
    for start in re.finditer(r"(?<![\w$.])t`", script):
        at, places, key = start.end(), 0, ""
        while script[at] != "`":
            if script.startswith("${", at):
                key += f"{{{places}}}"
                places += 1
                at = _closing(script, at + 2)
            else:
                at += script[at] == "\\"
                key += script[at]
                at += 1
        found.append(key)
    return found


def _closing(script: str, at: int) -> int:
    """Behind the brace that closes what is put in at ``at``; braces inside, also of further templates, are counted."""
    depth = 1
    while depth:
        depth += {"{": 1, "}": -1}.get(script[at], 0)
        at += 1
    return at
