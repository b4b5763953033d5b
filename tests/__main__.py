"""One command that checks everything: ``python -m tests``. It only checks, it never edits.

Lint, types, then every test (doctests, notebooks and the browser among them).
Extra arguments go to pytest: ``python -m tests -k register``;
``-n 0`` runs in this process alone, as a debugger wants it.

Conventions: two workers share the files. A file stays whole on one worker, so a server, a browser or a drawn piece that
its tests share is set up once; more workers than two would need more memory than a small machine has. Each counts with
one thread, since the other core is the other worker's.
"""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
STEPS = (
    ("lint", [sys.executable, "-m", "ruff", "check", "."]),
    ("types", [sys.executable, "-m", "mypy"]),
    # in the order of the files: the browser's driver holds its worker's event loop, so its files come last on both
    ("tests", [sys.executable, "-m", "pytest", "-q", "-n", str(min(2, os.cpu_count() or 1)), "--dist", "loadfile",
               "--no-loadscope-reorder"]),
)
#: One thread a worker; few arenas, or what each thread once asked for is never given back.
SMALL = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "OPENCV_FOR_THREADS_NUM": "1", "MALLOC_ARENA_MAX": "2"}


def main(extra: list[str]) -> int:
    failed = []
    for name, command in STEPS:
        print(f"== {name}", flush=True)
        if subprocess.call(command + (extra if name == "tests" else []), cwd=ROOT, env={**SMALL, **os.environ}):
            failed.append(name)
    print("== " + (f"failed: {', '.join(failed)}" if failed else "all checks passed"), flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
