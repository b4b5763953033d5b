"""The chain of kana against every way through a small lattice, written down by plain recursion."""

import itertools
import math
import time

import numpy as np
import pytest

from readaid.core.lattice import COST_FACTOR
from readaid.lexicon import chain, ear
from readaid.lexicon.builder import build
from readaid.lexicon.chain import Chain
from readaid.lexicon.costs import standard
from readaid.lexicon.moves import Group
from readaid.reading import hearing
from readaid.script import verse_forms


def drawn(places):
    """Groups of one kana each: (kana, evidence) lists by place."""
    return [Group(n, n + 1, kana, 1, evidence) for n, place in enumerate(places) for kana, evidence in place]


def ways(made, at=0, line=0, used=0, texts=("",), score=0.0):
    """Every way through the groups and every way to part it into lines: groups, lines, evidence less metre."""
    for number, group in enumerate(made.groups):
        if group.start != at:
            continue
        here, told = used + group.units, score + group.evidence
        so_far = (*texts[:-1], texts[-1] + group.kana)
        if group.end == made.size - 1:
            yield (number,), so_far, told - made._prices[1][line, here] / made.unit
            continue
        lines = made.metre.lines
        if line == len(lines) - 1 or here <= lines[line] + chain.OVER:
            for rest, whole, price in ways(made, group.end, line, here, so_far, told):
                yield (number, *rest), whole, price
        if line < len(lines) - 1 and here > 0 and lines[line] - chain.UNDER <= here <= lines[line] + chain.OVER:
            price = told - made._prices[0][line, here] / made.unit
            for rest, whole, cost in ways(made, group.end, line + 1, 0, (*so_far, ""), price):
                yield (number, *rest), whole, cost


def small(form="linked", many=3, length=9):
    random = np.random.default_rng(5)
    places = [[(k, float(-random.random() * 3)) for k in random.permutation(list("はるのかぜやまみづ"))[:many]]
              for _ in range(length)]
    places[3].append(("ひと", -1.0))
    groups = [*drawn(places[:3]), Group(3, 4, "ひと", 2, -1.0), Group(3, 5, "きやう", 2, -0.5)]
    groups += [Group(n, n + 1, k, 1, e) for n in range(3, length) for k, e in places[n] if len(k) == 1]
    metre = hearing.metre.machine(verse_forms.form(form), standard())
    return Chain(length + 1, groups, ear.ears()["waka"], metre, COST_FACTOR, beam=100_000)


def test_sums_shares_and_best_strings_equal_all_ways():
    made = small(length=8)
    assert made.lost == 0.0
    told = [(g, "".join(t), t, s + made.ear.log(t)) for g, t, s in ways(made)]
    assert len(told) > 5_000
    logs = np.array([t[3] for t in told])
    total = np.logaddexp.reduce(logs)
    assert made.log_total == pytest.approx(total)
    share = np.exp(logs - total)
    wanted = np.zeros(len(made.groups))
    for (groups, *_), p in zip(told, share, strict=True):
        wanted[list(groups)] += p
    assert made.shares == pytest.approx(wanted, abs=1e-9)
    best: dict[str, float] = {}
    sums: dict[str, float] = {}
    for (_, kana, _, log), p in zip(told, share, strict=True):
        best[kana] = max(best.get(kana, -math.inf), log)
        sums[kana] = sums.get(kana, 0.0) + p
    found = made.best(12)
    assert [w.kana for w in found] == sorted(best, key=lambda k: -best[k])[:12]
    for way in found:
        assert way.score == pytest.approx(best[way.kana])
        probability, groups = made.string(way.kana)
        assert probability == pytest.approx(sums[way.kana])
        own = np.zeros(len(made.groups))
        for (used, kana, *_), p in zip(told, share, strict=True):
            if kana == way.kana:
                own[list(used)] += p / sums[kana]
        assert groups == pytest.approx(own, abs=1e-9)
        assert "".join(way.lines) == way.kana
        assert sum(way.morae) == sum(made.groups[g].units for g in way.groups)
    assert made.string("ぬぬぬ") == (0.0, pytest.approx(np.zeros(len(made.groups))))


def test_a_narrow_beam_says_that_it_lost_and_keeps_the_best():
    whole = small()
    cut = Chain(whole.size, whole.groups, whole.ear, whole.metre, whole.unit, beam=40)
    assert 0.0 < cut.lost < 1.0
    assert cut.log_total <= whole.log_total + 1e-9
    assert cut.best(1)[0].kana == whole.best(1)[0].kana


def test_time_that_has_run_out_leaves_a_reading_and_says_so():
    whole = small()
    late = Chain(whole.size, whole.groups, whole.ear, whole.metre, whole.unit, deadline=time.monotonic() - 1.0)
    assert late.late
    assert late.best(3)
    assert all(len(k) <= chain.FEW + 40 for k in late.keys)  # and the best of each place in the verse


@pytest.mark.parametrize("kind", ear.KINDS)
def test_what_may_follow_sums_to_one(kind):
    """Stored in steps of 1/16, the parts sum to one within 4 per cent."""
    heard = ear.ears()[kind]
    symbols = np.arange(2, 79, dtype=np.uint64)
    for before in ("", "の", "はる", "はるの", "ほととぎ", "あきのた", "ぬゑを"):
        history = 1
        for code in ear.codes(before):
            history = (history * ear.BASE + code) % ear.BASE**5
        after = heard.after(np.full(len(symbols), history, dtype=np.uint64), symbols)
        assert float(np.exp(after).sum()) == pytest.approx(1.0, abs=0.04)


def test_histories_that_shorten_alike_go_on_alike():
    heard = ear.ears()["hokku"]
    random = np.random.default_rng(1)
    history = random.integers(1, 79, size=(400, 5)) @ np.array([ear.BASE**n for n in range(5)])
    history = history.astype(np.uint64)
    here = random.integers(2, 79, size=400).astype(np.uint64)
    assert heard.after(history, here) == pytest.approx(heard.after(heard.shortened(history), here))


def test_signs_of_one_kana_are_one_group_and_evidence_adds_up():
    lattice = build([[("か", 0.5), ("𛀙", 0.3)], [("せ", 1.0)]])
    _, groups = hearing._groups(lattice)
    both = next(g for g in groups if g.kana == "か" and g.units == 1)
    assert {lattice.arcs[n].written for n in both.arcs} == {"か", "𛀙"}
    assert both.evidence == pytest.approx(math.log(0.98 * 0.5 + 0.98 * 0.3), abs=0.02)


def test_moves_of_one_length_are_told_apart_from_others():
    made = small(length=8)
    assert {len(g.kana) for g in made.groups} == {1, 2, 3}
    for way in itertools.islice(made.best(5), 5):
        assert "".join(made.groups[g].kana for g in way.groups) == way.kana


def test_what_was_dropped_stays_below_its_bound():
    """The whole, by enumeration of every way, is the reference."""
    whole = small(length=6)
    total = np.logaddexp.reduce([s + whole.ear.log(t) for _, t, s in ways(whole)])
    for beam in (3, 10, 30):
        cut = Chain(whole.size, whole.groups, whole.ear, whole.metre, whole.unit, beam=beam)
        gone = 1.0 - math.exp(cut.log_total - total)
        assert cut.lost > 0.0
        assert -1e-9 <= gone <= cut.lost_at_most() <= 1.0
    assert whole.lost_at_most() == 0.0


def test_the_bound_tells_something_where_little_was_dropped():
    """Signs the reader is sure of, one of them open: what is dropped beside them weighs next to nothing."""
    places = [[(k, 0.0), ("ぬ", -25.0), ("ゑ", -26.0)] for k in "はるのかぜ"]
    metre = hearing.metre.machine(verse_forms.form("prose"), standard())
    whole = Chain(6, drawn(places), ear.ears()["hokku"], metre, beam=100_000)
    cut = Chain(6, drawn(places), ear.ears()["hokku"], metre, beam=4)
    gone = 1.0 - math.exp(cut.log_total - whole.log_total)
    assert 0.0 < gone <= cut.lost_at_most() < 0.01


def test_the_stored_sums_are_those_of_the_table():
    heard = ear.ears()["hokku"]
    assert heard.most == pytest.approx(heard.sums_to())
    symbols = np.arange(1, ear.BASE, dtype=np.uint64)
    for order in (3, 4, 5, 6):
        for context in np.random.default_rng(order).choice(heard.table.contexts[order - 2], 40):
            told = np.exp(heard.after(np.full(len(symbols), context, dtype=np.uint64), symbols)).sum()
            assert told <= heard.most + 1e-6
