"""A judgement belongs to the reader who made it, whoever merges, copies, restores or undoes."""

import dataclasses
import zipfile
from pathlib import Path

import pytest

from readaid.cli import main
from readaid.copies import agreement, reader_copy
from readaid.copies.column_merge import woven
from readaid.core.character import Candidate, Character, Inscription
from readaid.core.piece import Note, Piece
from readaid.register import bag, lookup
from readaid.register.book import Register
from readaid.register.judgements import judgements

SIGNS = "きくのかはるうめ"
IDS = [f"c{n}" for n in range(len(SIGNS))]
KEPT = Path(__file__).parents[1] / "register" / "fixtures" / "0.1.0"


def judge(register, reader, signs, sure=0.7):
    """A reader enters one candidate a sign, beside what is there; "-" leaves a sign alone."""
    for id, sign in zip(IDS, signs, strict=True):
        if sign != "-":
            held = register.get(id)
            others = tuple(c for c in held.candidates if c.character != sign)
            register.save(dataclasses.replace(held, candidates=(*others, Candidate(sign, sure))), reader=reader)


def copied(register, folder, blind=False):
    return reader_copy.receive(reader_copy.write(register, folder.with_suffix(".zip"), blind=blind), folder)


def read_by(register):
    return {(j.character, j.reader): (j.sign, j.confidence) for j in judgements(register)}


@pytest.fixture
def ours(tmp_path):
    """Eight signs that Aki has read."""
    (tmp_path / "ours").mkdir()
    with Register.open(tmp_path / "ours") as register:
        register.save(Piece("tray", id="p"), reader="Aki")
        register.save_all([Inscription(id="i", columns=(tuple(IDS[:4]), tuple(IDS[4:]))),
                           *(Character((f"z{n}",), id=id) for n, id in enumerate(IDS))], reader="Aki")
        judge(register, "Aki", SIGNS)
        yield register


@pytest.mark.parametrize("blind", [True, False])
def test_agreement_is_the_same_whoever_merges(ours, tmp_path, blind):
    copies = {}
    for reader, signs in (("Bun", "きうのかはる-ぬ"), ("Chie", "さくのかほるうめ")):
        folder = copied(ours, tmp_path / reader, blind)
        with Register.open(folder) as register:
            judge(register, reader, signs, 0.95)
            copies[reader] = reader_copy.write(register, tmp_path / f"from-{reader}.zip")
    judge(ours, "Aki", "-----り--", 0.9)  # Aki thinks again meanwhile
    mine = reader_copy.write(ours, tmp_path / "from-Aki.zip")
    found = []
    for name, order in (("x", ("Bun", "Chie")), ("y", ("Chie", "Bun"))):
        with Register.open(copied(ours, tmp_path / name)) as register:
            for reader in order:
                reader_copy.merge(register, copies[reader], "Dai")
            found.append((agreement.characters(register), read_by(register)))
    for reader, other in (("Bun", "Chie"), ("Chie", "Bun")):  # and in the colleagues' own copies
        with Register.open(tmp_path / reader) as register:
            reader_copy.merge(register, mine, reader)
            reader_copy.merge(register, copies[other], reader)
            found.append((agreement.characters(register), read_by(register)))
    assert found[0][0].readers == ("Aki", "Bun", "Chie")
    for measured, said in found:
        assert (measured.alpha, measured.units) == (found[0][0].alpha, found[0][0].units)
        assert said == found[0][1], "who said what, and how sure"
    assert found[0][1]["c5", "Aki"] == ("り", 0.9)
    assert found[0][1]["c1", "Bun"] == ("う", 0.95)
    assert ("c6", "Bun") not in found[0][1]


def test_a_reader_who_agrees_to_the_letter_counts(ours, tmp_path):
    with Register.open(copied(ours, tmp_path / "theirs", blind=True)) as register:
        judge(register, "Bun", SIGNS)
        back = reader_copy.write(register, tmp_path / "back.zip")
    merged = reader_copy.merge(ours, back, "Aki")
    assert merged.conflicts == ()
    measured = agreement.characters(ours)
    assert (measured.alpha, measured.units) == (1.0, len(SIGNS))


def test_no_merge_copy_or_bag_rewrites_a_judgement(ours, tmp_path):
    rows = {r.id: r for r in ours.since(0) if r.kind == "judgement"}
    assert {(r.record.reader, r.record.made) for r in rows.values()} == {(r.reader, r.made) for r in rows.values()}
    folder = copied(ours, tmp_path / "theirs")
    with Register.open(folder) as other:
        judge(other, "Bun", "ささささささささ")
        back = reader_copy.write(other, tmp_path / "back.zip")
    bag.restore(bag.make(folder, tmp_path / "bag.zip"), tmp_path / "restored")
    reader_copy.merge(ours, back, "Aki")
    for where in (ours.path, folder, tmp_path / "restored"):
        with Register.open(where, read_only=True) as register:
            held = {r.id: r for r in register.since(0) if r.kind == "judgement"}
            for id, row in rows.items():
                assert held[id].record == row.record
                assert (held[id].reader, held[id].made) == (row.reader, row.made)
                assert len(register.history(row.record.id)) == 1


def test_another_confidence_for_the_same_sign_is_no_conflict(ours, tmp_path):
    with Register.open(copied(ours, tmp_path / "theirs")) as other:
        judge(other, "Bun", SIGNS, 0.3)
        back = reader_copy.write(other, tmp_path / "back.zip")
    merged = reader_copy.merge(ours, back, "Aki")
    assert merged.conflicts == ()
    assert ours.get("c0").candidates == (Candidate("き", 0.7),), "how sure we are is not theirs to say"
    assert read_by(ours)["c0", "Bun"] == ("き", 0.3)


def test_conflicts_are_real_and_in_words(ours, tmp_path, monkeypatch):
    from click.testing import CliRunner

    with Register.open(copied(ours, tmp_path / "theirs")) as other:
        judge(other, "Bun", "-う------", 0.9)
        other.save(dataclasses.replace(other.get("c2"), damage="lost"), reader="Bun")
        back = reader_copy.write(other, tmp_path / "back.zip")
    ours.save(dataclasses.replace(ours.get("c2"), damage="worn"), reader="Aki")
    ours.close()
    done = CliRunner().invoke(main, ["merge", str(tmp_path / "ours"), str(back), "--reader", "Aki"])
    lines = [line.strip() for line in done.output.splitlines()[1:]]
    assert lines == ["verse, column 1, character 2, reading: "
                     "Aki says く (probable, 0.70), Bun says う (probable, 0.90)",
                     "verse, column 1, character 3, damage: Aki says worn, Bun says lost"]


def test_what_a_colleague_entered_never_becomes_the_merger_s_judgement(ours, tmp_path):
    with Register.open(copied(ours, tmp_path / "theirs")) as other:
        judge(other, "Bun", "さ-------", 0.95)
        back = reader_copy.write(other, tmp_path / "back.zip")
    reader_copy.merge(ours, back, "Aki")
    judge(ours, "Aki", "ち-------", 0.3)  # one more guess of her own beside her き and Bun's さ
    assert read_by(ours)["c0", "Aki"] == ("き", 0.7)
    assert read_by(ours)["c0", "Bun"] == ("さ", 0.95)


def test_undo_takes_a_judgement_back_and_redo_gives_it_again(ours):
    judge(ours, "Aki", "さ-------", 0.9)
    assert read_by(ours)["c0", "Aki"] == ("さ", 0.9)
    ours.undo(reader="Aki")
    assert read_by(ours)["c0", "Aki"] == ("き", 0.7)
    ours.redo(reader="Aki")
    assert read_by(ours)["c0", "Aki"] == ("さ", 0.9)


def test_moving_a_sign_and_writing_notes_judges_nothing(ours):
    before = len(ours.all("judgement"))
    ours.save(dataclasses.replace(ours.get("c0"), zones=("z9",), note="deep"), reader="Bun")
    ours.save(Note("c0", "a note"), reader="Bun")
    assert len(ours.all("judgement")) == before
    ours.save(dataclasses.replace(ours.get("c0"), damage="worn"), reader="Bun")
    assert read_by(ours)["c0", "Bun"] == ("", 0.0), "the damage alone was judged"


def test_disputed_is_what_readers_read_differently(ours, tmp_path):
    with Register.open(copied(ours, tmp_path / "theirs", blind=True)) as other:
        judge(other, "Bun", "きうのか----", 0.9)
        back = reader_copy.write(other, tmp_path / "back.zip")
    reader_copy.merge(ours, back, "Aki")
    found = lookup.disputed(ours)
    assert [(h.id, h.why) for h in found.hits] == [("c1", "く (Aki); う (Bun)")]
    with Register.open(copied(ours, tmp_path / "again")) as other:
        assert [h.id for h in lookup.disputed(other).hits] == ["c1"], "in a copy as well"


def test_why_a_colleague_rejects_a_sign_comes_with_their_name(ours, tmp_path):
    """Where we gave a reason ours stands; merged twice, nothing is told twice."""
    with Register.open(copied(ours, tmp_path / "theirs")) as other:
        for id, why in (("c0", "no hook"), ("c1", "one stroke too many")):
            held = other.get(id)
            other.save(dataclasses.replace(held, candidates=(dataclasses.replace(held.candidates[0], rejected=why),)),
                       reader="Bun")
        back = reader_copy.write(other, tmp_path / "back.zip")
    held = ours.get("c1")
    ours.save(dataclasses.replace(held, candidates=(dataclasses.replace(held.candidates[0], rejected="mine"),)),
              reader="Aki")
    for _ in range(2):
        reader_copy.merge(ours, back, "Aki")
        assert [ours.get(id).candidates[0].rejected for id in ("c0", "c1")] == ["no hook (Bun)", "mine"]


def test_a_reason_that_we_gave_and_took_back_is_no_colleague_s(ours, tmp_path):
    """It came along in the copy they were sent, and comes back as it went: nobody but us ever gave it."""
    def reject(why):
        held = ours.get("c0")
        ours.save(dataclasses.replace(held, candidates=(dataclasses.replace(held.candidates[0], rejected=why),)),
                  reader="Aki")

    reject("no hook")
    with Register.open(copied(ours, tmp_path / "theirs")) as other:
        judge(other, "Bun", "か-------", 0.9)
        back = reader_copy.write(other, tmp_path / "back.zip")
    reject("")
    reader_copy.merge(ours, back, "Aki")
    assert ours.get("c0").candidates[0].rejected == ""
    assert read_by(ours)["c0", "Bun"] == ("か", 0.9), "their judgement came"


# -- what readaid 0.1.0 wrote ---------------------------------------------------------------------------------------
def test_older_copies_and_registers_keep_their_readers_judgements(tmp_path):
    with zipfile.ZipFile(KEPT / "piece.zip") as archive:
        archive.extractall(tmp_path / "piece")
    with Register.open(tmp_path / "piece", read_only=True) as register:
        before = read_by(register)
    assert {reader for _, reader in before} == {"Aki Sample", "Chie Sample"}
    with Register.open(tmp_path / "piece") as register:
        assert read_by(register) == before
        reader_copy.merge(register, KEPT / "returned-copy.zip", "Aki Sample")
        here = read_by(register)
        theirs = {k: v for k, v in here.items() if k[1] == "Bun Sample"}
        assert [v for k, v in here.items() if k[1] != "Bun Sample"] == list(before.values())
        again = len(register.all("judgement"))
        reader_copy.merge(register, KEPT / "returned-copy.zip", "Aki Sample")
        assert len(register.all("judgement")) == again
        measured = agreement.characters(register)
    with Register.open(reader_copy.receive(KEPT / "returned-copy.zip", tmp_path / "theirs")) as register:
        assert {k: v for k, v in read_by(register).items() if k[1] == "Bun Sample"} == theirs
    with Register.open(reader_copy.receive(KEPT / "plain-copy.zip", tmp_path / "plain")) as register:
        reader_copy.merge(register, KEPT / "returned-copy.zip", "Dai")
        assert agreement.characters(register).alpha == measured.alpha


# -- the order of signs ---------------------------------------------------------------------------------------------
def test_signs_drawn_in_two_copies_all_have_their_place(ours, tmp_path):
    with Register.open(copied(ours, tmp_path / "theirs")) as other:
        shown = other.get("i")
        other.save_all([Character(("z8",), id="t"), dataclasses.replace(shown, columns=(
            (*shown.columns[0][:2], "t", *shown.columns[0][2:]), shown.columns[1]))], reader="Bun")
        back = reader_copy.write(other, tmp_path / "back.zip")
    shown = ours.get("i")
    ours.save_all([Character(("z9",), id="o"), dataclasses.replace(shown, columns=(
        shown.columns[0], (*shown.columns[1], "o")))], reader="Aki")
    assert reader_copy.merge(ours, back, "Aki").conflicts == ()
    assert ours.get("i").columns == (("c0", "c1", "t", "c2", "c3"), ("c4", "c5", "c6", "c7", "o"))


@pytest.mark.parametrize(("was", "ours", "theirs", "expected", "clash"), [
    ("ab", "ab", "ba", "ba", False),
    ("ab", "ba", "ab", "ba", False),
    ("abc", "bac", "acb", "bac", True),
    ("abc", "axbc", "cba", "cbax", False),
    ("abc", "ac", "abcy", "acy", False),
    ("abc", "abc", "c", "c", False),
    ("", "x", "y", "x/y", False),
])
def test_orders_are_woven(was, ours, theirs, expected, clash):
    def columns(text):
        return tuple(tuple(c) for c in text.split("/") if c)

    found, told = woven(columns(was), columns(ours), columns(theirs))
    assert (found, told) == (columns(expected), clash)
