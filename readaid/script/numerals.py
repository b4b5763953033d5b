"""Numbers as they are written on objects: 二十一, 廿一, 弐拾壱, 一八四八, 1848, and 元 for a first year.

Conventions: whole numbers 0..9999. ``plain`` digits are 〇 一..九 十 百 千 廿 卅 卌; formal and variant signs
(壱, 弐, 拾, 丗 ...) fold to them by ``tables/numeral_signs.tsv``.
"""

from __future__ import annotations

from functools import cache

from readaid.core.errors import OptionError, TextError
from readaid.script.rows import load
from readaid.script.signs import Signs, fold

_DIGITS = "〇一二三四五六七八九"
_TENS = {2: "廿", 3: "卅", 4: "卌"}
#: 二十有三 and 十餘三 (余 is the form of today) are 23 and 13.
AND = "有又余"
_UNITS = {"十": 10, "百": 100, "千": 1000}


@cache
def plain_of() -> dict[str, str]:
    """Plain digit of each written sign.

    >>> plain_of()["壱"], plain_of()["丗"]
    ('一', '卅')
    """
    return dict(load("numeral_signs.tsv", ("sign", "value", "plain"), _sign))


def _sign(row: dict[str, str]) -> tuple[str, str]:
    if _value(row["plain"]) != int(row["value"]):
        raise ValueError(f"{row['sign']} is {row['value']}, {row['plain']} is not")
    return row["sign"], row["plain"]


def _value(plain: str) -> int:
    if plain in _DIGITS:
        return _DIGITS.index(plain)
    return next((10 * n for n, s in _TENS.items() if s == plain), 0) or _UNITS[plain]


@cache
def written_as() -> dict[str, tuple[str, ...]]:
    """All signs that fold to each plain digit.

    >>> written_as()["十"]
    ('十', '拾')
    """
    signs: dict[str, tuple[str, ...]] = {}
    for sign, plain in plain_of().items():
        signs[plain] = (*signs.get(plain, ()), sign)
    return signs


def write(number: int) -> str:
    """The number in plain signs.

    >>> write(1848), write(20), write(0)
    ('千八百四十八', '二十', '〇')
    """
    if not 0 <= number <= 9999:
        raise OptionError(f"{number} is not written here", cure="give a number from 0 to 9999", number=number)
    if number < 10:
        return _DIGITS[number]
    text = ""
    for size, unit in ((1000, "千"), (100, "百"), (10, "十")):
        digit = number // size % 10
        text += ("" if digit == 1 else _DIGITS[digit]) + unit if digit else ""
    return text + (_DIGITS[number % 10] if number % 10 else "")


@cache
def forms(number: int) -> tuple[str, ...]:
    """Plain ways of writing a number by units and in figures, the usual one first.

    >>> forms(21)
    ('二十一', '廿一', '21')
    """
    usual = write(number)
    made = [usual]
    tens = number // 10 % 10
    if number < 100 and tens in _TENS:
        made.append(_TENS[tens] + usual[2:])
    elif tens in _TENS:
        made.append(usual.replace(_DIGITS[tens] + "十", _TENS[tens]))
    # 一千八百 stands beside 千八百; 一十 is left out.
    made += ["一" + form for form in made if form[0] in "百千"]
    return (*dict.fromkeys(made), str(number))


def by_place(number: int) -> str:
    """The number with one sign per decimal place, as in modern print.

    >>> by_place(1848), by_place(20)
    ('一八四八', '二〇')
    """
    # -1 ended in Python's own ValueError (int of "-"); inputs made up at random found it.
    if number < 0:
        raise OptionError(f"{number} is not written here", cure="give a number from 0 on", number=number)
    return "".join(_DIGITS[int(d)] for d in str(number))


@cache
def with_and(number: int) -> tuple[str, ...]:
    """Ways of writing a number with a word for "and" before its last digit, as old dates and ages have it.

    >>> with_and(23)
    ('二十有三', '廿有三', '二十又三', '廿又三', '二十余三', '廿余三')
    """
    tens, ones = divmod(number, 10)
    if not tens or not ones or number > 999:
        return ()
    heads = [form for form in forms(10 * tens) if not form.isascii()]
    return tuple(f"{head}{word}{_DIGITS[ones]}" for word in AND for head in heads)


@cache
def _values() -> dict[str, int]:
    # From the highest down, so that where two numbers are written alike the lower one stays.
    table = {form: n for n in range(9999, -1, -1) for form in (*forms(n), *with_and(n), by_place(n))}
    return table | {"元": 1}


def read(text: str) -> int:
    """The number written; 元 is 1. Raises TextError if it is none.

    >>> read("廿一"), read("弐拾参"), read("元"), read("一八四八"), read("千八百四十八")
    (21, 23, 1, 1848, 1848)
    """
    plain = "".join(plain_of().get(c, c) for c in "".join(text.split()))
    plain = "".join(plain_of().get(c, c) for c in fold(plain))
    if plain not in _values():
        raise TextError(f"'{text}' is not a number", cure="write it like 廿三, 二十三, 弐拾参 or 23")
    return _values()[plain]


@cache
def _folded(digit: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(fold(s) for s in written_as().get(digit, (digit,))))


def signs_of(digit: str) -> tuple[str, ...]:
    """Today's forms of every sign that may stand for a plain digit, as ``match`` takes them.

    >>> signs_of("一")
    ('一', '壱')
    """
    return _folded(digit)


def match(signs: Signs, start: int, form: str) -> list[tuple[int, float, int]]:
    """Ways a form of a number may stand from ``start``: (end, cost, unread signs). A digit matches all its signs."""
    states = [(start, 0.0, 0)]
    for digit in form:
        following = []
        for place, cost, unread in states:
            if place >= len(signs):
                continue
            sign = signs.places[place]
            hits = [h for s in _folded(digit) if (h := sign.cost(s)) is not None]
            if hits:
                # A sign that is read wins over an unread one, however dear: 弐 as 二 tells more than ? as 二.
                hit = min(hits, key=lambda h: (h[1], h[0]))
                following.append((place + 1, cost + hit[0], unread + hit[1]))
        states = following
    return states
