"""Search over several pieces; disputed characters; attempts that a guess would change."""

import pytest

from readaid.core.attempt import Attempt
from readaid.core.character import Candidate, Character, Inscription
from readaid.core.confidence import Status
from readaid.core.errors import OptionError, RegisterError
from readaid.core.person import Person, Role, Signature
from readaid.core.piece import DateRecord, Note, Piece
from readaid.register import lookup
from readaid.register.book import Register


@pytest.fixture
def department(address):
    """Two pieces with makers, dates and attempts."""
    with Register.open(address) as register:
        register.save_all([Piece("sword guard", id="pa"), Piece("writing box", id="pb", material="lacquer")],
                          reader="Aki")
        maker, owner = Person("山菊", readings=("さんきく",), id="m"), Person("青石", id="o")
        signs = [Character(candidates=(Candidate("𛀁", 0.6), Candidate("お", 0.5)), id="c1"),
                 Character(candidates=(Candidate("き", 0.95), Candidate("さ", 0.8)), id="c2"),
                 Character(candidates=(Candidate("く", 0.4),), id="c3"),
                 Character(candidates=(Candidate("か", 0.5), Candidate("の", 0.5)), fixed="か", id="c4")]
        verse = Inscription(id="ia", columns=(("c1", "c2"), ("c3", "c4")))
        register.save_all([maker, owner, Role("m", "carver"), Role("o", "owner"), verse, *signs,
                           DateRecord("天保三年", "1832-02-02", "1833-02-19"), Note("pa", "Ｒust at the ﾘﾑ"),
                           Attempt("ia", "えきくか", kana="えきくか", made="2026-01-05T10:00:00.000+00:00",
                                   chosen=(("c1", "え"), ("c2", "き"), ("c3", "く"), ("c4", "か")), id="a1"),
                           Attempt("ia", "えきさか", made="2026-02-05T10:00:00.000+00:00", status=Status.PREFERRED,
                                   chosen=(("c3", "さ"),), id="a2"),
                           Attempt("ia", "おきさの", status=Status.SET_ASIDE, id="a3",
                                   made="2026-03-05T10:00:00.000+00:00", chosen=(("c1", "お"),)),
                           Attempt("ia", "えき?か", made="2026-04-05T10:00:00.000+00:00", id="a4")],
                          reader="Aki", piece="pa")
        register.save_all([Signature("山菊作", ()), Role("o", "maker"),
                           Attempt("ib", "カキクケ", kana="かきくけ", id="b1"),
                           DateRecord("嘉永二年", "1849-01-24", "1850-02-11")], reader="Bun", piece="pb")
        yield register


def ids(found):
    return [h.id for h in found.hits]


def test_text_in_any_layer_and_script(department):
    assert ids(department.search("きくけ", kinds="attempt")) == ["b1"]
    assert ids(department.search("ｷｸｹ", kinds="attempt")) == ["b1"]
    assert department.search("rust りむ").hits[0].record.text == "Ｒust at the ﾘﾑ"
    assert department.search("rust nowhere").total == 0
    assert department.search("%").total == 0, "a percent sign is text, not a pattern"


def test_the_piece_is_named(department):
    assert {h.title for h in department.search("きく", kinds=["attempt", "signature", "person"]).hits} == {
        "sword guard", "writing box"}


def test_character_sound_and_parent(department):
    assert ids(department.search(character="カ")) == ["b1"]
    assert "b1" not in ids(department.search(character="か"))
    assert ids(department.search(sound="え", kinds="character")) == ["c1"]
    # U+1B001 comes from 江: its corrected Unicode name is HENTAIGANA LETTER E-1, NamesList.txt
    assert ids(department.search(parent="江", kinds="character")) == ["c1"]


def test_maker_means_who_made_it(department):
    by_name = department.search(maker="山菊", kinds="piece")
    assert {h.id for h in by_name.hits} == {"pa", "pb"}, "as carver of one, in the signature of the other"
    assert ids(department.search(maker="さんきく", kinds="piece")) == ["pa"]
    assert ids(department.search(maker="青石", kinds="piece")) == ["pb"], "the owner of a piece did not make it"


def test_dates(department):
    assert ids(department.search(dated=("1830", "1840"), kinds="piece")) == ["pa"]
    assert ids(department.search(dated=("1833-02-20", "1849"), kinds="piece")) == ["pb"]
    assert ids(department.search(made=("2026-02-01", "2026-03-05"), kinds="attempt")) == ["a3", "a2"]
    with pytest.raises(RegisterError, match="is no day"):
        department.search(dated=("spring", ""))


def test_status_reader_and_pages(department):
    assert ids(department.search(status="preferred")) == ["a2"]
    assert ids(department.search(status=["open", "set aside"], piece="pa")) == ["a4", "a3", "a1"]
    page = department.search(kinds="attempt", piece="pa", offset=1, limit=2)
    assert (page.total, ids(page)) == (4, ["a3", "a2"])
    assert ids(department.search(reader="Bun", kinds="attempt")) == ["b1"]
    with pytest.raises(OptionError, match="did you mean 'set aside'"):
        department.search(status="setaside")
    with pytest.raises(OptionError, match="did you mean 'attempt'"):
        department.search(kinds="attempts")


def test_disputed_characters(department):
    found = lookup.disputed(department)
    assert {h.id: h.why for h in found.hits} == {"c1": "𛀁 0.60; お 0.50", "c3": "く (Aki); さ (Aki)"}
    assert lookup.disputed(department, piece="pb").total == 0


def test_withdrawn_records_are_not_found(department):
    department.withdraw("b1", reader="Bun")
    assert "b1" not in ids(department.search("きくけ"))


def test_the_past_is_not_searched(department):
    with pytest.raises(RegisterError, match="as it is now"):
        department.at("2999-01-01").search("x")


def test_hits_show_user_text_as_text(department):
    department.save(Note("pa", "<script>"), reader="Aki", piece="pa")
    assert "<script>" not in department.search("script")._repr_html_()
