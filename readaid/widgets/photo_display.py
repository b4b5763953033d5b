"""How the board shows a photograph: overview, tiles, views, which way round, and what to do when its file has gone.

Conventions: tiles are those of the untouched file. A *mirrored* photograph is turned by the browser; everything else
that passes between board and browser (zones, points, regions) is in pixels of the picture as it is read, and
:class:`Showing` turns it. A ``layer`` is one photo in one view; the number stays with it, so that a browser that comes
back to a photograph has its tiles already. Answers for the looks a slider has left behind are dropped.
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Sequence
from typing import Any

from readaid.core.errors import PhotoError, ReadaidError
from readaid.core.photo import Photo, Point
from readaid.core.texts import refusal, wording
from readaid.widgets.panel import Part
from readaid.widgets.view_choice import Looking

#: Looks whose numbers are remembered.
LAYERS = 32
_FAULTS = (ReadaidError, OSError, MemoryError)


class Showing(Part):
    """Held by :class:`readaid.widgets.photo_board.PhotoBoard`."""


    def __init__(self, panel: Any) -> None:
        super().__init__(panel)
        self.looking = Looking()
        self.layer = 0
        self.trouble = ""
        self.stats = {"tiles": 0, "bytes": 0}
        self._last = 0
        self._layers: OrderedDict[tuple[Any, ...], int] = OrderedDict()
        self._shown: tuple[Any, ...] = ()
        self._size: dict[str, int] = {}

    def shown(self, photo: Photo) -> dict[str, Any]:
        """Open the photograph if it is not the one on the screen; returns what the browser must know of it."""
        self.looking.suit(photo)
        look = (photo.id, self.looking.key(photo))
        if look != self._shown or self.trouble:
            if self.trouble:
                self._layers.pop(look, None)  # tiles that failed are asked for anew
            self._shown, self.layer = look, self._number(look)
            self._size = {"width": photo.width, "height": photo.height, "max_z": 0}
            try:
                pyramid = self.panel.desk.piece.pyramid(photo)
                self.trouble = ""
                self._size = {"width": pyramid.width, "height": pyramid.height, "max_z": pyramid.max_z}
                if self.looking.options(photo):
                    self._send_overview(photo, self.layer)
                elif not self.panel.overview:  # the first paint; later ones are asked for by their layer
                    self.panel.overview, self.panel.overview_layer = pyramid.overview, self.layer
            except _FAULTS as error:
                self._in_trouble(photo, error)
        return {
            **self._size,
            "layer": self.layer,
            "trouble": self.trouble,
            "flip": self.flip(photo),
            "swap": photo.swapped,
            "views": self.looking.choices(photo, self._used(photo)),
            "view": self.looking.name,
        }

    def _number(self, look: tuple[Any, ...]) -> int:
        if look not in self._layers:
            self._last += 1
            self._layers[look] = self._last
        self._layers.move_to_end(look)
        while len(self._layers) > LAYERS:
            self._layers.popitem(last=False)
        return self._layers[look]

    def _look(self, layer: int) -> tuple[Photo, dict[str, Any]] | None:
        """Photo and options of a layer that is on the screen or a plain photograph; None for one left behind."""
        for look, number in self._layers.items():
            if number == layer and (layer == self.layer or look[1][0] in ("plain", "mirrored")):
                photo = self.panel.desk.find(Photo, look[0])
                if photo is None:
                    return None
                return photo, self.looking.options(photo) if layer == self.layer else {}
        return None

    def _in_trouble(self, photo: Photo, error: BaseException) -> None:
        if not isinstance(error, ReadaidError):
            error = PhotoError(
                f"The photo cannot be read any more ({type(error).__name__}: {error})".replace(": )", ")"), photo.file,
                "see whether the disk is still there, and copy the file back from the original if it is not")
        self.trouble = wording("{0} Then press 'Try again'. Zones and readings are safe in the register.",
                               refusal(error))

    def do_again(self) -> None:
        """Try to open the photograph again."""
        self._shown = ()
        self.refresh()
        if not self.trouble:
            self.say(wording("The photograph is there again."))

    def _used(self, photo: Photo) -> dict[str, dict[str, float]]:
        """Views recorded for this photograph with their sliders."""
        return {v.view: dict(v.values) for v in self.panel.desk.contents.views if v.photo == photo.id}

    # --- which way round ---------------------------------------------------------------------
    def flip(self, photo: Photo) -> bool:
        """Whether left and right change places on the screen."""
        return photo.mirrored != (self.looking.name == "mirrored")

    def turned(self, box: Sequence[float], photo: Photo | None = None) -> list[float]:
        """A box (x, y, w, h) of the screen in pixels of the file, and the other way round."""
        photo = photo or self.panel.desk.find(Photo, self.panel.desk.photo)
        x, y, w, h = (float(v) for v in box)
        return [photo.width - x - w, y, w, h] if photo is not None and self.flip(photo) else [x, y, w, h]

    def turned_points(self, points: Sequence[Sequence[float]], photo: Photo | None = None) -> list[Point]:
        """The same for points (x, y)."""
        photo = photo or self.panel.desk.find(Photo, self.panel.desk.photo)
        flip = photo is not None and self.flip(photo)
        return [(photo.width - float(x) if flip and photo else float(x), float(y)) for x, y in points]

    # --- tiles ---------------------------------------------------------------------------------
    def do_tiles(self, layer: int, keys: list[list[int]]) -> None:
        """Make tiles beside the loop and send each as it is ready."""
        look = self._look(layer)
        if look is None:
            return
        photo, options = look

        def one(z: int, x: int, y: int) -> bytes:
            return bytes(self.panel.desk.piece.pyramid(photo).tile(z, x, y, **options))

        def put(key: list[int], data: bytes) -> None:
            self.stats["tiles"] += 1
            self.stats["bytes"] += len(data)
            self.panel.send({"type": "tile", "layer": layer, "k": key}, buffers=[data])

        def failed(error: BaseException) -> None:
            if layer != self.layer:
                return
            self._in_trouble(photo, error)
            self.panel.send({"type": "tiles_failed", "layer": layer, "keys": keys})
            self.say(refusal(error) if isinstance(error, ReadaidError) else self.trouble, "error")
            self.panel.state = {**self.panel.state, "trouble": self.trouble}

        async def run() -> None:
            for key in keys:
                if self._look(layer) is None:
                    return
                try:
                    put(key, await asyncio.to_thread(one, *key))
                except _FAULTS as error:
                    failed(error)
                    return
            self.panel.send({"type": "tiles_done", "layer": layer, "keys": keys})

        try:
            self.panel.beside(run())
        except RuntimeError:
            try:
                for key in keys:
                    put(key, one(*key))
            except _FAULTS as error:
                failed(error)

    def do_overview(self, layer: int) -> None:
        """Send the overview of a layer again, to a page that was not listening when it came."""
        look = self._look(layer)
        if look is not None:
            self._send_overview(look[0], layer)

    def do_plane(self, photo: str) -> None:
        """Make another photograph of the surface ready to be lit or laid beside: its layer and its overview."""
        record = self.panel.desk.find(Photo, photo)
        if record is not None:
            self._send_overview(record, self._number((record.id, ("plain", (), None))), photo)

    def _send_overview(self, photo: Photo, layer: int, plane: str = "") -> None:
        options = self.looking.options(photo) if layer == self.layer and not plane else {}

        def work() -> tuple[bytes, dict[str, int]]:
            pyramid = self.panel.desk.piece.pyramid(photo)
            size = {"width": pyramid.width, "height": pyramid.height, "max_z": pyramid.max_z}
            return (pyramid.viewed(**options) if options else pyramid.overview), size

        self.panel.later(work, lambda made: self.panel.send(
            {"type": "overview", "layer": layer, **({"photo": plane, **made[1]} if plane else {})}, buffers=[made[0]]))

    # --- views -----------------------------------------------------------------------------------
    def do_view(self, name: str) -> None:
        """Look through another view, its sliders as last set on this photograph; it is recorded in the register."""
        photo = self.panel.desk.find(Photo, self.panel.desk.photo)
        self.looking.choose(name, self._used(photo).get(name) if photo is not None else None)
        self._record_view()

    def do_slide(self, name: str, value: float, done: bool = True) -> None:
        """Move a slider of the view; while the hand still moves it (not ``done``) nothing is recorded."""
        self.looking.slide(name, value)
        if done:
            self._record_view()
            return
        photo = self.panel.desk.find(Photo, self.panel.desk.photo)
        if photo is None or self.trouble:
            return
        self._shown = (photo.id, self.looking.key(photo))
        self.layer = self._number(self._shown)
        self.panel.send({"type": "relook", "layer": self.layer})
        self._send_overview(photo, self.layer)

    def _record_view(self) -> None:
        self.refresh()
        if self.panel.desk.photo and not self.panel.desk.piece.read_only:
            self.looking.record(self.panel.desk)
