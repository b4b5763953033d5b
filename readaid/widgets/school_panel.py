"""The school panel: tree of teachers, likeness of all forms, nearest forms, whether likeness follows teaching.

Conventions: likeness 0..1, distance -ln(likeness); rank and population are told with every nearest form, never a
likelihood. The matrix is computed beside the notebook's loop and can be stopped.
"""

from __future__ import annotations

from collections.abc import Sequence

from readaid.core.person import Person
from readaid.core.specimen import Specimen
from readaid.core.texts import wording
from readaid.piece.surfaces import Step
from readaid.schools.overview import Overview, form_name, worked_out
from readaid.widgets.desk import Desk
from readaid.widgets.long_work import LongWork
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.school_states import LikenessMatrix, MakerRow
from readaid.widgets.signature_panel import life


class SchoolPanel(Panel):
    """The makers and forms of the desk's register, taken together."""

    _esm = module_text("school_panel.js")
    _css = style_text("school_panel.css")

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.work = LongWork(self)
        self.parts = (self.work,)
        self.school: Overview | None = None
        self.of: list[str] = []  # ids of the forms in the matrix, in its order
        super().__init__()
        self.refresh()
        desk.listen(lambda what: self.refresh() if what == "records" else None)

    def refresh(self) -> None:
        """Show the school as it is now."""
        c = self.desk.contents
        makers, words = tree(c.persons)
        known = {s.id: s for s in c.specimens}
        if any(i not in known for i in self.of):
            self.school, self.of = None, []
        n = len(c.specimens)
        told = "" if n >= 2 else wording("At least two forms are needed: add them under Compare two forms.")
        if self.school is not None and n != len(self.of):
            told = wording("{0} forms came since; compare all again.", n - len(self.of))
        self.state = {
            "ready": True,
            "busy": self.work.busy,
            "forms": n,
            "makers": makers,
            "tree_words": words,
            "tree_alt": wording("Tree of teachers with {0} makers", len(makers)),
            "words": told or wording("{0} forms, {1} pairs.", n, n * (n - 1) // 2),
            "matrix": self._matrix(known, self.school) if self.school is not None else None,
            "tests": list(self.school.sentences) if self.school else [],
            "charts": [c.row() for c in self.school.charts] if self.school else [],
        }

    def _matrix(self, known: dict[str, Specimen], school: Overview) -> LikenessMatrix:
        names = {p.id: p.name for p in self.desk.contents.persons}
        forms = [known[i] for i in self.of]

        def place(k: int) -> tuple[bool, str, int]:
            return forms[k].person is not None, names.get(forms[k].person or "", ""), forms[k].year or 0

        order = sorted(range(len(forms)), key=place)
        rows = [[round(float(school.likeness[a, b]), 3) for b in order] for a in order]
        near = school.nearest
        return {
            "names": [form_name(forms[k], names) for k in order],
            "rows": rows,
            "low": min(v for i, r in enumerate(rows) for j, v in enumerate(r) if i != j),
            "of": form_name(forms[self._asked_form(forms)], names),
            "nearest": [
                (str(n.rank), n.maker, f"{n.likeness:.2f}", f"{n.distance:.2f}", str(n.forms), n.nearest)
                for n in near.neighbours
            ]
            if near
            else [],
            "sentence": near.text if near else "",
        }

    @staticmethod
    def _asked_form(forms: Sequence[Specimen]) -> int:
        """The form whose neighbours are wanted: the first without an owner, else the first."""
        return next((k for k, f in enumerate(forms) if f.person is None), 0)

    # --- asked -------------------------------------------------------------------------
    def do_makers(self, text: str) -> None:
        """Take makers from the text of a CSV table; makers known by name are changed, not doubled."""
        from readaid.schools.makers import merged, read_makers

        before = self.desk.contents
        people = merged(read_makers(text if "\n" in text else text + "\n"), before.persons)
        self.desk.gesture(wording("makers taken in"),
                          lambda: self.desk.piece.save(*people, reason="makers taken in", base=before))
        self.say(wording("{0} makers are in the register.", len(people)))

    def do_compare_all(self) -> None:
        """Compare every form with every other beside the loop."""
        forms, people = list(self.desk.contents.specimens), self.desk.contents.persons

        words = wording("Comparing all forms")

        def compared(step: Step) -> Overview:
            pictures = [self.desk.piece.signers.pixels(f) for f in forms]
            return worked_out(forms, pictures, people, self._asked_form(forms),
                              lambda done, total: step(words, done / max(total, 1)))

        def show(school: Overview) -> None:
            self.school, self.of = school, [f.id for f in forms]
            self.refresh()
            self.say(wording("All forms are compared."))

        self.work.run(words, compared, show)


def tree(people: tuple[Person, ...]) -> tuple[list[MakerRow], str]:
    """Makers with their place in the tree (column by generation, row from top), and a word on what is wrong with it.

    >>> a, b = Person("A", id="a"), Person("B", id="b", teacher="a")
    >>> [(m["name"], m["column"], m["row"]) for m in tree((b, a))[0]]
    [('A', 0, 0), ('B', 1, 0)]
    """
    if not people:
        return [], wording("No makers yet: enter people above, or take them from a table.")
    known = {p.id: p for p in people}
    pupils: dict[str | None, list[Person]] = {}
    for p in people:
        pupils.setdefault(p.teacher if p.teacher in known else None, []).append(p)
    rows: list[MakerRow] = []
    seen: set[str] = set()

    def place(person: Person, column: int, row: int) -> int:
        seen.add(person.id)
        rows.append(
            {
                "id": person.id,
                "name": person.name,
                "teacher": person.teacher or "",
                "column": column,
                "row": row,
                "words": life(person),
            }
        )
        following = row
        for k, pupil in enumerate(
            sorted(pupils.get(person.id, []), key=lambda p: (p.born or p.active_from or 0, p.name))
        ):
            if pupil.id not in seen:
                following = place(pupil, column + 1, following + (1 if k else 0))
        return following

    row = -1
    for founder in sorted(pupils.get(None, []), key=lambda p: (p.born or p.active_from or 0, p.name)):
        row = place(founder, 0, row + 1)
    left = [p.name for p in people if p.id not in seen]
    return rows, wording("Teachers run in a loop: {0}.", '、'.join(left)) if left else ""
