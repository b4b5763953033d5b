"""Every part of a kanji and where it stands, from an open table that is installed beside readaid.

Conventions: the table is KanjiVG (Ulrich Apel and others, CC BY-SA 3.0), read from the Python package ``kanjivg``
where that is installed (``pip install readaid[parts]``); nothing of it is copied into readaid. A place is one of
``PLACES``, or two of them from the outside in ("bottom left": at the left of what stands at the bottom); "" where the
table gives none.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

from readaid.core.errors import TableError, unknown_option

#: Places by their name here, each with its trade name and the table's word.
PLACES = {"left": ("hen", "left"), "right": ("tsukuri", "right"), "top": ("kanmuri", "top"),
          "bottom": ("ashi", "bottom"), "over the left": ("tare", "tare"), "under the right": ("nyo", "nyo"),
          "around": ("kamae", "kamae"), "inside": ("inside", "tarec nyoc kamaec"), "middle": ("middle", "middle")}
_TABLE = {word: place for place, (_, words) in PLACES.items() for word in words.split()}
_TAG = re.compile(r"<g\b([^>]*)>|</g>")
_SAID = re.compile(r'kvg:(element|original|position)="([^"]*)"')


@dataclass(frozen=True, slots=True)
class Component:
    """A part as written, the kanji it comes from ("" where it is the same), and where it stands."""

    part: str
    original: str
    place: str


def installed() -> bool:
    """Whether the table is installed."""
    return _folder() is not None


def components(character: str) -> tuple[Component, ...]:
    """All parts of a kanji, parts of parts too, as the table lists them; empty where it does not know the kanji.

    Raises TableError where the table is not installed.
    """
    folder = _folder()
    if folder is None:
        raise TableError("The table of parts of kanji is not installed", "kanjivg",
                         "install it with: pip install readaid[parts]")
    return _read(folder, character)


def place_named(name: str) -> str:
    """A place by its name or trade name; raises OptionError for an unknown one.

    >>> place_named("hen"), place_named("Left"), place_named("bottom left")
    ('left', 'left', 'bottom left')
    """
    words = " ".join(name.lower().split())
    by_trade = {trade: place for place, (trade, _) in PLACES.items()}
    known = {*PLACES, *by_trade}
    if words in known:
        return by_trade.get(words, words)
    for outer in sorted(known, key=len, reverse=True):
        inner = words.removeprefix(f"{outer} ")
        if inner != words and inner in known:
            return f"{by_trade.get(outer, outer)} {by_trade.get(inner, inner)}"
    raise unknown_option("place", name, known)


@lru_cache(maxsize=1)
def _folder() -> Path | None:
    from importlib.metadata import PackageNotFoundError, distribution

    try:
        # located without importing: the package holds drawings only, in a folder of the plain name "kanji"
        found = Path(str(distribution("kanjivg").locate_file("kanji")))
    except PackageNotFoundError:
        return None
    return found if found.is_dir() else None


@cache
def _read(folder: Path, character: str) -> tuple[Component, ...]:
    path = folder / f"{ord(character):05x}.svg" if len(character) == 1 else folder / "none"
    if not path.is_file():
        return ()
    text = path.read_text(encoding="utf-8")
    found: dict[Component, None] = {}
    places: list[str] = []  # of the groups that are open, outermost first
    for tag in _TAG.finditer(text[text.find("<svg"):]):
        if tag[0] == "</g>":
            if places:
                places.pop()
            continue
        if tag[1].endswith("/"):
            continue
        said = dict(_SAID.findall(tag[1]))
        places.append(_TABLE.get(said.get("position", ""), ""))
        part = said.get("element", "")
        if part and part != character:
            chain = [p for n, p in enumerate(places) if p and p not in places[:n]]  # the right of the right: right
            found[Component(part, said.get("original", ""), " ".join(chain[:2]))] = None
    return tuple(found)
