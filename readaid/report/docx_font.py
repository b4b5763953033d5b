"""The hentaigana face inside a DOCX, so that the letters show where no font of the machine has them.

Conventions: Office Open XML embeds a font obfuscated: its first 32 bytes are combined with the bytes of a GUID, last
byte first (ECMA-376, part 4, 2.8.1). The face is under the SIL Open Font License, which allows embedding.
"""

from __future__ import annotations

import io
import uuid
from functools import cache
from typing import Any

from docx.opc.constants import RELATIONSHIP_TYPE as RELATION
from docx.opc.packuri import PackURI
from docx.opc.part import Part
from docx.oxml import parse_xml
from docx.oxml.ns import qn
from fontTools.ttLib import TTFont

from readaid.core.places import hentaigana_font

NAME = "Noto Serif Hentaigana"
_GUID = uuid.uuid5(uuid.NAMESPACE_OID, NAME)
_FONT = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/font"
_W = "http://schemas.openxmlformats.org/wordprocessingml/2006/main"
_R = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


@cache
def _face() -> bytes:
    font = TTFont(hentaigana_font())
    font.flavor = None
    stream = io.BytesIO()
    font.save(stream)
    return stream.getvalue()


def obfuscated(data: bytes, guid: uuid.UUID) -> bytes:
    """A font's bytes as the format wants them; done twice it is the font again.

    >>> obfuscated(obfuscated(bytes(64), _GUID), _GUID) == bytes(64)
    True
    """
    key = guid.bytes[::-1]
    head = bytes(b ^ key[n % 16] for n, b in enumerate(data[:32]))
    return head + data[32:]


def embed(office: Any) -> None:
    """Put the face into the document's font table."""
    table = office.part.part_related_by(RELATION.FONT_TABLE)
    part = Part(PackURI("/word/fonts/font1.odttf"), "application/vnd.openxmlformats-officedocument.obfuscatedFont",
                obfuscated(_face(), _GUID), office.part.package)
    link = table.relate_to(part, _FONT)
    fonts = parse_xml(table.blob)
    fonts.append(parse_xml(
        f'<w:font xmlns:w="{_W}" xmlns:r="{_R}" w:name="{NAME}"><w:charset w:val="80"/><w:family w:val="roman"/>'
        f'<w:pitch w:val="variable"/><w:embedRegular r:id="{link}" w:fontKey="{{{str(_GUID).upper()}}}"/></w:font>'))
    from lxml import etree

    table._blob = etree.tostring(fonts, xml_declaration=True, encoding="UTF-8", standalone=True)
    settings = office.settings.element
    flag = parse_xml(f'<w:embedTrueTypeFonts xmlns:w="{_W}"/>')
    zoom = settings.find(qn("w:zoom"))
    settings.insert(0 if zoom is None else list(settings).index(zoom) + 1, flag)
