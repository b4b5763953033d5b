"""What a catalogue entry says of one inscription beside its signs: text, reading, translations, words, allusions.

Conventions: every text is the reader's own, or a proposal of the program's that the reader took over; nothing stands
here that nobody said. Languages are BCP 47 tags ("en", "ja"). Lengths in millimetres. An inscription has one entry,
whose id follows from the inscription's, so that two kernels never make two.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field

#: What may be said of a known verse or of an allusion. "not traced" always says among what (``reference``).
VERDICTS = ("the same", "a variant", "an allusion", "not traced")
#: How the strokes were made; common practice of the trade, no source.
CUTS = ("line cut", "slanting cut", "punched", "inlaid", "cast", "painted", "etched", "not stated")


@dataclass(frozen=True, slots=True)
class Translation:
    """One translation: its language and who made it."""

    text: str
    language: str = "en"
    translator: str = ""


@dataclass(frozen=True, slots=True)
class GlossedWord:
    """One row of the word table; ``source`` says whose gloss it is ("reader", or the dictionary's name)."""

    form: str = ""
    lemma: str = ""
    part: str = ""
    gloss: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Allusion:
    """A known verse or text that the inscription is, varies or alludes to; or that it was looked for among what."""

    text: str = ""
    reference: str = ""
    verdict: str = "not traced"


@dataclass(frozen=True, slots=True)
class Entry:
    """The entry of one inscription. Empty fields were not filled in; they are not "none"."""

    inscription: str
    edited: str = ""  # with voicing and kanji, as an edition prints it
    read_out: str = ""  # the reading aloud, in kana and kanji order of the language
    romanised: str = ""
    paraphrase: str = ""  # in today's language of the inscription
    translations: tuple[Translation, ...] = ()
    words: tuple[GlossedWord, ...] = ()
    season: tuple[str, ...] = ()
    cutting: tuple[str, ...] = ()
    places: tuple[str, ...] = ()  # poetic places
    pillows: tuple[str, ...] = ()  # pillow words
    allusions: tuple[Allusion, ...] = ()
    picture: str = ""  # how text and picture belong together
    date_argument: str = ""
    comment: str = ""
    not_read: str = ""  # what could not be read, and why
    cut: str = "not stated"  # one of CUTS
    tool_width: float | None = None
    id: str = field(default="")

    def __post_init__(self) -> None:
        if not self.id:
            object.__setattr__(self, "id", entry_id(self.inscription))


def entry_id(inscription: str) -> str:
    """The id of an inscription's entry.

    >>> entry_id("i") == Entry("i").id
    True
    """
    return str(uuid.uuid5(uuid.NAMESPACE_OID, f"entry of {inscription}"))
