"""Zones and candidates as W3C Web Annotations (JSON-LD, one annotation page).

Conventions: photos and records are named by ``urn:uuid:``; a zone is an SVG
polygon in full-size pixels (SvgSelector); each candidate is a body with the
reader's confidence in words of the report's language. Source: Web Annotation Data Model, W3C
Recommendation of 23 February 2017.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from xml.sax.saxutils import quoteattr

from readaid._version import __version__
from readaid.core.character import Candidate
from readaid.core.confidence import word
from readaid.core.contents import Contents
from readaid.core.photo import Photo, Zone
from readaid.report.terms import Words

CONTEXT = "http://www.w3.org/ns/anno.jsonld"
MEDIA = {"jpg": "image/jpeg", "jpeg": "image/jpeg", "png": "image/png", "tif": "image/tiff", "tiff": "image/tiff",
         "webp": "image/webp"}


def render(contents: Contents, folder: Path, *, edition: str = "leiden", language: str = "en") -> bytes:
    """The annotation page as UTF-8 JSON-LD."""
    page = {"@context": CONTEXT, "id": f"urn:uuid:{contents.piece.id}", "type": "AnnotationPage",
            "items": items(contents, Words(language))}
    return json.dumps(page, ensure_ascii=False, indent=1).encode()


def items(contents: Contents, words: Words) -> list[dict[str, Any]]:
    """One annotation per zone, in the order drawn."""
    photos = {p.id: p for p in contents.photos}
    out = []
    for zone in contents.zones:
        if zone.photo not in photos:
            continue
        annotation: dict[str, Any] = {
            "@context": CONTEXT, "id": f"urn:uuid:{zone.id}", "type": "Annotation", "motivation": "identifying",
            "generator": {"id": "urn:readaid", "type": "Software", "name": f"readaid {__version__}"},
            "body": bodies(contents, zone, words),
            "target": {"type": "SpecificResource", "source": f"urn:uuid:{zone.photo}",
                       "selector": {"type": "SvgSelector", "value": polygon(zone, photos[zone.photo])}}}
        out.append(annotation)
    return out


def media(photo: Photo) -> str:
    """The photo's media type, by its file's suffix."""
    return MEDIA.get(photo.file.rsplit(".", 1)[-1].lower(), "application/octet-stream")


def polygon(zone: Zone, photo: Photo) -> str:
    """The outline as an SVG document of the photo's size."""
    points = " ".join(f"{x:g},{y:g}" for x, y in zone.outline)
    return (f'<svg xmlns="http://www.w3.org/2000/svg" width="{photo.width}" height="{photo.height}">'
            f"<polygon points={quoteattr(points)}/></svg>")


def bodies(contents: Contents, zone: Zone, words: Words) -> list[dict[str, Any]]:
    """Candidates of the characters in a zone as tags, notes as descriptions; that nothing was read, where so."""
    out: list[dict[str, Any]] = []
    for character in contents.characters:
        if zone.id not in character.zones:
            continue
        for c in sorted(character.candidates, key=lambda c: -c.confidence):
            out.append({"type": "TextualBody", "value": c.character, "purpose": "tagging", "language": "ja",
                        "format": "text/plain"})
            out.append({"type": "TextualBody", "purpose": "describing", "format": "text/plain",
                        "language": words.language, "value": _judged(c, words)})
        if character.note:
            out.append({"type": "TextualBody", "value": character.note, "purpose": "describing",
                        "format": "text/plain"})
    return out or [{"type": "TextualBody", "value": zone.note or words.w("sign_unread"), "purpose": "describing",
                    "format": "text/plain"}]


def _judged(c: Candidate, words: Words) -> str:
    """How sure the reader is of a candidate, and why it was not taken."""
    why = f"{words.w('rejected')}: {c.rejected}" if c.rejected else ""
    return "; ".join(filter(None, (f"{c.character}: {words.w(word(c.confidence))} ({c.confidence:.2f})", c.note, why)))
