"""Grades: how often a rule of writing applies, in words; the numbers are fitted where the search is.

Conventions: four grades, from ``usual`` (no surprise at all) to ``rare``. A table that holds a rule gives its grade;
``lexicon`` turns grades into costs.
"""

from __future__ import annotations

from typing import Literal, get_args

Grade = Literal["usual", "frequent", "seldom", "rare"]
GRADES: tuple[Grade, ...] = get_args(Grade)


def grade(text: str) -> Grade:
    """The grade that a table cell names; ValueError if it names none.

    >>> grade("seldom")
    'seldom'
    """
    if text not in GRADES:
        raise ValueError(f"grade {text!r} is none of {', '.join(GRADES)}")
    return text
