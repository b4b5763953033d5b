"""Long work of a panel: stopped at its next step, nothing of it kept, a newer one in its place."""

import asyncio
import threading

import pytest

from readaid.widgets.long_work import LongWork
from readaid.widgets.panel import Panel
from tests.widgets.made import errors, heard


class Holder(Panel):
    """The least panel that has long work."""

    _esm = "export default {}"

    def __init__(self):
        self.work, self.results = LongWork(self), []
        self.parts = (self.work,)
        super().__init__()
        self.refresh()

    def refresh(self):
        self.state = {"busy": self.work.busy}


@pytest.fixture
def holder():
    return Holder()


def said(sent):
    return [m["say"] for m, _ in sent if "say" in m]


def test_stopped_work_goes_no_step_further_and_leaves_nothing(holder):
    sent, reached = heard(holder), []

    def work(step):
        step("first", 0.1)
        reached.append(holder.state["busy"])
        holder.work.do_stop()
        step("second", 0.5)
        reached.append("second")
        return "a result"

    holder.work.run("Working …", work, holder.results.append)
    assert reached == [{"label": "first …", "share": 0.1, "stoppable": True}]
    assert (holder.results, holder.state["busy"], holder.fault) == ([], None, "")
    assert said(sent) == ["Stopped; nothing was changed."]


def test_work_that_was_past_its_last_step_when_it_was_stopped_is_not_kept(holder):
    holder.work.run("Working …", lambda step: holder.work.do_stop() or "a result", holder.results.append)
    assert (holder.results, holder.state["busy"]) == ([], None)


def test_a_newer_work_takes_the_place_of_an_older_one(holder):
    def older(step):
        holder.work.run("Newer …", lambda step: "newer", holder.results.append)
        return "older"

    holder.work.run("Older …", older, holder.results.append)
    assert (holder.results, holder.state["busy"]) == (["newer"], None)


def test_a_fault_is_told_and_the_panel_is_free_again(holder):
    sent = heard(holder)
    holder.work.run("Working …", lambda step: 1 / 0, holder.results.append)
    assert "ZeroDivisionError" in errors(sent)[0]
    assert holder.work.busy is None


def test_what_was_under_way_when_the_work_was_stopped_does_not_come_up_again(holder):
    """Beside a loop a step is told later: one that is told after the stop must not show the work as going on."""
    sent, stepped, stopped = heard(holder), threading.Event(), threading.Event()

    def work(step):
        step("first", 0.1)
        stepped.set()
        assert stopped.wait(30)
        step("second", 0.5)
        return "a result"

    async def page():
        holder.work.run("Working …", work, holder.results.append)
        await asyncio.sleep(0)  # the work begins
        assert stepped.wait(30)  # the loop stands still: the telling of the first step waits in it
        holder.work.do_stop()
        stopped.set()
        await asyncio.gather(*holder._tasks)

    asyncio.run(page())
    assert (holder.results, holder.state["busy"], holder.fault) == ([], None, "")
    shown = [m["put"]["busy"] for m, _ in sent if "busy" in m.get("put", {})]
    assert [s and s["label"] for s in shown] == ["Working …", None]
