"""The view through which a photograph is looked at: its name and sliders, and its record in the register.

Conventions: "plain" is the untouched photo; slider values in the unit each
view names; a view changes nothing but the look.
"""

from __future__ import annotations

import contextlib
import math
from typing import Any

from readaid.core.errors import OptionError, unknown_option
from readaid.core.photo import Evidence, Photo
from readaid.core.texts import told, wording
from readaid.piece.renditions import is_shape
from readaid.widgets.desk import Desk


def neat_step(span: float) -> float:
    """A step of about a hundredth of a slider's span, 1, 2 or 5 in its first digit.

    >>> neat_step(4.95), neat_step(292)
    (0.05, 2.0)
    """
    power = 10.0 ** math.floor(math.log10(span / 100)) if span > 0 else 1.0
    return round(max(n for n in (1, 2, 5) if n == 1 or n * power <= span / 95) * power, 6)


class Looking:
    """One board's view and the slider values set for each view."""

    def __init__(self) -> None:
        self.name = "plain"
        self._values: dict[str, dict[str, float]] = {}
        self._suited = ""

    def choose(self, name: str, values: dict[str, float] | None = None) -> None:
        """Choose a view by name, with sliders as recorded if they were not set here; OptionError for an unknown one."""
        from readaid.photo.views import EVERY, setting

        if name != "plain" and name not in EVERY:
            raise unknown_option("view", name, ["plain", *EVERY])
        if values and name not in self._values:
            with contextlib.suppress(OptionError):  # a record of another version may name sliders that are no more
                setting(name, values)
                self._values[name] = dict(values)
        self.name = name

    def slide(self, name: str, value: float) -> None:
        """Set a slider of the chosen view; raises OptionError for an unknown one or a value out of range."""
        from readaid.photo.views import setting

        values = {**self._values.get(self.name, {}), name: float(value)}
        setting(self.name, values)
        self._values[self.name] = values

    def suit(self, photo: Photo) -> None:
        """Take up a view that suits the photo: one for surface shapes, or one for all others."""
        from readaid.photo.views import SURFACE_VIEWS

        if is_shape(photo) and self.name not in ("mirrored", *SURFACE_VIEWS) and self._suited != photo.id:
            self.name = next(iter(SURFACE_VIEWS))
        elif not is_shape(photo) and self.name in SURFACE_VIEWS:
            self.name = "plain"
        self._suited = photo.id

    def key(self, photo: Photo) -> tuple[Any, ...]:
        """What tells two looks apart."""
        scaled = photo.scale.mm_per_pixel if photo.scale and self.name != "plain" else None
        return self.name, tuple(sorted(self._values.get(self.name, {}).items())), scaled

    def options(self, photo: Photo) -> dict[str, Any]:
        """Keyword arguments for ``Pyramid.tile``, ``viewed`` and ``crop``; "mirrored" is left to who shows them."""
        if self.name in ("plain", "mirrored"):
            return {}
        return {
            "view": self.name,
            "values": self._values.get(self.name, {}),
            "mm_per_pixel": photo.scale.mm_per_pixel if photo.scale else None,
        }

    def choices(self, photo: Photo, used: dict[str, dict[str, float]] | None = None) -> list[dict[str, Any]]:
        """Every view with its sliders as the browser shows them; ``used``: those recorded for this photo."""
        from readaid.photo.views import SURFACE_VIEWS, VIEWS

        plain = wording("As computed") if photo.evidence is Evidence.COMPUTED else wording("As photographed")
        rows: list[dict[str, Any]] = [{"name": "plain", "label": plain, "help": "", "sliders": []}]
        offered = [*SURFACE_VIEWS.values(), *(VIEWS[n] for n in ("mirrored",))] if is_shape(photo) else VIEWS.values()
        for view in offered:
            set_to = self._values.get(view.name) or (used or {}).get(view.name, {})
            sliders = []
            for s in view.sliders_for(photo.scale is not None):
                value = set_to.get(s.name, s.default)
                sliders.append(
                    {
                        "name": s.name,
                        "label": told(s.label) + (f" ({told(s.unit)})" if s.unit else ""),
                        "min": s.min,
                        "max": s.max,
                        "step": neat_step(s.max - s.min),
                        "value": value,
                        "words": f"{value:.3g}",
                    }
                )
            label = told(view.name.capitalize()) + (wording(" · used") if view.name in (used or {}) else "")
            rows.append({"name": view.name, "label": label, "help": told(view.hint), "sliders": sliders})
        return rows

    def record(self, desk: Desk) -> None:
        """Write the view into the register: one record per photo and view, its value the last one set."""
        import dataclasses

        from readaid.photo.views import record

        if self.name == "plain":
            return
        made = record(desk.photo, self.name, self._values.get(self.name, {}))
        before = desk.contents
        former = [v for v in before.views if v.photo == desk.photo and v.view == self.name]
        if former:
            made = dataclasses.replace(made, id=former[0].id, note=former[0].note)
            if made == former[0]:
                return
        desk.piece.save(made, reason="view used", base=before)
        desk.seen = desk.piece.version
