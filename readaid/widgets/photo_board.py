"""The photo board: zones drawn on a photograph, their order, the scale, views, and what is computed from it.

Conventions: full-size image pixels after EXIF rotation, of the picture as it is read (see ``photo_display``). Every
gesture is one step of undo. What the board does with several photographs is in ``surface_work``, what it proposes in
``zone_proposals``, which inscription zones go to in ``inscription_choice``, what is known of a photograph in
``photo_facts``.
"""

from __future__ import annotations

import base64
import statistics
from typing import Any

import traitlets as t

from readaid.core.character import Inscription, Text
from readaid.core.errors import OptionError
from readaid.core.photo import Photo, Zone, rectangle
from readaid.widgets import sign_order
from readaid.widgets.desk import Desk, short
from readaid.widgets.inscription_choice import Inscribing
from readaid.widgets.known_lengths import scale_words, with_length
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.photo_display import Showing
from readaid.widgets.photo_facts import AboutPhoto
from readaid.widgets.ruler_offer import Ruling
from readaid.widgets.surface_work import SurfaceWork
from readaid.widgets.uploads import Incoming
from readaid.widgets.view_choice import Looking
from readaid.widgets.zone_proposals import Proposing
from readaid.widgets.zone_rows import column_rows, zone_label, zone_rows


def board_text() -> str:
    """The board's ESM with the module of its side cards as a data address (see ``panel.module_text``)."""
    side = base64.b64encode(module_text("photo_board_side.js").encode()).decode("ascii")
    return module_text("photo_board.js").replace(
        '"./photo_board_side.js"', f'"data:text/javascript;charset=utf-8;base64,{side}"')


class PhotoBoard(Proposing, Ruling, Inscribing, SurfaceWork, AboutPhoto, Showing, Panel):
    """The photograph of the desk with its zones.

    Parameters
    ----------
    desk: what the page shares.
    editing: False for a board that only looks and chooses.
    height: of the picture, in screen pixels.
    """

    _esm = board_text()
    _css = style_text("photo_board.css")
    overview = t.Bytes(b"").tag(sync=True)
    editing = t.Bool(True).tag(sync=True)
    view_height = t.Int(560).tag(sync=True)
    title = t.Unicode("The photograph").tag(sync=True)

    def __init__(self, desk: Desk, editing: bool = True, height: int = 560, title: str | None = None) -> None:
        self.desk = desk
        self.looking = Looking()
        self.incoming = Incoming()
        self.layer = 0
        self.busy: dict[str, Any] | None = None
        self.trouble = ""
        self.next_kind = Text.UNKNOWN
        self.question: dict[str, Any] | None = None
        self.corrections: list[dict[str, Any]] = []
        self.ruler = None
        self.rulers_sought: set[str] = set()
        self._proposal = 0
        self._size: dict[str, int] = {}
        self._advised: tuple[Any, list[str]] | None = None
        self.stats = {"tiles": 0, "bytes": 0}
        named = {"title": title} if title is not None else {}
        super().__init__(editing=editing and not desk.piece.read_only, view_height=height, **named)
        self._shown: tuple[Any, ...] = ()
        self.refresh()
        desk.listen(lambda _what: self.refresh())

    # --- what is shown -----------------------------------------------------
    def refresh(self) -> None:
        """Show the desk as it is now."""
        desk, c = self.desk, self.desk.contents
        photo = desk.find(Photo, desk.photo)
        state: dict[str, Any] = {
            "photo": desk.photo,
            "width": 1,
            "height": 1,
            "max_z": 0,
            "tile": 512,
            "zones": [],
            "columns": [],
            "photos": [{"id": p.id, "title": short(p, p.file)} for p in c.photos],
            **self.inscription_state(),
            "selected": desk.zone,
            "undo": desk.undo_words,
            "redo": desk.redo_words,
            "busy": self.busy,
            "scale": None,
            "views": [],
            "view": "plain",
            "usual": None,
            "trouble": "",
        }
        if photo is not None:
            state |= self.show_photo(photo)
            flip = float(photo.width) if self.flip(photo) else None
            zones = zone_rows(desk, flip)
            scale = scale_words(photo, c.piece)
            if scale is not None and flip is not None:
                for end in ("a", "b", "check_a", "check_b"):
                    scale[end] = scale[end] and self.turned_points([scale[end]], photo)[0]
            state |= {
                "zones": zones,
                "columns": column_rows(desk),
                "scale": scale,
                "advice": [a for a in self._advice() if self._about_shown(a, photo)],
                "advice_others": [a for a in self._advice() if not self._about_shown(a, photo)],
                "about": self.about_state(photo),
                **self.surface_state(photo),
                **self.proposing_state(photo),
                **self.ruler_state(photo),
            }
            if zones:
                state["usual"] = [statistics.median(z["w"] for z in zones), statistics.median(z["h"] for z in zones)]
            state["needs_letters"] = any(0x1B000 <= ord(ch) <= 0x1B16F for z in zones for ch in z["text"])
        state["layer"] = self.layer
        self.state = state

    @staticmethod
    def _about_shown(advice: str, photo: Photo) -> bool:
        """Whether a piece of advice is about the shown photograph or its surface: it begins with the name of one."""
        return advice.startswith((f"{photo.title or photo.file}:", f"{photo.surface or 'The surface'}:"))

    def _advice(self) -> list[str]:
        """What the photographs lack, told once for each state of photographs and zones."""
        c = self.desk.contents
        key = (c.photos, len(c.zones) // 4)  # the size of the signs hardly changes from zone to zone
        if self._advised is None or self._advised[0] != key:
            self._advised = (key, self.desk.piece.advice())
        return self._advised[1]

    # --- choosing ---------------------------------------------------------------
    def do_select(self, zone: str) -> None:
        """Choose a zone."""
        self.desk.choose(zone=zone)

    def do_photo(self, photo: str) -> None:
        """Show another photograph."""
        self.desk.choose(photo=photo)

    # --- zones ---------------------------------------------------------------------
    def do_add_zone(self, box: list[float]) -> None:
        """Draw one zone round one sign."""
        target, outline = self.target(), rectangle(*self.turned(box))
        zone, _ = self.desk.gesture(
            "zone drawn", lambda: self.desk.piece.layout.draw(target, self.desk.photo, outline)
        )
        self.desk.choose(zone=zone.id)
        self.send({"type": "go", "zone": zone.id, "focus": True})
        self.say(f"Zone {zone_label(self.desk, zone.id)} drawn.")

    def do_change_zone(self, zone: str, box: list[float]) -> None:
        """Move or resize a zone; an outline that is no rectangle keeps its form."""
        record = self._zone(zone)
        outline = self.outline_home(record, self.turned(box))
        self.desk.gesture("zone changed", lambda: self.desk.piece.layout.move(record, outline))

    def do_delete_zone(self, zone: str) -> None:
        """Take a zone away."""
        label = zone_label(self.desk, zone)
        self.desk.gesture(f"zone {label} deleted", lambda: self.desk.piece.layout.delete(self._zone(zone)))
        self.say(f"Zone {label} taken away; Undo brings it back.")

    def do_join_two(self, zone: str) -> None:
        """The outline holds two signs written in one stroke."""
        self.desk.gesture("two signs joined", lambda: self.desk.piece.layout.join(self._zone(zone)))
        self.say(f"Zone now holds signs {zone_label(self.desk, zone)}.")

    def do_merge_next(self, zone: str) -> None:
        """The sign lies in this zone and in the next one."""
        order = [z for k in self.desk.ordered() for z in k.zones]
        after = order[order.index(zone) + 1 :] if zone in order else []
        follower = next((z for z in after if z != zone), None)
        if follower is None:
            raise OptionError("There is no next zone", zone_label(self.desk, zone), "choose the upper of the two zones")
        self.desk.gesture(
            "one sign in two zones", lambda: self.desk.piece.layout.spread(self._zone(zone), self._zone(follower))
        )
        self.say(f"Sign {zone_label(self.desk, zone)} now lies in two zones.")

    def do_unjoin(self, zone: str) -> None:
        """One sign for one zone again."""
        self.desk.gesture("joining undone", lambda: sign_order.unjoin(self.desk, zone))

    # --- order -----------------------------------------------------------------------
    def do_order(self, character: str, step: str) -> None:
        """Move a sign or its column in reading order (see ``ordering.STEPS``)."""
        self._reorder(sign_order.moved(self.desk, character, step))

    def do_place_before(self, character: str, before: str) -> None:
        """Put a sign before another."""
        self._reorder(sign_order.placed_before(self.desk, character, before))

    def do_place_last(self, character: str, column: int) -> None:
        """Put a sign at the end of a column."""
        self._reorder(sign_order.placed_last(self.desk, character, column))

    def _reorder(self, columns: list[list[str]]) -> None:
        target = self.desk.find(Inscription, self.desk.inscription)
        if target is None or [list(c) for c in target.columns] == columns:
            return
        self.desk.gesture("order changed", lambda: self.desk.piece.layout.reorder(target, columns))

    # --- undo --------------------------------------------------------------------------
    def do_undo(self) -> None:
        """Take the last step back."""
        words = self.desk.undo()
        self.say(f"Taken back: {words}." if words else "Nothing to take back.")

    def do_redo(self) -> None:
        """Do the last step taken back again."""
        words = self.desk.redo()
        self.say(f"Done again: {words}." if words else "Nothing to do again.")

    # --- scale ---------------------------------------------------------------------------
    def do_scale(self, points: list[list[float]], length: str, what: str, which: str) -> None:
        """Set the scale from two points and a length in mm, or check it with a second length."""
        photo = self.desk.find(Photo, self.desk.photo)
        if photo is None:
            return
        scale = with_length(photo, [list(p) for p in self.turned_points(points, photo)], length, what, which)
        self.desk.gesture("scale set", lambda: self.desk.piece.set_scale(photo, scale))
        self.say(self.state["scale"]["words"])

    # --- stopping ---------------------------------------------------------------------------
    def do_stop(self) -> None:
        """Let long work go; nothing of it is kept."""
        self._proposal += 1
        self.busy = None
        self.refresh()
        self.say("Stopped; nothing was changed.")

    # --- photographs -----------------------------------------------------------------------
    def do_receive(self, id: str, name: str, at: int, of: int, buffers: list[Any]) -> None:
        """Take one part of a photograph from the reader's disk; the last part adds it to the piece."""
        path = self.incoming.part(id, name, at, of, bytes(buffers[0]))
        if path is None:
            self.say(f"{name}: {at + 1} of {of} MB", "quiet")
            return
        try:
            photo = self.desk.gesture("photograph added", lambda: self.desk.piece.add_photo(path))
        finally:
            self.incoming.forget(id)
        self.desk.choose(photo=photo.id)
        self.say(f"{name} is in the piece now. The file itself is kept as it is.")

    # --- helpers ---------------------------------------------------------------------------
    def _zone(self, zone: str) -> Zone:
        record = self.desk.find(Zone, zone)
        if record is None:
            raise OptionError("That zone is not there any more", zone, "choose another")
        return record

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The widget, with the overview as a still picture for places without a kernel."""
        bundle = super()._repr_mimebundle_(**kwargs)
        data, meta = bundle if isinstance(bundle, tuple) else (bundle or {}, {})
        if self.overview:
            data = {**data, "image/jpeg": base64.b64encode(self.overview).decode("ascii")}
        return data, meta
