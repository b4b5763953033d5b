"""The school panel: tree of teachers, likeness of all forms, nearest forms, whether likeness follows teaching.

Conventions: likeness 0..1, distance -ln(likeness); rank and population are told with every nearest form, never a
likelihood. The matrix is computed beside the notebook's loop and can be stopped.
"""

from __future__ import annotations

import time
from typing import Any

import numpy as np

from readaid.core.errors import ReadaidError
from readaid.core.person import Person
from readaid.core.specimen import Specimen
from readaid.widgets.desk import Desk
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.signature_panel import life

#: Forms from which a test of the school says anything at all. Common practice, no source.
FEW = 8


class _StoppedError(Exception):
    """The reader let the comparison go."""


class SchoolPanel(Panel):
    """The makers and forms of the desk's register, taken together."""

    _esm = module_text("school_panel.js")
    _css = style_text("school_panel.css")

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.busy = False
        self.likeness: Any = None
        self.of: list[str] = []  # ids of the forms in the matrix, in its order
        self.tests: list[str] = []
        self.charts: list[dict[str, str]] = []
        self._stop = False
        super().__init__()
        self.refresh()
        desk.listen(lambda what: self.refresh() if what == "records" else None)

    def refresh(self) -> None:
        """Show the school as it is now."""
        c = self.desk.contents
        makers, words = tree(c.persons)
        known = {s.id: s for s in c.specimens}
        if any(i not in known for i in self.of):
            self.likeness, self.of, self.tests, self.charts = None, [], [], []
        n = len(c.specimens)
        told = "" if n >= 2 else "At least two forms are needed: add them under Compare two forms."
        if self.likeness is not None and n != len(self.of):
            told = f"{n - len(self.of)} forms came since; compare all again."
        self.state = {
            "ready": True,
            "busy": self.busy,
            "forms": n,
            "makers": makers,
            "tree_words": words,
            "tree_alt": f"Tree of teachers with {len(makers)} makers",
            "words": told or f"{n} forms, {n * (n - 1) // 2} pairs.",
            "matrix": self._matrix(known) if self.likeness is not None else None,
            "tests": self.tests,
            "charts": self.charts,
        }

    def _matrix(self, known: dict[str, Specimen]) -> dict[str, Any]:
        names = {p.id: p.name for p in self.desk.contents.persons}
        forms = [known[i] for i in self.of]
        order = sorted(
            range(len(forms)),
            key=lambda k: (forms[k].person is not None, names.get(forms[k].person or "", ""), forms[k].year or 0),
        )
        labels = [form_name(forms[k], names) for k in order]
        rows = [[round(float(self.likeness[a, b]), 3) for b in order] for a in order]
        others = [v for i, r in enumerate(rows) for j, v in enumerate(r) if i != j]
        asked = next((k for k in order if forms[k].person is None), order[0])
        ranked = sorted((k for k in order if k != asked), key=lambda k: -self.likeness[asked, k])
        owners = len({forms[k].person for k in ranked})
        nearest = [
            [
                str(i),
                form_name(forms[k], names),
                f"{self.likeness[asked, k]:.2f}",
                f"{-np.log(max(self.likeness[asked, k], 1e-6)):.2f}",
            ]
            for i, k in enumerate(ranked[:8], start=1)
        ]
        return {
            "names": labels,
            "rows": rows,
            "low": min(others),
            "of": form_name(forms[asked], names),
            "nearest": nearest,
            "sentence": f"Ranked among {len(ranked)} forms of {owners} makers in this register. "
            "Makers who are not in it cannot be named; none of these is always possible.",
        }

    # --- asked -------------------------------------------------------------------------
    def do_makers(self, text: str) -> None:
        """Take makers from the text of a CSV table; makers known by name are changed, not doubled."""
        import dataclasses

        from readaid.shape.school import read_makers

        found = read_makers(text if "\n" in text else text + "\n")
        known = {p.name: p.id for p in self.desk.contents.persons}
        new_id = {p.id: known.get(p.name, p.id) for p in found}
        people = [
            dataclasses.replace(p, id=new_id[p.id], teacher=new_id[p.teacher] if p.teacher else None) for p in found
        ]
        self.desk.gesture("makers taken in", lambda: self.desk.piece.save(*people, reason="makers taken in"))
        self.say(f"{len(people)} makers are in the register.")

    def do_stop(self) -> None:
        """Let the comparison go."""
        self._stop = True

    def do_compare_all(self) -> None:
        """Compare every form with every other beside the loop."""
        forms = list(self.desk.contents.specimens)
        self.busy, self._stop = True, False
        self.refresh()
        last = [0.0]

        def progress(done: int, total: int) -> None:
            if self._stop:
                raise _StoppedError
            if time.monotonic() - last[0] > 0.3:
                last[0] = time.monotonic()
                self.send({"type": "progress", "share": done / max(total, 1)})

        def work() -> Any:
            from readaid.shape.matrix import likeness_matrix

            try:
                return likeness_matrix([self.desk.piece.signing.pixels(f) for f in forms], progress=progress)
            except _StoppedError:
                return None
            except ReadaidError as error:
                return error

        def done(result: Any) -> None:
            self.busy = False
            if result is None:
                self.say("Stopped; nothing was changed.")
            elif isinstance(result, ReadaidError):
                self.say(str(result), "error")
            else:
                self.likeness, self.of = result, [f.id for f in forms]
                self.tests = lineage_words(forms, self.desk.contents.persons, result)
                self.say("All forms are compared.")
            self.refresh()

        self.later(work, done)


def form_name(specimen: Specimen, names: dict[str, str]) -> str:
    """A form in a few words."""
    owner = names.get(specimen.person or "", "") or ("this piece" if specimen.zone else "owner not known")
    return owner + (f" {specimen.year}" if specimen.year else "")


def tree(people: tuple[Person, ...]) -> tuple[list[dict[str, Any]], str]:
    """Makers with their place in the tree (column by generation, row from top), and a word on what is wrong with it.

    >>> a, b = Person("A", id="a"), Person("B", id="b", teacher="a")
    >>> [(m["name"], m["column"], m["row"]) for m in tree((b, a))[0]]
    [('A', 0, 0), ('B', 1, 0)]
    """
    if not people:
        return [], "No makers yet: enter people above, or take them from a table."
    known = {p.id: p for p in people}
    pupils: dict[str | None, list[Person]] = {}
    for p in people:
        pupils.setdefault(p.teacher if p.teacher in known else None, []).append(p)
    rows: list[dict[str, Any]] = []
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
    return rows, f"Teachers run in a loop: {'、'.join(left)}." if left else ""


def lineage_words(forms: list[Specimen], people: tuple[Person, ...], likeness: Any) -> list[str]:
    """Whether likeness follows teaching, in sentences (Mantel's permutation test, and with years held fast)."""
    from readaid.shape.mantel import mantel
    from readaid.shape.matrix import distance, of_makers
    from readaid.shape.school import checked, lineage_distances, year_of

    try:
        makers = {p.id: p for p in checked(people)}
    except ReadaidError as error:
        return [str(error)]
    owned = [k for k, f in enumerate(forms) if f.person in makers]
    if len({forms[k].person for k in owned}) < 3:
        return ["Forms of at least three makers are needed to ask whether likeness follows teaching."]
    part = distance(np.asarray(likeness)[np.ix_(owned, owned)])
    order, far = of_makers(part, [forms[k].person for k in owned])
    chosen = [makers[i] for i in order]
    lines = lineage_distances(chosen)
    found = mantel(far, lines)
    words = [
        f"Between {len(chosen)} makers, likeness and steps of teaching go together with r = {found.r:.2f}; "
        f"as much or more comes by chance in {found.p:.0%} of {found.shuffles} shuffles."
    ]
    years = [year_of(m) for m in chosen]
    if None not in years:
        apart = np.abs(np.subtract.outer(np.array(years, float), np.array(years, float)))
        held = mantel(far, lines, apart)
        words.append(f"With the years between them held fast: r = {held.r:.2f}, by chance in {held.p:.0%}.")
    if len(chosen) < FEW:
        words.append(
            f"With only {len(chosen)} makers this proves nothing either way: "
            "even a perfect order can hardly be told from chance."
        )
    return words
