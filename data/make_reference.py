"""Make the reference of all public functions from their docstrings, as HTML, with pdoc.

    python data/make_reference.py FOLDER

Held here: the face and the door modules of the rooms. Nothing generated lies in the repository.
"""

import sys
from pathlib import Path

#: The face, then what each room offers to others (see "Interfaces between rooms" in DEVELOPERS.md).
MODULES = ("readaid", "readaid.piece.open_piece", "readaid.piece.collection", "readaid.schools.album",
           "readaid.schools.study", "readaid.schools.traced_forms", "readaid.schools.nearest", "readaid.schools.odds",
           "readaid.schools.figures", "readaid.forms.comparison", "readaid.forms.correspondence", "readaid.forms.sheet",
           "readaid.forms.tracing_counts", "readaid.forms.tracing_mends", "readaid.register.book",
           "readaid.register.lookup", "readaid.report", "readaid.reading.solve", "readaid.glyphs.candidates")


def make(folder):
    """Write the reference into ``folder``; returns its pages."""
    import pdoc

    pdoc.render.configure(docformat="numpy", footer_text="readaid")
    pdoc.pdoc(*MODULES, output_directory=Path(folder))
    return sorted(Path(folder).rglob("*.html"))


if __name__ == "__main__":
    print(len(make(sys.argv[1])), "pages written")
