"""Two kernels on one piece: what falls between another's look and save is merged or told, never undone."""

import dataclasses
import math
import multiprocessing
import random
import time

import pytest

import readaid
from readaid.core.character import Character, Inscription
from readaid.core.errors import ConflictError, ReadaidError
from readaid.core.photo import rectangle
from readaid.register.book import Register

FORK = multiprocessing.get_context("forkserver")
FORK.set_forkserver_preload(["readaid.piece.open_piece", "readaid.piece.layout", "readaid.piece.decipherment"])


@pytest.fixture
def other(piece):
    """The same piece in another kernel, under another reader's name."""
    with readaid.open(piece.folder, reader="Bun") as opened:
        yield opened


def between(monkeypatch, piece, work):
    """Have ``work`` done once by somebody else just before ``piece`` saves: after its look, before its save."""
    write, left = piece.register.write, [work]

    def late(*args, **kwargs):
        if left:
            left.pop()()
        return write(*args, **kwargs)

    monkeypatch.setattr(piece.register, "write", late)


def box(at):
    return rectangle(100, 10 + 30 * at, 20, 20)


def order(piece, verse):
    return list(piece.find(Inscription, verse.id).characters)


def test_signs_drawn_at_once_are_both_in_the_order(piece, other, verse, monkeypatch):
    theirs = []
    between(monkeypatch, piece, lambda: theirs.append(other.layout.draw(verse, verse.photo, box(3))[1]))
    _, mine = piece.layout.draw(verse, verse.photo, box(1))
    assert order(piece, verse) == [mine.id, theirs[0].id], "both, in the place where they stand"


def test_a_look_of_another_panel_does_not_lend_its_freshness(piece, other, verse):
    """A record taken at one moment is checked against that moment, whatever the kernel has read since."""
    piece.layout.draw(verse, verse.photo, box(0))
    shown = piece.find(Inscription, verse.id)
    _, theirs = other.layout.draw(verse, verse.photo, box(2))
    assert piece.contents.characters, "another panel of this kernel looks"
    with pytest.raises(ConflictError):
        piece.save(dataclasses.replace(shown, columns=()))
    with pytest.raises(ConflictError):
        piece.layout.reorder(shown, [list(c) for c in shown.columns])
    assert theirs.id in order(piece, verse)


def test_a_save_says_what_it_was_made_from(piece, other, verse):
    before = piece.contents
    piece.save(dataclasses.replace(verse, title="mine"), base=before)
    assert piece.find(Inscription, verse.id).title == "mine"
    with pytest.raises(ConflictError):
        piece.save(dataclasses.replace(verse, title="again"), base=before)
    with pytest.raises(ConflictError, match="made from"):
        piece.save(dataclasses.replace(verse, title="from nowhere"))


@pytest.mark.parametrize("gesture", ["delete", "spread", "join", "columns"])
def test_every_gesture_on_the_order_keeps_a_sign_that_came_between(piece, other, verse, monkeypatch, gesture):
    zones = [piece.layout.draw(verse, verse.photo, box(at))[0] for at in (0, 4)]
    theirs = []
    between(monkeypatch, piece, lambda: theirs.append(other.layout.draw(verse, verse.photo, box(2))[1].id))
    match gesture:
        case "delete":
            piece.layout.delete(zones[0])
        case "spread":
            piece.layout.spread(zones[0], zones[1])
        case "join":
            piece.layout.join(zones[0])
        case "columns":
            piece.layout.draw_columns(verse, verse.photo, [[rectangle(200, 10, 20, 20)]])
    assert theirs[0] in order(piece, verse)
    records = {c.id for c in piece.contents.characters}
    assert set(order(piece, verse)) == records, "no sign stands outside the order, none in it is gone"


def test_a_deleted_zone_is_not_moved_back_to_life(piece, other, verse, monkeypatch):
    zone, _ = piece.layout.draw(verse, verse.photo, box(0))
    between(monkeypatch, piece, lambda: other.layout.delete(zone.id))
    with pytest.raises(ReadaidError):
        piece.layout.move(zone, box(1))
    assert piece.contents.zones == ()


def test_candidates_tagged_at_once_are_both_there(piece, other, verse, monkeypatch):
    _, sign = piece.layout.draw(verse, verse.photo, box(0))
    between(monkeypatch, piece, lambda: other.decipherment.tag(sign, "う", 0.7))
    piece.decipherment.tag(sign, "く", 0.6)
    assert {c.character for c in piece.find(Character, sign.id).candidates} == {"う", "く"}


def test_an_attempt_set_aside_beside_another_preferred(piece, other, verse, monkeypatch):
    mine, theirs = (p.decipherment.write_down(verse, t) for p, t in ((piece, "はる"), (other, "なつ")))
    between(monkeypatch, piece, lambda: other.decipherment.set_status(theirs, "preferred"))
    piece.decipherment.set_status(mine, "preferred")
    assert {a.written: str(a.status) for a in piece.contents.attempts} == {"はる": "preferred", "なつ": "set aside"}


def test_no_sign_that_was_acknowledged_leaves_the_order(piece, verse):
    told, _ = run_writers(FORK, piece.folder, verse.id, (math.inf, 30), writers=2)
    assert_nothing_lost(piece, verse.id, told)


# -- shared with the bench ------------------------------------------------------------------------------------------
def draw_and_tell(folder, address, inscription, number, bounds, pipe):
    """Draw, tag, move, delete at random until the seconds or the gestures of ``bounds`` are over; tell each sign that
    must stand, each that must not."""
    chance = random.Random(number)
    stands, ends, told, refused, left = [], time.monotonic() + bounds[0], [], 0, bounds[1]
    with readaid.open(folder, reader=f"reader {number}") as piece:
        if address:
            piece.register.close()
            piece.register = Register.open(address)
        photo = piece.contents.photos[0]
        while time.monotonic() < ends and left > 0:
            left -= 1
            try:
                what = chance.random()
                if what < 0.6 or not stands:
                    spot = rectangle(chance.uniform(0, 570), chance.uniform(0, 370), 20, 20)
                    zone, character = piece.layout.draw(inscription, photo, spot)
                    stands.append((zone.id, character.id))
                    told.append(("stands", character.id))
                elif what < 0.75:
                    sign = chance.choice("きくのか")
                    piece.decipherment.tag(chance.choice(stands)[1], sign, 0.6)
                elif what < 0.85:
                    piece.layout.move(chance.choice(stands)[0], rectangle(chance.uniform(0, 570), 100, 20, 20))
                else:
                    zone, character = stands.pop(chance.randrange(len(stands)))
                    piece.layout.delete(zone)
                    told.append(("gone", character))
            except ConflictError:  # told, so nothing was acknowledged
                refused += 1
    pipe.send((told, refused))
    pipe.close()


def run_writers(context, folder, inscription, bounds, writers, address=None):
    """What each of several processes was told when they draw on one inscription at once."""
    pipes, processes = [], []
    for number in range(writers):
        ours, theirs = context.Pipe(duplex=False)
        process = context.Process(target=draw_and_tell, args=(folder, address, inscription, number, bounds, theirs))
        process.start()
        theirs.close()
        pipes.append(ours)
        processes.append(process)
    found = [pipe.recv() for pipe in pipes]
    for process in processes:
        process.join()
        assert process.exitcode == 0
    return [line for told, _ in found for line in told], sum(refused for _, refused in found)


def lost(piece, inscription, told):
    """Signs that were acknowledged and are not in the order, or deleted and still in it."""
    gone = {character for what, character in told if what == "gone"}
    stand = {character for what, character in told if what == "stands"} - gone
    held = list(piece.find(Inscription, inscription).characters)
    return (stand - set(held)) | (gone & set(held)) | {c for c in held if held.count(c) > 1}


def assert_nothing_lost(piece, inscription, told):
    assert len(told) > 20, "the writers did write"
    assert lost(piece, inscription, told) == set()
    assert piece.register.check().problems == ()
