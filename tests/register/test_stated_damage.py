"""Never assessed is not intact: what an older register stored as "intact", and what a new one keeps."""

import json
import sqlite3
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import update

from readaid.copies import reader_copy
from readaid.copies.merge import merge_rows
from readaid.core.character import Candidate, Character
from readaid.core.confidence import Damage
from readaid.core.piece import Piece
from readaid.register import stated_damage
from readaid.register.book import Register
from readaid.register.codec import encode
from readaid.register.revision import fingerprint
from readaid.register.schema import revision

KEPT = Path(__file__).parent / "fixtures" / "0.1.0"


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


# -- a copy of 0.1.0 that comes in later -------------------------------------------------------------------------------
@pytest.fixture
def returned():
    """The rows of the copy that 0.1.0 returned, and more of its kind: its reader found two signs worn, then whole."""
    _, rows = reader_copy.read(KEPT / "returned-copy.zip")
    never, *found = [r for r in rows if r["kind"] == "character" and '"damage":"intact"' in r["body"]][:3]
    assert len({never["record"], *(r["record"] for r in found)}) == 3
    for sign in found:
        for damage in ("worn", "intact"):
            row = {**sign, "number": rows[-1]["number"] + 1, "id": f"{sign['id'][:-2]}{len(rows):02d}", "base": None,
                   "body": sign["body"].replace('"damage":"intact"', f'"damage":"{damage}"')}
            rows.append({**row, "digest": fingerprint(row)})
    return rows, never["record"], *(r["record"] for r in found)


def test_a_copy_of_an_older_version_follows_the_same_rule_when_it_is_merged(returned, tmp_path, monkeypatch):
    """0.1.0 wrote the fixtures; what its reader put back to "intact" is intact here at once, in every program."""
    rows, never, looked, disputed = returned
    with zipfile.ZipFile(KEPT / "piece.zip") as archive:
        archive.extractall(tmp_path / "piece")
    with Register.open(tmp_path / "piece") as register, Register.open(tmp_path / "piece", read_only=True) as other:
        register.save(replace(register.get(disputed), damage=Damage.TRACES), reader="Aki Sample")
        before, elsewhere = register.contents(), other.contents()
        done = merge_rows(register, rows, "Aki Sample", "merged", before.piece.id, judged=False)
        clashes = [(c.record, c.ours, c.theirs) for c in done.conflicts if c.field == "damage"]
        assert clashes == [(disputed, "traces", "intact")], "two readers said two things of it"
        grown = register.newer(before)
        for c in (register.get(never), *(c for c in grown.characters if c.id == never)):
            assert c.damage is Damage.NOT_STATED
        assert register.get(looked).damage is Damage.INTACT
        assert grown == register.contents()
        assert next(c for c in grown.characters if c.id == looked).damage is Damage.INTACT
        # Another program that had the register open all the time, and knows of no merge.
        for name in ("_SET", "_MET"):
            monkeypatch.setattr(stated_damage, name, set())
        assert other.newer(elsewhere) == grown
        for ask, told in ((lambda: other.contents(), grown), (lambda: other.get(looked).damage, Damage.INTACT),
                          (lambda: other.history(looked)[-1].record.damage, Damage.INTACT)):
            for name in ("_SET", "_MET"):
                monkeypatch.setattr(stated_damage, name, set())
            assert ask() == told


def test_a_blind_copy_of_0_1_0_does_not_take_back_what_it_hid(old):
    """Its reader saw no damage and said none: that is no change of what stood here all the time."""
    with Register.open(old) as register:
        last = register._read(lambda c: c.execute(revision.select().where(
            revision.c.record == "looked").order_by(revision.c.number.desc())).mappings().first())
        body = {**json.loads(last["body"]), "candidates": []}
        hidden = {**last, "body": json.dumps(body, sort_keys=True, separators=(",", ":")), "base": None}
        fresh = {**hidden, "number": 99, "id": "theirs", "reader": "Bun", "gesture": "g",
                 "body": encode(Character(id="looked", candidates=(Candidate("か"), Candidate("の"))))}
        merge_rows(register, [{**r, "digest": fingerprint(r)} for r in (hidden, fresh)], "Aki", "merged", "p")
        found = register.get("looked")
        assert [c.character for c in found.candidates] == ["か", "の"]
        assert found.damage is Damage.INTACT
