"""Run the benches: each module's ``bench()`` gives (name, value, unit, goal) rows; the goal is text, "" if none.

    python -m tests.bench            # all
    python -m tests.bench face photo # some
"""

import importlib
import pkgutil
import sys
import time
from pathlib import Path


def main(chosen: list[str]) -> int:
    found = sorted(m.name for m in pkgutil.iter_modules([str(Path(__file__).parent)]) if not m.name.startswith("_"))
    unknown = set(chosen) - set(found)
    if unknown:
        print(f"no such bench: {', '.join(sorted(unknown))}; there are {', '.join(found)}", file=sys.stderr)
        return 2
    for name in chosen or found:
        start = time.perf_counter()
        module = importlib.import_module(f"tests.bench.{name}")
        for what, value, unit, goal in module.bench():
            shown = f"{value:.4g}" if isinstance(value, float) else str(value)
            print(f"{name:12} {what:60} {shown:>10} {unit:10} {f'goal {goal}' if goal else ''}", flush=True)
        print(f"{name:12} ({time.perf_counter() - start:.0f} s)", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
