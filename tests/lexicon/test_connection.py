"""Words beside each other by the old grammar, asked of the dictionary's own entries."""

import pytest

from readaid.lexicon import connection, dictionary


def left(text, part, form=""):
    """A left context id of an entry, by its part of speech and the form the dictionary names."""
    book = dictionary.opened()
    for token in book.tokens(text):
        fields = book.fields(token)
        if fields[0] == part and any(form in f for f in fields[4:6]):
            return int(book.words.tokens[token]["left"])
    raise AssertionError(f"no {part} {text} {form}")


#: Common knowledge of classical grammar, from memory: a form and what may, and may not, follow it.
@pytest.mark.parametrize(("first", "second", "kana", "right"), [
    (("書か", "動詞", "未然"), ("ば", "助詞"), "ば", True), (("書き", "動詞", "連用"), ("ば", "助詞"), "ば", False),
    (("書き", "動詞", "連用"), ("つつ", "助詞"), "つつ", True),
    (("書く", "動詞", "終止"), ("つつ", "助詞"), "つつ", False),
    (("書か", "動詞", "未然"), ("で", "助詞"), "で", True), (("書け", "動詞", "命令"), ("で", "助詞"), "で", False),
    (("山", "名詞"), ("ぞ", "助詞"), "ぞ", True), (("山", "名詞"), ("ば", "助詞"), "ば", False),
    (("書く", "動詞", "終止"), ("まで", "助詞"), "まで", True),  # today one form is final and attributive
    (("山", "名詞"), ("川", "名詞"), "かは", True)])
def test_what_may_stand_together(first, second, kana, right):
    assert connection.fits(left(*first), left(*second), kana) is right


def test_words_tell_their_inflection():
    assert connection.told(left("書き", "動詞", "連用")) == "four-step, continuative"
    assert connection.told(left("山", "名詞")) == ""
