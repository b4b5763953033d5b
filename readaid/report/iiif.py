"""A IIIF Presentation 3 manifest: a canvas per photo, zones as annotations on it.

Conventions: IIIF wants web addresses; they begin with the ``address`` given, else with
``ADDRESS`` (a reserved example domain, RFC 2606). Canvas size is the photo's, in pixels after EXIF rotation.
Source: IIIF Presentation API 3.0.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from readaid.core.contents import Contents
from readaid.core.photo import Photo, Zone
from readaid.report.annotations import bodies, media, polygon
from readaid.report.terms import LANGUAGES, Words, word

ADDRESS = "https://example.org/pieces"


def render(contents: Contents, folder: Path, *, edition: str = "leiden", language: str = "en",
           address: str = ADDRESS) -> bytes:
    """The manifest as UTF-8 JSON."""
    return json.dumps(manifest(contents, language, address), ensure_ascii=False, indent=1).encode()


def manifest(contents: Contents, language: str = "en", address: str = ADDRESS) -> dict[str, Any]:
    """The manifest as a dictionary."""
    p = contents.piece
    base = f"{address.rstrip('/')}/{p.id}"
    pairs = [(key, value) for key, value in (
        ("subject", p.subject), ("kind", p.kind), ("maker", p.maker), ("made_when", p.made_when),
        ("inventory", p.inventory), ("material", p.material), ("technique", p.technique),
        ("place_kept", p.place_kept))]
    made: dict[str, Any] = {
        "@context": "http://iiif.io/api/presentation/3/context.json", "id": f"{base}/manifest.json",
        "type": "Manifest", "label": {"none": [p.title]},
        "items": [_canvas(contents, photo, base, Words(language)) for photo in contents.photos]}
    metadata = [{"label": {tongue: [word(k, tongue)] for tongue in LANGUAGES}, "value": {"none": [v]}}
                for k, v in pairs if v]
    if metadata:
        made["metadata"] = metadata
    if p.rights:
        made["requiredStatement"] = {"label": _rights(), "value": {"none": [p.rights]}}
    return made


def _canvas(contents: Contents, photo: Photo, base: str, words: Words) -> dict[str, Any]:
    canvas = f"{base}/canvas/{photo.id}"
    image = {"id": f"{base}/{photo.file}", "type": "Image", "format": media(photo),
             "width": photo.width, "height": photo.height}
    painting = {"id": f"{canvas}/painting", "type": "Annotation", "motivation": "painting", "body": image,
                "target": canvas}
    made: dict[str, Any] = {
        "id": canvas, "type": "Canvas", "label": {"none": [photo.title or photo.file]},
        "width": photo.width, "height": photo.height,
        "items": [{"id": f"{canvas}/page", "type": "AnnotationPage", "items": [painting]}]}
    zones = [{"id": f"{base}/zone/{z.id}", "type": "Annotation", "motivation": "tagging",
              "body": _bodies(contents, z, words),
              "target": {"type": "SpecificResource", "source": canvas,
                         "selector": {"type": "SvgSelector", "value": polygon(z, photo)}}}
             for z in contents.zones if z.photo == photo.id]
    if zones:
        made["annotations"] = [{"id": f"{canvas}/zones", "type": "AnnotationPage", "items": zones}]
    if photo.rights:
        made["requiredStatement"] = {"label": _rights(), "value": {"none": [photo.rights]}}
    return made


def _rights() -> dict[str, list[str]]:
    return {tongue: [word("rights", tongue)] for tongue in LANGUAGES}


def _bodies(contents: Contents, zone: Zone, words: Words) -> list[dict[str, Any]]:
    return [{k: v for k, v in b.items() if k != "purpose"} for b in bodies(contents, zone, words)]
