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
    told["state"] = {**panel.state, **changed}
    return told


def walked(page: Any, panel: Panel, place: str, opening: tuple[str, ...] = (), **changed: Any) -> dict[str, str]:
    """Everything that was asked when each control of the panel was used by keyboard -> the control that asked it.

    ``place`` is the place of the bench; ``opening`` are controls pressed first; ``changed`` entries of the state.
    """
    given = {"module": panel._esm, "styles": panel._css, "values": values(panel, **changed), "stage": place,
             "opening": list(opening)}
    found: dict[str, Any] = page.evaluate(WALK, given)
    assert not found["unreached"], found["unreached"]
    assert not (nameless := unnamed(page)), nameless
    asked: dict[str, str] = found["asked"]
    return asked


def laid(page: Any, panel: Panel, place: str, **changed: Any) -> None:
    """Lay the panel in the page and use none of its controls; arguments as for :func:`walked`."""
    page.evaluate(WALK, {"module": panel._esm, "styles": panel._css, "values": values(panel, **changed),
                         "stage": place, "opening": None})


#: Roles that a screen reader stops at and must be able to name.
CONTROLS = {"button", "checkbox", "combobox", "textbox", "searchbox", "slider", "spinbutton", "radio", "tab", "option",
            "link", "switch", "menuitem", "img", "listbox", "radiogroup", "toolbar", "dialog", "Date", "InputTime"}


def unnamed(page: Any) -> list[str]:
    """Controls and pictures that the browser's accessibility tree knows and cannot name."""
    session = page.context.new_cdp_session(page)
    try:
        nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    finally:
        session.detach()
    return [f"{role} {n.get('properties', [])[:3]}" for n in nodes
            if not n.get("ignored") and (role := n.get("role", {}).get("value")) in CONTROLS
            and not (n.get("name", {}).get("value") or "").strip()]
