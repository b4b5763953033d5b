"""A reading put together from one path of the search: words, lines, layers, reasons.

Conventions: positions are signs, 0-based; ``Word.end`` is exclusive. Lines are in
the carver's kana. Costs in the dictionary's units.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

from readaid.core.lattice import Arc, Reason
from readaid.core.reading import Reading, Restored, Word
from readaid.lexicon import connection
from readaid.lexicon.chain import Way
from readaid.lexicon.kbest import Best, Search
from readaid.lexicon.metre import Metre
from readaid.lexicon.search import Found
from readaid.reading import doubt, layers, seasons
from readaid.reading.hearing import Heard
from readaid.reading.rank import Ranked
from readaid.script import kana as letters
from readaid.script.verse_forms import Form


@dataclass(frozen=True)
class Line:
    """One verse line as it came out: kana, morae, first word, whether a word runs across its end."""

    kana: str
    units: int
    first_word: int
    runs_on: bool = False  # a word runs across the end before this line (or after it, for all but the last)
    cut: int = 0  # kana of the first word that stand in the line before
    bare_vowel: bool = False


def heard(told: Heard, search: Search, ranked: Ranked, number: int, cut: bool) -> Reading:
    """One string of a ranked list as a reading: its words by the dictionary, its costs by ear and words together."""
    found, way = ranked.strings[number], ranked.ways[number]
    words = tuple(_word(search, row, before) for row, before in zip(found.rows, (None, *found.rows), strict=False))
    arcs = [told.arc(g) for g in way.groups]
    lines = _silent(_parted(way, words), words, arcs, _arcs(search, found.rows))
    made = _made(search, told.form, found.rows, words, lines, ranked.probabilities[number], cut)
    def by(kind: str) -> float:
        return sum(r.cost for a in arcs for r in a.reasons if r.kind == kind)

    shape = sum(told.signs(a) for a in arcs if a.source == "shape")
    own = {"signs": sum(told.signs(a) for a in arcs) - shape, "shape": shape, "rules": told.rules(arcs),
           "kanji": by("kanji reading"), "restored": by("restored"), "misread": by(doubt.KIND)}
    metre = told.chain.metre_cost(way.morae)
    verse = -told.chain.unit * way.score - sum(own.values()) - metre
    grammar = ranked.charges[number]
    costs = (*own.items(), ("verse", verse), ("words", ranked.power * found.cost - grammar), ("grammar", grammar),
             ("metre", metre), ("form", told.prior))
    shares = {(s.at, s.kana): s.probability for s in ranked.shares if s.restored}
    restored = tuple(Restored(a.start, a.kana, min((shares.get((a.start, c), 0.0) for c in a.kana), default=0.0))
                     for a in _arcs(search, found.rows) if a.source == "filler")
    return replace(made, costs=costs, cost=sum(c for _, c in costs), restored=restored)


def _parted(way: Way, words: Sequence[Word]) -> list[Line]:
    """The lines of a string with the words that begin them; a word may run across a line's end."""
    lines: list[Line] = []
    number = place = 0  # the word, and how much of the text lies before it
    begins = 0
    for kana, morae in zip(way.lines, way.morae, strict=True):
        while number < len(words) and place + len(words[number].kana) <= begins:
            place += len(words[number].kana)
            number += 1
        head = begins - place
        # The word began in the line before: 句またがり, told beside both.
        if head and lines:
            lines[-1] = replace(lines[-1], runs_on=True)
        lines.append(Line(kana, morae, number, runs_on=head > 0, cut=head))
        begins += len(kana)
    return lines


def _silent(lines: list[Line], words: Sequence[Word], told: Sequence[Arc], asked: Sequence[Arc]) -> list[Line]:
    """The lines with the ん and っ of the words that were not written and that the ear did not count (ぼた, ぼたん)."""
    counted = {a.start for a in told if _left_out(a)}
    for arc in asked:
        if _left_out(arc) and arc.start not in counted:
            before = sum(len(w.kana) for w in words if w.end <= arc.start)
            ends = itertools.accumulate(len(line.kana) for line in lines)
            at = next((n for n, end in enumerate(ends) if before < end), len(lines) - 1)
            lines[at] = replace(lines[at], units=lines[at].units + 1)
    return lines


def _left_out(arc: Arc) -> bool:
    """Does the arc supply a ん or っ that was not written?"""
    return any(r.kind == "left out" for r in arc.reasons)


def reading(search: Search, best: Best, found: Found, probability: float) -> Reading:
    """The reading of one string of the search by words alone."""
    words = tuple(_word(search, row, before) for row, before in zip(found.rows, (None, *found.rows), strict=False))
    lines = _lines(search, search.metre(best.form), best, found, words)
    arcs = _arcs(search, found.rows)
    made = _made(search, best.form, found.rows, words, lines, probability, best.cut)
    return replace(made, cost=found.cost + best.prior, restored=_restored(search, arcs),
                   costs=_costs(search, best, found, words, arcs))


def _made(search: Search, form: Form, rows: Sequence[int], words: tuple[Word, ...], lines: list[Line],
          probability: float, cut: bool) -> Reading:
    metre = search.metre(form)
    arcs = _arcs(search, rows)
    surplus = tuple(line.units - n for line, n in zip(lines, _lengths(metre, len(lines)), strict=False))
    reasons = list(dict.fromkeys(r for arc in arcs for r in arc.reasons))
    reasons += _metre_reasons(metre, lines, surplus)
    reasons += [Reason("unknown word", w.text, w.kana, w.start, 0.0, f"{w.text} is not in the dictionary")
                for w in words if not w.known and letters.kind(w.text[0]) is not letters.Kind.PUNCTUATION]
    chosen = _chosen(search, arcs)
    starts = [line.first_word for line in lines] + [len(words)]
    return Reading(
        written="".join(c or "?" for c in chosen), kana="".join(w.kana for w in words),
        normal="".join(w.normal for w in words), modern="".join(layers.modern(w) for w in words),
        romaji=layers.romanise(words, frozenset(line.first_word for line in lines if not line.runs_on)),
        lines=tuple(line.kana for line in lines), morae=tuple(line.units for line in lines), probability=probability,
        reasons=tuple(reasons), form=form.name, surplus=surplus if metre.lines else (), words=words, chosen=chosen,
        cut=cut,
        season=seasons.seasons(words), cutting=seasons.cuts([words[a:b] for a, b in itertools.pairwise(starts)]),
        text=_text(search, rows, words))


def _text(search: Search, rows: Sequence[int], words: Sequence[Word]) -> str:
    """Kanji and kana as an edition prints them. Words that share a run of kanji (この|たび for 此度) print it once."""
    inside = [not search.graph.edges[_edges(search, row)[0]].first for row in rows]
    return "".join(w.written if n + 1 < len(words) and inside[n + 1] else layers.text(w)
                   for n, w in enumerate(words) if not inside[n])


def _costs(search: Search, best: Best, found: Found, words: tuple[Word, ...], arcs: list[Arc],
           ) -> tuple[tuple[str, float], ...]:
    """The cost of the path by cause; the causes add up to the cost of the reading."""
    restored = sum(arc.cost for arc in arcs if arc.source == "filler")
    rules = sum(r.cost for arc in arcs if arc.source != "filler" for r in arc.reasons)
    signs = (sum(arc.cost for arc in arcs) - rules - restored) * search.costs.weight("evidence")
    closing = search.dictionary.connection(int(search.words.right[found.rows[-1]]), 0)
    language = sum(w.cost for w in words) + closing
    metre = found.cost - signs - rules - restored - language
    return (("signs", signs), ("rules", rules), ("restored", restored), ("words", language), ("metre", metre),
            ("form", best.prior))


def _edges(search: Search, row: int) -> list[int]:
    return search.words.walk.edges(int(search.words.path[row]))


def _word(search: Search, row: int, before: int | None) -> Word:
    words, graph = search.words, search.graph
    edges = [graph.edges[e] for e in _edges(search, row)]
    text = "".join(e.text for e in edges)
    kana = str(search.readings().kana[row])
    token = int(words.token[row])
    right = 0 if before is None else int(words.right[before])
    left = int(words.left[row])
    link = search.dictionary.connection(right, left)
    entry = search.entry(row, text)
    cost = link + float(words.cost[row]) - sum(e.cost for e in edges)
    modern = letters.to_hiragana(entry.modern) or kana
    source = "kanji" if any(not e.kana and letters.kind(e.text) is letters.Kind.KANJI for e in edges) else "dictionary"
    first, last = graph.arcs[edges[0].arc], graph.arcs[edges[-1].arc]
    written = "".join(a.written for a in dict.fromkeys(graph.arcs[e.arc] for e in edges))
    made = Word(first.start, last.end, text, kana, modern, entry.spoken or letters.to_katakana(modern), entry.part,
                token >= 0, cost, entry.lemma, source, written, inflection=connection.told(left) if token >= 0 else "")
    used = list(dict.fromkeys(graph.arcs[e.arc] for e in edges))
    if any(map(_left_out, used)) and all(a.kana for a in used):  # the norm writes what the carver left out
        return replace(made, normal="".join(a.text if _left_out(a) else a.kana for a in used))
    return replace(made, normal=layers.normal(made))


def _arcs(search: Search, rows: Sequence[int]) -> list[Arc]:
    graph = search.graph
    return [graph.arcs[graph.edges[e].arc] for row in rows for e in _edges(search, row) if graph.edges[e].first]


def _chosen(search: Search, arcs: list[Arc]) -> tuple[str, ...]:
    out = [""] * search.lattice.last
    for arc in arcs:
        signs = letters.signs(arc.written)
        if len(signs) == arc.end - arc.start:
            out[arc.start:arc.end] = signs
        elif len(signs) < arc.end - arc.start and arc.source == "filler":
            out[arc.end - len(signs):arc.end] = signs  # a mark that repeats an unread sign
        elif arc.written:
            out[arc.start] = arc.written
    return tuple(out)


def _restored(search: Search, arcs: list[Arc]) -> tuple[Restored, ...]:
    shares = search.arc_shares()
    out = []
    for number, arc in enumerate(search.graph.arcs):
        if arc.source == "filler" and any(arc is a for a in arcs):
            out.append(Restored(arc.start, arc.kana, min(1.0, float(shares[number]) if shares is not None else 0.0)))
    return tuple(out)


def _lengths(metre: Metre, count: int) -> tuple[int, ...]:
    return metre.lines * count if metre.repeats else metre.lines


def _lines(search: Search, metre: Metre, best: Best, found: Found, words: tuple[Word, ...]) -> list[Line]:
    """Cut the words into lines as the search did; a word that runs across is cut by its morae."""
    by_sign = metre.characters
    readings = search.readings(by_sign)
    lines = [Line("", 0, 0)]
    state = metre.states[0]
    for number, (row, word, to) in enumerate(zip(found.rows, words, found.states, strict=True)):
        sound = readings.sounds[readings.sound[row]]
        after = metre.states[to]
        new = bool(metre.lines) and (after.line != state.line
                                     or (metre.repeats and after.used != min(state.used + sound.units, after.used)))
        if metre.repeats and not new:
            new = state.used > 0 and after.used < state.used + sound.units
        last = lines[-1]
        if not new:
            lines[-1] = replace(last, kana=last.kana + word.kana, units=last.units + sound.units)
        elif after.used == sound.units and not (state.used < metre.lines[state.line] < state.used + sound.units
                                                and after.used == state.used + sound.units - metre.lines[state.line]):
            lines.append(Line(word.kana, sound.units, number))
        else:
            head, tail = _cut(word.kana, sound.units - after.used)
            lines[-1] = replace(last, kana=last.kana + head, units=last.units + sound.units - after.used, runs_on=True)
            lines.append(Line(tail, after.used, number, runs_on=True, cut=len(head)))
        state = after
    return lines


def lines_as_written(search: Search, best: Best, found: Found) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """The verse lines in the signs as they stand, and their morae (or characters)."""
    words = tuple(_word(search, row, None) for row in found.rows)
    lines = _lines(search, search.metre(best.form), best, found, words)
    chosen = _chosen(search, _arcs(search, found.rows))
    starts = []
    for line in lines:
        word = words[line.first_word]
        starts.append(min(word.start + line.cut, word.end))
    ends = [*starts[1:], len(chosen)]
    return (tuple("".join(c or "?" for c in chosen[a:b]) for a, b in zip(starts, ends, strict=True)),
            tuple(line.units for line in lines))


def _cut(kana: str, units: int) -> tuple[str, str]:
    """Cut kana after so many morae."""
    count, place = 0, 0
    while place < len(kana) and count < units:
        place += 1
        while place < len(kana) and kana[place] in letters.SMALL.keys() - {"っ"}:
            place += 1
        count += 1
    return kana[:place], kana[place:]


def _metre_reasons(metre: Metre, lines: list[Line], surplus: tuple[int, ...]) -> list[Reason]:
    if not metre.lines:
        return []
    unit = "character" if metre.characters else "mora"
    out = []
    for number, (line, over) in enumerate(zip(lines, surplus, strict=False), 1):
        if over:
            how = "too many" if over > 0 else "too few"
            kind = "line too long" if over > 0 else "line too short"
            many = {"mora": "morae", "character": "characters"}[unit]
            count = f"{abs(over)} {many if abs(over) > 1 else unit} {how}"
            out.append(Reason(kind, "", "", -1, metre.line_cost(min(number, len(metre.lines)) - 1, line.units, False),
                              f"line {number} has {line.units}, {count}"))
    for number, line in enumerate(lines, 1):
        if line.runs_on and number < len(lines) and lines[number].runs_on:
            out.append(Reason("run on", note=f"a word runs across the end of line {number}"))
    missing = len(metre.lines) - len(lines)
    if missing > 0 and not metre.repeats:
        out.append(Reason("lines missing", note=f"{missing} of {len(metre.lines)} lines are not there"))
    return out
