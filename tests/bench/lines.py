"""Lines of any kind: wrong persons, dates, kinds, names without a reading, processor time of a line of thirty signs.

The sheets lie in ``tests/script/examine``; all lines are invented. "first sight" figures were counted once, before
anything was changed for that sheet, and cannot be made again: they are told in the decision record.
"""

import re
import statistics
import time
from pathlib import Path

import readaid
from readaid.core.errors import TextError
from readaid.reading import line_kind
from readaid.script import dates, names, signature
from tests.script.examine import marks, sheets

ENAMDICT = Path("/usr/share/edict/enamdict")
SHEETS = ("signatures.tsv", "signatures_added.tsv", "signatures_fresh.tsv", "signatures_fourth.tsv")
KINDS = {"title": "title or place", "Chinese": "Chinese line", "seal": "seal text"}
THIRTY = (("a tanka", "ひさかたの光のとけき春の日にしつこゝろなく花のちるらむ"),
          ("a signature with date", "武州江戸住田中清左衛門正楳行年七十三歳嘉永二己酉年八月吉日作之"),
          ("a Chinese quatrain", "月落烏啼霜滿天江楓漁火對愁眠姑蘇城外寒山寺夜半鐘聲到客船"),
          ("prose", "此小柄ハ先年京都ニ而求之候也右之品先祖より相傳いたし候者也"))


def bench():
    """Rows of name, value, unit and goal."""
    for sheet in SHEETS:
        m = marks.marked(sheet)
        low, high = sheets.wilson(len(m.wrong_person), m.lines)
        yield (f"{sheet}: a wrong or missing person (95 % {low:.1%} to {high:.1%}, n {m.lines})",
               len(m.wrong_person) / m.lines, "share", "under 0.05")
        yield f"{sheet}: right persons, a wrong role", len(m.wrong_role) / m.lines, "share", ""
        yield f"{sheet}: names without any reading (n {m.names})", len(m.unread_name) / max(m.names, 1), "share", ""
    yield "dates.tsv: exact", share_of_dates(), "share", "1"
    for sheet in ("kinds.tsv", "kinds_added.tsv", "kinds_fresh.tsv"):
        yield f"{sheet}: kind right (n {len(sheets.rows(sheet))})", share_of_kinds(sheet), "share", "0.95"
    if ENAMDICT.exists():
        given, ours = stated()
        yield f"ENAMDICT: stated reading among our eight (n {given})", ours, "share", ""
        yield "names of the sheets that KANJIDIC2 allows", allowed(), "share", "0.95"
    for name, text in THIRTY:
        yield f"a line of {len(text)} signs, {name}", processor(lambda text=text: readaid.line(text)), "ms", "under 150"
    yield "a date on 10,000 signs, refused", processor(lambda: refused("文" * 10_000)), "ms", ""


def share_of_dates() -> float:
    rows = sheets.rows("dates.tsv")
    return sum(not sheets.date_wrong(row, read(row["text"])) for row in rows) / len(rows)


def read(text):
    try:
        return dates.read(text)
    except TextError:
        return []


def refused(text):
    assert read(text) == []


def share_of_kinds(sheet: str) -> float:
    rows = sheets.rows(sheet)
    wanted = [[KINDS.get(k, k) for k in row["kind"].split("|")] for row in rows]
    return sum(line_kind.kinds(r["text"])[0].kind in w for r, w in zip(rows, wanted, strict=True)) / len(rows)


def stated() -> tuple[int, float]:
    """Masculine two-kanji names of ENAMDICT, every fifth: share whose stated reading is among our eight."""
    lines = ENAMDICT.read_text(encoding="euc-jp", errors="replace").splitlines()
    held = [(m[1], m[2]) for s in lines if (m := re.match(r"([一-龥]{2}) \[([ぁ-ん]+)\] /.*\(m\)", s))][::5]
    return len(held), sum(r in names.readings(n) for n, r in held) / len(held)


def allowed() -> float:
    """Share of the sheets' names with a reading that KANJIDIC2 can make out of its readings of the signs."""
    table = names._published(names.dictionary())
    found = total = 0
    for sheet in SHEETS:
        for row in sheets.rows(sheet):
            for part in signature.parse(row["text"])[0].parts:
                if part.kind == "name" and part.readings and "?" not in part.text:
                    total += 1
                    found += any(made(part.value or part.text, reading, table) for reading in part.readings)
    return found / total


def made(name: str, reading: str, table) -> bool:
    """Whether a reading can be cut into published readings of a name's signs; a changed first sound is allowed."""
    if not name:
        return not reading
    options = {r for group in table.get(name[0], {}).values() for r in group}
    return any(reading.startswith(r) and made(name[1:], reading[len(r):], table) for r in options if r)


def processor(work) -> float:
    """Median processor time of five runs in milliseconds, after one that fills the caches."""
    work()
    taken = []
    for _ in range(5):
        began = time.process_time()
        work()
        taken.append(1000 * (time.process_time() - began))
    return statistics.median(taken)
