"""The demo piece without the search for columns, which has tests of its own and would only cost time here."""

from __future__ import annotations

from pathlib import Path
from unittest import mock

from readaid.piece import demo
from readaid.piece.layout import Layout
from tests.widgets import held_to_types


def demo_piece(folder: Path) -> Path:
    """Build the demo piece in ``folder``; returns the folder."""
    with mock.patch.object(Layout, "propose", return_value=[]):
        demo.build(folder).close()
    return folder


def heard(panel: object) -> list[tuple[dict, list[bytes]]]:
    """Let a panel's messages to the browser be collected instead of sent; returns the list they come to."""
    sent: list[tuple[dict, list[bytes]]] = []

    def send(content: dict, buffers: list[bytes] | None = None) -> None:
        held_to_types.message(content)
        sent.append((content, list(buffers or [])))

    panel.send = send  # type: ignore[attr-defined]
    return sent


def ask(
    panel: object, do: str, buffers: list[bytes] | None = None, /, **args: object
) -> list[tuple[dict, list[bytes]]]:
    """Ask a panel as the browser does (a message with a number); returns what it sent back."""
    sent = heard(panel)
    panel._asked(panel, {"do": do, "n": 7, **args}, buffers or [])  # type: ignore[attr-defined]
    assert sent[-1][0]["ack"] == 7
    assert not panel.fault, panel.fault  # type: ignore[attr-defined]
    return sent


def errors(sent: list[tuple[dict, list[bytes]]]) -> list[str]:
    """Sentences told as faults."""
    return [m["say"] for m, _ in sent if m.get("kind") == "error"]
