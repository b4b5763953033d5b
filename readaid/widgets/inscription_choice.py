"""Which inscription the zones go to, and what it is: verse, signature, date ... or not known yet.

Conventions: an inscription begins with the first zone drawn or proposed. What it will be is shown and can be chosen
before that; left alone it is "not known yet", for which all characters are offered and no metre is expected. The kind
can be put right at any time; the records keep who said what when.
"""

from __future__ import annotations

from typing import Any

from readaid.core.character import Inscription, Text
from readaid.core.errors import OptionError, unknown_option
from readaid.core.photo import Photo
from readaid.core.texts import told, wording
from readaid.widgets.panel import Part
from readaid.widgets.zone_rows import inscription_title

#: As the reader chooses: the usual ones first.
KINDS = (Text.UNKNOWN, Text.VERSE, Text.SIGNATURE, Text.DATE, Text.DEDICATION, Text.PROSE, Text.SEAL, Text.BOX,
         Text.CERTIFICATE, Text.OTHER)
#: What follows from a kind, in a sentence.
FOLLOWS = {
    Text.UNKNOWN: "All characters are offered, no metre is expected.",
    Text.VERSE: "Kana are offered first, and the metre is counted.",
    Text.SIGNATURE: "All characters are offered; the third page takes it apart into name, place and date.",
}


def kind_words(kind: Text) -> str:
    """A kind for a list.

    >>> kind_words(Text.UNKNOWN), kind_words(Text.BOX)
    ('Not known yet', 'Box inscription')
    """
    return told(kind.value[:1].upper() + kind.value[1:])


def kind_of(words: str) -> Text:
    """The kind named by ``words`` ("": not known yet); raises OptionError for an unknown one."""
    try:
        return Text(words or Text.UNKNOWN)
    except ValueError as error:
        raise unknown_option("kind of inscription", words, [k.value for k in KINDS]) from error


class Inscribing(Part):
    """Held by :class:`readaid.widgets.photo_board.PhotoBoard`."""

    next_kind = Text.UNKNOWN

    def shown(self) -> dict[str, Any]:
        """The inscriptions, the chosen one's kind, and the kind that a new one will have."""
        c, chosen = self.panel.desk.contents, self.panel.desk.find(Inscription, self.panel.desk.inscription)
        kind = chosen.kind if chosen is not None else self.next_kind
        return {
            "inscriptions": [{"id": i.id, "title": inscription_title(i, n)} for n, i in enumerate(c.inscriptions)],
            "inscription": self.panel.desk.inscription,
            "kinds": [{"id": k.value, "title": kind_words(k)} for k in KINDS],
            "kind": kind.value,
            "kind_words": told(FOLLOWS.get(kind, wording("All characters are offered, no metre is expected."))),
        }

    def do_inscription(self, inscription: str) -> None:
        """Choose an inscription, or start one ("+": not known yet, "+verse", "+signature" ...)."""
        if inscription.startswith("+"):
            self.start(kind_of(inscription[1:]))
            self.say(wording("A new inscription begins here. Say what it is beside it, as soon as you know."))
        else:
            self.panel.desk.choose(inscription=inscription)

    def do_kind(self, kind: str) -> None:
        """Say what the chosen inscription is, or what the first one will be."""
        value = kind_of(kind)
        record = self.panel.desk.find(Inscription, self.panel.desk.inscription)
        if record is None:
            self.next_kind = value
            self.refresh()
        elif record.kind is not value:
            self.panel.desk.gesture(
                wording("inscription is {0}", value.value),
                lambda: self.panel.desk.piece.change(record, reason="kind of inscription", kind=value),
            )
        self.say(told(FOLLOWS.get(value, "")) or wording(
            "{0}: all characters are offered, no metre is expected.",
            kind_words(value)))

    def start(self, kind: Text) -> str:
        """Begin an inscription on the shown photograph and choose it."""
        photo = self.panel.desk.find(Photo, self.panel.desk.photo)
        if photo is None:
            raise OptionError("No photograph is shown", cure="add one first")
        made = self.panel.desk.gesture(wording(
            "new inscription"), lambda: self.panel.desk.piece.layout.inscription(kind, photo))
        self.panel.desk.choose(inscription=made.id)
        return str(made.id)

    def target(self) -> str:
        """The inscription that zones go to; begun if there is none."""
        return self.panel.desk.inscription or self.start(self.next_kind)
