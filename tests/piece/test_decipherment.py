"""Candidates, marks, attempts."""

import os
import signal
import subprocess
import sys

import pytest

import readaid
from readaid.core.confidence import Status
from readaid.core.errors import OptionError, TextError
from readaid.core.photo import rectangle


@pytest.fixture
def sign(piece, verse):
    return piece.layout.draw(verse, piece.contents.photos[0], rectangle(100, 50, 40, 50))[1]


def test_candidates_keep_their_confidence(piece, sign):
    piece.decipherment.tag(sign, "か", 0.7, "open at the right")
    piece.decipherment.tag(sign, "う", 0.6)
    after = piece.decipherment.tag(sign, "か", 0.8)
    assert {c.character: c.confidence for c in after.candidates} == {"う": 0.6, "か": 0.8}
    assert piece.decipherment.untag(sign, "う").candidates[0].character == "か"


def test_a_reason_for_what_is_not_taken_is_a_revision_and_no_judgement(piece, sign):
    piece.decipherment.tag(sign, "か", 0.7)
    piece.decipherment.tag(sign, "う", 0.6, source="shape", probability=0.4)
    judged = piece.contents.judgements
    said = piece.decipherment.reject(sign.id, "う", " the loop is open ")
    assert {c.character: c.rejected for c in said.candidates} == {"か": "", "う": "the loop is open"}
    assert (said.candidates[1].confidence, said.candidates[1].probability) == (0.6, 0.4), "weighed as before"
    assert piece.contents.judgements == judged
    last = piece.register.history(sign.id)[-1]
    assert (last.reason, last.record) == ("candidate rejected", said)
    again = piece.decipherment.tag(sign.id, "う", 0.5)
    assert again.best.character == "か"
    assert again.candidates[-1].rejected == "the loop is open", "another sureness takes no reason away"
    assert piece.decipherment.reject(sign.id, "う", "").candidates[-1].rejected == ""
    with pytest.raises(OptionError, match="not there any more"):
        piece.decipherment.reject(sign.id, "ぬ", "x")


def test_why_an_attempt_was_set_aside_stays_with_it_until_it_is_taken_up_again(piece, verse):
    first = piece.decipherment.write_down(verse, "ふるいけや", 0.4)
    piece.decipherment.set_status(first, Status.SET_ASIDE, "line 3 does not fit")
    assert piece.contents.attempts[0].rejected == "line 3 does not fit"
    piece.decipherment.set_status(first.id, Status.WITHDRAWN)
    assert piece.contents.attempts[0].rejected == "line 3 does not fit"
    piece.decipherment.set_status(first.id, Status.PREFERRED, "seen again")
    assert piece.contents.attempts[0].rejected == ""
    assert [r.record.rejected for r in piece.register.history(first.id)][1:3] == ["line 3 does not fit"] * 2


@pytest.mark.parametrize("text", ["", "ab", "🙂", "\ue000"])
def test_what_is_no_sign_is_refused(piece, sign, text):
    with pytest.raises(TextError):
        piece.decipherment.tag(sign, text)


@pytest.mark.parametrize("confidence", [-0.1, 1.1, float("nan")])
def test_confidence_is_between_0_and_1(piece, sign, confidence):
    with pytest.raises(OptionError, match="between 0 and 1"):
        piece.decipherment.tag(sign, "か", confidence)


def test_marks(piece, sign):
    marked = piece.decipherment.mark(sign, damage="lost", missing=(1, 3), note="broken edge")
    assert (marked.damage.value, marked.missing) == ("lost", (1, 3))
    with pytest.raises(OptionError, match="did you mean 'damage'"):
        piece.decipherment.mark(sign, damaged="lost")
    with pytest.raises(OptionError, match="cannot be missing"):
        piece.decipherment.mark(sign, missing=(3, 1))
    assert piece.decipherment.mark(marked, editorial="corrected", instead="が").instead == "が"
    with pytest.raises(OptionError, match="did you mean 'erased'"):
        piece.decipherment.mark(sign, editorial="erase")


@pytest.mark.parametrize("ask", [
    lambda piece, verse, sign: piece.decipherment.mark(sign, damage="worm"),
    lambda piece, verse, sign: piece.decipherment.write_down(verse, "か", status="opened"),
    lambda piece, verse, sign: piece.decipherment.set_status(piece.decipherment.write_down(verse, "か"), "settle"),
    lambda piece, verse, sign: piece.layout.inscription("vers")])
def test_a_word_of_no_list_is_told_with_the_nearest_of_it(piece, verse, sign, ask):
    with pytest.raises(OptionError, match="did you mean"):
        ask(piece, verse, sign)


def test_one_preferred_attempt_at_a_time_and_nothing_is_overwritten(piece, verse):
    first = piece.decipherment.write_down(verse, "ふるいけやかはづとびこむみづのおと", 0.4, status=Status.PREFERRED)
    second = piece.decipherment.write_down(verse, "ふるいけやかはつとひこむみつのおと", 0.6, status=Status.PREFERRED)
    states = {a.id: a.status for a in piece.contents.attempts}
    assert states == {first.id: Status.SET_ASIDE, second.id: Status.PREFERRED}
    assert [r.record.status for r in piece.register.history(first.id)] == [Status.PREFERRED, Status.SET_ASIDE]
    assert first.morae == (5, 7, 5)  # 古池や..., Matsuo Basho 1686, 5-7-5 beyond doubt
    assert piece.decipherment.write_down(verse, "?るいけや か").written == "?るいけや か", "as it was typed"


def test_attempt_said_to_be_saved_survives_kill_9(piece, verse):
    code = ("import sys, readaid\n"
            "p = readaid.open(sys.argv[1], reader='Aki')\n"
            "while True:\n"
            "    a = p.decipherment.write_down(p.contents.inscriptions[0], 'ふるいけや')\n"
            "    print(a.id, flush=True)\n")
    worker = subprocess.Popen([sys.executable, "-c", code, str(piece.folder)], stdout=subprocess.PIPE, text=True)
    said = [worker.stdout.readline().strip() for _ in range(5)]
    os.kill(worker.pid, signal.SIGKILL)
    said += [line.strip() for line in worker.stdout if len(line.strip()) == 36]
    worker.wait()
    with readaid.open(piece.folder) as opened:
        assert set(said) <= {a.id for a in opened.contents.attempts}
