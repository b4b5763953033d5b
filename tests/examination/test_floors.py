"""The examination: the program does a small piece of each kind of its work, no worse than the floors say.

A change that makes the product worse fails here, whatever else it leaves in order. The tasks are in ``tasks.py``, the
floors in ``floors.tsv``; full measures are those of ``tests/bench``.
"""

import csv
from functools import cache
from pathlib import Path

import pytest

from tests.examination import tasks

NAMES = {"old_verse": 3, "shapes": 5, "zones": 2, "read_alone": 1, "monograms": 2, "dates_read": 1}


@cache
def floors() -> dict[str, float]:
    text = Path(__file__).with_name("floors.tsv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader((line for line in text if not line.startswith("#")), delimiter="\t"))
    assert all(float(row["floor"]) < float(row["measured"]) for row in rows)
    return {row["what"]: float(row["floor"]) for row in rows}


def test_every_floor_belongs_to_a_task():
    assert [task.__name__ for task in tasks.TASKS] == list(NAMES)
    assert len(floors()) == sum(NAMES.values())


@pytest.mark.parametrize("task", tasks.TASKS, ids=lambda task: task.__name__)
def test_no_share_falls_below_its_floor(task):
    shares = task()
    assert len(shares) == NAMES[task.__name__]
    told = {what: f"{right} of {of}, {100 * right / of:.1f} %, floor {floors()[what]:g} %"
            for what, (right, of) in shares.items() if 100 * right / of < floors()[what]}
    assert not told
