"""How the board shows a photograph: overview, tiles, views, which way round, and what to do when its file has gone.

Conventions: tiles are those of the untouched file. A *mirrored* photograph is turned by the browser; everything else
that passes between board and browser (zones, points, regions) is in pixels of the picture as it is read, and
:class:`Showing` turns it. A ``layer`` is one photo in one view, and answers for an older layer are dropped.
"""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from readaid.core.errors import PhotoError, ReadaidError
from readaid.core.photo import Photo, Point
from readaid.widgets.desk import Desk
from readaid.widgets.view_choice import Looking

if TYPE_CHECKING:
    from readaid.widgets.panel import Panel
else:
    Panel = object


class Showing(Panel):
    """Part of :class:`readaid.widgets.photo_board.PhotoBoard`."""

    desk: Desk
    looking: Looking
    layer: int
    editing: bool
    overview: bytes
    trouble: str
    stats: dict[str, int]
    _shown: tuple[Any, ...]
    _size: dict[str, int]

    def show_photo(self, photo: Photo) -> dict[str, Any]:
        """Open the photograph if it is not the one on the screen; returns what the browser must know of it."""
        self.looking.suit(photo)
        shown = (photo.id, self.looking.key(photo))
        if shown != self._shown or self.trouble:
            self._shown = shown
            self.layer += 1
            self._size = {"width": photo.width, "height": photo.height, "max_z": 0}
            try:
                pyramid = self.desk.piece.pyramid(photo)
                self.trouble = ""
                self._size = {"width": pyramid.width, "height": pyramid.height, "max_z": pyramid.max_z}
                if self.looking.options(photo):
                    self._send_viewed_overview(photo)
                else:
                    self.overview = pyramid.overview
            except (ReadaidError, OSError, MemoryError) as error:
                self._in_trouble(photo, error)
        return {
            **self._size,
            "trouble": self.trouble,
            "flip": self.flip(photo),
            "swap": photo.swapped,
            "views": self.looking.choices(photo, self._used(photo)),
            "view": self.looking.name,
        }

    def _in_trouble(self, photo: Photo, error: BaseException) -> None:
        told = str(error) if isinstance(error, ReadaidError) else str(PhotoError(
            f"The photo cannot be read any more ({type(error).__name__}: {error})".replace(": )", ")"), photo.file,
            "see whether the disk is still there, and copy the file back from the original if it is not"))
        self.trouble = f"{told} Then press 'Try again'. Zones and readings are safe in the register."

    def do_again(self) -> None:
        """Try to open the photograph again."""
        self._shown = ()
        self.refresh()
        if not self.trouble:
            self.say("The photograph is there again.")

    def _used(self, photo: Photo) -> dict[str, dict[str, float]]:
        """Views recorded for this photograph with their sliders."""
        return {v.view: dict(v.values) for v in self.desk.contents.views if v.photo == photo.id}

    # --- which way round ---------------------------------------------------------------------
    def flip(self, photo: Photo) -> bool:
        """Whether left and right change places on the screen."""
        return photo.mirrored != (self.looking.name == "mirrored")

    def turned(self, box: Sequence[float], photo: Photo | None = None) -> list[float]:
        """A box (x, y, w, h) of the screen in pixels of the file, and the other way round."""
        photo = photo or self.desk.find(Photo, self.desk.photo)
        x, y, w, h = (float(v) for v in box)
        return [photo.width - x - w, y, w, h] if photo is not None and self.flip(photo) else [x, y, w, h]

    def turned_points(self, points: Sequence[Sequence[float]], photo: Photo | None = None) -> list[Point]:
        """The same for points (x, y)."""
        photo = photo or self.desk.find(Photo, self.desk.photo)
        flip = photo is not None and self.flip(photo)
        return [(photo.width - float(x) if flip and photo else float(x), float(y)) for x, y in points]

    # --- tiles ---------------------------------------------------------------------------------
    def do_tiles(self, layer: int, keys: list[list[int]]) -> None:
        """Make tiles beside the loop and send each as it is ready."""
        photo = self.desk.find(Photo, self.desk.photo)
        if photo is None or layer != self.layer:
            return
        options = self.looking.options(photo)

        def one(z: int, x: int, y: int) -> bytes:
            return self.desk.piece.pyramid(photo).tile(z, x, y, **options)

        def put(key: list[int], data: bytes) -> None:
            self.stats["tiles"] += 1
            self.stats["bytes"] += len(data)
            self.send({"type": "tile", "layer": layer, "k": key}, buffers=[data])

        def failed(error: BaseException) -> None:
            if layer != self.layer:
                return
            self._in_trouble(photo, error)
            self.send({"type": "tiles_failed", "layer": layer, "keys": keys})
            self.say(str(error) if isinstance(error, ReadaidError) else self.trouble, "error")
            self.state = {**self.state, "trouble": self.trouble}

        async def run() -> None:
            for key in keys:
                if layer != self.layer:
                    return
                try:
                    put(key, await asyncio.to_thread(one, *key))
                except (ReadaidError, OSError, MemoryError) as error:
                    failed(error)
                    return
            self.send({"type": "tiles_done", "layer": layer, "keys": keys})

        try:
            task = asyncio.get_running_loop().create_task(run())
        except RuntimeError:
            try:
                for key in keys:
                    put(key, one(*key))
            except (ReadaidError, OSError, MemoryError) as error:
                failed(error)
            return
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    def do_overview(self, layer: int) -> None:
        """Send the overview through the view again, to a page that was not listening when it came."""
        photo = self.desk.find(Photo, self.desk.photo)
        if photo is not None and layer == self.layer and self.looking.options(photo):
            self._send_viewed_overview(photo)

    def _send_viewed_overview(self, photo: Photo) -> None:
        pyramid, options, layer = self.desk.piece.pyramid(photo), self.looking.options(photo), self.layer
        self.later(
            lambda: pyramid.viewed(**options),
            lambda data: self.send({"type": "overview", "layer": layer}, buffers=[data]),
        )

    # --- views -----------------------------------------------------------------------------------
    def do_view(self, name: str) -> None:
        """Look through another view, its sliders as last set on this photograph; it is recorded in the register."""
        photo = self.desk.find(Photo, self.desk.photo)
        self.looking.choose(name, self._used(photo).get(name) if photo is not None else None)
        self._record_view()

    def do_slide(self, name: str, value: float, done: bool = True) -> None:
        """Move a slider of the view; while the hand still moves it (not ``done``) nothing is recorded."""
        self.looking.slide(name, value)
        if done:
            self._record_view()
            return
        photo = self.desk.find(Photo, self.desk.photo)
        if photo is None or self.trouble:
            return
        self.layer += 1
        self._shown = (photo.id, self.looking.key(photo))
        self.send({"type": "relook", "layer": self.layer})
        self._send_viewed_overview(photo)

    def _record_view(self) -> None:
        self.refresh()
        if self.desk.photo and not self.desk.piece.read_only:
            self.looking.record(self.desk)
