"""Collections of known verses: those that come along, and the reader's own as CSV, TSV, TEI or plain text.

Conventions: a collection is a tuple of ``KnownVerse``; files are kept until they change. What comes along is
``data/verses/known.tsv`` (nothing is fitted on it) and, searched beside it, the verses that models were fitted on and
those kept for measuring; ``source`` says which. Verses that were written for fitting only (author "none") are left out.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from readaid.core import places
from readaid.core.errors import TextError
from readaid.lexicon.verse_files import row_verse, verses_of
from readaid.lexicon.verse_text import CollectionError, KnownVerse, of_text

__all__ = ["CollectionError", "KnownVerse", "along", "collection", "demo_path", "load", "of_text"]

#: Verses of a collection larger than this are refused.
MOST_VERSES = 200_000
#: Beside ``known.tsv``: what is searched, and what is said of where it comes from.
_BESIDE = {"verses/train.tsv": "from memory, not compared with an edition; models were fitted on it",
           "fit/verses.tsv": "from memory, not compared with an edition; models were fitted on it",
           "verses/test.tsv": "from memory, not compared with an edition; kept for measuring"}


def load(path: str | Path) -> tuple[KnownVerse, ...]:
    """Read a collection: ``.csv``, ``.tsv``, ``.txt`` or TEI (``.xml``, ``.tei``); again when the file changes.

    Raises
    ------
    CollectionError: no such file, no such format, not UTF-8 or CP932, broken XML.
    TableError: missing columns, faulty rows.

    >>> load(demo_path())[0].author != ""
    True
    """
    path = Path(path)
    try:
        stamp = path.stat().st_mtime_ns
    except (OSError, ValueError) as error:  # ValueError: no file system has such a name
        raise CollectionError("The verse collection cannot be read", ascii(str(path))[1:-1][:80],
                              getattr(error, "strerror", None) or "give a path or a list of verses") from None
    if path.is_dir():
        raise CollectionError("The verse collection is a folder", str(path), "name a CSV, TSV, TEI or text file in it")
    return _loaded(path.resolve(), stamp)


@lru_cache(maxsize=8)
def _loaded(path: Path, stamp: int) -> tuple[KnownVerse, ...]:
    found = tuple(verses_of(path))
    if not found:
        raise CollectionError("The collection holds no verse", path.name, "add one")
    if len(found) > MOST_VERSES:
        raise CollectionError(f"The collection holds {len(found)} verses", path.name, f"give up to {MOST_VERSES}")
    return found


def demo_path() -> Path:
    """The verses typed to be known, of the collection that comes along."""
    return places.share("data") / "verses" / "known.tsv"


@lru_cache(maxsize=1)
def along() -> tuple[KnownVerse, ...]:
    """The collection that comes along: the known verses, then those of the fitting and measuring lists.

    >>> len({v.kana for v in along()}) > 1500
    True
    """
    base = places.share("data")
    beside = [replace(v, text="", source=source) for name, source in _BESIDE.items() for v in load(base / name)
              if v.author != "none"]
    return (*load(demo_path()), *beside)


def collection(given: Any) -> tuple[KnownVerse, ...]:
    """A collection as the user gives it: None (the one that comes along), a path, or an iterable of verses.

    A verse is a ``KnownVerse``, a text, a sequence of lines, or a mapping with the columns of a table. Among the
    verses of an iterable may stand whole collections: a ``Path``, or None for the one that comes along.

    >>> [v.lines for v in collection(["はるの うみ", ("なつ", "くさ")])]
    [('はるの', 'うみ'), ('なつ', 'くさ')]
    >>> len(collection([None, "はるの うみ"])) - len(along())
    1
    """
    if given is None:
        return along()
    if isinstance(given, str | Path):
        return load(given)
    if isinstance(given, tuple) and 0 < len(given) <= MOST_VERSES and all(isinstance(v, KnownVerse) for v in given):
        return given  # as it is, so that it is known again and made ready once
    if not isinstance(given, Iterable):
        raise CollectionError(f"{given!r} is no verse collection", cure="give a path or a list of verses")
    members = tuple(itertools.islice(given, MOST_VERSES + 1))
    if len(members) > 1 and all(m is None or isinstance(m, Path) for m in members):
        return _together(tuple(collection(m) for m in members))
    found = tuple(v for n, m in enumerate(members, 1)
                  for v in (collection(m) if m is None or isinstance(m, Path) else (_one(m, n),)))
    if len(found) > MOST_VERSES:
        raise CollectionError(f"The collection holds more than {MOST_VERSES} verses", cure="give it in parts")
    return found


#: Collections searched together, kept as one so that they are made ready once: parts, whole.
_JOINED: list[tuple[tuple[tuple[KnownVerse, ...], ...], tuple[KnownVerse, ...]]] = []


def _together(parts: tuple[tuple[KnownVerse, ...], ...]) -> tuple[KnownVerse, ...]:
    for known, whole in _JOINED:
        if len(known) == len(parts) and all(a is b for a, b in zip(known, parts, strict=True)):
            return whole
    whole = tuple(itertools.chain.from_iterable(parts))
    if len(whole) > MOST_VERSES:
        raise CollectionError(f"The collections hold more than {MOST_VERSES} verses", cure="search them in parts")
    # Four are kept: a page searches the same two or three again at each change of a sign.
    _JOINED[:] = [*_JOINED[-3:], (parts, whole)]
    return whole


def _one(verse: Any, number: int) -> KnownVerse:
    if isinstance(verse, KnownVerse):
        return verse
    try:
        if isinstance(verse, str):
            return of_text(verse)
        if isinstance(verse, Mapping):
            return row_verse({str(k): str(v) for k, v in verse.items() if v is not None})
        if isinstance(verse, Sequence) and all(isinstance(p, str) for p in verse):
            return of_text("/".join(verse))
    except (TextError, ValueError) as error:
        raise CollectionError(f"A verse cannot be read: {error}", f"verse {number}",
                              "correct it or leave it out") from None
    raise CollectionError(f"{verse!r} is no verse", f"verse {number}", "give a text, its lines, or a KnownVerse")
