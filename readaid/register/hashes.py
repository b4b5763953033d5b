"""Whether the photos are still the ones that were recorded.

Conventions
-----------
* The full check reads every byte (SHA-256, in pieces of 1 MB).
* The quick check trusts a photo whose size and time of change are those noted when it was last read in full;
  it reads the others. It would miss a change that kept both, so it says "unchanged", not "as recorded".
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from html import escape
from pathlib import Path

from readaid.core.identity import sha256_of
from readaid.core.photo import Photo
from readaid.core.progress import Progress, unheard

_NOTED = Path("backups") / "photo-times.json"


class State(StrEnum):
    """What was found of a photo."""

    SAME = "as recorded"
    UNCHANGED = "unchanged by size and time"
    CHANGED = "changed"
    MISSING = "missing"
    UNREADABLE = "cannot be read"
    OUTSIDE = "outside the piece folder"


@dataclass(frozen=True, slots=True)
class PhotoState:
    """One photo and what was found."""

    photo: Photo
    state: State

    @property
    def sound(self) -> bool:
        """Whether the photo can be relied on."""
        return self.state in (State.SAME, State.UNCHANGED)


@dataclass(frozen=True, slots=True)
class PhotoCheck:
    """All photos of a piece."""

    photos: tuple[PhotoState, ...]

    @property
    def troubles(self) -> tuple[str, ...]:
        """One sentence per photo that is not as it was."""
        return tuple(f"{p.photo.file}: {p.state}." for p in self.photos if not p.sound)

    def _repr_html_(self) -> str:
        if not self.troubles:
            return f"<p>{len(self.photos)} photos are as they were.</p>"
        return "<ul>" + "".join(f"<li>{escape(t)}</li>" for t in self.troubles) + "</ul>"


def check(folder: str | Path, photos: Iterable[Photo], *, quick: bool = False,
          progress: Progress = unheard) -> PhotoCheck:
    """Compare the photos in a piece folder with their records.

    Parameters
    ----------
    quick: trust size and time where they are as noted at the last full reading (see above).
    progress: told after each photo; where it raises, what was read is not noted.
    """
    folder, wanted = Path(folder), list(photos)
    noted = _noted(folder)
    fresh = dict(noted)
    found = []
    for at, photo in enumerate(wanted, 1):
        found.append(PhotoState(photo, _look(folder, photo, noted if quick else {}, fresh)))
        progress(at, len(wanted))
    if fresh != noted:
        _note(folder, fresh)
    return PhotoCheck(tuple(found))


def _look(folder: Path, photo: Photo, noted: dict[str, list[object]], fresh: dict[str, list[object]]) -> State:
    path = folder / photo.file
    if not path.resolve().is_relative_to(folder.resolve()):
        return State.OUTSIDE
    try:
        before = path.stat()
        # With the recorded checksum, so that a record that changed is read anew although the file did not.
        mark: list[object] = [photo.sha256, before.st_size, before.st_mtime_ns]
        if noted.get(photo.file) == mark:
            return State.UNCHANGED
        # Forgotten before it is read: broken off on the way, it must not count as read.
        fresh.pop(photo.file, None)
        if sha256_of(path) != photo.sha256:
            return State.CHANGED
    except FileNotFoundError:
        return State.MISSING
    except OSError:
        return State.UNREADABLE
    fresh[photo.file] = mark
    return State.SAME


def _noted(folder: Path) -> dict[str, list[object]]:
    with contextlib.suppress(OSError, ValueError):
        held = json.loads((folder / _NOTED).read_text(encoding="utf-8"))
        if isinstance(held, dict):
            return {str(k): v for k, v in held.items() if isinstance(v, list)}
    return {}


def _note(folder: Path, marks: dict[str, list[object]]) -> None:
    with contextlib.suppress(OSError):  # a folder that cannot be written is read in full each time
        (folder / _NOTED).parent.mkdir(exist_ok=True)
        work = folder / _NOTED.with_suffix(f".{os.getpid()}.part")
        work.write_text(json.dumps(marks, ensure_ascii=False), encoding="utf-8")
        work.replace(folder / _NOTED)
