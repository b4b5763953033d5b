"""The text of an inscription sign by sign, and its marks by Leiden or by the Japanese way.

Conventions
-----------
* States come from what the reader *saw* (damage, candidates) and from what the editor says of a sign (left out,
  superfluous, erased, sic), never from a probability computed with the neighbours.
* A dot (U+0323) says that a sign is ambiguous outside its context (EpiDoc guidelines: ``unclear``): the reader is not
  certain of it, or names a rival. A worn sign that is certain gets none: wear is told by the condition.
* Leiden: dot under an ambiguous sign; ``.`` with a dot for traces of a sign; ``[ ]`` lost and restored; ``[...]`` lost
  and not restored (``[. .]`` where the number is known); ``( )`` expanded; ``< >`` left out by the carver; ``{ }``
  superfluous; ``⟦ ⟧`` erased; ``⌜ ⌝`` corrected; ``(!)`` sic; ``((花押))`` a described sign.
* Japanese: ``□`` one illegible sign, ``［　　］`` a gap of unknown length, ``［カ］`` beside a sign the reader is at
  most unsure of, ``（ママ）`` sic, ``」`` at a column's end, ``■`` erased, ``（花押）``. Doubt is the reader's doubt of
  what was read, not ambiguity outside the context: so ［カ］ stands on fewer signs than the dot does.
  (Both systems are common practice, no source; the dot's meaning as EpiDoc states it.)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

from readaid.core.attempt import Attempt
from readaid.core.character import DESCRIBED, UNREAD, Character
from readaid.core.confidence import WORDS, Damage
from readaid.core.contents import Contents
from readaid.core.errors import unknown_option
from readaid.script.hentaigana import letter
from readaid.script.kana import is_hiragana

EDITIONS = ("leiden", "japanese")
DOT = "\u0323"
#: At or above this confidence the reader calls a sign certain.
CERTAIN = next(top for name, top in WORDS if name == "probable")
#: Up to this confidence the reader is at most unsure: an edition in Japanese says ［カ］.
UNSURE = next(top for name, top in WORDS if name == "unsure")


class State(StrEnum):
    """What the edition has to say of one sign."""

    CLEAR = "clear"
    UNCLEAR = "unclear"  # ambiguous outside its context
    ILLEGIBLE = "illegible"  # traces, no sign can be told
    RESTORED = "restored"  # lost, supplied by the reader
    LOST = "lost"  # lost, not supplied
    DESCRIBED = "described"  # monogram, seal
    OMITTED = "omitted"  # left out by the carver, supplied
    SUPERFLUOUS = "superfluous"
    ERASED = "erased"
    EXPANDED = "expanded"  # written short, given in full
    CORRECTED = "corrected"  # the carver's slip, put right by the editor


@dataclass(frozen=True, slots=True)
class EditionSign:
    """One sign as edited; ``least``/``most`` count lost signs (0, 0: a gap of unknown length)."""

    text: str
    state: State
    character: str = ""  # id
    zones: tuple[str, ...] = ()
    confidence: float | None = None
    others: tuple[str, ...] = ()
    least: int = 1
    most: int = 1
    sic: bool = False
    instead: str = ""  # what the carver cut, where ``text`` is the editor's correction

    @property
    def doubtful(self) -> bool:
        """Whether the reader is at most unsure of it."""
        return self.confidence is not None and self.confidence <= UNSURE


@dataclass(frozen=True, slots=True)
class EditionText:
    """Signs in columns from the right, each column from the top."""

    columns: tuple[tuple[EditionSign, ...], ...]

    @property
    def signs(self) -> tuple[EditionSign, ...]:
        """All signs in reading order."""
        return tuple(s for column in self.columns for s in column)

    @property
    def texts(self) -> tuple[str, ...]:
        """The signs' texts in reading order."""
        return tuple(s.text for s in self.signs)


def edit(contents: Contents, inscription: str, attempt: Attempt | None = None) -> EditionText:
    """The edition of an inscription: what the attempt chose for each sign, else the best candidate."""
    target = next(i for i in contents.inscriptions if i.id == inscription)
    chosen = dict(attempt.chosen) if attempt else {}
    return EditionText(tuple(tuple(_sign(c, chosen.get(c.id)) for c in column)
                             for column in contents.characters_of(target)))


def _sign(character: Character, chosen: str | None) -> EditionSign:
    best = character.best
    text = character.fixed or chosen or (best.character if best else "")
    own = next((c for c in character.candidates if c.character == text), None)
    others = tuple(c.character for c in sorted(character.candidates, key=lambda c: -c.confidence)
                   if c.character != text)
    least, most = character.missing
    state, instead = State.CLEAR, ""
    if text in DESCRIBED:
        state = State.DESCRIBED
    elif character.editorial in _EDITORIAL:
        state = _EDITORIAL[character.editorial]
        if state is State.CORRECTED:
            text, instead = character.instead or text, text
    elif character.damage is Damage.LOST:
        state = State.RESTORED if text and text != UNREAD else State.LOST
    elif not text or text == UNREAD:
        state, text = State.ILLEGIBLE, ""
    elif others or own is None or own.confidence <= CERTAIN:
        state = State.UNCLEAR
    return EditionSign(text, state, character.id, character.zones, own.confidence if own else None, others,
                       least, most, character.editorial == "sic", instead)


#: What an editor may say of a sign (``core.character.EDITORIAL``) that makes a state of its own.
_EDITORIAL = {"omitted": State.OMITTED, "superfluous": State.SUPERFLUOUS, "erased": State.ERASED,
              "expanded": State.EXPANDED, "corrected": State.CORRECTED}


@dataclass(frozen=True, slots=True)
class Parents:
    """The parent kanji of each sign, column by column."""

    columns: tuple[tuple[str, ...], ...]

    @property
    def texts(self) -> tuple[str, ...]:
        """All of them in reading order."""
        return tuple(t for column in self.columns for t in column)


def parents(text: EditionText) -> Parents:
    """The parent kanji (字母) of each kana letter; other signs as they are, □ for what is not read.

    >>> parents(EditionText(((EditionSign("𛂥", State.CLEAR), EditionSign("山", State.CLEAR)),))).columns
    (('者', '山'),)
    """
    return Parents(tuple(tuple(_parent(s.text) for s in column) for column in text.columns))


def _parent(sign: str) -> str:
    found = letter(sign) if len(sign) == 1 else None
    return (found.parent or sign) if found else sign or "□"


def plain_kana(text: EditionText, attempt: Attempt | None = None) -> EditionText:
    """The same text with each kana letter as a plain kana (翻刻), unvoiced as it stands; kanji and marks stay.

    A letter with several sounds takes the one that the attempt reads there, where their lengths tell it.

    >>> plain_kana(EditionText(((EditionSign("𛂥", State.CLEAR), EditionSign("ゝ", State.CLEAR)),))).texts
    ('は', 'ゝ')
    """
    read = attempt.kana if attempt is not None and len(attempt.kana) == len(text.signs) else ""
    at = 0
    columns = []
    for column in text.columns:
        made = []
        for sign in column:
            made.append(replace(sign, text=_plain(sign.text, read[at:at + 1])))
            at += 1
        columns.append(tuple(made))
    return EditionText(tuple(columns))


def _plain(sign: str, read: str) -> str:
    found = letter(sign) if len(sign) == 1 else None
    if found is None or is_hiragana(sign):
        return sign
    return read if read in found.sounds else found.sounds[0]


def mark(text: EditionText, edition: str = "leiden") -> list[str]:
    """Marked text, one string per column from the right.

    >>> sign = EditionSign("か", State.UNCLEAR)
    >>> mark(EditionText(((sign, EditionSign("せ", State.RESTORED)),)))[0] == "か" + DOT + "[せ]"
    True
    >>> mark(EditionText(((sign, EditionSign("", State.ILLEGIBLE)),)), "japanese")
    ['か□」']
    """
    if edition not in EDITIONS:
        raise unknown_option("edition", edition, EDITIONS)
    one = leiden if edition == "leiden" else japanese
    marked = ["".join(one(s) for s in column) for column in text.columns]
    if edition == "leiden":
        return [m.replace("][", "") for m in marked]  # neighbouring brackets join: [か][せ] -> [かせ]
    return [m + "」" for m in marked]


def leiden(sign: EditionSign) -> str:
    """One sign with Leiden marks."""
    match sign.state:
        case State.CLEAR:
            shown = sign.text
        case State.UNCLEAR:
            shown = "".join(c + DOT for c in sign.text)
        case State.ILLEGIBLE:
            shown = "." + DOT
        case State.RESTORED:
            shown = f"[{sign.text}]"
        case State.LOST:
            shown = f"[{' '.join('.' * sign.most)}]" if sign.least == sign.most > 0 else "[...]"
        case State.DESCRIBED:
            shown = f"(({sign.text}))"
        case State.OMITTED:
            shown = f"<{sign.text}>"
        case State.SUPERFLUOUS:
            shown = f"{{{sign.text}}}"
        case State.ERASED:
            shown = f"⟦{sign.text or '...'}⟧"
        case State.EXPANDED:
            shown = f"({sign.text})"
        case State.CORRECTED:
            shown = f"⌜{sign.text}⌝"
    return shown + ("(!)" if sign.sic else "")


def japanese(sign: EditionSign) -> str:
    """One sign with the marks of Japanese editions."""
    match sign.state:
        case State.CLEAR | State.UNCLEAR:
            shown = sign.text + (DOUBT if sign.doubtful else "")
        case State.ILLEGIBLE:
            shown = "□"
        case State.RESTORED:
            shown = f"［{sign.text}{'カ' if sign.doubtful else ''}］"
        case State.LOST:
            shown = "□" * sign.most if sign.least == sign.most > 0 else "［　　］"
        case State.DESCRIBED:
            shown = f"（{sign.text}）"
        case State.OMITTED:
            shown = f"（{sign.text}脱）"
        case State.SUPERFLUOUS:
            shown = f"{sign.text}（衍）"
        case State.ERASED:
            shown = "■" * max(1, len(sign.text))
        case State.EXPANDED:
            shown = f"（{sign.text}）"
        case State.CORRECTED:
            shown = f"{sign.instead}（{sign.text}）"
    return shown + ("（ママ）" if sign.sic else "")


#: Set beside a sign in print.
DOUBT = "［カ］"


def key_to_marks(edition: str, text: EditionText, language: str) -> list[str]:
    """The marks that occur in this text, explained, in the language asked for."""
    rows: list[str] = []
    for met, en, ja in _KEYS[edition]:
        if any(met(s) for s in text.signs):
            rows.append(ja if language == "ja" else en)
    return rows


def _is(state: State) -> Callable[[EditionSign], bool]:
    return lambda sign: sign.state is state


_KEYS: dict[str, tuple[tuple[Callable[[EditionSign], bool], str, str], ...]] = {
    "leiden": (
        (_is(State.UNCLEAR), "か" + DOT + "  ambiguous outside its context",
         "か" + DOT + "　前後を離れては確定できない字"),
        (_is(State.ILLEGIBLE), "." + DOT + "  one sign is there, not read", "." + DOT + "　一字あり、未読"),
        (_is(State.RESTORED), "[か]  lost, supplied by the reader", "[か]　欠損、補読"),
        (_is(State.LOST), "[...]  lost, not supplied", "[...]　欠損"),
        (_is(State.OMITTED), "<か>  left out by the carver", "<か>　脱字を補う"),
        (_is(State.SUPERFLUOUS), "{か}  superfluous", "{か}　衍字"),
        (_is(State.ERASED), "⟦か⟧  erased", "⟦か⟧　抹消"),
        (_is(State.EXPANDED), "(か)  written short, given in full", "(か)　省略を補う"),
        (_is(State.CORRECTED), "⌜か⌝  corrected by the editor", "⌜か⌝　校訂者が改めた字"),
        (lambda s: s.sic, "(!)  so on the piece", "(!)　原本のまま"),
        (_is(State.DESCRIBED), "((花押))  a sign described, not read", "((花押))　字としては読まない"),
    ),
    "japanese": (
        (lambda s: s.doubtful and s.state in (State.CLEAR, State.UNCLEAR, State.RESTORED),
         "［カ］  the reader doubts it", "［カ］　推読"),
        (_is(State.ILLEGIBLE), "□  one sign, not legible", "□　判読不能一字"),
        (_is(State.RESTORED), "［か］  lost, supplied by the reader", "［か］　欠損、補読"),
        (_is(State.LOST), "［　　］  gap", "［　　］　欠損"),
        (_is(State.OMITTED), "（か脱）  left out by the carver", "（か脱）　脱字"),
        (_is(State.SUPERFLUOUS), "か（衍）  superfluous", "か（衍）　衍字"),
        (_is(State.ERASED), "■  erased", "■　抹消"),
        (_is(State.EXPANDED), "（か）  written short, given in full", "（か）　省略を補う"),
        (_is(State.CORRECTED), "き（か）  か corrected by the editor", "き（か）　校訂者の訂正"),
        (lambda s: s.sic, "（ママ）  so on the piece", "（ママ）　原本のまま"),
        (_is(State.DESCRIBED), "（花押）  a sign described, not read", "（花押）　字としては読まない"),
    ),
}
