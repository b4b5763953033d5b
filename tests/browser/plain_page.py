"""A panel in a plain page of the browser, without a notebook and without a kernel: what a hand finds on it.

Conventions: a state is what Python would tell; askings are written down and acknowledged, nobody answers them. Bytes
travel as base64. What can be done by keyboard is done by the page's own events on elements that take the focus.
"""

from __future__ import annotations

import base64
from pathlib import Path
from typing import Any

from readaid.widgets.panel import Panel

WALK = (Path(__file__).parent / "keyboard_walk.js").read_text(encoding="utf-8").strip().rstrip(";")


def values(panel: Panel, **changed: Any) -> dict[str, Any]:
    """The traits of a panel as the page gets them, ``changed`` entries of the state in place of the panel's own."""
    told: dict[str, Any] = {}
    for name in panel.keys:
        if name.startswith("_") or name in ("layout", "tabbable", "tooltip"):
            continue
        value = getattr(panel, name)
        told[name] = {"bytes": base64.b64encode(value).decode()} if isinstance(value, bytes) else value
    told["state"] = {**{k: v for k, v in panel.state.items() if k not in panel.untold}, **changed}
    return told


def walked(page: Any, panel: Panel, place: str, opening: tuple[str, ...] = (), **changed: Any) -> dict[str, str]:
    """Everything that was asked when each control of the panel was used by keyboard -> the control that asked it.

    ``place`` is the place of the bench; ``opening`` are controls pressed first; ``changed`` entries of the state.
    """
    given = {"module": panel._esm, "styles": panel._css, "values": values(panel, **changed), "stage": place,
             "opening": list(opening)}
    found: dict[str, Any] = page.evaluate(WALK, given)
    assert not found["unreached"], found["unreached"]
    asked: dict[str, str] = found["asked"]
    return asked
