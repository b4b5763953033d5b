"""What the parts of a report are made from: the veiled contents, the pictures, the words of one language.

Conventions: nothing here is changed while a report is made; ``w`` gives a heading of the table of terms, ``said`` the
word for a value from a closed list of ours (a user's own word comes back as it is).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from functools import cached_property
from pathlib import Path

from readaid.core.attempt import Attempt
from readaid.core.character import Character, Inscription
from readaid.core.confidence import Status
from readaid.core.contents import Contents
from readaid.core.entry import Entry
from readaid.core.photo import Photo
from readaid.core.progress import Progress, stretch, unheard
from readaid.register import hashes
from readaid.report.edition import EditionText, edit
from readaid.report.pictures import Pictures
from readaid.report.terms import Words

#: Share of the work that reading every photo whole takes before the first picture.
LOOKED = 0.1


@dataclasses.dataclass
class Matter:
    """A piece on its way into a document; ``files``: where a photo lies, where the veil gave it another name.

    ``progress``: told after each photo that is looked whether it is the one taken in, and before each picture, of as
    many as a report of the piece usually has.
    """

    contents: Contents
    folder: Path
    edition: str
    language: str
    blind: bool
    files: Mapping[str, str]
    progress: Progress = unheard

    def __post_init__(self) -> None:
        self.words = Words(self.language)
        held = [dataclasses.replace(p, file=self.files.get(p.id, p.file)) for p in self.contents.photos]
        found = hashes.check(self.folder, held, progress=stretch(self.progress, 0, LOOKED)).photos
        #: why a photo cannot be shown, by its id: a file that is another than the one taken in is no evidence
        self.gaps = {p.photo.id: self.w("photo_changed" if p.state is hashes.State.CHANGED else "photo_missing")
                     for p in found if not p.sound}
        self.pictures = Pictures(self.contents, self.folder, self.files, frozenset(self.gaps),
                                 stretch(self.progress, LOOKED, 1))

    def w(self, key: str) -> str:
        """A heading or label in the report's language."""
        return self.words.w(key)

    def said(self, group: str, value: str) -> str:
        """A value from a closed list in the report's language; a user's own word as it is."""
        return self.words.said(group, value)

    def told(self, text: str) -> str:
        """A text of the entry in the report's language, where sentences of the program's own stand in it."""
        return self.words.told(text)

    @cached_property
    def photos(self) -> dict[str, Photo]:
        """Photos by id."""
        return {p.id: p for p in self.contents.photos}

    @cached_property
    def characters(self) -> dict[str, Character]:
        """Characters by id."""
        return {c.id: c for c in self.contents.characters}

    def entry(self, target: Inscription) -> Entry:
        """What the entry says of an inscription."""
        return self.contents.entry(target.id)

    def attempts(self, target: Inscription) -> list[Attempt]:
        """Reading attempts at an inscription, in the order kept."""
        return [a for a in self.contents.attempts if a.inscription == target.id]

    def best(self, target: Inscription) -> Attempt | None:
        """The attempt that the report follows."""
        return preferred(self.attempts(target))

    def text(self, target: Inscription) -> EditionText:
        """The inscription sign by sign."""
        return edit(self.contents, target.id, self.best(target))

    def numbers(self, target: Inscription) -> dict[str, int]:
        """The number of each zone of an inscription, in reading order from 1."""
        zones = dict.fromkeys(z for c in target.characters if c in self.characters for z in self.characters[c].zones)
        return {zone: n for n, zone in enumerate(zones, start=1)}

    def title(self, target: Inscription) -> str:
        """What an inscription is called."""
        return target.title or f"{self.w('inscription')}: {self.said('text', target.kind.value)}"

    def lamp(self, photo: Photo) -> str:
        """The light a photo was taken in, else what kind of picture it is."""
        return photo.light or self.said("evidence", photo.evidence.value)


def preferred(attempts: Iterable[Attempt]) -> Attempt | None:
    """The settled attempt, else the preferred one, the newest of several; None if there is neither."""
    held = list(attempts)
    for status in (Status.SETTLED, Status.PREFERRED):
        found = [a for a in held if a.status is status]
        if found:
            return max(found, key=lambda a: a.made)
    return None


def share(probability: float | None) -> str:
    """A computed probability as text: never 0 %, since what was found cannot be impossible.

    >>> share(0.0001), share(0.5), share(None)
    ('< 1 %', '50%', '')
    """
    if probability is None:
        return ""
    return "< 1 %" if probability < 0.005 else f"{probability:.0%}"
