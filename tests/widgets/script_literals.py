"""The literals of a browser module, told apart as a reader of JavaScript would: strings, templates, tagged templates.

Conventions: what a template puts in is looked through for further literals; comments and regular expressions are
passed over (a slash behind an operator or a bracket begins one).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

#: Strings that hold words and are none: classes, selectors, kinds of files, names of keys, drawing instructions.
NO_WORDS = re.compile(
    r"^(image/|text/|data:|textarea|select,|input,|sRGB|fe[A-Z]|viewBox|Digit|Arrow|Page(Up|Down)$|Home$|Backspace$"
    r"|Delete$|Escape$|Enter$|Readaid (Letters|Text)$|matrix|left:|width:|background:|ra \{0\}|copy-|Files$"
    r"|\{0\}brightness|\{0\}api/|IPY_MODEL_|no widget )")
#: Ids that Python knows and the screen words otherwise: where a lamp stood, where a part stands, which way round.
IDS = {"top left", "top right", "bottom left", "bottom right", "over the left", "under the right", "as it stands",
       "upside down"}


@dataclass(frozen=True)
class Literal:
    """Text with ``{0}`` where something is put in; ``said``: it goes through the table of words."""

    text: str
    line: int
    said: bool


def literals(script: str) -> list[Literal]:
    """Every string and template of ``script``."""
    return list(_within(script, 0, len(script)))


def _within(script: str, at: int, end: int) -> Iterator[Literal]:
    before = "("
    while at < end:
        c = script[at]
        if script.startswith("//", at):
            at = script.find("\n", at) if "\n" in script[at:end] else end
            continue
        if script.startswith("/*", at):
            at = script.index("*/", at) + 2
            continue
        if c == "/" and before in "=(,:[!&|?{};":
            at, before = _regex_end(script, at), "/"
            continue
        if c in "\"'":
            stop = _string_end(script, at)
            yield Literal(script[at + 1:stop - 1], script.count("\n", 0, at) + 1, False)
            at, before = stop, c
            continue
        if c == "`":
            key, inner, stop = _template(script, at)
            for a, b in inner:
                yield from _within(script, a, b)
            said = script[at - 1] == "t" and not re.match(r"[\w$.]", script[at - 2])
            yield Literal(key, script.count("\n", 0, at) + 1, said)
            at, before = stop, c
            continue
        before = before if c.isspace() else c
        at += 1


def _string_end(script: str, at: int) -> int:
    quote, at = script[at], at + 1
    while script[at] != quote:
        at += 2 if script[at] == "\\" else 1
    return at + 1


def _regex_end(script: str, at: int) -> int:
    at, among = at + 1, False
    while script[at] != "/" or among:
        among = script[at] == "[" or (among and script[at] != "]")
        at += 2 if script[at] == "\\" else 1
    return at + 1


def _template(script: str, at: int) -> tuple[str, list[tuple[int, int]], int]:
    key, inner, at = "", [], at + 1
    while script[at] != "`":
        if script.startswith("${", at):
            stop = _put_in_end(script, at + 2)
            inner.append((at + 2, stop - 1))
            key += f"{{{len(inner) - 1}}}"
            at = stop
        else:
            at += script[at] == "\\"
            key += script[at]
            at += 1
    return key, inner, at + 1


def _put_in_end(script: str, at: int) -> int:
    depth = 1
    while depth:
        if script[at] == "`":
            at = _template(script, at)[2]
        elif script[at] in "\"'":
            at = _string_end(script, at)
        else:
            depth += {"{": 1, "}": -1}.get(script[at], 0)
            at += 1
    return at


def is_words(text: str) -> bool:
    """Whether a literal is something a reader would read: a capital word, or two words."""
    bare = re.sub(r"\{\d+\}", " ", text)
    if not re.search(r"[A-Za-z]{2}", bare) or NO_WORDS.match(text) or text in IDS:
        return False
    if re.match(r"^(\{0\} )?(ra|rb|pb|hd|sh|rp|cp|sp|np|xp|lg|tp|kp|ow|rg|[a-z]{2})-[a-z]", text):
        return False
    if re.search(r"[#\[\].>=]|::", text.rstrip(".")) and not re.search(r"[a-z] [a-z]", text):
        return False
    return not re.fullmatch(r"[a-z0-9_{}:/%(). -]*-[a-z0-9_{}:/%(). -]*|[a-z0-9_{}:]+", text)
