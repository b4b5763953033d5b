"""The sheet: the chosen inscription as the piece has it, and the way through it.

Conventions: columns from the right, each sign with its crop, what was entered and its sound. Beside them stands the
reading as an edition would print it: what a reader kept, or in another tone what the search has now. Crops are sent
once for each outline and only when the sheet asks for them; they are of the photo a zone was drawn on.
"""

from __future__ import annotations

from collections import Counter
from itertools import zip_longest

from readaid.core.attempt import Attempt
from readaid.core.character import Character, Inscription, Text
from readaid.core.confidence import Status, word
from readaid.core.photo import Zone
from readaid.core.texts import told, wording
from readaid.piece import sign_order
from readaid.piece.claims import mostly_machine
from readaid.widgets.desk import Desk
from readaid.widgets.kept_rows import KeptRows
from readaid.widgets.letter_rows import about
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.shape_signs import shape_lines
from readaid.widgets.sign_states import Edition, EditionLine, SheetColumn, SheetSign
from readaid.widgets.verse_lines import line_of_positions, wanted
from readaid.widgets.zone_rows import inscription_title, sign_of

#: Side of a crop on the sheet at most, in pixels.
CROP = 88
#: Crops cut at one asking.
AT_ONCE = 40
_RANK = {Status.SETTLED: 0, Status.PREFERRED: 1, Status.OPEN: 2}


def _first(k: Character, zones: dict[str, Zone]) -> Zone | None:
    """The first of a sign's zones that stands."""
    for z in k.zones:
        if z in zones:
            return zones[z]
    return None


class SheetPanel(Panel):
    """The desk's inscription on paper."""

    _esm = module_text("sheet_panel.js")
    _css = style_text("sheet_panel.css")

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._laid, self._signs = KeptRows(), KeptRows()
        super().__init__()
        self.refresh()
        desk.listen(lambda _what: self.refresh())

    def refresh(self) -> None:
        """Show the inscription as it is now."""
        desk, c = self.desk, self.desk.contents
        target = desk.find(Inscription, desk.inscription)
        self.state = {
            "stage": desk.stage,
            "inscription": desk.inscription,
            "inscriptions": [[i.id, inscription_title(i, n), len(i.characters)] for n, i in enumerate(c.inscriptions)],
            "kind": target.kind.value if target else "",
            "chosen": desk.character,
            "columns": self._columns(),
            "edition": self._edition(),
            "locked": desk.piece.read_only,
        }

    def _columns(self) -> list[SheetColumn]:
        desk, n = self.desk, 0
        best = desk.best if desk.best_of == desk.inscription else None
        lines = line_of_positions(best) if best else {}
        zones = {z.id: z for z in desk.contents.zones}
        columns, heard, chosen = [], desk.sounds, best.chosen if best else ()
        for signs in desk.columns():
            firsts = tuple(_first(k, zones) for k in signs)
            sounds = tuple([heard.get(k.id) or "" for k in signs]) if heard else ()
            taken = tuple(chosen[n:n + len(signs)])
            carried: tuple[tuple[int, int], ...] = ()
            if lines:
                carried = tuple(sorted(Counter(lines[at] for at in range(n, n + len(signs)) if at in lines).items()))
            n += len(signs)
            name = signs[0].id if signs else ""
            columns.append(self._laid.row(name, (name, tuple(signs), firsts, sounds, taken, carried), self._column))
        self._laid.only([c["id"] for c in columns])
        return columns

    def _column(self, name: str, signs: tuple[Character, ...], firsts: tuple[Zone | None, ...], sounds: tuple[str, ...],
                taken: tuple[str, ...], carried: tuple[tuple[int, int], ...]) -> SheetColumn:
        rows = [self._signs.row(k.id, (k, said or "", first, heard or ""), self._sign)
                for k, first, heard, said in zip_longest(signs, firsts, sounds, taken)]
        return {"id": name, "signs": rows, "morae": [(line + 1, many) for line, many in carried]}

    @staticmethod
    def _sign(k: Character, taken: str, first: Zone | None, heard: str) -> SheetSign:
        text, mark = sign_of(k)
        return {
            "id": k.id,
            "text": text,
            "machine": taken if not text else "",  # what shape or the language proposes where nothing was entered
            "sound": heard or (about(text).split(" ")[0].split("、")[0] if text else ""),
            "mark": mark,
            "more": len(k.candidates) - 1 if len(k.candidates) > 1 else 0,
            "sure": told(word(k.best.confidence)) if k.best else "",
            "zones": list(k.zones),
            "missing": list(k.missing) if mark == "lost" else None,
            "crop": f"{first.id} {hash(first.outline) & 0xffffffff:x}" if first else "",
        }

    # --- the reading beside the columns ---------------------------------------------------
    def _edition(self) -> Edition | None:
        desk = self.desk
        kept = [a for a in desk.contents.attempts if a.inscription == desk.inscription and a.status in _RANK]
        if kept:
            chosen = sorted(sorted(kept, key=lambda a: a.made, reverse=True), key=lambda a: _RANK[a.status])[0]
            return self._kept(chosen)
        target = desk.find(Inscription, desk.inscription)
        if desk.best is None or desk.best_of != desk.inscription or (target and target.kind is Text.SIGNATURE):
            return None
        rows, _ = shape_lines(desk.best, desk.unread)
        machine = mostly_machine(desk.best, len(desk.ordered()), desk.unread)
        lines: list[EditionLine] = [
            {"parts": [(p["text"], bool(p["restored"] or p.get("shape"))) for p in r["parts"]],
             "morae": r["morae"], "want": r["want"]} for r in rows]
        return {"kept": False, "machine": machine, "lines": lines,
                "words": wording("mostly the machine's") if machine else wording("as read now, not kept")}

    @staticmethod
    def _kept(attempt: Attempt) -> Edition:
        texts = attempt.lines or (attempt.kana or attempt.written,)
        want = wanted(attempt.form, len(texts))
        lines: list[EditionLine] = [
            {"parts": [(text, False)], "morae": attempt.morae[i] if i < len(attempt.morae) else None, "want": want[i]}
            for i, text in enumerate(texts)]
        return {"kept": True, "machine": False, "lines": lines,
                "words": f"{told(attempt.status.value)}, {told(word(attempt.confidence))}; {attempt.reader}"}

    # --- asked ------------------------------------------------------------------------------
    def do_choose(self, character: str) -> None:
        """Choose a sign."""
        self.desk.choose(character=character)

    def do_inscription(self, inscription: str) -> None:
        """Take up another inscription."""
        self.desk.choose(inscription=inscription)

    def do_crops(self, keys: list[str]) -> None:
        """Send the crops of some zones, each with the key it was asked by."""
        zones = {z.id: z for z in self.desk.contents.zones}
        wanted = [(key, zones[key.split(" ")[0]]) for key in keys if key.split(" ")[0] in zones]
        for start in range(0, len(wanted), AT_ONCE):
            part = wanted[start : start + AT_ONCE]
            self.later(lambda part=part: [(key, self._crop(zone)) for key, zone in part],  # type: ignore[misc]
                       lambda made: self.send({"type": "crops", "keys": [k for k, _ in made]},
                                              buffers=[data for _, data in made]))

    def _crop(self, zone: Zone) -> bytes:
        from PIL import Image

        from readaid.core.errors import ReadaidError
        from readaid.photo.file import jpeg

        try:
            pixels = self.desk.piece.decipherment.crops.pixels(zone, margin=0.06)
        except (ReadaidError, OSError):  # its photograph has gone: the place stays empty, the board tells why
            return b""
        picture = Image.fromarray(pixels)
        picture.thumbnail((CROP, CROP))
        import numpy as np

        return jpeg(np.asarray(picture), 80)

    # --- order --------------------------------------------------------------------------------
    def do_order(self, character: str, step: str) -> None:
        """Move a sign or its column in reading order (see ``sign_order.STEPS``; "by_position": all anew)."""
        target = self.desk.find(Inscription, self.desk.inscription)
        if target is None:
            return
        if step == "by_position":
            from readaid.core.photo import Photo

            self._reorder(sign_order.by_position(self.desk.piece, target, self.desk.find(Photo, self.desk.photo)))
        else:
            self._reorder(sign_order.moved(target.columns, character, step))

    def do_place_before(self, character: str, before: str) -> None:
        """Put a sign before another."""
        self._reorder(sign_order.placed_before(self._order(), character, before))

    def do_place_last(self, character: str, column: int) -> None:
        """Put a sign at the end of a column."""
        self._reorder(sign_order.placed_last(self._order(), character, column))

    def _order(self) -> list[list[str]]:
        target = self.desk.find(Inscription, self.desk.inscription)
        return [list(c) for c in target.columns] if target else []

    def _reorder(self, columns: list[list[str]]) -> None:
        target = self.desk.find(Inscription, self.desk.inscription)
        if target is None or [list(c) for c in target.columns] == columns:
            return
        self.desk.gesture(wording("order changed"), lambda: self.desk.piece.layout.reorder(target, columns))
