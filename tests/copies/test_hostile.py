"""Copies, bags and folders from a stranger: nothing that runs comes in, nothing absurd makes a piece unopenable."""

import pytest

from readaid.register import bag
from tests.copies import hostile


def test_no_hostile_copy_brings_a_file_that_runs(tmp_path):
    outcomes = list(hostile.try_copies(tmp_path))
    assert len(outcomes) >= 2 * 40
    assert [o for o in outcomes if o.wrong] == []
    told = {(o.name, o.way): o.told for o in outcomes}
    for name in hostile.NAMES:  # a program is refused; a picture under a program's name gets a name of our own
        for way in ("receive", "merge"):
            assert "should be a photo is none" in told[f"program as {name!a}", way]
            assert told[f"picture as {name!a}", way] == "accepted"
    values = "values that cannot be", "do not stand together", "not well formed"
    kinds = "zone", "a sign", "a billion", "a scale", "a matrix", "role"
    absurd = [t for (n, _), t in told.items() if n.startswith(kinds)]
    assert len(absurd) == 30
    assert all(any(v in t for v in values) for t in absurd), absurd


@pytest.mark.slow
def test_a_hostile_folder_opens_or_is_refused_in_words(tmp_path):
    """Whoever wrote past every door: the piece opens, every report comes out, what cannot be is told and left out."""
    outcomes = list(hostile.try_folders(tmp_path))
    assert [o for o in outcomes if o.wrong] == []
    told = {(o.name, o.way): o.told for o in outcomes}
    assert len(told) >= 45
    for (name, way), words in told.items():
        if name.startswith("a link"):
            assert ("A link stands" in words) or way == "restore", (name, words)
        elif name.startswith("a trigger"):
            assert "accepted" in words or "instructions of its own" in words, words
        else:  # "our photo renamed" too: a photo that is not there leaves a told gap and is never run
            assert words.startswith("accepted"), (name, way, words)
        if name.endswith("in the register") and name.startswith(("zone", "a billion", "a scale", "a matrix", "a sign")):
            assert "left out" in words or "stands first" in words, (name, words)


@pytest.mark.parametrize("name", ["bag", "bag.zip"])
def test_a_restored_bag_brings_the_piece_and_nothing_that_runs(tmp_path, name):
    folder = hostile.honest(tmp_path / "piece")
    hostile.planted(folder, tmp_path)
    made = hostile.bagged(folder, tmp_path / name)
    told = []
    back = bag.restore(made, tmp_path / "back", say=told.append)
    assert hostile.left(back) == []
    assert (back / "photos" / "kiku.jpg").read_bytes() == (folder / "photos" / "kiku.jpg").read_bytes()
    for left in ("notebooks/1_photograph_and_zones.ipynb", "jupyter.py", "photos/run.jpg", "exports/report.html"):
        assert any(t.startswith(f"{left} is left") for t in told)
    assert not (tmp_path / hostile.MARK).exists()
