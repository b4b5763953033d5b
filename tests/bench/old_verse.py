"""Measures on old verse and prose left out of all fitting: kanji read, voicing, look-alikes, unread signs, calibration.

Texts come from the folder named by ``READAID_VERSE_FOLDER`` (see ``verse_texts``); without it there are no figures
here.
``READAID_VERSES`` (a number) says how many texts each measure takes, 200 where it is not set; ``READAID_MEASURES``
names those
wanted. Each share comes with its Wilson interval of 95 per cent. Candidates, loss and the way a carver
drops okurigana are simulated (seeded).
"""

import functools
import math
import os
import re
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np

from readaid.core import places
from readaid.lexicon import verses
from readaid.reading.solve import Solution, solve
from readaid.script import kana as letters
from readaid.script import spelling, voicing
from tests.bench import verse_texts
from tests.bench.verse import ALIKE, EVENNESS, LETTERS, ece
from tests.bench.verse_texts import Text

Row = tuple[str, float, str, str]
MANY = int(os.environ.get("READAID_VERSES", 200))
_SOUND = str.maketrans("ゐゑをぢづはひふへほゃゅょっ", "いえおじずわいうえおやゆよつ")
_ROWS = ("あかがさざただなはばまやらわ", "おこごそぞとどのほぼもよろお")
_LONG = str.maketrans(*_ROWS)
_E_ROW, _I_ROW = "けせてねへめれえげぜでべ", "きしちにひみりいぎじぢび"


@functools.lru_cache(maxsize=20_000)
def sound(kana: str) -> str:
    """What a reading sounds like: spellings that differ in nothing else are one (こゑ and こえ, けふ and きょう)."""
    plain = spelling.modern(kana).translate(_SOUND)
    plain = re.sub("くわ", "か", re.sub("ぐわ", "が", plain))
    plain = re.sub(f"([{_E_ROW}])う", lambda m: _I_ROW[_E_ROW.index(m[1])] + "よう", plain)
    plain = re.sub(f"([{_ROWS[0]}])う", lambda m: m[1].translate(_LONG) + "う", plain)
    return re.sub("いう", "ゆう", plain.replace("おお", "おう"))


def share(name: str, right: int, of: int, goal: str = "") -> Row:
    """A share with its Wilson interval in its name."""
    if not of:
        return (name + " (none)", float("nan"), "%", goal)
    z, p = 1.96, right / of
    middle, half = (p + z * z / (2 * of)) / (1 + z * z / of), z * math.sqrt(
        p * (1 - p) / of + z * z / (4 * of * of)) / (1 + z * z / of)
    return (f"{name} [{100 * (middle - half):.0f}-{100 * (middle + half):.0f}, n {of}]", 100 * p, "%", goal)


def _matched(text: Text, kana: str) -> list[tuple[str, str, str]] | None:
    """(run, printed reading, reading found) of each kanji run, or None where the kana beside them do not fit."""
    pattern = "".join("(.+?)" if kind else "(" + "".join(_any_voice(c) for c in run) + ")"
                      for kind, run, _ in text.runs)
    found = re.fullmatch(pattern, kana)
    if found is None:
        return None
    return [(run, read, got) for (kind, run, read), got in zip(text.runs, found.groups(), strict=True) if kind]


def _any_voice(kana: str) -> str:
    return "[" + "".join({v.kana for v in voicing.values(voicing.plain(kana))} | {kana}) + "]"


def printed_runs() -> list[Row]:
    """Kanji runs of printed hokku whose reading is printed too."""
    first = five = of = whole = 0
    texts = verse_texts.spread(verse_texts.printed(), MANY)
    for text in texts:
        got = [_matched(text, r.kana) for r in solve(text.written, "hokku", 5).readings]
        wanted = [(run, read) for kind, run, read in text.runs if kind]
        hits = [[g is not None and sound(g[i][2]) == sound(read) for g in got] for i, (_, read) in enumerate(wanted)]
        known = [i for i, (_, read) in enumerate(wanted) if read]
        first += sum(hits[i][0] for i in known)
        five += sum(any(hits[i]) for i in known)
        of += len(known)
        whole += all(hits[i][0] for i in known)
    return [share("printed hokku: kanji runs with a printed reading, right first", first, of, "+25 points"),
            share("printed hokku: the same, among five readings", five, of, ">= 97"),
            share("printed hokku: verses with all of them right", whole, len(texts))]


def carved(text: Text) -> Text:
    """A text as an object bears it: one kana of okurigana dropped from verbs and adjectives, no voicing marks."""
    import fugashi

    kept = []
    for word in fugashi.Tagger()(text.written):
        tail = re.fullmatch(r"([一-鿿々]+)([ぁ-ん])", word.surface)
        kept.append(tail[1] if tail and word.feature.pos1 in ("動詞", "形容詞") else word.surface)
    return Text(voicing.plain("".join(kept)), text.lines)


def kanji_lines() -> list[Row]:
    """Lines with kanji of poems of the oldest anthology, the whole poem read; and the same as carved."""
    out = []
    for name, goal, make in (("as the edition writes them", ">= 75", lambda t: t), ("as carved", ">= 65", carved)):
        right = exact = of = whole = 0
        certain = []
        texts = verse_texts.spread(verse_texts.old_verse(), MANY)
        for text in texts:
            first = solve(make(text).written, "tanka", 1).readings[0]
            ok = [sound(a) == sound(b) for a, b in zip(first.lines, text.lines, strict=False)]
            same = [a == b for a, b in zip(first.lines, text.lines, strict=False)]
            for i in _with_kanji(text):
                of += 1
                right += i < len(ok) and ok[i]
                exact += i < len(same) and same[i]
            hit = len(first.lines) == len(text.lines) and all(ok)
            whole += hit
            certain.append((first.probability, hit))
        out += [share(f"old waka, lines with kanji {name}, right first", right, of, goal),
                share(f"old waka {name}: lines in the historical spelling too", exact, of),
                share(f"old waka {name}: whole poems", whole, len(texts)),
                (f"old waka {name}: calibration error of whole readings (5 bins)", ece(certain, 5), "", "< 0.05")]
    return out


def _with_kanji(text: Text) -> list[int]:
    ends = np.cumsum([len(line) for line in text.lines])
    at, found = 0, set()
    for kind, _, read in text.runs:
        if kind:
            found.add(int(np.searchsorted(ends, at, side="right")))
        at += len(read)
    return sorted(found)


def prose() -> list[Row]:
    """Prose sentences with kanji: kana wrong."""
    wrong = of = exact = 0
    for text in verse_texts.spread(verse_texts.prose(), MANY):
        first = solve(text.written, "prose", 1).readings[0].kana
        wrong += _distance(sound(first), sound(text.kana))
        exact += _distance(first, text.kana)
        of += len(text.kana)
    return [share("prose with kanji: kana wrong (edit distance, by sound)", wrong, of, "a third"),
            share("prose with kanji: the same, historical spelling asked for too", exact, of)]


def _distance(one: str, two: str) -> int:
    row = list(range(len(two) + 1))
    for i, a in enumerate(one, 1):
        before, row[0] = row[0], i
        for j, b in enumerate(two, 1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + (a != b))
    return row[-1]


def _hokku() -> list[Text]:
    """The verses for measuring, and those of the fitting lists (from memory) that are left out by their hash."""
    base = places.share("data")
    found = [v.lines for v in verses.load(base / "verses" / "test.tsv")]
    for path in (base / "verses" / "train.tsv", base / "fit" / "verses.tsv"):
        found += [v.lines for v in verses.load(path) if verse_texts.part("".join(v.lines)) == "examined"]
    return verse_texts.spread([Text("".join(lines), lines) for lines in found], MANY)


def _forms() -> list[tuple[str, list[Text]]]:
    tanka = verse_texts.spread(verse_texts.old_verse(), MANY) if verse_texts.folder() else []
    return [("hokku", _hokku()), ("tanka", tanka)]


def voicing_restored() -> list[Row]:
    """Verses in kana without voicing marks."""
    out = []
    for form, texts in _forms():
        seen = right = whole = five = 0
        certain = []
        for text in texts:
            found = solve(voicing.plain(text.kana), form, 5).readings
            kana = found[0].kana
            could = [i for i, c in enumerate(text.kana) if voicing.plain(c) in voicing.READ_VOICED]
            seen += len(could)
            right += sum(kana[i:i + 1] == text.kana[i] for i in could)
            whole += kana == text.kana
            five += any(r.kana == text.kana for r in found)
            certain.append((found[0].probability, kana == text.kana))
        kana_goal, whole_goal = (">= 97", ">= 80") if form == "hokku" else (">= 95", ">= 65")
        out += [share(f"voicing, {form}: kana that could be voiced", right, seen, kana_goal),
                share(f"voicing, {form}: whole verses", whole, len(texts), whole_goal),
                share(f"voicing, {form}: among five", five, len(texts)),
                (f"voicing, {form}: calibration error of whole readings (5 bins)", ece(certain, 5), "", "< 0.05")]
    return out


def _letters(found: Solution, plain: str, certain: list[tuple[float, bool]]) -> list[list[str]]:
    """Letters at each place, likeliest first."""
    out = []
    for at, letter in enumerate(plain):
        sums: dict[str, float] = {}
        for s in found.shares:
            if s.at == at:
                name = voicing.plain(s.kana) if s.restored else s.character
                sums[name] = sums.get(name, 0.0) + s.probability
        order = sorted(sums, key=lambda c: -sums[c])
        certain.append((sums[order[0]], order[0] == letter) if order else (0.0, False))
        out.append(order)
    return out


def _looked(name: str, goal: str, make: Callable[[str, Any], Any], seed: int) -> list[Row]:
    out = []
    for form, texts in _forms():
        random = np.random.default_rng(seed)
        right = of = whole = 0
        certain: list[tuple[float, bool]] = []
        for text in texts[:MANY // 2]:
            plain = voicing.plain(letters.full(text.kana))
            order = _letters(solve(make(plain, random), form, 1), plain, certain)
            good = [o[:1] == [c] for o, c in zip(order, plain, strict=True)]
            right, of, whole = right + sum(good), of + len(good), whole + all(good)
        out += [share(f"{name}, {form}: letter right first", right, of, goal),
                (f"{name}, {form}: calibration error of shares (10 bins)",
                 ece(certain, 10) if certain else float("nan"), "", "")]
    return out


def look_alikes() -> list[Row]:
    return _looked("three look-alikes", ">= 85" , lambda plain, random: [
        [(c, 1 / 3) for c in random.permutation([p, *ALIKE.get(p, "")]).tolist()] for p in plain], 3)


def eight() -> list[Row]:
    return _looked("eight candidates as by shape", ">= 85", _eight, 8)


def _eight(plain: str, random: Any) -> list[list[tuple[str, float]]]:
    entries = []
    for letter in plain:
        near = ALIKE.get(letter, "")
        rest = random.permutation([c for c in LETTERS if c not in letter + near]).tolist()
        order = random.permutation([*near, *rest][:7]).tolist()
        shares = np.sort(random.dirichlet([EVENNESS] * 8))[::-1]
        order.insert(int(random.choice(8, p=shares)), letter)
        entries.append(list(zip(order, np.clip(shares, 0.0, 1.0).tolist(), strict=True)))
    return entries


def unread() -> list[Row]:
    """A fifth of the signs unread, the rest certain."""
    out = []
    for form, texts in _forms():
        random = np.random.default_rng(20)
        first = five = of = 0
        for text in texts[:MANY // 2]:
            plain = voicing.plain(letters.full(text.kana))
            gone = [i for i in range(len(plain)) if random.random() < 0.2]
            order = _letters(solve("".join("?" if i in gone else c for i, c in enumerate(plain)), form, 1), plain, [])
            first += sum(order[i][:1] == [plain[i]] for i in gone)
            five += sum(plain[i] in order[i][:5] for i in gone)
            of += len(gone)
        out += [share(f"20 % unread, {form}: the unread sign right first", first, of, ">= 60"),
                share(f"20 % unread, {form}: among five", five, of, ">= 80")]
    return out


def forms_found() -> list[Row]:
    """Verses without voicing marks and without their form, and prose in kana: which form is found."""
    right = of = 0
    texts = [(form, t) for form, found in _forms() for t in found[:25]]
    if verse_texts.folder():
        texts += [("prose", t) for t in verse_texts.spread(verse_texts.prose(), 20)]
    for form, text in texts:
        right += solve(voicing.plain(text.kana), None, 1).form == form
        of += 1
    return [share("verse form found (25 hokku, 25 tanka, 20 sentences of prose, in kana)", right, of, ">= 96")]


def repairs() -> list[Row]:
    """One sign of a hokku taken for a look-alike (0.6), the right one listed beside it (0.3): which comes first."""
    random, right, of = np.random.default_rng(30), 0, 0
    for text in _hokku()[:30]:
        plain = voicing.plain(letters.full(text.kana))
        at = int(random.choice([i for i, c in enumerate(plain) if c in ALIKE]))
        wrong = ALIKE[plain[at]][int(random.integers(len(ALIKE[plain[at]])))]
        given = [[(wrong, 0.6), (c, 0.3)] if i == at else [(c, 1.0)] for i, c in enumerate(plain)]
        right += _letters(solve(given, "hokku", 1), plain, [])[at][:1] == [plain[at]]
        of += 1
    return [share("a wrong sign mended from its listed candidates (simulated)", right, of, ">= 90")]


def doubts() -> list[Row]:
    """One sign of a typed hokku taken for another (simulated): is the right kana told beside it, and false doubts."""
    random, told, first, of, false = np.random.default_rng(31), 0, 0, 0, 0
    texts = _hokku()[:60]
    for text in texts:
        plain = voicing.plain(letters.full(text.kana))
        at = int(random.choice([i for i, c in enumerate(plain) if c in ALIKE]))
        wrong = ALIKE[plain[at]][int(random.integers(len(ALIKE[plain[at]])))]
        found = solve(plain[:at] + wrong + plain[at + 1:], "hokku", 1)
        kana = {voicing.plain(s.kana) for s in found.shares if s.at == at}
        told += plain[at] in kana
        first += voicing.plain(found.readings[0].kana[at:at + 1]) == plain[at]
        of += 1
        clean = solve(plain, "hokku", 1).readings[0]
        false += any(r.kind == "misread" for r in clean.reasons)
    return [share("typed hokku with one sign misread: the right kana is told beside it", told, of),
            share("typed hokku with one sign misread: it stands in the first reading", first, of),
            share("typed hokku without a slip: the first reading doubts a sign", false, len(texts))]


MEASURES: dict[str, Callable[[], list[Row]]] = {
    "printed": printed_runs, "lines": kanji_lines, "prose": prose, "voicing": voicing_restored, "alike": look_alikes,
    "eight": eight, "unread": unread, "forms": forms_found, "repairs": repairs, "doubts": doubts}


def bench(names: Sequence[str] | None = None) -> list[Row]:
    wanted: Iterable[str] = names or os.environ.get("READAID_MEASURES", "").split() or MEASURES
    if verse_texts.folder() is None:
        wanted = [n for n in wanted if n not in ("printed", "lines", "prose")]
    return [row for name in wanted for row in MEASURES[name]()]


if __name__ == "__main__":
    import sys

    for told, figure, unit, goal in bench(sys.argv[1:]):
        print(f"{told:85} {figure:8.3f} {unit:2} {goal}", flush=True)
