"""Whole answers: time from typed text or candidates to readings with layers, shares and explanations."""

import statistics
import time

from readaid.reading.explanation import listing
from readaid.reading.solve import solve
from readaid.reading.verse import verse
from tests.bench.lexicon import VERSES, places


def bench() -> list[tuple[str, float, str, str]]:
    def median(call, many: int = 5) -> float:
        call()
        times = []
        for _ in range(many):
            start = time.process_time()
            call()
            times.append(time.process_time() - start)
        return 1000 * statistics.median(times)

    given = places(VERSES[1][:17], 8, 3)
    hokku = "なのはなやつきはひかしにひはにしに"
    return [
        ("typed hokku to five readings, form found", median(lambda: solve(hokku)), "ms", "80"),
        ("17 places of 8 candidates to five readings and shares", median(lambda: solve(given, "hokku")), "ms", "300"),
        ("the same with explanations", median(lambda: listing(solve(given, "hokku").readings)), "ms", ""),
        ("verse: a running tanka broken and counted", median(lambda: verse(VERSES[2])), "ms", ""),
    ]
