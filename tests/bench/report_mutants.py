"""Twelve faults put into the report's code one at a time: the tests of the report must notice each.

Each row is a promise that a reader relies on, the file, what stands there, the fault, and the tests that are to notice.
The tests run in a copy; the checkout is never touched. A row whose text is no longer there counts as missed.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.mutants import COPIED, ROOT

R, T = "readaid/report/", "tests/report/"
MUTANTS = (
    ("no dot on a sign that the reader is unsure of", R + "edition.py", "own.confidence <= CERTAIN:",
     "own.confidence <= 0.1:", T + "test_report.py"),
    ("［カ］ on signs that nobody doubts", R + "edition.py", "self.confidence <= UNSURE", "self.confidence <= 1",
     T + "test_report.py"),
    ("a letter read as its own sound is listed as a departure", R + "departures.py",
     'elif not own_sound(taken["written"], taken["read"]):', "else:", T + "test_languages.py"),
    ("environmental calls up the caution for iron", R + "cautions.py",
     r'rf"(?<![a-z]){re.escape(word)}(?:e?s)?(?![a-z])"', "re.escape(word)", T + "test_cautions.py"),
    ("the blind report shows crops with what others say", R + "apparatus.py", "    if m.blind:", "    if False:",
     T + "test_report.py"),
    ("too many morae are not told", R + "entry_page.py", "tuple(a - b for a, b in", "tuple(0 for a, b in",
     T + "test_report.py"),
    ("the evidence comes before the entry", R + "html.py", '("entry", "evidence")', '("evidence", "entry")',
     T + "test_entry.py"),
    ("a number covers the writing", R + "label_places.py", "& ~_meets(spots, writing) ", "",
     T + "test_label_places.py"),
    ("the scale bar is drawn without a scale's length", R + "pictures.py", "round(length / mm_per_pixel), y + 1)",
     "round(length / mm_per_pixel / 2), y + 1)", T + "test_report.py"),
    ("a sign that no face has is dropped from the PDF", R + "pdf_pen.py", 'f"〓U+{ord(c):04X}"', '""',
     T + "test_pdf.py"),
    ("a citation gives the reading as it stands now", "readaid/piece/write_up.py", "if r.number <= wanted.revision]",
     "]", T + "test_citation.py"),
    ("the edition in TEI is indented", R + "tei.py", "            _close(kept)", "            pass",
     T + "test_formats.py -k indents"),
)


def killed(row: tuple[str, str, str, str, str], copy: Path) -> bool:
    """Whether the tests fail with the fault in place (the fault is taken out again)."""
    _, file, was, now, tests = row
    path = copy / file
    sound = path.read_text(encoding="utf-8")
    if sound.count(was) < 1:
        return False
    path.write_text(sound.replace(was, now, 1), encoding="utf-8")
    try:
        done = subprocess.run([sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests.split()],
                              cwd=copy, capture_output=True, env={**os.environ, "PYTHONPATH": str(copy)})
    finally:
        path.write_text(sound, encoding="utf-8")
    return done.returncode == 1  # 1: tests failed; 2 and more: they did not run


def bench() -> list[tuple[str, float, str, str]]:
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / "copy"
        copy.mkdir()
        for name in COPIED:
            source = ROOT / name
            (shutil.copytree if source.is_dir() else shutil.copy)(source, copy / name)
        lived = [row[0] for row in MUTANTS if not killed(row, copy)]
    what = f"faults of {len(MUTANTS)} chosen in the report's code that its tests notice" + (
        f" (not: {'; '.join(lived)})" if lived else "")
    return [(what, len(MUTANTS) - len(lived), "", str(len(MUTANTS)))]
