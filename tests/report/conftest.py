"""A piece with a verse, a signature, a date and a comparison, built by hand (no search), for all report tests."""

import pytest
from PIL import Image

import readaid
from readaid.core.attempt import Attempt
from readaid.core.confidence import Damage
from readaid.core.person import Person, Role, Signature, SignaturePart
from readaid.core.photo import Scale, rectangle
from readaid.core.piece import DateRecord, Source
from readaid.core.specimen import ComparisonRecord, Specimen


@pytest.fixture
def full(tmp_path):
    Image.new("RGB", (600, 400), (120, 90, 60)).save(tmp_path / "front.jpg")
    with readaid.new(tmp_path / "full", reader="Mori & <Sons>", title="Lid <b>", material="copper alloy", width=62.0,
                     height=41.0, condition="worn", inventory="A-1", rights="free", technique="incised",
                     translation="Sweeping soot\nbehind the door", commentary="=1+1 & <i>") as piece:
        photo = piece.add_photo(tmp_path / "front.jpg", rights="ours & theirs", surface="front")
        piece.set_scale(photo, Scale((0, 0), (300, 0), 30.0))
        verse = piece.layout.inscription("verse", photo, title='Verse "front"', form="hokku", order_note="scattered")
        signs = [piece.layout.draw(verse, photo, rectangle(300 - 100 * (n // 4), 20 + 90 * (n % 4), 60, 80))[1]
                 for n in range(8)]
        for n, candidate in enumerate("𛂥らすとひかゝ"):
            piece.decipherment.tag(signs[n], candidate, 0.97 if n % 2 else 0.6, "seen & noted")
        piece.decipherment.tag(signs[0], "お", 0.2)
        piece.decipherment.mark(signs[4], damage=Damage.WORN)
        piece.decipherment.mark(signs[5], damage=Damage.LOST)
        piece.decipherment.mark(signs[6], damage=Damage.WORN)
        piece.decipherment.mark(signs[7], damage=Damage.LOST, missing=(0, 3))
        attempt = Attempt(inscription=verse.id, written="𛂥らすと", kana="はらすと", modern="はらすと",
                          romaji="harasuto", lines=("はら", "すと"), morae=(2, 2), form="hokku", reader="Mori",
                          status="preferred",
                          evidence="<script>alert(1)</script>", reasons=("𛂥 read は (hentaigana)",), confidence=0.7,
                          probability=0.5, note="=cmd()", chosen=((signs[0].id, "𛂥"),))
        maker = Person("霜野鷺汀", readings=("しものろてい",))
        signature = piece.layout.inscription("signature", photo, title="Signature")
        zone, kao = piece.layout.draw(signature, photo, rectangle(450, 300, 80, 80))
        piece.decipherment.tag(kao, "花押", 0.9)
        mine, other = Specimen(zone=zone.id, photo=photo.id), Specimen(image=photo.file, person=maker.id, year=1830)
        piece.save(attempt, maker, Role(maker.id, "carver", inscription=signature.id), mine, other,
                   Signature("霜野鷺汀", (SignaturePart("name", "霜野鷺汀", 0, 4, ("しものろてい",)),),
                             inscription=signature.id),
                   DateRecord("文政十二年", "1829-02-04", "1830-01-24", "文政", 12, "己丑"),
                   ComparisonRecord(mine.id, other.id, 0.81, (("outline", 0.8),)),
                   Source("box inscription", "label & lid"), reason="made for a test")
        yield piece
