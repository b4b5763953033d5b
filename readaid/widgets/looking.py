"""The view through which a photograph is looked at: its name and sliders, and its record in the register.

Conventions: "plain" is the untouched photo; slider values in the unit each
view names; a view changes nothing but the look.
"""

from __future__ import annotations

from typing import Any

from readaid.core.errors import unknown_option
from readaid.core.photo import Photo
from readaid.widgets.desk import Desk


class Looking:
    """One board's view and the slider values set for each view."""

    def __init__(self) -> None:
        self.name = "plain"
        self._values: dict[str, dict[str, float]] = {}

    def choose(self, name: str) -> None:
        """Choose a view by name; raises OptionError for an unknown one."""
        from readaid.photo.views import VIEWS

        if name != "plain" and name not in VIEWS:
            raise unknown_option("view", name, ["plain", *VIEWS])
        self.name = name

    def slide(self, name: str, value: float) -> None:
        """Set a slider of the chosen view; raises OptionError for an unknown one or a value out of range."""
        from readaid.photo.views import setting

        values = {**self._values.get(self.name, {}), name: float(value)}
        setting(self.name, values)
        self._values[self.name] = values

    def key(self, photo: Photo) -> tuple[Any, ...]:
        """What tells two looks apart."""
        scaled = photo.scale.mm_per_pixel if photo.scale and self.name != "plain" else None
        return self.name, tuple(sorted(self._values.get(self.name, {}).items())), scaled

    def options(self, photo: Photo) -> dict[str, Any]:
        """Keyword arguments for ``Pyramid.tile``, ``viewed`` and ``crop``."""
        if self.name == "plain":
            return {}
        return {
            "view": self.name,
            "values": self._values.get(self.name, {}),
            "mm_per_pixel": photo.scale.mm_per_pixel if photo.scale else None,
        }

    def choices(self, photo: Photo) -> list[dict[str, Any]]:
        """Every view with its sliders as the browser shows them."""
        from readaid.photo.views import VIEWS

        rows: list[dict[str, Any]] = [{"name": "plain", "label": "As photographed", "help": "", "sliders": []}]
        for view in VIEWS.values():
            set_to = self._values.get(view.name, {})
            sliders = []
            for s in view.sliders_for(photo.scale is not None):
                value = set_to.get(s.name, s.default)
                sliders.append(
                    {
                        "name": s.name,
                        "label": s.label + (f" ({s.unit})" if s.unit else ""),
                        "min": s.min,
                        "max": s.max,
                        "step": (s.max - s.min) / 100 or 1,
                        "value": value,
                        "words": f"{value:g}",
                    }
                )
            rows.append({"name": view.name, "label": view.name.capitalize(), "help": view.hint, "sliders": sliders})
        return rows

    def record(self, desk: Desk) -> None:
        """Write the view into the register: one record per photo and view, its value the last one set."""
        import dataclasses

        from readaid.photo.views import record

        if self.name == "plain":
            return
        made = record(desk.photo, self.name, self._values.get(self.name, {}))
        former = [v for v in desk.contents.views if v.photo == desk.photo and v.view == self.name]
        if former:
            made = dataclasses.replace(made, id=former[0].id, note=former[0].note)
            if made == former[0]:
                return
        desk.piece.save(made, reason="view used")
        desk.seen = desk.piece.version
