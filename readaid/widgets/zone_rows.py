"""Zones, signs and columns as the browser shows them.

Conventions: numbers count characters in reading order; the chosen
inscription has plain numbers, the others a letter before them.
"""

from __future__ import annotations

import dataclasses
import functools
from typing import Any

from readaid.core.character import Character, Inscription, Text
from readaid.core.confidence import Damage
from readaid.core.photo import Zone
from readaid.core.texts import told, wording
from readaid.piece.layout import RUNNING
from readaid.script.hentaigana import letter
from readaid.widgets.desk import Desk, short

#: A proposed zone less sure than this is pointed out.
DOUBTFUL = 0.5


def inscription_title(inscription: Inscription, n: int) -> str:
    """Words for an inscription in a list."""
    kind = wording("Inscription") if inscription.kind is Text.UNKNOWN else told(inscription.kind.value.capitalize())
    return inscription.title or f"{kind} {n + 1}"


def to_look_at(zone: Zone) -> bool:
    """Whether a proposed zone should be looked at before others: running writing, or hardly sure."""
    return zone.confidence is not None and (zone.note == RUNNING or zone.confidence < DOUBTFUL)


def sure_words(zone: Zone) -> str:
    """How sure the computer is of a zone it proposed, "" for one drawn or found right by the reader.

    >>> from readaid.core.photo import rectangle
    >>> sure_words(Zone("p", rectangle(0, 0, 9, 9), confidence=0.83))
    'proposed, 83 % sure'
    """
    if zone.confidence is None:
        return ""
    words = wording("proposed, {0} sure", f"{zone.confidence:.0%}").replace("%", " %")
    return f"{words}; {told(zone.note)}" if zone.note == RUNNING else words


@functools.cache
def _counted(prefix: str, n: int) -> tuple[str, ...]:
    return tuple(f"{prefix}{k}" for k in range(1, n + 1))


def numbers(desk: Desk) -> dict[str, str]:
    """Number of every character: 1, 2, 3 in the chosen inscription, A1, B2 in the others."""
    found: dict[str, str] = {}
    others = 0
    for inscription in desk.contents.inscriptions:
        prefix, signs = "", inscription.characters
        if inscription.id != desk.inscription:
            prefix, others = chr(ord("A") + others % 26), others + 1
        found.update(zip(signs, _counted(prefix, 100 * (len(signs) // 100 + 1)), strict=False))
    return found


def zone_label(desk: Desk, zone: str) -> str:
    """Numbers of the characters in a zone, joined by a dot."""
    def label() -> str:
        held = [k.id for k in desk.contents.characters if zone in k.zones]
        number = numbers(desk) if held else {}
        return "·".join(number[k] for k in held if k in number)

    return desk.piece.once(label)


def sign_of(character: Character) -> tuple[str, str]:
    """What is shown for a character and its mark: (text, "read" | "unread" | "lost")."""
    best = character.best
    if character.fixed or best:
        return character.fixed or (best.character if best else ""), "read"
    if character.damage in (Damage.LOST, Damage.TRACES):
        return "", "lost"
    return "", "unread"


def zone_rows(desk: Desk, flip: float | None = None) -> list[dict[str, Any]]:
    """Every zone of the shown photo and of those laid with it in reading order, the chosen inscription first.

    ``home`` is the title of the photo a zone was drawn on, "" for the shown one. ``flip`` is the photo's width where
    left and right change places on the screen.
    """
    c, number = desk.contents, numbers(desk)
    zones = {z.id: z for z in (desk.piece.surfaces.zones_on(desk.photo) if desk.photo else [])}
    inside, ranked = _inside(desk)
    order = [z for z in ranked if z in zones]
    taken = set(order)
    order += [z for z in zones if z not in taken]
    titles = {p.id: short(p, p.file) for p in c.photos} | {desk.photo: ""}
    bodies = {k: i.kind.value for i in c.inscriptions if i.id != desk.inscription for k in i.characters}
    monograms = {s.zone for s in c.specimens if s.zone and s.what == "monogram"}
    homes = {z.id: z.photo for z in c.zones}
    rows, row = [], desk.zone_rows.row
    for id in order:
        zone, held = zones[id], inside.get(id, ())
        label = number[held[0].id] if len(held) == 1 else "·".join(number[k.id] for k in held)
        home = titles.get(homes[id], "")
        body = "monogram" if not held and id in monograms else bodies.get(held[0].id, "") if held else ""
        rows.append(row(id, (zone, flip, home, body, *held), _row, label))
    desk.zone_rows.only(homes)
    return rows


def _inside(desk: Desk) -> tuple[dict[str, list[Character]], list[str]]:
    """The characters that lie in each zone, and the zones of the chosen inscription in reading order."""
    c, ranked = desk.contents, list[str]()
    signs, inside = {k.id: k for k in c.characters}, dict[str, list[Character]]()
    for inscription in sorted(c.inscriptions, key=lambda i: i.id != desk.inscription):
        for k in (signs[id] for column in inscription.columns for id in column if id in signs):
            for z in k.zones:
                if z in inside:
                    inside[z].append(k)
                else:
                    inside[z] = [k]
        if inscription.id == desk.inscription:
            ranked = list(inside)
    return inside, ranked


def _aloud(text: str) -> str:
    """An old letter with its first sound, since no voice of a screen reader knows it; another sign as it is."""
    old = letter(text) if len(text) == 1 and "\U0001b000" <= text <= "\U0001b12f" else None
    return f"{text} {old.sounds[0]}" if old and old.sounds else text


def _row(held_by: Zone, flip: float | None, home: str, body: str, *held: Character) -> dict[str, Any]:
    """One zone as the browser shows it."""
    zone = held_by
    if flip is not None:
        zone = dataclasses.replace(zone, outline=tuple((flip - px, py) for px, py in zone.outline))
    x, y, w, h = zone.box
    marks = [sign_of(k)[1] for k in held]
    whole = len(zone.outline) == 4 and is_box(zone)
    return {
        "id": zone.id,
        "x": round(x),
        "y": round(y),
        "w": round(w),
        "h": round(h),
        "outline": None if whole else [[round(a, 1), round(b, 1)] for a, b in zone.outline],
        "text": "".join(_aloud(sign_of(k)[0]) for k in held),
        "home": home,
        "mark": "unread" if not marks or "unread" in marks else ("lost" if "lost" in marks else "read"),
        "body": body,
        "joined": len(held) > 1 or any(len(k.zones) > 1 for k in held),
        "sure": sure_words(held_by),
        "faint": to_look_at(held_by),
    }


def is_box(zone: Zone) -> bool:
    """Whether an outline is an upright rectangle."""
    return len({p[0] for p in zone.outline}) == 2 and len({p[1] for p in zone.outline}) == 2
