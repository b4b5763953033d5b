"""Return marks (返り点): from the marks a reader enters to the order in which a Chinese line is read in Japanese.

Conventions: marks stand after the sign they belong to, one entry a sign: "" (none), "レ", a numbered mark of one of the
series 一二三四, 上中下, 甲乙丙丁, 天地人, or the first of a series with レ ("一レ", "上レ"). A sign with レ is read
after the one that follows it; a sign with 二 after the one with 一, one with 三 after that. 未 将 当 応 宜 須 猶 盍
with a return mark are read twice: first as an adverb, once more where the mark sends them. Positions count from 0.
"""

from __future__ import annotations

from collections.abc import Sequence

from readaid.core.errors import TextError

SERIES = ("一二三四五六", "上中下", "甲乙丙丁", "天地人")
#: Read twice when they bear a mark: いまだ...ず, まさに...す, よろしく...べし, なほ...ごとし and the like.
TWICE = frozenset("未将將且当當応應宜須猶由盍")
#: How marks are also written by hand.
_ALSO = str.maketrans("㆑㆒㆓㆔㆕㆖㆗㆘㆙㆚㆛㆜㆝㆞㆟", "レ一二三四上中下甲乙丙丁天地人")


def split(text: str) -> tuple[str, tuple[str, ...]]:
    """Signs and marks of a line typed with its marks in square brackets, or as the marks of Unicode (U+3190 on).

    >>> split("読[レ]書")
    ('読書', ('レ', ''))
    >>> split("登㆓高山㆒")
    ('登高山', ('二', '', '一'))
    """
    signs: list[str] = []
    marks: list[str] = []
    inside = False
    for c in text:
        if c in "[]":
            inside = c == "["
        elif inside or c != c.translate(_ALSO):
            if not signs:
                raise TextError(f"The mark {c} stands before any sign", cure="write it after the sign it belongs to")
            marks[-1] += c.translate(_ALSO)
        elif not c.isspace() and c not in "、。，／/":
            signs.append(c)
            marks.append("")
    return "".join(signs), tuple(marks)


def bears(text: str) -> bool:
    """Whether a text was typed with return marks.

    >>> bears("登[二]高山[一]"), bears("[...]山")
    (True, False)
    """
    inside = [part.split("]")[0] for part in text.split("[")[1:]]
    marks = set("".join(SERIES)) | {"レ"}
    return any(i and set(i.translate(_ALSO)) <= marks for i in inside) or any(c != c.translate(_ALSO) for c in text)


def order(signs: str, marks: Sequence[str]) -> tuple[int, ...]:
    """Positions of the signs in Japanese reading order; those read twice stand twice.

    Raises TextError for marks that are no return marks or lead nowhere.

    >>> [("".join("登高山"[i] for i in order("登高山", ("二", "", "一"))))]
    ['高山登']
    """
    if len(marks) != len(signs):
        raise TextError(f"{len(marks)} marks for {len(signs)} signs", cure="give one entry a sign, '' for none")
    parts = [_parts(m, n) for n, m in enumerate(marks)]
    out: list[int] = []
    done: set[int] = set()
    for at in range(len(signs)):
        returns, rank = parts[at]
        waits = returns or (rank is not None and rank[1] > 0)
        if waits and signs[at] in TWICE:
            out.append(at)
        if not waits:
            _read(at, parts, out, done)
    missing = [i for i in range(len(signs)) if i not in done]
    if missing:
        at = missing[0]
        raise TextError(f"The mark {marks[at]} of {signs[at]} leads nowhere", f"sign {at + 1}",
                        "the first mark of its series (一, 上, 甲, 天) must stand after it, レ not on the last sign")
    return tuple(out)


def japanese(signs: str, marks: Sequence[str]) -> str:
    """The signs in Japanese reading order.

    >>> japanese(*split("不[レ]入[二]虎穴[一]不[レ]得[二]虎子[一]"))
    '虎穴入不虎子得不'
    """
    return "".join(signs[i] for i in order(signs, marks))


_Parts = tuple[bool, tuple[int, int] | None]


def _parts(mark: str, at: int) -> _Parts:
    """(has レ, (series, rank in it) or None) of a mark."""
    mark = mark.translate(_ALSO)
    returns, rest = "レ" in mark, mark.replace("レ", "")
    if not rest:
        return returns, None
    for number, series in enumerate(SERIES):
        if rest in series and len(rest) == 1:
            if returns and series.index(rest):
                break
            return returns, (number, series.index(rest))
    raise TextError(f"{mark!r} is no return mark", f"sign {at + 1}", "use レ, 一二三, 上中下, 甲乙丙, 天地人, 一レ")


def _read(first: int, parts: Sequence[_Parts], out: list[int], done: set[int]) -> None:
    """Read a sign, and then what waited for it: the sign before it with レ, and the next of its series."""
    waiting: list[tuple[int, bool]] = [(first, True)]  # a sign, and whether it is to be read or its series to go on
    while waiting:
        at, fresh = waiting.pop()
        rank = parts[at][1]
        if fresh:
            out.append(at)
            done.add(at)
            waiting += [(at, False)] if rank is not None else []
            waiting += [(at - 1, True)] if at and parts[at - 1][0] else []
        elif rank is not None:
            series, place = rank
            # 下 follows 上 where no 中 stands between: the nearest earlier sign with a later mark of the series.
            later = {i: r[1] for i in range(at) if (r := parts[i][1]) is not None and r[0] == series and r[1] > place
                     and i not in done}
            if later:
                waiting.append((max(i for i, n in later.items() if n == min(later.values())), True))
