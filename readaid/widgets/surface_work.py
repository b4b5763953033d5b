"""What the photo board does with several photographs of one surface: lay over, relief, square up, straighten.

Conventions: long work runs beside the notebook's loop, tells its progress in ``state["busy"]`` and can be stopped;
what was stopped leaves nothing behind. Each result is one gesture. Zones of photographs laid over each other are shown
on all of them with the same numbers, and may be moved on any: the outline is kept on the photograph it was drawn on.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from readaid.core.errors import OptionError
from readaid.core.photo import Evidence, Photo, Point, Zone
from readaid.core.texts import plural, wording
from readaid.piece.surfaces import Computed
from readaid.widgets.desk import short
from readaid.widgets.panel import Part


class SurfaceWork(Part):
    """Held by :class:`readaid.widgets.photo_board.PhotoBoard`."""


    def shown(self, photo: Photo) -> dict[str, Any]:
        """What the board shows of the photograph's companions."""
        surfaces, photos = self.panel.desk.piece.surfaces, self.panel.desk.contents.photos
        computed = photo.evidence is Evidence.COMPUTED
        others = [] if computed else [p for p in photos if p.id != photo.id and p.evidence is not Evidence.COMPUTED
                                      and not (p.surface and photo.surface and p.surface != photo.surface)]
        return {
            "computed": photo.note if computed else "",
            "over": "" if computed else photo.reference or "",
            "over_choices": [{"id": p.id, "title": short(p, p.file)} for p in others],
            "lit": len(surfaces.lit(photo)),
            "shapes": computed and "computed-relief" in photo.file,
            "across": round(surfaces.usual_across(photo, [(0.0, 0.0), (0.0, photo.height * 0.6)])),
        }

    def do_lay_over(self, reference: str) -> None:
        """Lay the shown photograph over another one ("": over none), so that zones hold in both."""
        photo, surfaces = self.panel.shown_photo(), self.panel.desk.piece.surfaces
        if not reference:
            if photo.reference:
                self.panel.desk.gesture(wording("photograph released"), lambda: surfaces.release(photo))
                self.say(wording("The photograph stands by itself again; its own zones are as they were."))
            return
        base = self.panel.desk.find(Photo, reference)
        if base is None:
            raise OptionError("That photograph is not there any more", cure="choose another")

        def done(found: Photo) -> None:
            self.panel.desk.gesture(wording("photograph laid over another"), lambda: surfaces.keep_alignment(found))
            self.say(wording(
                "Zones are shared with {0} now: look whether they sit on the signs; Undo takes it "
                "back.",
                short(base, base.file)))

        self.panel.work.run(wording("Laying the photograph over the other …"),
                            lambda _step: surfaces.find_alignment(photo, base), done)

    def do_relief(self, show: str = "cuts") -> None:
        """Work out the relief of the shown surface; with one or two lights the second best from the shown photo.

        ``show``: "cuts", "shape" (to be lit from anywhere), or "tone" (see :meth:`Surfaces.find_relief`).
        """
        photo, surfaces = self.panel.shown_photo(), self.panel.desk.piece.surfaces
        lit = surfaces.lit(photo)
        used = lit if len(lit) > 2 else lit[:1]

        def done(made: Computed) -> None:
            self._keep(wording("relief computed"), made)
            few = "" if len(used) > 2 else plural(
                len(lit),
                "{0} light only: this is the second best. ",
                "{0} lights only: this is the second best. ")
            if few and not photo.surface:
                few += wording("Name the surface of each photograph, so that they count together. ")
            self.say(wording("{0}{1} is among the photographs now. Zones hold on it. {2}", few, made.title, made.note))

        self.panel.work.run(wording("Working out the relief …"),
                            lambda step: surfaces.find_relief(used, step=step, show=show), done)

    def do_square_up(self, corners: Sequence[Sequence[float]]) -> None:
        """Lay four corners of the shown photograph (clockwise from top-left) square."""
        photo, surfaces = self.panel.shown_photo(), self.panel.desk.piece.surfaces
        points = self.panel.showing.turned_points(corners, photo)
        if self.panel.showing.flip(photo):  # clockwise on the screen is the other way round on the file
            points = [points[1], points[0], points[3], points[2]] if len(points) == 4 else points[::-1]

        def done(made: Computed) -> None:
            self._keep(wording("squared up"), made)
            self.say(wording(
                "{0} is among the photographs now. Zones drawn on it are kept on the untouched one.",
                made.title))

        self.panel.work.run(wording("Squaring up …"), lambda _step: surfaces.find_square(photo, points), done)

    def do_straighten(self, line: Sequence[Sequence[float]], width: float | None = None) -> None:
        """Lay a curved column straight: ``line`` runs down its middle, ``width`` is how much to take across it."""
        photo, surfaces = self.panel.shown_photo(), self.panel.desk.piece.surfaces
        points = self.panel.showing.turned_points(line, photo)
        turned = ""
        if len(points) > 1 and points[-1][1] < points[0][1] and \
                abs(points[-1][0] - points[0][0]) < points[0][1] - points[-1][1]:
            points, turned = points[::-1], wording(" The line was marked from below; it was taken from the top down.")

        def done(made: Computed) -> None:
            self._keep(wording("column straightened"), made)
            self.say(wording(
                "{0} is among the photographs now. Zones drawn on it are kept on the untouched one.{1}",
                made.title,
                turned))

        self.panel.work.run(wording("Laying the column straight …"),
                            lambda _step: surfaces.find_straight(photo, points, width), done)

    # --- zones shown elsewhere than they were drawn -----------------------------------------
    def outline_home(self, zone: Zone, box: Sequence[float]) -> tuple[Point, ...]:
        """Outline of ``zone`` on its own photograph after its box on the shown one became ``box`` (x, y, w, h)."""
        surfaces, photo = self.panel.desk.piece.surfaces, self.panel.desk.photo
        shown = surfaces.zone_on(zone, photo) or zone
        x, y, w, h = shown.box
        sx, sy = box[2] / w if w else 1, box[3] / h if h else 1
        outline = tuple((box[0] + (px - x) * sx, box[1] + (py - y) * sy) for px, py in shown.outline)
        if shown.photo == zone.photo:
            return outline
        home: tuple[Point, ...] | None = surfaces.carried(outline, photo, zone.photo)
        if home is None:
            raise OptionError("The zone has no place there on its own photograph", cure="move it back a little")
        return home

    # --- inside --------------------------------------------------------------------------------
    def _keep(self, words: str, made: Computed) -> None:
        kept = self.panel.desk.gesture(words, lambda: self.panel.desk.piece.surfaces.keep(made))
        self.panel.desk.choose(photo=kept.id)
