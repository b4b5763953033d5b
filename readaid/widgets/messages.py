"""Messages between a panel and its browser side: what is told, as types; what may be asked, read from the panels.

Conventions: every message to the browser is one of ``TOLD`` and goes out through ``Panel.send``, where the types are
checked. What the browser may ask stands in one place only, the ``do_x`` methods of a panel and of the parts it holds;
``askings`` reads it there. ``static/messages.js`` says the same for the browser's type check; a test writes it anew and
compares, so neither side can drift.
"""

from __future__ import annotations

import inspect
from collections.abc import Iterable
from typing import Any, Literal, NotRequired, TypedDict

from readaid.widgets.board_states import Pair


class Ack(TypedDict):
    """An asking was handled; ``ok`` is false where it was refused or failed."""

    ack: int
    ok: bool


class Say(TypedDict):
    """A sentence; ``kind`` is "info", "quiet" or "error"."""

    say: str
    kind: str


class SignSaid(TypedDict, total=False):
    """What may be said of a sign beside its candidates: what survives, signs missing (least, most), what is fast."""

    damage: str
    missing: list[int]
    note: str
    fixed: str
    word_ends: bool
    name_of: str


class Splice(TypedDict):
    """Ids that come at a place of a list, and how many go there."""

    at: int
    gone: int
    ids: list[str]


class Run(TypedDict):
    """Values of one entry in the rows from a place on."""

    at: int
    values: list[Any]


class RowsTold(TypedDict):
    """Of a list of rows: the new ones, the order where it changed, values that count along."""

    changed: list[dict[str, Any]]
    order: Splice | None
    counted: dict[str, Run]


class Change(TypedDict):
    """What changed in a panel's state: entries put, entries gone, rows of lists."""

    put: dict[str, Any]
    gone: list[str]
    rows: dict[str, RowsTold]


class State(TypedDict):
    """The ``n``-th state of a panel: the whole of it, or what changed since the one before."""

    type: Literal["state"]
    n: int
    whole: NotRequired[dict[str, Any] | None]
    put: NotRequired[dict[str, Any]]
    gone: NotRequired[list[str]]
    rows: NotRequired[dict[str, RowsTold]]


class Face(TypedDict):
    """The text face, as bytes beside it."""

    type: Literal["face"]


class Font(TypedDict):
    """The letters' font, as bytes beside it."""

    type: Literal["font"]


class Tile(TypedDict):
    """A tile of a look, ``k`` its level, column and row; the JPEG beside it."""

    type: Literal["tile"]
    layer: int
    k: list[int]


class TilesDone(TypedDict):
    """All of a batch of tiles were sent."""

    type: Literal["tiles_done"]
    layer: int
    keys: list[list[int]]


class TilesFailed(TypedDict):
    """Tiles of a batch could not be made."""

    type: Literal["tiles_failed"]
    layer: int
    keys: list[list[int]]


class Overview(TypedDict):
    """A whole photograph small, the JPEG beside it; of a photograph made ready to be lit its id and size as well."""

    type: Literal["overview"]
    layer: int
    photo: NotRequired[str]
    width: NotRequired[int]
    height: NotRequired[int]
    max_z: NotRequired[int]


class Relook(TypedDict):
    """While a slider moves: the look that is shown from now on."""

    type: Literal["relook"]
    layer: int


class Go(TypedDict):
    """The board goes to a zone, which gets the focus."""

    type: Literal["go"]
    zone: str
    focus: bool


class Crops(TypedDict):
    """Crops of the sheet by their keys, a JPEG each beside it."""

    type: Literal["crops"]
    keys: list[str]


class Pieces(TypedDict):
    """Pieces that lie beside this one: folder and name of each, and where that is."""

    type: Literal["pieces"]
    rows: list[Pair]
    where: str


class Thumbnail(TypedDict):
    """A form of the shelf, small, beside it."""

    type: Literal["thumbnail"]
    id: str


class Forms(TypedDict):
    """Two forms and their overlay, three pictures beside it."""

    type: Literal["forms"]
    pair: str


class Written(TypedDict):
    """A report was written, its bytes beside it; ``look`` says how it can be looked at: "html", "text", "none"."""

    type: Literal["report"]
    name: str
    path: str
    size: str
    mime: str
    look: str


class Handed(TypedDict):
    """A file was written, its bytes beside it where it is not too large; at a second reader's, what it is and where."""

    type: Literal["file"]
    name: str
    mime: str
    what: NotRequired[str]
    path: NotRequired[str]
    shown: NotRequired[str]
    size: NotRequired[str]
    where: NotRequired[str]


Told = (Ack | Say | State | Face | Font | Tile | TilesDone | TilesFailed | Overview | Relook | Go | Crops | Pieces
        | Thumbnail | Forms | Written | Handed)
#: Every kind of message to the browser.
TOLD: tuple[type, ...] = (Ack, Say, State, Face, Font, Tile, TilesDone, TilesFailed, Overview, Relook, Go, Crops,
                          Pieces, Thumbnail, Forms, Written, Handed)


def askings(holders: Iterable[object]) -> dict[str, inspect.Signature]:
    """What a panel may be asked: the ``do_x`` methods of the panel and of its parts, the first holder of a name wins.

    >>> from readaid.widgets.long_work import LongWork
    >>> askings([LongWork(None)])
    {'stop': <Signature () -> 'None'>}
    """
    found: dict[str, inspect.Signature] = {}
    for holder in holders:
        for name in dir(type(holder)):
            if name.startswith("do_"):
                found.setdefault(name.removeprefix("do_"), inspect.signature(getattr(holder, name)))
    return dict(sorted(found.items()))
