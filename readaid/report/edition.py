"""The text of an inscription sign by sign, and its marks by Leiden or by the Japanese way.

Conventions
-----------
* States come from what the reader *saw* (damage, candidates), never from a
  probability computed with the neighbours: a dot (U+0323) says that a sign is
  ambiguous outside its context (EpiDoc guidelines: ``unclear``).
* Leiden: dot under an ambiguous sign; ``.`` with a dot for traces of a sign;
  ``[ ]`` lost and restored; ``[...]`` lost and not restored (``[. .]`` where the
  number is known); ``( )`` expanded; ``< >`` left out by the carver; ``{ }``
  superfluous; ``⟦ ⟧`` erased; ``((花押))`` a described sign.
* Japanese: ``□`` one illegible sign, ``［　　］`` a gap of unknown length, ``（カ）``
  doubt, ``（ママ）`` sic, ``」`` at a column's end, ``（花押）``.
  (Both systems are common practice; the dot's meaning as EpiDoc states it.)
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from readaid.core.attempt import Attempt
from readaid.core.character import DESCRIBED, UNREAD, Character
from readaid.core.confidence import WORDS, Damage
from readaid.core.contents import Contents
from readaid.core.errors import unknown_option

EDITIONS = ("leiden", "japanese")
DOT = "\u0323"
#: At or above this confidence the reader calls a sign certain.
CERTAIN = next(top for name, top in WORDS if name == "probable")


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


@dataclass(frozen=True, slots=True)
class EditionText:
    """Signs in columns from the right, each column from the top."""

    columns: tuple[tuple[EditionSign, ...], ...]

    @property
    def signs(self) -> tuple[EditionSign, ...]:
        """All signs in reading order."""
        return tuple(s for column in self.columns for s in column)


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
    state = State.CLEAR
    if text in DESCRIBED:
        state = State.DESCRIBED
    elif character.damage is Damage.LOST:
        state = State.RESTORED if text and text != UNREAD else State.LOST
    elif not text or text == UNREAD:
        state, text = State.ILLEGIBLE, ""
    elif (character.damage is not Damage.INTACT or others or own is None or own.confidence <= CERTAIN):
        state = State.UNCLEAR
    return EditionSign(text, state, character.id, character.zones, own.confidence if own else None, others,
                       least, most)


def mark(text: EditionText, edition: str = "leiden") -> list[str]:
    """Marked text, one string per column from the right.

    >>> sign = EditionSign("か", State.UNCLEAR)
    >>> mark(EditionText(((sign, EditionSign("せ", State.RESTORED)),)))[0] == "か" + DOT + "[せ]"
    True
    >>> mark(EditionText(((sign, EditionSign("", State.ILLEGIBLE)),)), "japanese")
    ['か（カ）□」']
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
    return shown + ("(!)" if sign.sic else "")


def japanese(sign: EditionSign) -> str:
    """One sign with the marks of Japanese editions."""
    match sign.state:
        case State.CLEAR:
            shown = sign.text
        case State.UNCLEAR:
            shown = f"{sign.text}（カ）"
        case State.ILLEGIBLE:
            shown = "□"
        case State.RESTORED:
            shown = f"［{sign.text}カ］"
        case State.LOST:
            shown = "□" * sign.most if sign.least == sign.most > 0 else "［　　］"
        case State.DESCRIBED:
            shown = f"（{sign.text}）"
        case State.OMITTED:
            shown = f"（{sign.text}脱カ）"
        case State.SUPERFLUOUS:
            shown = f"{sign.text}（衍カ）"
        case State.ERASED:
            shown = "■" * max(1, len(sign.text))
    return shown + ("（ママ）" if sign.sic else "")


def key_to_marks(edition: str, text: EditionText, language: str) -> list[str]:
    """The marks that occur in this text, explained, in the language asked for."""
    states = {s.state for s in text.signs}
    rows: list[str] = []
    for state, en, ja in _KEYS[edition]:
        if state in states:
            rows.append(ja if language == "ja" else en)
    return rows


_KEYS: dict[str, tuple[tuple[State, str, str], ...]] = {
    "leiden": (
        (State.UNCLEAR, "か" + DOT + "  read, but ambiguous outside its context",
         "か" + DOT + "　前後を離れては確定できない字"),
        (State.ILLEGIBLE, "." + DOT + "  one sign is there, not read", "." + DOT + "　一字あり、未読"),
        (State.RESTORED, "[か]  lost, supplied by the reader", "[か]　欠損、補読"),
        (State.LOST, "[...]  lost, not supplied", "[...]　欠損"),
        (State.DESCRIBED, "((花押))  a sign described, not read", "((花押))　字としては読まない"),
    ),
    "japanese": (
        (State.UNCLEAR, "（カ）  doubtful", "（カ）　推読"),
        (State.ILLEGIBLE, "□  one sign, not legible", "□　判読不能一字"),
        (State.RESTORED, "［かカ］  lost, supplied by the reader", "［かカ］　欠損、補読"),
        (State.LOST, "［　　］  gap", "［　　］　欠損"),
        (State.DESCRIBED, "（花押）  a sign described, not read", "（花押）　字としては読まない"),
    ),
}
