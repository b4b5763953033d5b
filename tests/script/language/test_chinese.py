"""Chinese lines: tones, rhymes, return marks, known lines."""

import itertools

import pytest

from readaid.core.errors import TextError
from readaid.reading import chinese_verse
from readaid.script import chinese_signs, return_marks

#: Quatrains of the strict style and the rhyme that commentaries give them (from memory).
RHYMED = dict(pair.split() for pair in """楓橋夜泊 先;登鸛鵲樓 尤;靜夜思 陽;相思 支;送元二使安西 真;鳥鳴澗 東
早發白帝城 刪;黄鶴樓送孟浩然之廣陵 尤;望廬山瀑布 先;獨坐敬亭山 刪;秋浦歌 陽;峨眉山月歌 尤;出塞 刪;芙蓉樓送辛漸 虞
山行 麻;泊秦淮 麻;秋夕 青;夜雨寄北 支;春夜 侵;題西林壁 東""".replace("\n", ";").split(";"))


def poem(title, lines=4):
    return next(p for p in chinese_verse.collection() if p.title == title and len(p.lines) == lines)


@pytest.mark.parametrize(("title", "rhyme"), RHYMED.items())
def test_twenty_quatrains_rhyme_as_their_commentaries_say(title, rhyme):
    found = chinese_verse.taken_apart("".join(poem(title).lines))
    assert found.name.endswith("quatrain")
    ends = [{r[0] for r in chinese_signs.of(line[-1]).rhymes} for line in found.lines[1::2]]
    assert found.rhymes
    assert rhyme in set.intersection(*ends)


def test_tones_of_strict_lines_alternate():
    """The second, fourth and sixth characters of a strict line alternate (the rule of the later tables, from memory).

    Poets take freedoms: 夜發清溪向三峽 has the well-known turn of the last feet, 故人西辭黄鶴樓 breaks the rule.
    """
    right = total = 0
    for title in set(RHYMED) - {"靜夜思", "獨坐敬亭山"}:  # in the old style
        for line in chinese_verse.taken_apart("".join(poem(title).lines)).patterns:
            marks = line[1::2]
            total += 1
            right += all("◐" in (a, b) or "?" in (a, b) or a != b for a, b in itertools.pairwise(marks))
    assert total == 72
    assert right >= 68


def test_oblique_rhymes_and_what_does_not_rhyme():
    spring = chinese_verse.taken_apart("春眠不覺曉處處聞啼鳥夜來風雨聲花落知多少")
    assert (spring.rhymes, "蕭 (rising)" in spring.rhyme) == (True, True)
    assert chinese_verse.taken_apart("千山鳥飛絶萬徑人蹤滅孤舟蓑笠翁獨釣寒江雪").rhymes
    broken = chinese_verse.taken_apart("月落烏啼霜滿天江楓漁火對愁眠姑蘇城外寒山寺夜半鐘聲到客舟")
    assert broken.rhymes is False
    assert "do not rhyme" in broken.rhyme
    assert chinese_verse.taken_apart("孤舟蓑笠翁獨釣寒江雪").rhymes is None


def test_tones_by_the_textbook():
    """Level: 天 風 花 春; oblique: 月 雪 鳥 夜 (every textbook of Chinese verse; from memory)."""
    assert all(chinese_signs.of(c).level for c in "天風花春人江山秋")
    assert all(chinese_signs.of(c).level is False for c in "月雪鳥夜白日水")
    assert "entering" in chinese_signs.of("月").tones
    assert chinese_signs.of("あ") == chinese_signs.ChineseSign("あ")


def test_two_sources_of_tones_agree():
    """Made from the Tang reconstruction and from Cantonese: the table's head says how far the two agree."""
    from readaid.script.rows import TABLES

    head = (TABLES / "chinese_signs.tsv").read_text(encoding="utf-8").split("sign\ttone")[0]
    told = next(line for line in head.splitlines() if "agree on level or oblique" in line)
    same, of = (int(w) for w in told.split() if w.isdigit())
    assert same / of > 0.97


def test_lines_of_five_and_seven():
    assert [len(x) for x in chinese_verse.lined("あ" * 35)] == [7] * 5
    assert [len(x) for x in chinese_verse.lined("あ" * 35, [5, 10, 15, 20, 25, 30])] == [5] * 7
    assert chinese_verse.lined("福如東海") == ()
    assert chinese_verse.lined("") == ()


def test_known_lines_in_old_and_new_forms_with_gaps():
    for text in ("孤舟蓑笠翁獨釣寒江雪", "孤舟蓑笠翁独釣寒江雪", "孤?蓑笠翁?釣寒?雪"):
        found = chinese_verse.known(text)
        assert (found.poem.title, found.first) == ("江雪", 2)
        assert "as a part" in found.words
    variant = chinese_verse.known("孤舟蓑笠翁獨釣寒江月")
    assert variant.differences == ("sign 10 月: the poem has 雪",)
    assert chinese_verse.known("江戸住蘆香作之") is None
    assert chinese_verse.known("???") is None


@pytest.mark.parametrize(("marked", "order"), [
    ("読[レ]書", "書読"), ("登[二]高山[一]", "高山登"), ("不[レ]能[レ]読[レ]書", "書読能不"),
    ("有[下]朋自[二]遠方[一]来[上]", "朋遠方自来有"), ("不[二]亦楽[一]乎", "亦楽不乎"),
    ("温[レ]故知[レ]新", "故温新知"), ("己所[レ]不[レ]欲勿[レ]施[二]於人[一]", "己欲不所於人施勿"),
    ("不[レ]入[二]虎穴[一]不[レ]得[二]虎子[一]", "虎穴入不虎子得不"),
    ("悪[三]称[二]人之悪[一]者", "人之悪称悪者"), ("未[レ]知", "未知未"), ("未[二]嘗敗[一]", "未嘗敗未"),
    ("甲[二]乙丙[一レ]丁", "乙丁丙甲"), ("低[レ]頭思[二]故郷[一]", "頭低故郷思"),
])
def test_return_marks_worked_examples(marked, order):
    """Lines of the classics as schools mark them, from memory; the last but one by the rule, worked by hand."""
    assert return_marks.japanese(*return_marks.split(marked)) == order


@pytest.mark.parametrize("marked", ["読[レ]", "登[二]高山", "登[下]高山[一]", "登[x]山"])
def test_marks_that_lead_nowhere_are_told(marked):
    with pytest.raises(TextError, match=r"leads nowhere|no return mark"):
        return_marks.japanese(*return_marks.split(marked))


def test_a_column_of_return_marks_is_read_from_its_foot():
    assert return_marks.order("山" * 3000, ("レ",) * 2999 + ("",)) == tuple(range(2999, -1, -1))


def test_marks_of_unicode_and_their_number():
    assert return_marks.split("登㆓高山㆒") == return_marks.split("登[二]高山[一]")
    with pytest.raises(TextError, match="2 marks for 3 signs"):
        return_marks.order("登高山", ("二", "一"))
    with pytest.raises(TextError, match="before any sign"):
        return_marks.split("[レ]書")
