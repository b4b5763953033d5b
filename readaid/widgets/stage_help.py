"""What the bench says of each of its places when asked: the steps, the keys, and the cautions that belong there.

Conventions: a place has a caution where the work at it can hurt a piece or a person; common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from readaid.core.texts import told
from readaid.widgets.register_states import StageWords


@dataclass(frozen=True, slots=True)
class StageHelp:
    """Steps in order, keys as (keys, what they do), and the caution."""

    steps: tuple[str, ...]
    keys: tuple[tuple[str, str], ...]
    caution: str


_EVERYWHERE = (("Ctrl+Z, Ctrl+Y", "take back, do again"), ("Page Down, Page Up", "next and earlier sign"),
               ("Alt and a digit", "light that lamp from anywhere"), ("Alt and the space bar", "the photograph before"),
               ("Tab, Shift+Tab", "every control in turn"), ("Enter or space bar", "press the control, choose the row"),
               ("arrows in a row", "one of several choices"), ("Escape", "close what is open, let a tool go"),
               ("F1 or ?", "this list"))
#: Points on the photograph without a pointer, once a tool was chosen.
_POINTS = (("arrows, then space bar", "set a point by the cross: scale, corners, column, note"),
           ("Backspace, Enter", "the last point back; the column is marked"))
_LOOKING = (
    ("1 to 9", "light a lamp"),
    ("space bar", "the photograph before"),
    ("/", "two across a line"),
    ("\\", "two beside each other"),
    ("G", "loupe"),
    ("T", "a quarter turn"),
    ("M", "marks thin, numbered, hidden"),
    ("[ and ]", "darker, brighter"),
    ("+, −, 0", "zoom, show the whole"),
    ("arrows", "move the photograph"),
)
HELP = {
    "photographs": StageHelp(
        ("Add photographs; each file is copied into the folder of the piece as it is.",
         "Say which surface each shows and where its lamp stood: tick several and keep once.",
         "Light the lamps by their strokes at the edge of the mat; look through the loupe and the views.",
         "Set the scale from a known length or a ruler; square up, straighten a column, work out the relief."),
        (*_LOOKING, *_POINTS, *_EVERYWHERE),
        "Reading must not touch the piece. No chalk, powder, ink, foil, tape, putty or oil; no breathing on the "
        "metal and "
        "no wetting it; no cleaning to see better; no steel ruler laid on it; nothing taken apart to look behind. "
        "Nitrile "
        "gloves and a padded table. Lamps warm bare metal; light harms lacquer, textile and paint. Ultraviolet harms "
        "lacquer and eyes. Rubbings belong into trained hands, and never onto fittings, lacquer or paint."),
    "marks": StageHelp(
        ("Let the computer propose zones in what is on the screen, or draw one round each sign.",
         "Look at the doubtful ones (L) and say what is right (R); move, mend, delete.",
         "Choose several with the lasso or Shift and a click, and say what they are.",
         "Columns run from the right; drag signs on the sheet where the order is your judgement."),
        (("D, O, H", "draw, lasso, look and change"), ("N", "a new zone in the middle"), ("arrows", "move the chosen "
         "zone; Shift ten times as far, Alt changes its size"), ("L, R", "the next doubtful one, it is right"),
         ("Delete", "take the zone away"),
         ("Shift and the space bar", "choose several marks, one by one"), *_LOOKING[:7], *_EVERYWHERE), ""),
    "reading": StageHelp(
        ("Type what you see, or find the letter by sound, parent, part, shape or look-alikes; enter all you think "
         "possible.",
         "Say how sure you are, and apart from that what survives.",
         "The reading follows every change; More shows why, holds parts fast, looks for known verses.",
         "Keep a reading with your evidence. Earlier attempts are never overwritten."),
        (("Enter on the empty field", "next sign"), ("1 to 9 on the empty field", "enter that proposal"),
         ("?", "mark the sign as unread"), ("arrows on the sheet", "walk through the signs"),
         ("Backspace on the tracing", "the last stroke back"), *_EVERYWHERE),
        "How sure you are of a letter, how likely it is by shape, and how likely with its neighbours are three "
        "figures: "
        "none replaces another. What is in pencil was seen by nobody: it does not stand on the piece. A known verse "
        "biases the eye: look for one only after you have read."),
    "school": StageHelp(
        ("Take the signature apart; say who has which part in the piece.", "Find the dates that fit.",
         "Lay two forms over each other; see the school as a whole."), _EVERYWHERE,
        "A likeness is not an attribution. False signatures are common; pupils kept their master's form, and "
        "signed for "
        "him with leave; an overlay that fits almost perfectly may mean a copy. Put the question to a recognised "
        "appraisal body. Owning, moving or exporting blades, ivory, tortoiseshell and cultural property is "
        "regulated: "
        "local law decides."),
    "report": StageHelp(
        ("Look through the attempts and their history.", "Enter what is known of the piece once.",
         "Write the report and look at it.", "Give a colleague a blind copy; take it back in."), _EVERYWHERE,
        "Position, owner and camera number are left out of every report unless you ask for them. A known verse or a "
        "proposed filler shown to a second reader biases them: give a colleague the blind copy."),
}


def told_help(stage: str) -> StageWords:
    """What is said of a place of the bench, in the language spoken now."""
    found = HELP[stage]
    return {"steps": [told(x) for x in found.steps], "keys": [(told(k), told(words)) for k, words in found.keys],
            "caution": told(found.caution)}
