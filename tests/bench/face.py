"""Import times, the command line's help, the demo job: whole processes, median of several."""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path


def _median(command: list[str], runs: int = 7) -> float:
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])


def bench() -> list[tuple[str, float, str, str]]:
    bare = _median([sys.executable, "-c", "pass"])
    rows = [("import readaid (over a bare interpreter)",
             _median([sys.executable, "-c", "import readaid"]) - bare, "s", "< 0.15"),
            ("readaid --help, whole process", _median([sys.executable, "-m", "readaid", "--help"]), "s", "< 0.4")]
    with tempfile.TemporaryDirectory() as folder:
        rows.append(("readaid demo, whole process",
                     _median([sys.executable, "-m", "readaid", "demo", str(Path(folder) / "demo")], 3), "s", ""))
    return rows
