"""Photographs that come into a piece: several at once, copied byte for byte, none of them half.

Conventions: what is copied has no record yet; whoever asked saves the records as one gesture. Where the copying or the
saving breaks off, the files that came go again; what a record names, a withdrawn one too, and what lay there before,
stays.
"""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from readaid.core.errors import unknown_option
from readaid.core.photo import Photo
from readaid.core.progress import Progress, stretch, unheard
from readaid.piece import folder as places
from readaid.piece.holding import Holding


@dataclass(frozen=True)
class Copied:
    """Photographs that lie in the piece folder and have no record yet, and the files that came with them."""

    photos: tuple[Photo, ...]
    brought: frozenset[str]


def copied(piece: Holding, paths: Sequence[str | Path], progress: Progress = unheard, **fields: Any) -> Copied:
    """Copy photographs into the piece folder; returns their records, not saved yet.

    A photograph that is there already, taken in twice from the card and from the mail, is the one that is there and
    keeps its zones. ``progress`` is told before each and within a large one; ``fields`` are those of
    :class:`readaid.core.photo.Photo`. Raises PhotoError when a file is not a photo that can be read whole.
    """
    from readaid.photo.file import describe

    known = {f.name for f in dataclasses.fields(Photo)}
    for name in fields:
        if name not in known:
            raise unknown_option("photo field", name, known - {"id", "file", "sha256"})
    there = {p.sha256: p for p in piece.contents.photos}
    found: list[Photo] = []
    brought: set[str] = set()
    with whole(piece, brought):
        for source, within in _by_size([Path(p).expanduser() for p in paths], progress):
            facts = describe(source, stretch(within, 0.0, 0.3))
            if facts.sha256 not in there:
                stood = {f.name for f in (piece.folder / places.PHOTOS).iterdir()}
                name = places.take_in(source, piece.folder, facts.sha256, stretch(within, 0.3, 1.0))
                if Path(name).name not in stood:  # else the reader had laid that very file there, perhaps the only one
                    brought.add(name)
                there[facts.sha256] = Photo(**{
                    "file": name, "sha256": facts.sha256, "width": facts.width, "height": facts.height,
                    "bits": facts.bits, "title": source.stem, "taken": facts.taken, **fields})
            found.append(there[facts.sha256])
    return Copied(tuple(dict.fromkeys(found)), frozenset(brought))


def _by_size(sources: Sequence[Path], progress: Progress) -> Iterator[tuple[Path, Progress]]:
    """The files one by one, each with the progress of its share of all bytes; told before each and after the last."""
    sizes = [max(s.stat().st_size, 1) if s.is_file() else 1 for s in sources]
    done, of = 0, max(sum(sizes), 1)
    for source, size in zip(sources, sizes, strict=True):
        within = stretch(progress, done / of, (done + size) / of)
        within(0, 1)
        yield source, within
        done += size
    progress(of, of)


@contextlib.contextmanager
def whole(piece: Holding, brought: Collection[str]) -> Iterator[None]:
    """Of the files that were ``brought``, those that no record names are taken away where the block breaks off."""
    try:
        yield
    except BaseException:
        named = {p.file for p in piece.register.all("photo", piece="*", withdrawn=True)}
        for file in set(brought) - named:
            (piece.folder / file).unlink(missing_ok=True)
        raise
