"""The frames of a school: makers, specimens, where each specimen stands, kept studies. One fact a cell.

Conventions: the index is the record's id; names stand beside ids; years are whole numbers, missing where not known.
"""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from readaid.core.person import Person
from readaid.core.school import StudyRecord
from readaid.core.specimen import Specimen


def makers(people: Sequence[Person], held: Sequence[Specimen]) -> pd.DataFrame:
    """Makers, one row each, with the number of their forms."""
    names = {p.id: p.name for p in people}
    count = {p.id: 0 for p in people}
    for s in held:
        if s.person in count:
            count[s.person] += 1
    rows = [(p.id, p.name, "; ".join(p.readings), p.generation, p.teacher, names.get(p.teacher or ""), p.born, p.died,
             p.active_from, p.active_to, "; ".join(p.places), count[p.id]) for p in people]
    frame = pd.DataFrame(rows, columns=["maker", "name", "readings", "generation", "teacher", "teacher_name", "born",
                                        "died", "active_from", "active_to", "places", "forms"])
    whole = dict.fromkeys(("generation", "born", "died", "active_from", "active_to", "forms"), "Int64")
    return frame.astype(whole).set_index("maker")


def specimens(people: Sequence[Person], held: Sequence[Specimen]) -> pd.DataFrame:
    """Specimens, one row each, with their maker's name and where they come from."""
    names = {p.id: p.name for p in people}
    rows = [(s.id, s.person, names.get(s.person or ""), s.what, s.kind, s.year, s.age, s.hand, s.image,
             "; ".join(dict.fromkeys(o.title or o.address for o in s.origins)), len(s.origins), s.rights, s.note)
            for s in held]
    frame = pd.DataFrame(rows, columns=["specimen", "maker", "maker_name", "what", "kind", "year", "age", "hand",
                                        "picture", "origin", "origins", "rights", "note"])
    return frame.astype({"year": "Int64", "age": "Int64"}).set_index("specimen")


def whereabouts(held: Sequence[Specimen]) -> pd.DataFrame:
    """Every piece, publication or file in which a specimen stands, one row each."""
    rows = [(s.id, o.kind, o.title, o.address, o.piece, o.record, o.page) for s in held for o in s.origins]
    return pd.DataFrame(rows, columns=["specimen", "kind", "title", "address", "piece", "record", "page"])


def studies(kept: Sequence[StudyRecord]) -> pd.DataFrame:
    """Kept studies, one row each."""
    rows = [(s.id, s.title, len(s.specimens), s.version, s.note) for s in kept]
    return pd.DataFrame(rows, columns=["study", "title", "forms", "version", "note"]).set_index("study")
