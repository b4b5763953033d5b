"""Benches of the windows on one kernel: a page lays one, and one whose page is gone is cleared away, whole."""

from __future__ import annotations

import asyncio
import gc
import weakref

import pytest
from comm import get_comm_manager

from readaid.core.photo import Zone, rectangle
from readaid.piece.open_piece import OpenPiece
from readaid.widgets import window_benches
from readaid.widgets.bench import Bench
from readaid.widgets.desk import Desk
from readaid.widgets.piece_choice import VARIABLE
from readaid.widgets.window_benches import clear_away, window_bench
from tests.widgets.made import demo_piece


@pytest.fixture
def page(folder, monkeypatch):
    """Says which page asks; in the end all benches go."""
    monkeypatch.setenv(VARIABLE, str(folder))
    now = ["a"]
    monkeypatch.setattr(window_benches, "asking", lambda: now[0])
    yield lambda name: now.__setitem__(0, name)
    clear_away(())


def live() -> set[str]:
    """Ids of what the kernel holds open towards the browser: the widgets and their layouts."""
    return set(get_comm_manager().comms)


def test_a_closed_bench_leaves_no_widget_and_is_let_go(folder):
    before = live()
    bench = Bench(Desk(OpenPiece(folder)), "report")
    for stage in ("school", "reading"):
        bench.go(stage)
    bench.trace()
    assert len(live() - before) > 2 * len(bench.panels)
    held = [weakref.ref(one) for one in (bench, bench.desk, bench.desk.piece, *bench.panels)]
    bench.close()
    assert live() == before
    del bench
    gc.collect()
    assert not [ref() for ref in held if ref() is not None]


def test_another_piece_on_the_bench_leaves_no_panel_of_the_former(folder, tmp_path):
    other = demo_piece(tmp_path / "other")
    bench = Bench(Desk(OpenPiece(folder)), "report")
    count = len(live())
    former = bench.panels
    bench.switch(other)
    assert len(live()) == count
    assert not {p for p in former if p.comm is not None}
    bench.close()


def test_a_page_has_one_bench(page):
    window_bench("photographs", "en")
    count = len(live())
    window_bench("photographs", "en")
    assert len(live()) == count
    page("b")
    window_bench("photographs", "en")
    assert len(live()) > count, "another page has its own"


def test_only_the_benches_of_pages_that_are_gone_are_cleared_away(page):
    before = live()
    first = window_bench("photographs", "en")
    page("b")
    second = window_bench("marks", "en")
    clear_away(["a", "b"])
    assert first.comm is not None
    clear_away(["b", "c"])
    assert first.comm is None
    assert second.comm is not None
    zones = len(second.desk.contents.zones)
    board = second.panel("board")
    board._asked(board, {"do": "add_zone", "box": [1700, 300, 60, 80], "n": 1}, [])
    assert len(second.desk.contents.zones) == zones + 1, "the bench that stays goes on"
    clear_away(())
    assert live() == before


def test_work_under_way_on_a_bench_whose_page_is_gone_is_still_kept(page, folder):
    """The reader loaded the page again while something was being computed: what comes of it stands on the new bench."""

    async def gone_meanwhile() -> tuple[Bench, Bench]:
        former = window_bench("marks", "en")
        go = asyncio.Event()
        loop = asyncio.get_running_loop()
        photo = former.desk.photo

        def work() -> None:
            asyncio.run_coroutine_threadsafe(go.wait(), loop).result(20)

        def done(_: None) -> None:
            target = former.desk.contents.inscriptions[0]
            former.desk.piece.layout.draw(target, photo, rectangle(1700, 300, 60, 80))

        former.panel("board").work.run("work", lambda _step: work(), done, writes=True)
        page("b")
        now = window_bench("marks", "en")
        before = len(now.desk.contents.zones)
        clear_away(["b"])
        await asyncio.sleep(0)
        assert former.comm is not None, "not before its work has ended"
        go.set()
        while window_benches._leaving:
            await asyncio.sleep(0.01)
        assert former.comm is None
        now.desk.look()
        assert len(now.desk.contents.zones) == before + 1
        assert now.desk.find(Zone, now.desk.contents.zones[-1].id)
        return former, now

    asyncio.run(gone_meanwhile())


def test_outside_a_kernel_nobody_asks():
    assert window_benches.asking() == ""
