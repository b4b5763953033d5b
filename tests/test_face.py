"""The public face: few names, pinned."""

import inspect

import readaid

NAMES = {"ReadaidError", "__version__", "compare", "date", "find_verse", "line", "new", "open", "read", "school",
         "signature", "suggest", "verse"}


def test_public_names_are_pinned():
    assert set(readaid.__all__) == NAMES
    assert len(NAMES) <= 15


def test_every_name_is_there_and_told():
    for name in NAMES - {"__version__"}:
        assert inspect.getdoc(getattr(readaid, name)), name


def test_version_matches_the_changelog():
    from pathlib import Path
    developers = (Path(__file__).resolve().parent.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert f"### {readaid.__version__}" in developers
