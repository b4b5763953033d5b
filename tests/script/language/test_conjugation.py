"""Forms of the classical language against paradigms typed from memory (as school grammars print them)."""

import pytest

from readaid.core.errors import OptionError, TableError
from readaid.script import conjugation
from readaid.script.conjugation import FORMS, endings, forms, may_follow, spelled

#: Unrealised, continuative, final, attributive, realised, imperative. From memory.
PARADIGMS = """
さく four-step|さか さき さく さく さけ さけ
おもふ four-step|おもは おもひ おもふ おもふ おもへ おもへ
とぶ four-step|とば とび とぶ とぶ とべ とべ
まつ four-step|また まち まつ まつ まて まて
きる upper one-step|き き きる きる きれ きよ
ゐる upper one-step|ゐ ゐ ゐる ゐる ゐれ ゐよ
すぐ upper two-step|すぎ すぎ すぐ すぐる すぐれ すぎよ
おつ upper two-step|おち おち おつ おつる おつれ おちよ
こふ upper two-step|こひ こひ こふ こふる こふれ こひよ
おゆ upper two-step|おい おい おゆ おゆる おゆれ おいよ
ける lower one-step|け け ける ける けれ けよ
いづ lower two-step|いで いで いづ いづる いづれ いでよ
みゆ lower two-step|みえ みえ みゆ みゆる みゆれ みえよ
う lower two-step|え え う うる うれ えよ
うう lower two-step|うゑ うゑ うう ううる ううれ うゑよ
たふ lower two-step|たへ たへ たふ たふる たふれ たへよ
く irregular in か|こ き く くる くれ こ/こよ
す irregular in さ|せ し す する すれ せよ
しぬ irregular in な|しな しに しぬ しぬる しぬれ しね
あり irregular in ら|あら あり あり ある あれ あれ
ちかし adjective in ku|ちかく/ちかから ちかく/ちかかり ちかし ちかき/ちかかる ちかけれ ちかかれ
さびし adjective in shiku|さびしく/さびしから さびしく/さびしかり さびし さびしき/さびしかる さびしけれ さびしかれ
はるかなり nari|はるかなら はるかなり/はるかに はるかなり はるかなる はるかなれ はるかなれ
"""


@pytest.mark.parametrize("row", PARADIGMS.strip().splitlines())
def test_paradigms(row):
    word, _, cells = row.partition("|")
    final, kind = word.split(" ", 1)
    told = forms(final, kind)
    assert ["/".join(told[form]) for form in FORMS] == cells.split()


#: Forms of auxiliaries. From memory.
@pytest.mark.parametrize(("name", "cells"), [
    ("けり", "けら|-|けり|ける|けれ|-"), ("む", "-|-|む|む|め|-"), ("ぬ", "な|に|ぬ|ぬる|ぬれ|ね"),
    ("つ", "て|て|つ|つる|つれ|てよ"),
    ("き", "せ|-|き|し|しか|-"), ("らむ", "-|-|らむ|らむ|らめ|-"), ("じ", "-|-|じ|じ|じ|-"),
    ("ず", "ず/ざら|ず/ざり|ず|ぬ/ざる|ね/ざれ|ざれ")])
def test_auxiliaries(name, cells):
    ending = next(e for e in endings() if e.name == name and e.kind == "auxiliary")
    assert "|".join("/".join(c) or "-" for c in ending.forms) == cells


#: What may stand before what: (ending, form, class) with an example of each. Common knowledge, from memory.
RIGHT = [("ば", "unrealised", "four-step"),  # さかば
         ("ば", "realised", "four-step"),  # さけば
         ("で", "unrealised", "four-step"),  # さかで
         ("じ", "unrealised", "lower two-step"),  # うけじ
         ("つつ", "continuative", "four-step"),  # さきつつ
         ("ぞ", "noun", ""), ("だに", "noun", ""),  # はなぞ, はなだに
         ("べし", "final", "four-step"), ("べし", "attributive", "irregular in ら"),  # さくべし, あるべし
         ("る", "unrealised", "four-step"), ("り", "realised", "four-step"), ("り", "unrealised", "irregular in さ"),
         ("ける", "continuative", "upper two-step"), ("かな", "attributive", "adjective in ku"), ("がな", "noun", "")]
WRONG = [("ば", "continuative", "four-step"), ("ば", "noun", ""), ("で", "continuative", "four-step"),
         ("じ", "continuative", "four-step"), ("つつ", "final", "four-step"), ("ども", "unrealised", "four-step"),
         ("る", "unrealised", "lower two-step"), ("けり", "unrealised", "four-step"),
         ("ばや", "continuative", "four-step"),
         ("り", "realised", "lower two-step")]


@pytest.mark.parametrize(("kana", "form", "kind"), RIGHT)
def test_what_may_follow(kana, form, kind):
    assert may_follow(kana, form, kind) is True


@pytest.mark.parametrize(("kana", "form", "kind"), WRONG)
def test_what_may_not_follow(kana, form, kind):
    assert may_follow(kana, form, kind) is False


def test_what_is_no_ending_is_not_judged():
    assert may_follow("やま", "final") is None
    assert {"ける", "ざら", "べき", "つつ"} <= set(spelled())


def test_an_unknown_class_is_refused_with_the_nearest():
    with pytest.raises(OptionError, match="four-step"):
        forms("さく", "fourstep")
    with pytest.raises(OptionError):
        forms("さく", "upper one-step")


def test_tables_name_their_faulty_rows(tmp_path):
    (tmp_path / "old_endings.tsv").write_text(
        "name\tkind\tfollows\tforms\tmeaning\nば\tconjunction\tafterwards\t-\tif\nむ\tauxiliary\tunrealised\t-|む\twill\n",
        encoding="utf-8")
    with pytest.raises(TableError, match=r"row 2.*afterwards.*row 3"):
        endings(tmp_path)
    (tmp_path / "conjugation.tsv").write_text(
        "\t".join(("class", *FORMS, "note")) + "\nbad\tX\tI\tU\tU\tE\tE\t\n", encoding="utf-8")
    with pytest.raises(TableError, match=r"row 2.*'X'"):
        conjugation._paradigms(tmp_path)
