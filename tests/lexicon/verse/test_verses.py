"""Collections: tables, TEI, faults told; and the verses that come along are three sets that do not overlap."""

import itertools
import re
from collections import Counter
from pathlib import Path

import pytest

from readaid.core import places
from readaid.core.errors import ReadaidError, TableError
from readaid.lexicon import verses
from readaid.script import morae, voicing

TEI = """<TEI xmlns="http://www.tei-c.org/ns/1.0"><teiHeader><fileDesc><titleStmt><title>Two verses</title>
<author>Nobody</author></titleStmt></fileDesc></teiHeader><text><body>
<lg xml:id="one"><head>Spring</head><l><ruby><rb>春</rb><rt>はる</rt></ruby>のうみ</l>
<l>ひねもす<note>all day</note>のたり</l></lg>
<lg n="2"><author>Someone</author><l><choice><orig>お</orig><reg>を</reg></choice>とこ</l><l>ふたり</l></lg>
</body></text></TEI>"""


def kept(name):
    return verses.load(places.share("data") / "verses" / name)


def test_fitting_measuring_and_shown_verses_are_disjoint():
    sets = {name: {voicing.plain(v.kana) for v in kept(name)} for name in ("train.tsv", "test.tsv", "known.tsv")}
    for one, two in itertools.combinations(sets, 2):
        assert not sets[one] & sets[two], f"{one} and {two} share verses"
    assert len(sets["test.tsv"]) >= 50
    assert len(sets["train.tsv"]) >= 80


def near(one, two, most):
    """Whether ``most`` insertions, deletions and changes at most lie between two strings."""
    row = list(range(len(two) + 1))
    for i, a in enumerate(one, 1):
        before, row = row, [i]
        for j, b in enumerate(two, 1):
            row.append(min(before[j] + 1, row[-1] + 1, before[j - 1] + (a != b)))
        if min(row) > most:  # a row never gets smaller: most pairs are told apart after a few kana
            return False
    return row[-1] <= most


def test_nearness_of_strings():
    """kitten and sitting are three changes apart (the textbooks' example)."""
    assert [near("kitten", "sitting", most) for most in (2, 3)] == [False, True]
    assert near("", "かな", 2)
    assert not near("", "かな", 1)


def test_more_fitting_verses_are_far_from_those_for_measuring():
    more = verses.load(places.share("data") / "fit" / "verses.tsv")
    assert len(more) > 1000
    assert len({voicing.plain(v.kana) for v in (*more, *kept("train.tsv"))}) == len(more) + len(kept("train.tsv"))
    others = [tuple(map(voicing.plain, v.lines)) for v in (*kept("test.tsv"), *kept("known.tsv"))]
    by_line, by_pair = {}, {}
    for n, other in enumerate(others):
        for place, line in enumerate(other):
            by_line.setdefault((place, line), []).append(n)
        for pair in pairs("".join(other)):
            by_pair.setdefault(pair, []).append(n)
    for v in more:
        lines = tuple(map(voicing.plain, v.lines))
        same = Counter(n for place, line in enumerate(lines) for n in by_line.get((place, line), ()))
        assert max(same.values(), default=0) < 2, lines
        text = "".join(lines)
        own = pairs(text)
        # Six changes spoil twelve pairs at most: verses with fewer in common are far apart.
        for n, shared in Counter(n for pair in own for n in by_pair.get(pair, ())).items():
            if shared >= len(own) - 2 * 6:
                other = "".join(others[n])
                assert not near(text, other, 6), lines


def pairs(text):
    return {text[i:i + 2] for i in range(len(text) - 1)}


@pytest.mark.parametrize("name", ["train.tsv", "test.tsv"])
def test_verses_are_near_hokku_and_marked(name):
    path = places.share("data") / "verses" / name
    rows = [line.split("\t") for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")][1:]
    assert all(row[3] == "from memory" and row[2] for row in rows)
    assert all(row[1] == voicing.plain(row[0].replace("/", "")) for row in rows)
    counts = [tuple(morae.count(line) for line in v.lines) for v in kept(name)]
    assert sum(c == (5, 7, 5) for c in counts) >= 0.75 * len(counts)  # Sino-Japanese sounds are longer as written
    assert all(len(c) == 3 and max(abs(a - b) for a, b in zip(c, (5, 7, 5), strict=True)) <= 2 for c in counts)


def test_known_verses_are_many_and_each_says_where_it_comes_from():
    found = kept("known.tsv")
    assert len(found) >= 1000
    told = (Path(__file__).parents[3] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert f"{len(found):,} verses typed from memory" in told
    assert {v.source for v in found} == {"from memory", "from memory, agrees with a printed text"}
    assert all(v.author and v.text for v in found)
    assert len({voicing.plain(v.kana) for v in found}) == len(found)
    # Kana of the text stand in the kana in their order: a row whose two halves came apart while typing fails.
    for v in found:
        runs = re.findall("[ぁ-ん]+|[^ぁ-ん]+", v.text.replace("/", ""))
        pattern = "".join(re.escape(r) if re.match("[ぁ-ん]", r) else ".+" for r in runs)
        assert re.fullmatch(pattern, v.kana), (v.text, v.kana)


def test_waka_and_hokku_of_the_collection_have_their_morae():
    """Ogura's hundred have none too short, and each that is too long holds a bare vowel (Norinaga's observation)."""
    counted = [tuple(morae.count(x) for x in v.lines) for v in kept("known.tsv") if len(v.lines) in (3, 5)]
    plain = [c for c in counted if c in ((5, 7, 5), (5, 7, 5, 7, 7))]
    assert len(plain) >= 0.7 * len(counted)
    assert all(3 <= m <= 10 for c in counted for m in c)


def test_what_comes_along_searches_the_fitting_lists_too():
    names = {v.source for v in verses.along()}
    assert any("models were fitted on it" in n for n in names)
    assert len(verses.along()) > 2300
    assert all(v.author != "none" for v in verses.along())


def test_plain_text_with_one_verse_a_line(tmp_path):
    path = tmp_path / "mine.txt"
    path.write_text("# mine\nはるのうみ ひねもすのたり\n古池や 蛙飛びこむ\n", encoding="utf-8")
    one, two = verses.load(path)
    assert (one.lines, one.kana_from) == (("はるのうみ", "ひねもすのたり"), "source")
    assert (two.text, two.kana_from) == ("古池や 蛙飛びこむ", "dictionary")
    path.write_text("はる\nharu\n", encoding="utf-8")
    with pytest.raises(TableError, match="line 2"):
        verses.load(path)
    path.write_text("kana,author\nはる,A\n", encoding="utf-8")
    assert verses.load(path)[0].author == "A"


def test_own_collections_are_searched_beside_what_comes_along(tmp_path):
    path = tmp_path / "mine.txt"
    path.write_text("はるのうみ\n", encoding="utf-8")
    both = verses.collection([None, path])
    assert len(both) == len(verses.along()) + 1
    assert verses.collection([None, path]) is both, "kept, so that it is made ready once"


def test_csv_in_several_shapes(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("author,kana\nA,はるのうみ/ひねもす\nB,ナツクサヤ\n", encoding="utf-8-sig")
    one, two = verses.load(path)
    assert (one.lines, one.author, two.lines, two.author) == (("はるのうみ", "ひねもす"), "A", ("なつくさや",), "B")
    path = tmp_path / "b.csv"
    path.write_bytes("作者;本文\nC;古池や 蛙\n".encode("cp932"))
    found = verses.load(path)[0]
    assert (found.lines, found.text, found.kana_from) == (("ふるいけや", "かわず"), "古池や 蛙", "dictionary")
    path = tmp_path / "c.tsv"
    path.write_text("# remark\nreading\ttext\nはる\t春\n", encoding="utf-8")
    assert (verses.load(path)[0].lines, verses.load(path)[0].text) == (("はる",), "春")


def test_tei_with_ruby_choice_and_authors(tmp_path):
    path = tmp_path / "v.xml"
    path.write_text(TEI, encoding="utf-8")
    one, two = verses.load(path)
    assert one.lines == ("はるのうみ", "ひねもすのたり")
    assert (one.title, one.author, one.source) == ("Spring", "Nobody", "Two verses")
    assert two.lines == ("をとこ", "ふたり")
    assert (two.title, two.author) == ("2", "Someone")


@pytest.mark.parametrize(("name", "text", "told"), [
    ("a.csv", "x,y\n1,2\n", "name a column 'kana'"),
    ("a.csv", "kana\nはる\nharu\n?x\n", "row 3.*row 4"),
    ("a.csv", "kana\n", "holds no verse"),
    ("a.json", "[]", "give .csv, .tsv or TEI"),
    ("a.xml", "<TEI><lg>", "no well-formed XML"),
    pytest.param("a.csv", 'kana\n"はる\n' + "なつ\n" * 70_000, "row .*field larger", id="unclosed"),
    pytest.param("a.xml", "<a>" * 5000 + "</a>" * 5000, "too deep in each other", id="deep"),
    ("a.xml", '<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>', "declares entities"),
])
def test_faults_are_told(tmp_path, name, text, told):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ReadaidError, match=told):
        verses.load(path)


def test_faults_of_files_and_lists(tmp_path):
    with pytest.raises(verses.CollectionError, match="cannot be read"):
        verses.load(tmp_path / "missing.csv")
    with pytest.raises(verses.CollectionError, match="cannot be read"):
        verses.load("no\0name.csv")
    with pytest.raises(verses.CollectionError, match="is a folder"):
        verses.load(tmp_path)
    path = tmp_path / "a.csv"
    path.write_bytes(b"kana\n\xff\xfe\x80\x81\n")
    with pytest.raises(verses.CollectionError, match="neither UTF-8"):
        verses.load(path)
    with pytest.raises(verses.CollectionError, match="verse 2"):
        verses.collection(["はる", "haru"])
    with pytest.raises(verses.CollectionError, match="no verse collection"):
        verses.collection(3)
    many = tmp_path / "b.csv"
    many.write_text("kana\n" + "あ" * 500 + "\n", encoding="utf-8")
    with pytest.raises(TableError, match="more than 400 kana"):
        verses.load(many)


def test_a_changed_file_is_read_again(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("kana\nはる\n", encoding="utf-8")
    assert verses.load(path)[0].kana == "はる"
    path.write_text("kana\nあきの\n", encoding="utf-8")
    assert verses.load(path)[0].kana == "あきの"
