"""A reader's gestures played again: which stand, which are taken back, which is the last.

Conventions: a gesture is all revisions of one finished act and bears one id; that of a merge begins with ``MERGE``.
"""

from __future__ import annotations

from sqlalchemy import func, select

from readaid.register.schema import revision
from readaid.register.view import View

#: How the gesture of a merge begins.
MERGE = "merge-"


def last_gesture(view: View, reader: str, undone: bool) -> str | None:
    """Play the reader's gestures again, oldest first, to see which stand and which are taken back."""
    query = (select(revision.c.gesture, func.max(revision.c.undoes)).where(revision.c.reader == reader)
             .group_by(revision.c.gesture).order_by(func.max(revision.c.number)))
    if view.piece:
        query = query.where(revision.c.piece == view.piece)
    standing: list[str] = []
    undos: dict[str, str] = {}  # undo still standing -> what it took back
    for gesture, undoes in view._read(lambda c: c.execute(query).all()):
        if gesture.startswith(MERGE):  # it stays; what it changed of an earlier gesture is told when that is undone
            undos.clear()
        # A new act ends what might have been redone, as in any editor.
        elif undoes is None:
            standing.append(gesture)
            undos.clear()
        # The undo of an undo is a redo: what it took back stands again.
        elif undoes in undos:
            standing.append(undos.pop(undoes))
        else:
            undos[gesture] = undoes
            if undoes in standing:
                standing.remove(undoes)
    names = list(undos) if undone else standing
    return names[-1] if names else None
