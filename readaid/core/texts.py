"""The texts of screens and reports in each language, and which language is spoken now.

Conventions: a text is known by its English wording, with ``{0}``, ``{1}`` for what is put in; every other language has
one table, ``languages/<language>.tsv``, with the English wording and its own. What stands after a bar only tells two
uses of one word apart ("open|attempt") and is never shown. ``wording`` is for what the program says itself, ``told``
for a sentence that a lower room has finished already ("3 zones are empty": the table has "{0} zones are empty").
The language is one for the process: a kernel serves one reader. Values are put in as they are, never translated:
a piece may be titled "Close".
"""

from __future__ import annotations

import functools
import re
from pathlib import Path

from readaid.core import tsv
from readaid.core.errors import ReadaidError, unknown_option

#: Languages a reader may choose, each with its own name for itself.
LANGUAGES = {"en": "English", "ja": "日本語"}
FOLDER = Path(__file__).resolve().parent / "languages"
_PLACE = re.compile(r"\{(\d+)\}")
_now = ["en"]


def language() -> str:
    """The language spoken now: "en" until another is chosen."""
    return _now[0]


def speak(name: str) -> None:
    """Choose the language of everything said from now on; OptionError for an unknown one."""
    if name not in LANGUAGES:
        raise unknown_option("language", name, LANGUAGES)
    _now[0] = name


@functools.cache
def table(name: str) -> dict[str, str]:
    """English wording -> wording in ``name``; empty for English.

    Raises TableError with all rows that say a text twice, lack a wording, or have other places for values.

    >>> table("ja")["Close"]
    '閉じる'
    """
    if name == "en":
        return {}
    made: dict[str, str] = {}

    def row(fields: dict[str, str]) -> None:
        english, other = fields["en"].replace("\\n", "\n"), fields[name].replace("\\n", "\n")
        if english in made:
            raise ValueError(f"{english!r} stands there twice")
        if not english or not other:
            raise ValueError(f"{english or other!r} has no wording")
        if set(_PLACE.findall(english)) != set(_PLACE.findall(other)):
            raise ValueError(f"{english!r} and {other!r} differ in what is put in")
        made[english] = other

    for path in sorted(FOLDER.glob(f"{name}*.tsv")):
        tsv.load(path, ("en", name), row)
    return made


def wording(english: str, *values: object, into: str = "") -> str:
    """The wording of ``english`` in the language spoken now (or ``into``), with ``values`` put in.

    A text the table lacks is said in English: a missing wording must not keep anybody from working.

    >>> wording("Zone {0}", 3)
    'Zone 3'
    >>> wording("Close", into="ja")
    '閉じる'
    """
    found = table(into or language()).get(english)
    return _filled(english.split("|")[0] if found is None else found, values)


def plural(n: int, one: str, many: str, *more: object, into: str = "") -> str:
    """``one`` or ``many`` by the number ``n``, which is put in at ``{0}``, ``more`` after it.

    >>> plural(1, "{0} zone", "{0} zones"), plural(2, "{0} zone", "{0} zones")
    ('1 zone', '2 zones')
    """
    return wording(one if n == 1 else many, n, *more, into=into)


def _filled(wording: str, values: tuple[object, ...]) -> str:
    return _PLACE.sub(lambda m: str(values[int(m[1])]) if int(m[1]) < len(values) else m[0], wording)


# --- sentences that lower rooms have finished -----------------------------------------------------------------------
@functools.cache
def _patterns(name: str) -> tuple[tuple[str, re.Pattern[str], str], ...]:
    """Wordings with places as patterns, the ones with most words of their own first; the longest of these words too."""
    made = []
    for english, other in table(name).items():
        own, *rest = _PLACE.split(english.split("|")[0])
        if not rest:
            continue
        pattern, seen = re.escape(own), set()
        for place, words in zip(rest[0::2], rest[1::2], strict=True):
            pattern += (f"(?P=v{place})" if place in seen else f"(?P<v{place}>.+?)") + re.escape(words)
            seen.add(place)
        pieces = [own, *rest[1::2]]
        if len(re.findall(r"[^\W\d_]", "".join(pieces))) > 3:  # "{0} to {1}" would fit "what is to be left alone"
            made.append((sum(map(len, pieces)), max(pieces, key=len), re.compile(pattern, re.DOTALL), other))
    made.sort(key=lambda m: -m[0])
    return tuple((longest, pattern, other) for _n, longest, pattern, other in made)


def told(sentence: str, into: str = "") -> str:
    """A finished English sentence in the language spoken now; as it is where no wording fits.

    What was put in stays, unless it is itself a text of the table ("lamp {0}" with "top left").

    >>> told("Zone 3", "ja")
    '領域3'
    """
    name = into or language()
    return sentence if name == "en" else _told(sentence, name)


@functools.lru_cache(4096)
def _told(sentence: str, name: str) -> str:
    known = table(name)
    if sentence in known:
        return known[sentence]
    for longest, pattern, other in _patterns(name):
        if longest in sentence and (match := pattern.fullmatch(sentence)):
            values = {k[1:]: known.get(v, v) for k, v in match.groupdict().items()}
            return _PLACE.sub(lambda m, values=values: values[m[1]], other)  # type: ignore[misc]
    return sentence


def refusal(error: ReadaidError, into: str = "") -> str:
    """What an error says: what, where and the cure, each in the language spoken now.

    >>> refusal(ReadaidError("The photo is cut off", "kiku.jpg", "copy it again from the camera"))
    'The photo is cut off (kiku.jpg): copy it again from the camera.'
    """
    name = into or language()
    if name == "en":
        return str(error)
    where = f"（{error.where}）" if error.where else ""
    return _told(error.what, name) + where + "。" + (f"{_told(error.cure, name)}。" if error.cure else "")
