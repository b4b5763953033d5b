"""Inputs made up by a seeded hand (``tests.generated``): tracebacks, what is over the bound, the slowest, most memory.

    python -m tests.bench generated                                   # all, an hour or two on a busy machine
    python -m tests.bench.generated reading 0 3000                    # one group, from case 0 to 3,000
    python -m tests.bench.generated pictures 17 18 --debug            # one case, with its traceback

Conventions: time is processor time of the case (all threads), memory the most that its process ever held (each group
runs in processes of its own; a case is told when it raised the peak). Over the bound: more than 5 s or 1 GB, without
a margin, although on a machine whose cores are shared processor time is up to twice that of a quiet one. Each
process may use 6 GB of addresses, so that a runaway case ends in an error and not in the machine's end.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
import traceback
from pathlib import Path

from tests import generated

Row = tuple[str, float, str, str]
SEED = 20_261_126
COUNTS = {"parsers": 100_000, "reading": 3_000, "pictures": 2_000, "archives": 1_000}
SECONDS, MEGABYTES = 5.0, 1024.0
BATCH = {"parsers": 10_000, "reading": 500, "pictures": 500, "archives": 250}


def run(group: str, first: int, last: int, debug: bool = False) -> dict[str, object]:
    """Cases ``first`` to ``last`` of a group in this process."""
    resource.setrlimit(resource.RLIMIT_AS, (6 << 30, 6 << 30))
    faults, over, slowest, peak = [], [], (0.0, ""), (_peak(), "at the start")
    for number in range(first, last):
        name, call = generated.case(group, SEED, number)
        start = time.process_time()
        error = generated.fault(call)
        spent = time.process_time() - start
        if error is not None:
            if debug:
                traceback.print_exception(error)
            last_line = traceback.extract_tb(error.__traceback__)[-1]
            faults.append(f"{number}: {name[:160]}: {type(error).__name__}: {str(error)[:120]} "
                          f"({Path(last_line.filename).name}:{last_line.lineno})")
        held = _peak()
        if spent > SECONDS or held > max(MEGABYTES, peak[0]):
            over.append(f"{number}: {name[:160]}: {spent:.1f} s, {held:.0f} MB")
        slowest = max(slowest, (spent, f"{number}: {name[:160]}"))
        peak = max(peak, (held, f"{number}: {name[:160]}"))
    return {"group": group, "first": first, "last": last, "faults": faults, "over": over, "slowest": slowest,
            "peak": peak}


def _peak() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def measured(group: str, count: int) -> dict[str, object]:
    """``count`` cases of a group, in processes of their own."""
    parts = []
    for first in range(0, count, BATCH[group]):
        last = min(count, first + BATCH[group])
        command = [sys.executable, "-m", "tests.bench.generated", group, str(first), str(last)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            raise RuntimeError(f"{' '.join(command)} ended with {done.returncode}: {done.stderr[-2000:]}")
        parts.append(json.loads(done.stdout.splitlines()[-1]))
        for kind in ("faults", "over"):
            for line in parts[-1][kind]:
                print(f"  {group} {kind}: {line}", file=sys.stderr, flush=True)
    return {"faults": sum(len(p["faults"]) for p in parts), "over": sum(len(p["over"]) for p in parts),
            "slowest": max(tuple(p["slowest"]) for p in parts), "peak": max(tuple(p["peak"]) for p in parts)}


def bench() -> list[Row]:
    """Every group: cases, tracebacks, over the bound, slowest, most memory."""
    rows: list[Row] = []
    for group, count in COUNTS.items():
        found = measured(group, count)
        print(f"  {group}: slowest {found['slowest'][1]}; most memory {found['peak'][1]}", file=sys.stderr, flush=True)
        rows += [(f"{group}: inputs", count, "", ""), (f"{group}: tracebacks", found["faults"], "", "0"),
                 (f"{group}: over 5 s or 1 GB", found["over"], "", "0"),
                 (f"{group}: slowest", found["slowest"][0], "s", "5"),
                 (f"{group}: most memory", found["peak"][0], "MB", "1024")]
    return rows


if __name__ == "__main__":
    chosen, first, last = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    print(json.dumps(run(chosen, first, last, "--debug" in sys.argv), ensure_ascii=False))
