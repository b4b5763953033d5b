"""Inputs made up by a seeded hand: odd texts, candidate lists, pictures, tables, copies and archives.

Conventions: ``GROUPS`` maps the name of a group to a function that draws one case, (name, call), from a random.Random;
the same seed and number give the same case. Calling a case either answers or raises one of our own errors; any other
exception is a fault. Nothing here measures time: ``tests.bench.generated`` does; ``tests.test_generated`` runs a few.
"""

from __future__ import annotations

import io
import random
import zipfile
from collections.abc import Callable
from functools import lru_cache, partial
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from readaid.core.errors import ReadaidError

Case = tuple[str, Callable[[], Any]]
KEPT = Path(__file__).resolve().parent / "register" / "fixtures" / "0.1.0"

KANA = "あいうえおかきくけこさしすせそたちつてとなにぬねのはひふへほまみむめもやゆよらりるれろわゐゑをん"
MARKED = ("がぎぐげござじずぜぞだぢづでどばびぶべぼぱぴぷぺぽゃゅょっぁゎ"
          "アイウキクケコスツテトナハヒフヘホマヤリルンヴー")
MARKS = "ゝゞ々〻〱〲〳〵"
DATES = "文政化久嘉永安元年月日二三十廿卅四五六七八九吉旦甲乙丙丁子丑寅卯辰仲春夏秋冬孟季閏"
SIGNS = "作之造刻彫花押印齋斎堂翁法橋眼行住江戸京都信正光政義吉長壽門人七歳齢歲於以應需"
ODD = ("?□〇[]()「」、。・／ \n　aZ19９Ａ①㍿﷽🌸👩‍👧\u3099\u309a\ufe00\U000e0100\u0000\u200b\ud800"
       "\U0001b002\U0001b11e龘𠮷𛀁仝〆ヶ")
HEAVY = {"signs": 200, "candidates": 40}


def text(draw: random.Random, odd: float = 0.15, most: int = 300) -> str:
    """A text of a few sorts of signs; ``odd`` is the share of texts that hold what cannot stand in an inscription."""
    pools = [KANA, KANA + MARKED, KANA + MARKS, DATES, SIGNS, DATES + SIGNS, KANA + "?", "?", MARKS,
             KANA + DATES + SIGNS]
    pool = draw.choice(pools)
    if draw.random() < odd:
        pool += draw.choice([ODD, *ODD]) * 3
    many = draw.choice([0, 1, 2, 3, 5, 8, 12, 17, 31, 31, 40, draw.randint(0, most)])
    if draw.random() < 0.05:
        return draw.choice(pool) * many
    return "".join(draw.choices(pool, k=many))


def strange(draw: random.Random) -> Any:
    """A value of a wrong type."""
    return draw.choice([None, 5, -1, 0, 2.5, float("nan"), float("inf"), True, b"\xe3\x81", "x", "", [], {}, set(), (),
                        [[]], object(), "か", ["か", 5], [("か",)], [[("か", "x")]], [[(5, 0.5)]], [[("か", 2.0)]],
                        [None], 10**30, {"か": 1.0}, range(3), [[("", 0.5)]], ["?"], np.zeros(3), Path("none")])


# -- parsers ------------------------------------------------------------------------------------------
def parsers(draw: random.Random) -> Case:
    """One of the cheap parsers with a text."""
    from readaid.script import (
        dates,
        exchange,
        kana,
        morae,
        names,
        numerals,
        repetition,
        romaji,
        season_words,
        signature,
        spelling,
        verse_forms,
        voicing,
    )

    calls: list[tuple[Callable[..., Any], int, int]] = [  # what, longest text, weight
        (kana.clean, 300, 4), (kana.signs, 300, 4), (kana.checked, 300, 4), (kana.sign, 4, 2),
        (kana.to_hiragana, 300, 2), (kana.to_katakana, 300, 2), (kana.full, 300, 2), (morae.split, 300, 4),
        (morae.count, 300, 6), (morae.count_spoken, 300, 3), (romaji.hepburn, 120, 6), (romaji.iso3602, 120, 6),
        (spelling.modern, 120, 6),
        (spelling.normal, 60, 4), (spelling.norm, 20, 3), (spelling.departure, 20, 3), (numerals.read, 40, 5),
        (repetition.written_out, 120, 4), (exchange.variants, 8, 2), (season_words.found, 120, 3),
        (voicing.plain, 300, 2),
        (names.readings, 8, 3), (names.possible, 8, 2), (verse_forms.form, 10, 2), (dates.read, 24, 5),
        (signature.parse, 24, 5)]
    what, most, _ = draw.choices(calls, weights=[c[2] for c in calls])[0]
    if draw.random() < 0.04:
        return draw.choice([table_file, table_file, numbers])(draw)
    usual = draw.random() < 0.97 or what in (kana.clean, kana.signs)
    value = text(draw, most=most)[:most] if usual else text(draw, 1.0)
    return f"{what.__module__.rpartition('.')[2]}.{what.__name__}({value!r})", partial(what, value)


def numbers(draw: random.Random) -> Case:
    """A number written in signs."""
    from readaid.script import numerals

    value = draw.choice([0, 1, 9, 10, 11, 99, 100, 9999, 10**4, 10**8, -1, 10**20, draw.randint(0, 10**6)])
    call = draw.choice([numerals.write, numerals.forms, numerals.by_place, numerals.with_and])
    return f"numerals.{call.__name__}({value})", partial(call, value)


def table_file(draw: random.Random) -> Case:
    """A verse collection as CSV, TSV or TEI, broken here and there."""
    from readaid.lexicon import verses

    header = draw.choice(["kana\ttitle", "text,author", "読み;題", "", "nothing,here", "kana"])
    mark = draw.choice("\t,;")
    rows = [mark.join(text(draw, 0.05, 40).replace("\n", "") for _ in range(draw.randint(0, 4)))
            for _ in range(draw.randint(0, 12))]
    body = "\n".join([header, *rows])
    if draw.random() < 0.3:
        lines = "".join(f"<l>{text(draw, 0.05, 17)}</l>" for _ in range(draw.randint(0, 4)))
        body = "<TEI><text><lg><head>x</head>" + lines + draw.choice(["</lg></text></TEI>", ""])
    raw = body.encode(draw.choice(["utf-8", "utf-8-sig", "utf-16", "cp932"]), "replace")
    if draw.random() < 0.2:
        raw = mutated(draw, raw)
    name = draw.choice(["a.csv", "a.tsv", "a.xml", "a.txt", "a.doc"])
    return f"verses {name} {raw[:60]!r}", partial(_collection, verses.load, name, raw)


def _collection(load: Callable[[Path], Any], name: str, raw: bytes) -> Any:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(raw)
        return load(path)


# -- reading ------------------------------------------------------------------------------------------
def candidates(draw: random.Random, signs: int, most: int) -> list[Any]:
    """Candidate lists: kana, marks, kanji, hentaigana, joined signs, unread ones."""
    pool = [*KANA, *KANA, *MARKED, *MARKS, *DATES, *SIGNS, "?", "より", "こと", "𛀁", "𛂞", "ゟ", "仝"]
    pool += [chr(draw.randint(0x4E00, 0x9FA0)) for _ in range(draw.choice([0, 40, 400]))]
    out: list[Any] = []
    for _ in range(signs):
        kind = draw.random()
        if kind < 0.08:
            out.append(draw.choice(["?", "か", "ゝ", []]))
        else:
            some = draw.sample(pool, min(len(pool), draw.randint(1, most)))
            equal = kind < 0.2
            out.append([(c, 0.3 if equal else round(draw.random() ** 3, 3)) for c in some])
    return out


def reading(draw: random.Random) -> Case:
    """``read``, ``verse`` or ``find_verse`` with a text, with candidates, or with a wrong type."""
    import readaid
    from readaid.script.verse_forms import BY_NAME

    form = draw.choice([None, *BY_NAME, "prose", "prose", "hokku", "tanka"])
    size = draw.random()
    if size < 0.10:
        given: Any = strange(draw)
        k: Any = draw.choice([5, strange(draw)])
        form = draw.choice([form, strange(draw)])
    elif size < 0.45:
        given, k = text(draw, 0.05, 60), draw.choice([1, 1, 5, 30])
    elif size < 0.90:
        given, k = candidates(draw, draw.choice([1, 2, 3, 5, 7, 12, 17]), draw.choice([1, 2, 3, 4, 6, 10])), 1
    elif size < 0.98:
        given, k = candidates(draw, draw.choice([5, 12, 17, 31]), draw.choice([6, 12, 40])), 5
    else:
        given, k = candidates(draw, draw.choice([31, 80, HEAVY["signs"]]), draw.choice([12, HEAVY["candidates"]])), 5
    what = draw.choices(["read", "verse", "find_verse"], weights=[8, 1, 2])[0]
    shown = repr(given)
    size_told = len(given) if hasattr(given, "__len__") else "-"
    name = f"{what}({shown[:90]}{'...' if len(shown) > 90 else ''} [{size_told}], {form=}, {k=})"
    if what == "read":
        return name, partial(readaid.read, given, form=form, k=k)
    if what == "verse":
        return name, partial(readaid.verse, given if isinstance(given, str) else strange(draw), form=form)
    return name, partial(readaid.find_verse, given, k=k)


# -- pictures -----------------------------------------------------------------------------------------
def picture(draw: random.Random) -> Any:
    """A crop: strokes, noise, blank, odd shapes and kinds of numbers, odd modes, files that lie."""
    grain = np.random.default_rng(draw.randint(0, 2**31))
    width, height = (draw.choice([1, 2, 3, 5, 9, 24, 48, 64, 100, 160, 300]) for _ in range(2))
    if draw.random() < 0.03:
        width, height = draw.choice([(1, 40_000), (40_000, 1), (3_000, 2_000), (20_000, 5), (5, 20_000)])
    kind = draw.randint(0, 5)
    if kind == 0:
        page = np.full((height, width), draw.choice([0, 128, 255]), np.uint8)
    elif kind == 1:
        page = grain.integers(0, 256, (height, width)).astype(np.uint8)
    else:
        page = np.full((height, width), 235, np.uint8)
        for _ in range(draw.randint(1, 6)):
            y, x = draw.randrange(height), draw.randrange(width)
            page[y:y + draw.randint(1, 8), x:x + draw.randint(1, max(1, width // 2))] = draw.randint(0, 120)
        if kind == 2:
            page = 255 - page
    shape = draw.randint(0, 11)
    if shape == 0:
        return np.dstack([page] * draw.choice([1, 3, 3, 4, 4, 2, 5]))
    if shape == 1:
        return page.astype(draw.choice(
            [np.uint16, np.float32, np.float64, np.int16, np.int64, bool, np.complex64, np.float16]))
    if shape == 2:
        odd = page.astype(np.float32)
        odd[odd < 100] = draw.choice([np.nan, np.inf, -1.0, 1e30])
        return odd
    if shape == 3:
        return strange(draw)
    if shape == 4:
        return page.astype(object) if page.size < 10_000 else page
    if shape in (5, 6):
        mode = draw.choice(["1", "L", "P", "RGB", "RGBA", "LA", "CMYK", "YCbCr", "LAB", "HSV", "I", "F", "I;16"])
        made = Image.fromarray(page)
        between = {"I;16": "I", "F": "I", "LAB": "RGB", "HSV": "RGB"}
        return made.convert(between[mode]).convert(mode) if mode in between else made.convert(mode)
    if shape in (7, 8):
        stream = io.BytesIO()
        form = draw.choice(["PNG", "JPEG", "TIFF", "WEBP", "GIF", "BMP", "PPM"])
        if max(page.shape) > 16_000:
            form = "PNG"
        Image.fromarray(page).save(stream, form)
        raw = stream.getvalue()
        return mutated(draw, raw) if draw.random() < 0.7 else raw
    return page


def pictures(draw: random.Random) -> Case:
    """``suggest``, ``compare`` or ``describe`` with pictures; bytes stand for a file."""
    import readaid
    from readaid.photo import file

    what = draw.choices(["suggest", "compare", "describe"], weights=[5, 3, 2])[0]
    a, b = picture(draw), picture(draw)
    k = 5 if draw.random() < 0.95 else strange(draw)
    among = draw.choice(["all", "kana", "kanji"]) if draw.random() < 0.97 else strange(draw)
    name = f"{what}({_shown(a)}, {_shown(b)}, {k=}, {among=})"
    if what == "suggest":
        return name, partial(_with_files, lambda x: readaid.suggest(x, k=k, among=among), a)
    if what == "compare":
        return name, partial(_with_files, readaid.compare, a, b)
    if not isinstance(a, bytes) or len(a) <= 4:
        stream = io.BytesIO()
        Image.new("L", (20, 30), 200).save(stream, "PNG")
        a = mutated(draw, stream.getvalue())
    return name, partial(_with_files, file.describe, a)


def _shown(image: Any) -> str:
    if isinstance(image, np.ndarray):
        return f"array {image.shape} {image.dtype}"
    if isinstance(image, Image.Image):
        return f"{image.mode} {image.size}"
    return f"file of {len(image)} bytes" if isinstance(image, bytes) else repr(image)


def _with_files(call: Callable[..., Any], *images: Any) -> Any:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        given = []
        for number, image in enumerate(images):
            if isinstance(image, bytes) and len(image) > 4:
                path = Path(folder) / f"{number}.png"
                path.write_bytes(image)
                given.append(path)
            else:
                given.append(image)
        return call(*given)


# -- copies and archives --------------------------------------------------------------------------------
@lru_cache
def kept() -> tuple[tuple[str, bytes], ...]:
    """The copies and archives that the first version made."""
    return tuple((p.name, p.read_bytes()) for p in sorted(KEPT.glob("*.zip")))


def archives(draw: random.Random) -> Case:
    """A copy or an archive of the first version, altered: bytes, members, names, JSON; received, checked, restored."""
    name, raw = draw.choice(kept())
    how = draw.choice(["bytes", "cut", "member", "name", "json", "none"])
    if how == "bytes":
        raw = mutated(draw, raw)
    elif how == "cut":
        raw = raw[:draw.randrange(len(raw))]
    elif how != "none":
        raw = _rewritten(draw, raw, how)
    what = draw.choice(["receive", "merge", "check", "restore"])
    return f"{what} {name} ({how})", partial(_received, what, raw)


def _rewritten(draw: random.Random, raw: bytes, how: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        infos = old.infolist()
        struck = draw.choice(infos)
        for info in infos:
            data, name = old.read(info), info.filename
            if info is struck:
                if how == "member":
                    data = draw.choice([b"", mutated(draw, data), data[:len(data) // 2], b"\0" * 1000])
                elif how == "name":
                    name = draw.choice(["../x", "/etc/x", "a" * 300, "x\0y", "CON", name + " ", "..",
                                        "notebooks/readaid.py", name.upper(), "日本"])
                elif how == "json":
                    data = _json_struck(draw, data)
            new.writestr(name, data)
    return out.getvalue()


def _json_struck(draw: random.Random, data: bytes) -> bytes:
    """JSON text with one value put in place of another."""
    values = [b"null", b"-1", b"1e999", b"[]", b"{}", b'"\\u0000"', b"NaN", b"true", b'"x"', b"99999999999999999999"]
    places = [i for i, c in enumerate(data[:200_000]) if c in b":,["]
    if not places:
        return mutated(draw, data)
    at = draw.choice(places) + 1
    end = min((e for e in (data.find(c, at) for c in (b",", b"}", b"]")) if e > 0), default=at)
    return data[:at] + draw.choice(values) + data[end:]


def _received(what: str, raw: bytes) -> Any:
    import tempfile

    import readaid
    from readaid.copies import reader_copy
    from readaid.register import bag, bagcheck

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "given.zip"
        path.write_bytes(raw)
        if what == "check":
            return bagcheck.check(path)
        if what == "merge":
            with zipfile.ZipFile(KEPT / "piece.zip") as kept_piece:
                kept_piece.extractall(folder / "ours")
            register = next((folder / "ours").rglob("register.sqlite"))
            with readaid.open(register.parent, reader="Mori") as piece:
                return piece.custody.merge(path)
        made = bag.restore(path, folder / "made") if what == "restore" else reader_copy.receive(path, folder / "made")
        with readaid.open(made, reader="Mori") as piece:
            return len(piece.contents.characters)


def mutated(draw: random.Random, raw: bytes) -> bytes:
    """Bytes changed, cut, doubled or put in at a few places."""
    data = bytearray(raw)
    for _ in range(draw.choice([1, 1, 2, 5, 20])):
        if not data:
            break
        at = draw.randrange(len(data))
        kind = draw.randint(0, 3)
        if kind == 0:
            data[at] = draw.randrange(256)
        elif kind == 1:
            del data[at:at + draw.randint(1, 50)]
        elif kind == 2:
            data[at:at] = bytes(draw.randrange(256) for _ in range(draw.randint(1, 20)))
        else:
            data[at:at] = data[at:at + draw.randint(1, 200)]
    return bytes(data)


GROUPS: dict[str, Callable[[random.Random], Case]] = {
    "parsers": parsers, "reading": reading, "pictures": pictures, "archives": archives}


def case(group: str, seed: int, number: int) -> Case:
    """Case ``number`` of a group."""
    return GROUPS[group](random.Random(f"{group} {seed} {number}"))


def fault(call: Callable[[], Any]) -> BaseException | None:
    """What a case raised that is none of our own errors, None where it answered or was refused in words."""
    try:
        call()
    except ReadaidError:
        return None
    except Exception as error:
        return error
    return None
