"""Never assessed is not intact: what an older register stored as "intact", and what a new one keeps."""

import json
import sqlite3

import pytest
from sqlalchemy import update

from readaid.core.character import Candidate, Character
from readaid.core.confidence import Damage
from readaid.core.piece import Piece
from readaid.register.book import Register
from readaid.register.revision import fingerprint
from readaid.register.schema import revision


@pytest.fixture
def old(tmp_path):
    """A register whose signs were written without the fields of today, as 0.1.0 wrote them."""
    with Register.open(tmp_path) as register:
        register.save(Piece("lid", id="p"), reader="Aki")
        register.save(Character(id="never", damage="intact"), reader="Aki")
        for damage in ("intact", "worn", "intact"):
            register.save(Character(id="looked", damage=damage, candidates=(Candidate("か"),)), reader="Aki")
        for damage in ("intact", "lost"):
            register.save(Character(id="lost", damage=damage), reader="Aki")
        with register._engine.begin() as connection:
            for row in connection.execute(revision.select()).mappings().all():
                body = json.loads(row["body"])
                if row["kind"] == "character":
                    for later in ("editorial", "instead"):
                        del body[later]
                text = json.dumps(body, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
                whole = {**row, "body": text}
                connection.execute(update(revision).where(revision.c.number == row["number"]).values(
                    body=text, digest=fingerprint(whole)))
    return tmp_path


def test_a_stored_intact_is_not_stated_unless_a_revision_set_it(old):
    with Register.open(old) as register:
        assert {c.id: c.damage for c in register.all("character")} == {
            "never": Damage.NOT_STATED, "looked": Damage.INTACT, "lost": Damage.LOST}
        assert [r.record.damage for r in register.history("looked")] == ["not stated", "worn", "intact"]
        assert {c.id: c.damage for c in register.contents().characters} == {
            "never": Damage.NOT_STATED, "looked": Damage.INTACT, "lost": Damage.LOST}
        assert register.characters.loc["looked", "damage"] == "intact"
        assert register.check().problems == (), "no byte of the revisions was changed"


def test_what_is_said_today_is_kept_as_said(old):
    with Register.open(old) as register:
        register.save(Character(id="never", damage=Damage.INTACT), reader="Bun")
        assert register.get("never").damage is Damage.INTACT
        assert Character().damage is Damage.NOT_STATED
    with Register.open(old, read_only=True) as register:
        assert register.get("never").damage is Damage.INTACT
        assert register.get("looked").damage is Damage.INTACT


def test_who_did_not_look_neither_agrees_nor_differs(old):
    from readaid.copies import agreement
    from readaid.core.judgement import Judgement
    with Register.open(old) as register:
        register.save(Judgement("never", "Aki", None, 0.0, Damage.WORN), reader="Aki")
        register.save(Judgement("never", "Bun", "か", 0.5), reader="Bun")
        register.save(Judgement("looked", "Bun", None, 0.0, Damage.WORN), reader="Bun")
        found = agreement.characters(register, of="damage")
    assert found.units == 1, "the sign that both looked at"


def test_the_stored_bytes_stay(old):
    with Register.open(old):
        pass
    held = sqlite3.connect(old / "register.sqlite")
    bodies = [json.loads(b)["damage"] for (b,) in held.execute("SELECT body FROM revision WHERE record = 'never'")]
    held.close()
    assert bodies == ["intact"]
