"""The desk: what all panels of one page share - the piece, what is chosen on it, and the way back.

Conventions: one finished gesture is one group of revisions; undo and redo are
new revisions. Several kernels may work on one register: the desk looks at its
version every two seconds and tells the panels when something has come.
"""

from __future__ import annotations

import asyncio
import contextlib
import threading
from collections.abc import Callable, Iterator
from typing import Any, TypeVar

from readaid.core.character import Character, Inscription
from readaid.core.contents import Contents
from readaid.core.errors import ReadaidError
from readaid.core.photo import Photo, Zone
from readaid.core.reading import Reading
from readaid.piece.open_piece import OpenPiece
from readaid.widgets.kept_rows import KeptRows

T = TypeVar("T")
#: Seconds between two looks at the register's version.
INTERVAL = 2.0


class Desk:
    """The opened piece with what is chosen: photo, inscription, zone, character.

    Listeners get one word: "records" when the register changed, "choice" when
    another thing was chosen, "reading" when a search has ended.
    """

    def __init__(self, piece: OpenPiece) -> None:
        self.piece = piece
        #: Cells, askings of the page and ended searches may run in different threads (subshells of the kernel).
        self.lock = threading.RLock()
        self.photo = ""
        self.inscription = ""
        self.zone = ""
        self.character = ""
        self.best: Reading | None = None  # the best reading as last searched,
        self.best_of = ""  # and the inscription it is of
        self.unread: frozenset[int] = frozenset()  # places in it that shape alone spoke for
        self.sounds: dict[str, str] = {}  # character id -> sound it has in the best reading, or most likely
        self.after: dict[str, dict[str, float]] = {}  # character id -> sign -> share with its neighbours
        self.seen = piece.version
        self._listeners: list[Callable[[str], None]] = []
        self.zone_rows = KeptRows()
        self._waiting: set[str] | None = None
        self.stage = "reading"  # place of the bench the reader works at
        self._done: list[tuple[str, list[str]]] = []
        self._undone: list[tuple[str, list[str]]] = []
        self._watch: asyncio.Task[None] | None = None
        self.settle()

    # --- what is there -------------------------------------------------
    @property
    def contents(self) -> Contents:
        """All records as they stand now."""
        return self.piece.contents

    def settle(self) -> None:
        """Let every choice point to something that exists."""
        c = self.contents
        photos = [p.id for p in c.photos]
        if self.photo not in photos:
            self.photo = photos[0] if photos else ""
        inscriptions = [i.id for i in c.inscriptions]
        if self.inscription not in inscriptions:
            here = [i.id for i in c.inscriptions if self.lies_on(i, self.photo)]
            self.inscription = (here or inscriptions or [""])[0]
        if not self.find(Zone, self.zone):
            self.zone = ""
        if not self.find(Character, self.character):
            self.character = next((k.id for k in self.ordered() if self.zone in k.zones), "")

    def lies_on(self, inscription: Inscription, photo: str) -> bool:
        """Whether an inscription belongs to a photo, by its record or by its zones."""
        if inscription.photo == photo:
            return True
        on = {z.id for z in self.piece.surfaces.zones_on(photo)} if self.find(Photo, photo) else set()
        members = set(inscription.characters)
        return any(set(k.zones) & on for k in self.contents.characters if k.id in members)

    def find(self, kind: type[T], record: str) -> T | None:
        """A standing record by its id, or None."""
        found = self.piece.standing(record) if record else None
        return found if isinstance(found, kind) else None

    def columns(self, inscription: str | None = None) -> list[list[Character]]:
        """Characters of an inscription (the chosen one), one list per column from the right."""
        found = self.find(Inscription, inscription or self.inscription)
        return self.contents.characters_of(found) if found else []

    def ordered(self) -> list[Character]:
        """Characters of the chosen inscription in reading order."""
        return [k for column in self.columns() for k in column]

    # --- choosing --------------------------------------------------------
    def choose(
        self,
        *,
        photo: str | None = None,
        inscription: str | None = None,
        zone: str | None = None,
        character: str | None = None,
    ) -> None:
        """Choose something; a zone brings its character, inscription and photo along, and the other way round."""
        self.piece.once(lambda: self._choose(photo, inscription, zone, character))  # one look at the register
        self.tell("choice")

    def _choose(self, photo: str | None, inscription: str | None, zone: str | None, character: str | None) -> None:
        c = self.contents
        if photo is not None and photo != self.photo:
            self.photo = photo
            if not self._shows(photo):  # another lamp does not let go of the sign, another side does
                self.zone = self.character = ""
            here = [i.id for i in c.inscriptions if self.lies_on(i, photo)]
            if self.inscription not in here and here:
                self.inscription = here[0]
        if inscription is not None and inscription != self.inscription:
            self.inscription, self.zone, self.character = inscription, "", ""
            target = self.find(Inscription, inscription)
            if target is not None and not self.lies_on(target, self.photo):
                self.photo = next((p.id for p in c.photos if self.lies_on(target, p.id)), self.photo)
        if zone is not None:
            self.zone = zone
            holding = [k for k in c.characters if zone and zone in k.zones]
            if self.character not in {k.id for k in holding}:
                self.character = holding[0].id if holding else ""
        if character is not None:
            self.character = character
            record = self.find(Character, character)
            if record and record.zones and self.zone not in record.zones:
                self.zone = record.zones[0]
        for i in c.inscriptions:
            if self.character and self.character in i.characters:
                self.inscription = i.id
        chosen = self.find(Zone, self.zone) if self.zone else None
        surfaces = self.piece.surfaces
        if photo is None and chosen is not None and not (
                self.find(Photo, self.photo) and surfaces.zone_on(chosen, self.photo)):
            self.photo = chosen.photo

    def _shows(self, photo: str) -> bool:
        """Whether a photograph shows the chosen zone, or at least the side of the piece it lies on."""
        held, record = self.find(Zone, self.zone) if self.zone else None, self.find(Photo, photo)
        if held is None or record is None:
            return False
        home = self.find(Photo, held.photo)
        same = home is not None and bool(home.surface) and home.surface == record.surface
        return same or self.piece.surfaces.zone_on(held, photo) is not None

    def step(self, by: int) -> None:
        """Choose the next (or an earlier) character in reading order."""
        ids = [k.id for k in self.ordered()]
        if not ids:
            return
        at = ids.index(self.character) if self.character in ids else (-1 if by > 0 else len(ids))
        self.zone = ""
        self.choose(character=ids[min(max(at + by, 0), len(ids) - 1)])

    # --- doing and taking back --------------------------------------------
    def gesture(self, words: str, work: Callable[[], T]) -> T:
        """Do one thing that changes the register, and remember it for the way back."""
        before = self.piece.version
        result = work()
        made = self._gestures_since(before)
        if made:
            self._done.append((words, made))
            self._undone.clear()
        self.changed()
        return result

    def undo(self) -> str:
        """Take back this page's last gesture by new revisions; returns its words, "" if there is none."""
        return self._turn(self._done, self._undone)

    def redo(self) -> str:
        """Do the last gesture taken back again."""
        return self._turn(self._undone, self._done)

    @property
    def undo_words(self) -> str:
        """What undo would take back, "" if nothing."""
        return self._done[-1][0] if self._done else ""

    @property
    def redo_words(self) -> str:
        """What redo would do again, "" if nothing."""
        return self._undone[-1][0] if self._undone else ""

    def _turn(self, source: list[tuple[str, list[str]]], target: list[tuple[str, list[str]]]) -> str:
        if not source:
            return ""
        words, gestures = source.pop()
        before = self.piece.version
        try:
            for gesture in reversed(gestures):
                self.piece.register.undo(reader=self.piece.reader, gesture=gesture)
        finally:
            self.changed()
        target.append((words, self._gestures_since(before)))
        self.tell("records")
        return words

    def _gestures_since(self, version: int) -> list[str]:
        return self.piece.register.gestures_since(version, self.piece.reader)

    # --- telling -----------------------------------------------------------
    def listen(self, listener: Callable[[str], None]) -> None:
        """Call ``listener`` with one of the three words from now on."""
        self._listeners.append(listener)

    def changed(self) -> None:
        """The register changed through this page."""
        def look() -> None:
            self.seen = self.contents.revision
            self.settle()

        self.piece.once(look)
        self.tell("records")

    def tell(self, what: str) -> None:
        """Tell every listener, at the end of the asking where one is under way."""
        if self._waiting is not None:
            self._waiting.add(what)
            return
        self.piece.once(lambda: self._call(what))  # all panels look at one moment: the register is read once

    def _call(self, what: str) -> None:
        for listener in tuple(self._listeners):
            listener(what)

    @contextlib.contextmanager
    def gathered(self) -> Iterator[None]:
        """Tell the listeners once of all that is done inside: drawing a zone also chooses it."""
        if self._waiting is not None:
            yield
            return
        self._waiting = set()
        try:
            yield
        finally:
            self.flush()
            self._waiting = None

    def flush(self) -> None:
        """Tell now what waits to be told: the gravest word, since every listener then looks at everything."""
        waiting, self._waiting = self._waiting, None
        if waiting is None:
            return
        word = next((w for w in ("records", "choice", "reading") if w in waiting), "")
        if word:
            self.tell(word)
        self._waiting = set()

    def look(self) -> bool:
        """Look whether another kernel wrote something; tells the panels if so."""
        version = self.piece.version
        if version == self.seen:
            return False
        self.seen = version
        self.settle()
        self.tell("records")
        return True

    def watch(self) -> None:
        """Look at the register from time to time as long as the kernel runs; without a running loop nothing happens."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            return
        if self._watch is not None and not self._watch.done():
            return

        async def look_again() -> None:
            while True:
                await asyncio.sleep(INTERVAL)
                with contextlib.suppress(ReadaidError), self.lock:  # busy elsewhere: the next look will do
                    self.look()

        self._watch = loop.create_task(look_again())

    def close(self) -> None:
        """Stop watching."""
        if self._watch is not None:
            self._watch.cancel()


def short(record: Any, fallback: str) -> str:
    """A record's title, or words in its place."""
    return str(getattr(record, "title", "") or fallback)
