"""The reading panel without a browser: readings follow the candidates, parts are held fast, attempts are kept."""

from __future__ import annotations

import asyncio
import itertools
import json
import threading
from pathlib import Path

import pytest

import readaid.reading.verse as verses
from readaid.core.character import Candidate, Character, Inscription, Text
from readaid.core.confidence import Status
from readaid.core.line import LineKind
from readaid.core.reading import Reading, Restored, Verse, Word
from readaid.lexicon.budget import STANDARD
from readaid.lexicon.chain import Chain
from readaid.lexicon.kbest import Search
from readaid.piece.claims import shape_note, to_keep
from readaid.reading.known_verse import find_verse
from readaid.widgets.character_panel import CharacterPanel
from readaid.widgets.desk import Desk
from readaid.widgets.reading_panel import ReadingPanel
from readaid.widgets.reading_rows import known_row, known_words, reading_row, spread_words, times
from readaid.widgets.shape_signs import shape_lines, written_parts
from readaid.widgets.sheet_panel import SheetPanel
from readaid.widgets.verse_lines import line_rows, percent, verse_rows, wanted
from tests.widgets.made import ask, errors


@pytest.fixture
def desk(piece):
    made = Desk(piece)
    made.step(1)
    return made


def test_shows_ranked_readings_with_morae_against_the_form(desk):
    p = ReadingPanel(desk)
    first = p.state["readings"][0]
    assert [(r["morae"], r["want"], r["surplus"]) for r in first["lines"]] == [(5, 5, 0), (7, 7, 0), (5, 5, 0)]
    shares = [r.probability for r in p.readings]
    assert shares == sorted(shares, reverse=True)
    assert len({r.kana for r in p.readings}) == len(p.readings), "k counts distinct readings"


def test_lines_of_chinese_verse_are_counted_in_signs(desk):
    assert {r["unit"] for r in ReadingPanel(desk).state["readings"][0]["lines"]} == {"morae"}
    quatrain = verses.verse("春眠不覺曉\n處處聞啼鳥\n夜來風雨聲\n花落知多少")
    assert [r["unit"] for r in verse_rows(quatrain)] == ["characters"] * 4


def test_the_strip_keeps_reader_and_neighbours_apart(desk):
    p = ReadingPanel(desk)
    sign = p.state["one"]
    assert sign["n"] == 1
    assert {s["mine"] for s in sign["shares"] if not s["restored"]} >= {"probable 0.70"}
    assert sum(x.probability for x in p.shares[0]) == pytest.approx(1, abs=0.02)


def test_a_candidate_changes_the_reading(desk):
    p, signs = ReadingPanel(desk), CharacterPanel(desk)
    turn = p.turn
    desk.choose(character=desk.ordered()[-1].id)
    ask(signs, "type", text="鳧")
    ask(p, "hold", character=desk.character, fields={"fixed": "鳧"})
    assert p.turn > turn
    last = p.state["readings"][0]["lines"][-1]
    assert (last["morae"], last["surplus"]) == (6, 1)
    assert p.readings[0].kana.endswith("けり")
    sheet = SheetPanel(desk)
    assert desk.best is p.readings[0]
    assert [s["text"] for column in sheet.state["columns"] for s in column["signs"]][-1] == "鳧", "and on the sheet"


def test_choosing_another_sign_does_not_search_again(desk):
    p = ReadingPanel(desk)
    turn = p.turn
    desk.step(1)
    assert p.turn == turn
    assert p.state["chosen"] == desk.character


def test_a_word_s_end_and_a_name_are_held(desk):
    p = ReadingPanel(desk)
    ask(p, "hold", character=desk.character, fields={"word_ends": True})
    ask(p, "hold", character=desk.character, fields={"name_of": "place"})
    sign = p.state["one"]
    assert (sign["ends"], sign["name"]) == (True, "place")


def test_the_form_is_the_reader_s_choice_or_found(desk):
    p = ReadingPanel(desk)
    ask(p, "form", form="linked")
    assert [r["want"] for r in p.state["readings"][0]["lines"]] == [7, 7]
    ask(p, "form", form="")
    assert p.readings[0].form == "hokku"


def test_a_reading_is_kept_with_confidence_evidence_and_status(desk, piece):
    p = ReadingPanel(desk)
    ask(p, "keep", index=1, turn=p.turn, confidence=0.2, evidence="上の光で", status="open")
    kept = piece.contents.attempts[-1]
    assert (kept.confidence, kept.evidence, kept.status) == (0.2, "上の光で", Status.OPEN)
    assert kept.probability == pytest.approx(p.readings[1].probability)
    assert p.state["attempts"][0]["sure"] == "guess 0.20"


def test_readings_that_changed_meanwhile_are_not_kept_by_mistake(desk, piece):
    p = ReadingPanel(desk)
    n = len(piece.contents.attempts)
    assert (
        "changed meanwhile"
        in errors(ask(p, "keep", index=0, turn=p.turn - 1, confidence=0.5, evidence="", status="open"))[0]
    )
    assert len(piece.contents.attempts) == n


def test_own_words_are_counted_and_never_corrected(desk, piece):
    p = ReadingPanel(desk)
    text = "ふるいけや\nかはづとびこむ\nみづのおと"
    ask(p, "own", text=text)
    assert [r["morae"] for r in p.state["own"]["lines"]] == [5, 7, 5]
    ask(p, "keep_own", text=text, confidence=0.5, evidence="", status="open")
    assert piece.contents.attempts[-1].written == text
    assert "nothing to keep" in errors(ask(p, "keep_own", text=" ", confidence=0.5, evidence="", status="open"))[0]


def test_an_empty_inscription_is_told(empty):
    p = ReadingPanel(Desk(empty))
    assert p.state["readings"] == []
    assert p.fault == ""


# --- lines: what belongs where (made by hand, so that each place can be counted on fingers) ---


def made(**more) -> Reading:
    words = (
        Word(0, 2, "はる", "はる", "はる", "ハル", "名詞", True, 0.0),
        Word(2, 3, "の", "の", "の", "ノ", "助詞", True, 0.0),
        Word(3, 5, "かぜ", "かぜ", "かぜ", "カゼ", "名詞", False, 0.0),
    )
    fields = {
        "written": "はるの?せ",
        "kana": "はるのかぜ",
        "normal": "はるのかぜ",
        "modern": "はるのかぜ",
        "romaji": "haru no kaze",
        "lines": ("はるの", "かぜ"),
        "morae": (3, 2),
        "probability": 0.5,
        "reasons": (),
        "words": words,
        "restored": (Restored(3, "か", 0.8),),
        "chosen": ("は", "る", "の", "", "せ"),
        **more,
    }
    return Reading(**fields)


def test_supplied_signs_are_marked_in_their_line():
    rows, _ = line_rows(made())
    assert rows[0]["parts"] == [{"text": "はるの", "restored": False}]
    assert rows[1]["parts"] == [{"text": "か", "restored": True}, {"text": "ぜ", "restored": False}]


def test_supplied_signs_stand_in_brackets_as_it_stands():
    assert written_parts(made()) == [{"text": "はるの[か]せ", "shape": False}]
    assert ["As it stands", "はるの[か]せ", "ja"] in reading_row(made())["layers"]
    assert "not seen on the piece: か at 4 (80 %)" in reading_row(made())["restored"]


def test_words_unknown_to_the_dictionary_are_named():
    assert ["Not in the dictionary", "かぜ", "ja"] in reading_row(made())["layers"]


def test_shares_near_the_ends_are_not_rounded_to_certainty():
    assert [percent(p) for p in (1.0, 0.9951, 0.99, 0.5, 0.0)] == [
        "over 99 %",
        "over 99 %",
        "99 %",
        "50 %",
        "under 1 %",
    ]


@pytest.mark.parametrize(
    ("form", "lengths"),
    [
        ("hokku", [5, 7, 5]),
        ("tanka", [5, 7, 5, 7, 7]),
        ("dodoitsu", [7, 7, 7, 5]),
        ("sedoka", [5, 7, 7, 5, 7, 7]),
        ("chinese-5", [5, 5, 5, 5]),
    ],
)
def test_lengths_of_the_forms(form, lengths):
    """As in any handbook of Japanese metre (common practice, no source)."""
    assert wanted(form, len(lengths)) == lengths


def test_counted_text_carries_its_surplus():
    rows = verse_rows(Verse(("あいうえおか", "きく"), (6, 2), "linked", (-1, -5)))
    assert [(r["morae"], r["want"], r["surplus"]) for r in rows] == [(6, 7, -1), (2, 7, -5)]


def test_a_known_verse_is_found_only_when_asked(desk):
    p = ReadingPanel(desk)
    assert p.state["known"] == {"words": "", "rows": []}
    ask(p, "known")
    assert p.state["known"]["rows"][0][0] == "nothing near", "the verse of the demo is in no collection"
    assert len(p.state["known"]["rows"][0][1].split()) in (3, 5)
    assert "Nothing near" in p.state["known"]["words"]
    near = find_verse("ふるいけやかはつとひこむみつのおと", k=1)
    assert known_row(near[0])[:2] == ("the same", "ふるいけや かはづとびこむ みづのおと")
    assert known_words(near).startswith("The same: 古池や")
    assert "taken at random" in known_words(near)


def test_what_is_mostly_supplied_is_no_best_reading(desk, piece):
    """Where more than half of the signs are unread, the best chain is the language's and not the piece's."""
    p = ReadingPanel(desk)
    assert not p.state["readings"][0]["machine"]
    half = desk.ordered()[:9]
    for k in half:
        piece.decipherment.clear(k)
    desk.changed()  # one search for all nine
    assert len(p.readings[0].restored) == len(half)
    best = p.state["readings"][0]
    assert best["machine"]
    assert best["others"] == len(half)
    kept = len(desk.contents.attempts)
    unseen = ask(p, "keep", index=0, turn=p.turn, confidence=0.5, evidence="", status="open")
    assert "nobody has judged them" in errors(unseen)[0], "it is not kept as the reader's unseen"
    assert len(desk.contents.attempts) == kept
    ask(p, "keep", index=0, turn=p.turn, confidence=0.2, evidence="", status="open", seen=True)
    assert len(desk.contents.attempts) == kept + 1


def test_with_nothing_said_the_reader_is_asked_to_begin(desk, piece):
    for sign in desk.ordered():
        piece.decipherment.clear(sign)
    desk.changed()
    p = ReadingPanel(desk)
    assert p.words == "Nothing is said of any sign yet. Enter what you see of the first one."
    assert not p.readings, "a verse made of nothing but supplied signs is no reading"


def test_small_shares_are_explained(desk):
    p = ReadingPanel(desk)
    first, second = p.readings[:2]
    lead, spread, signs = p.state["spread"]
    assert times(first.probability / second.probability) in lead
    held = sum(r.probability for r in p.readings)
    assert f"hold {percent(held)} together; the other {percent(1 - held)} is spread" in spread
    by_sound = [{k: sum(s.probability for s in shares if s.kana == k) for k in {s.kana for s in shares}}
                for shares in p.shares.values()]
    settled = sum(max(sums.values()) >= 0.9 for sums in by_sound)
    assert signs.startswith(f"Sign by sign: {settled} of 17 ")
    assert spread_words([], []) == []


def test_three_thousand_kana_are_counted_beside_the_loop(desk, monkeypatch):
    """The search leaves the loop's thread, its result comes back to it; a later text lets go of an earlier one."""
    loop_thread, threads = threading.get_ident(), []
    real = verses.verse

    def watched(text, form=None):
        threads.append(threading.get_ident())
        return real(text, form)

    monkeypatch.setattr(verses, "verse", watched)

    async def work():
        p = ReadingPanel(desk)
        ask(p, "own", text="すすはらひ" * 600)
        assert p.state["own"]["busy"]
        assert p.state["own"]["words"] == "Counting 3,000 signs …"
        ask(p, "own", text="すすはらひ\nとびらのうらに\nわらひごゑ")
        while p._tasks:
            await asyncio.sleep(0.05)
        return p

    p = asyncio.run(work())
    assert len(threads) == 2
    assert loop_thread not in threads
    assert [r["morae"] for r in p.state["own"]["lines"]] == [5, 7, 5]
    assert "more than one inscription holds" in errors(ask(p, "own", text="す" * 5001))[0]
    ask(p, "own", text="")
    assert p.state["own"] == {"lines": [], "words": ""}


def test_two_hundred_and_fifty_signs_of_twelve_candidates_stay_within_the_budget(desk, monkeypatch):
    """Once nine seconds and two gigabytes. What the search holds is counted, and the page says where it was cut."""
    kana = itertools.cycle("いろはにほへとちりぬるをわかよたれそつねならむうゐのおくやまけふこえてあさきゆめみし")
    signs = [Character(candidates=tuple(Candidate(next(kana), 1 / (2 + n)) for n in range(12))) for _ in range(250)]
    columns = tuple(tuple(c.id for c in signs[at:at + 25]) for at in range(0, 250, 25))
    long = Inscription(columns=columns, form="prose")
    desk.piece.register.save_all([*signs, long], reader="Test reader")
    searches, heard = [], []
    monkeypatch.setattr(Search, "__init__", recorded(Search.__init__, searches))
    monkeypatch.setattr(Chain, "__init__", recorded(Chain.__init__, heard))
    desk.choose(inscription=long.id)
    p = ReadingPanel(desk)
    assert p.state["signs"] == 250
    assert [len(column) for column in desk.columns()] == [25] * 10
    assert p.readings
    assert searches
    assert all(len(s.words) <= STANDARD.kept and s.space.cells <= STANDARD.cells for s in searches)
    assert sum(len(step.score) for c in heard for steps in c.steps for step in steps) <= 1.2 * STANDARD.moves
    assert all(len(r.kana) >= 250 for r in p.readings)
    assert len(json.dumps(p.state)) < 2_000_000  # what is sent to the browser


def recorded(real, made):
    """An initialiser that keeps what it makes."""
    def kept(self, *given, **named):
        real(self, *given, **named)
        made.append(self)
    return kept


def test_own_words_kept_are_counted_once(desk, piece, monkeypatch):
    p = ReadingPanel(desk)
    text = "ふるいけや\nかはづとびこむ\nみづのおと"
    ask(p, "own", text=text)
    monkeypatch.setattr(verses, "verse", lambda *a, **k: pytest.fail("counted again"))
    ask(p, "keep_own", text=text, confidence=0.5, evidence="", status="open")
    assert piece.contents.attempts[-1].lines == ("ふるいけや", "かはづとびこむ", "みづのおと")
    assert piece.contents.attempts[-1].morae == (5, 7, 5)


# --- by shape: signs nobody judged, only while the reader asks ---


@pytest.fixture
def unread(desk, piece):
    """The desk with four signs of the verse unread, in the middle of it; returns (desk, their places)."""
    signs = desk.ordered()
    for at in (5, 6, 8, 9):
        piece.decipherment.clear(signs[at])
    desk.changed()
    return desk, (5, 6, 8, 9)


def asked_of(piece, monkeypatch) -> list[str | None]:
    """What every search was told of shape; the list grows."""
    kinds: list[str | None] = []
    work = piece.decipherment
    solve, propose = work.solve, work.propose_reading
    monkeypatch.setattr(work, "solve", lambda *a, **k: (kinds.append(None), solve(*a, **k))[1])
    monkeypatch.setattr(work, "propose_reading", lambda *a, **k: (kinds.append(k["among"]), propose(*a, **k))[1])
    return kinds


def test_shape_speaks_for_unread_signs_only_when_asked(unread, piece, monkeypatch):
    desk, places = unread
    kinds = asked_of(piece, monkeypatch)
    p = ReadingPanel(desk)
    assert not p.state["shape"]["on"]
    assert kinds == [None], "off by default"
    before, version = p.readings[0].kana, piece.register.version
    ask(p, "shape", on=True)
    assert kinds == [None, "all"], "never silently kana only"
    found = [at for at in places if p.readings[0].chosen[at]]
    assert found, "shape read at least one of them"
    told = p.state["readings"][0]["shape"]
    assert told.startswith(f"{len(found)} sign{'s' * (len(found) > 1)} from shape alone, judged by nobody: a proposal")
    assert p.state["shape"]["words"].startswith(told.partition(" (")[0])
    signs = []
    for k in desk.ordered():
        desk.choose(character=k.id)
        signs.append(p.state["one"])
    assert [s["n"] - 1 for s in signs if s["shape"]] == found
    assert all(s["read"] in [x["kana"] for x in s["shares"] if x["character"] == s["best"]] for s in signs)
    assert all(s["options"] == [] and not any(x["mine"] for x in s["shares"]) for s in signs if s["shape"])
    marked = "".join(x["text"] for row in p.state["readings"][0]["lines"] for x in row["parts"] if x.get("shape"))
    assert len(marked) >= len(found)
    sheet = [s for column in SheetPanel(desk).state["columns"] for s in column["signs"]]
    assert [at for at, s in enumerate(sheet) if s["machine"] and at in places] == found, "nor elsewhere on the bench"
    assert all(not s["text"] for s in sheet if s["machine"])
    assert piece.register.version == version, "nothing is saved"
    assert all(not desk.ordered()[at].candidates for at in places)
    ask(p, "shape", on=False)
    assert p.readings[0].kana == before
    assert (p.state["shape"]["words"], p.state["readings"][0]["shape"]) == ("", "")
    assert not ReadingPanel(desk).by_shape, "it remembers nothing"


def test_a_reading_by_shape_is_kept_with_its_note_and_without_its_signs(unread, piece):
    desk, places = unread
    p = ReadingPanel(desk)
    ask(p, "shape", on=True)
    best = p.readings[0]
    ask(p, "keep", index=0, turn=p.turn, confidence=0.3, evidence="", status="open")
    kept = piece.contents.attempts[-1]
    assert (kept.note, kept.reasons[0]) == (shape_note(best, set(places)),) * 2
    assert "judged by nobody" in kept.note
    assert [sign for _, sign in kept.chosen] == ["" if at in places else s for at, s in enumerate(best.chosen)]
    assert kept.kana == best.kana
    assert all(kept.written[at] == "?" for at in places)
    assert all(not desk.ordered()[at].candidates for at in places)


def test_what_the_reader_enters_ends_the_proposal(unread):
    desk, places = unread
    p, signs = ReadingPanel(desk), CharacterPanel(desk)
    ask(p, "shape", on=True)
    desk.choose(character=desk.ordered()[places[0]].id)
    ask(signs, "type", text="び")
    assert places[0] not in p.unread
    assert p.by_shape, "it stays on for the others"


def test_the_reader_says_what_the_signs_may_be(unread, piece, monkeypatch):
    desk, _ = unread
    kinds = asked_of(piece, monkeypatch)
    p = ReadingPanel(desk)
    ask(p, "shape", on=True)
    ask(p, "shape", among="kana")
    assert kinds == [None, "all", "kana"]
    assert "did you mean 'kana'" in errors(ask(p, "shape", among="kanas"))[0]
    desk.choose(inscription=next(i.id for i in piece.contents.inscriptions if i.id != desk.inscription))
    assert p.state["shape"] | {"kinds": 0} == {"on": False, "words": "", "among": "all", "kinds": 0}
    ask(p, "shape", on=True)
    assert kinds[-1] == "all", "not a verse"


def test_nothing_left_to_read_by_shape_is_told(desk):
    p = ReadingPanel(desk)
    ask(p, "shape", on=True)
    assert p.state["shape"]["words"].startswith("Every sign with a zone has been judged")


def test_a_photo_that_is_gone_is_told_and_what_was_judged_is_still_read(unread, piece):
    desk, _ = unread
    p = ReadingPanel(desk)
    before = p.readings[0].kana
    for photo in piece.contents.photos:
        for file in Path(piece.folder).rglob(Path(photo.file).name):
            file.unlink()
    sent = ask(p, "shape", on=True)
    assert errors(sent)[0].startswith("Not read by shape. ")
    assert p.state["shape"]["words"] == errors(sent)[0]
    assert not p.state["shape"]["on"]
    assert p.readings[0].kana == before


def test_a_zone_with_nothing_in_it_stays_unread(unread, piece, monkeypatch):
    from readaid.core.errors import ShapeError

    def empty(*_a, **_k):
        raise ShapeError("There is no stroke in the picture")

    desk, places = unread
    monkeypatch.setattr("readaid.reading.stretches.weigh_many", empty)
    p = ReadingPanel(desk)
    ask(p, "shape", on=True)
    assert not any(p.readings[0].chosen[at] for at in places)
    assert p.state["shape"]["words"].startswith("4 unread signs could not be read by shape: nothing")


def test_no_model_is_told(unread, piece, monkeypatch):
    def absent(*_a, **_k):
        raise ImportError("onnxruntime")

    desk, _ = unread
    monkeypatch.setattr("readaid.reading.stretches.weigh_many", absent)
    p = ReadingPanel(desk)
    assert "No shape model is installed" in errors(ask(p, "shape", on=True))[0]
    assert p.readings


def test_by_shape_runs_beside_the_loop_and_is_let_go_where_the_page_moved_on(unread, piece, monkeypatch):
    desk, _ = unread
    verse, other = desk.inscription, next(i.id for i in piece.contents.inscriptions if i.id != desk.inscription)
    p = ReadingPanel(desk)
    real, hold, began = piece.decipherment.propose_reading, threading.Event(), threading.Event()
    threads = []

    def slow(target, **options):
        threads.append(threading.get_ident())
        began.set()
        assert hold.wait(30)
        return real(target, **options)

    monkeypatch.setattr(piece.decipherment, "propose_reading", slow)

    async def work():
        ask(p, "shape", on=True)
        while not began.is_set():
            await asyncio.sleep(0.02)
        assert p.state["busy"]
        assert p.state["shape"]["words"] == "Comparing 4 unread signs with the known letters, then searching …"
        desk.choose(inscription=other)
        hold.set()
        while p._tasks or p._searched != p._key() or p.busy:
            await asyncio.sleep(0.05)

    asyncio.run(work())
    assert threading.get_ident() not in threads
    assert desk.inscription == other != verse
    assert (p.unread, p.by_shape, p.state["shape"]["words"]) == (frozenset(), False, "")
    assert len(p.readings[0].chosen) == len(desk.find(Inscription, other).characters)


def test_signs_from_shape_are_marked_in_their_line():
    rows, _ = shape_lines(made(), {1})
    assert rows[0]["parts"] == [
        {"text": "は", "restored": False, "shape": False},
        {"text": "る", "restored": False, "shape": True},
        {"text": "の", "restored": False, "shape": False},
    ]
    assert rows[1]["parts"] == [
        {"text": "か", "restored": True, "shape": False},
        {"text": "ぜ", "restored": False, "shape": False},
    ]
    assert written_parts(made(), {1}) == [
        {"text": "は", "shape": False}, {"text": "る", "shape": True}, {"text": "の[か]せ", "shape": False}]
    assert shape_note(made(), {1, 3}) == (
        "1 sign from shape alone, judged by nobody: a proposal to check sign by sign (る at 2).")
    assert to_keep(made(), {1}).written == "は?の?せ"
    assert to_keep(made(), set()) == made()


def test_a_word_of_more_kana_than_signs_is_marked_whole():
    word = Word(0, 1, "山", "やま", "やま", "ヤマ", "名詞", True, 0.0)
    mountain = made(written="山", kana="やま", lines=("やま",), morae=(2,), words=(word,), restored=(), chosen=("山",))
    assert shape_lines(mountain, {0})[0][0]["parts"] == [{"text": "やま", "restored": False, "shape": True}]


def test_the_foot_of_the_bench_shows_a_signature_s_parts_and_no_lines_of_a_verse(desk):
    """The parts follow each other as on the piece; the demo's signature is invented."""
    signature = next(i for i in desk.contents.inscriptions if i.kind is Text.SIGNATURE)
    line, sheet = ReadingPanel(desk), SheetPanel(desk)
    assert line.state["parse"] is None
    desk.choose(inscription=signature.id)
    told = line.state["parse"]["parts"]
    assert "".join(text for text, _ in told) == desk.piece.decipherment.written(signature).replace("\n", "")
    assert [kind for _, kind in told] == ["date", "family", "name", "verb", "kao"]
    assert sheet.state["edition"] is None
    for sign in desk.ordered():
        desk.piece.decipherment.clear(sign)
    desk.changed()
    assert line.state["parse"]["parts"] == []
    assert line.state["parse"]["words"]


def test_a_chinese_line_is_taken_apart_and_the_reader_keeps_marks_and_wording(desk, monkeypatch):
    p = ReadingPanel(desk)
    assert p.state["chinese"] is None
    monkeypatch.setattr(type(desk.piece.decipherment), "written", lambda self, inscription: "低頭思\n故郷")
    p._kinds = [LineKind("Chinese line", 0.9)]
    p.refresh()
    shown = p.state["chinese"]
    assert shown["rows"][0][0] == "低"
    assert "靜夜思" in shown["known"]
    ask(p, "chinese", marked="低[レ]頭思[二]故郷[一]", japanese="頭を低れて故郷を思ふ")
    kept = desk.contents.attempts[-1]
    assert kept.normal == "頭を低れて故郷を思ふ"
    assert kept.reasons[0] == "return marks 低[レ]頭思[二]故郷[一]"
    before = len(desk.contents.attempts)
    ask(p, "chinese", marked="低[レ]天", japanese="")
    assert len(desk.contents.attempts) == before, "marks on other signs are refused"


def test_the_design_of_the_piece_stands_beside_a_reading():
    from readaid.reading.solve import read

    row = reading_row(read("古池や蛙飛こむ水の音", form="hokku", k=1)[0], design="a frog")
    assert ["Verse and design", "The design shows frog and so does the verse: a hint that they belong together.",
            ""] in row["layers"]


def test_a_search_that_is_let_go_is_not_heard_and_the_next_change_is_searched(desk, piece, monkeypatch):
    p = ReadingPanel(desk)
    real, hold, began = piece.decipherment.solve, threading.Event(), threading.Event()

    def slow(target, **options):
        began.set()
        assert hold.wait(30)
        return real(target, **options)

    async def work():
        monkeypatch.setattr(piece.decipherment, "solve", slow)
        ask(p, "form", form="5-7-5")
        while not began.is_set():
            await asyncio.sleep(0.02)
        assert p.state["busy"]
        was = p.turn
        ask(p, "stop")
        assert not p.state["busy"]
        assert p.state["words"] == "Stopped; the next change is searched again."
        hold.set()
        while p._tasks:
            await asyncio.sleep(0.02)
        assert p.turn == was, "what was let go is not shown"
        ask(p, "form", form="")
        while p._tasks or p.busy or p._searched != p._key():
            await asyncio.sleep(0.02)
        assert p.turn > was
        assert p.state["readings"]

    asyncio.run(work())
