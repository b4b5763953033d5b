"""Run the benches: each module's ``bench()`` gives (name, value, unit, goal) rows; the goal is text, "" if none.

    python -m tests.bench                   # all
    python -m tests.bench face photo        # some
    python -m tests.bench --keep lexicon    # and write the figures into data/measures.tsv
    python -m tests.bench register:kills    # one part of a bench: a function of it that gives rows
"""

import importlib
import pkgutil
import sys
import time
from collections.abc import Iterable
from datetime import date
from pathlib import Path

MEASURES = Path(__file__).resolve().parents[2] / "data" / "measures.tsv"
COLUMNS = ("bench", "what", "figure", "unit", "goal", "date")


def main(chosen: list[str]) -> int:
    keep = "--keep" in chosen
    chosen = [name for name in chosen if name != "--keep"]
    found = sorted(m.name for m in pkgutil.iter_modules([str(Path(__file__).parent)]) if not m.name.startswith("_"))
    unknown = {name.partition(":")[0] for name in chosen} - set(found)
    if unknown:
        print(f"no such bench: {', '.join(sorted(unknown))}; there are {', '.join(found)}", file=sys.stderr)
        return 2
    for name in chosen or found:
        start = time.perf_counter()
        name, _, part = name.partition(":")
        module = importlib.import_module(f"tests.bench.{name}")
        if not hasattr(module, part or "bench"):  # a command of its own, such as ``mutants``
            continue
        rows = []
        for what, value, unit, goal in getattr(module, part or "bench")():
            shown = f"{value:.4g}" if isinstance(value, float) else str(value)
            print(f"{name:12} {what:60} {shown:>10} {unit:10} {f'goal {goal}' if goal else ''}", flush=True)
            rows.append((name, what.strip(), shown, unit, goal, date.today().isoformat()))
        print(f"{name:12} ({time.perf_counter() - start:.0f} s)", flush=True)
        if keep:
            kept(rows, name, whole=not part)
    return 0


def kept(rows: Iterable[tuple[str, ...]], bench: str, path: Path = MEASURES, whole: bool = True) -> None:
    """Write a bench's rows into the table of measures in place of its former ones; other benches' rows stay.

    Not ``whole``: of its former rows only those that say the same are replaced.
    """
    rows = list(rows)
    said = {row[1] for row in rows}
    lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
    head = [line for line in lines if line.startswith("#")]
    former = (line.split("\t") for line in lines[len(head) + 1:] if line)
    others = [row for row in former if row[0] != bench or not (whole or row[1] in said)]
    table = sorted([*map(tuple, others), *rows], key=lambda row: row[0])  # stable: a bench's rows keep their order
    path.write_text("\n".join([*head, "\t".join(COLUMNS), *("\t".join(row) for row in table), ""]), encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
