"""Wording: careful sentences about likeness for a catalogue entry.

Conventions: English; a sentence tells figures with their population and never names a maker as the author of a form.
The caution stands in every text.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from readaid.forms.comparison import Comparison

CAUTION = (
    "Likeness of form is no proof of authorship: forms were copied and false signatures are common. "
    "An attribution belongs to a recognised appraisal body."
)


def strength(likeness: float) -> str:
    """A likeness 0..1 in words.

    >>> strength(0.95), strength(0.1)
    ('very close', 'remote')
    """
    steps = ((0.9, "very close"), (0.7, "close"), (0.45, "moderate"), (0.2, "slight"))
    return next((word for least, word in steps if likeness >= least), "remote")


def number(count: int, noun: str) -> str:
    """A count with its noun.

    >>> number(1, "form"), number(3, "form")
    ('1 form', '3 forms')
    """
    return f"{count} {noun}{'' if count == 1 else 's'}"


def about_pair(found: Comparison, first: str = "the first form", second: str = "the second form") -> str:
    """A paragraph on two forms compared: how close, by what, after which change of shape, and the caution."""
    change = found.change
    parts = ", ".join(f"{name} {value:.2f}" for name, value in found.parts.items())
    text = (
        f"Laid on {first}, {second} shows a {strength(found.likeness)} likeness ({found.likeness:.2f} on a scale "
        f"from 0 to 1: {parts}), after a turn of {abs(change.turn):.0f}° and a stretch of "
        f"{max(change.stretch, 1 / change.stretch):.2f}."
    )
    if found.differences:
        longest = found.differences[0]
        text += f" They differ in {number(len(found.differences), 'place')}, most where only {longest.only} has a line."
    told = [note for note in found.notes if "copy" in note or "disagree" in note]
    return " ".join(part for part in (text, *told, CAUTION) if part)


def how_wide(low: float, high: float) -> str:
    """How far an interval of a correlation lets one speak, in words."""
    wide = high - low
    if wide > 0.8:
        return "The interval is so wide that almost nothing can be said."
    if wide > 0.4:
        return "The interval is wide; read the figure as a hint only."
    return "The interval is fairly narrow."


def few(makers: int) -> str:
    """A warning for small schools, "" from fifteen makers on."""
    if makers >= 15:
        return ""
    return (
        f"With {number(makers, 'maker')} a real connection is easily missed and a chance one easily seen; "
        "that nothing was found does not mean that there is nothing."
    )


def joined(sentences: Sequence[str]) -> str:
    """Sentences joined, empty ones left out."""
    return " ".join(s for s in sentences if s)
