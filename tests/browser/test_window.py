"""The bench alone in its window: what the page may load, what it says when something is wrong, that it comes back."""

from __future__ import annotations

import urllib.error
import urllib.request

import pytest
from playwright.sync_api import expect

from readaid.core.preference import VARIABLE, prefer
from tests.browser import lab as labs
from tests.browser.hands import painted, settled

pytestmark = pytest.mark.browser


def test_the_page_s_own_policy_lets_all_of_the_bench_through(browser, window, place):
    """In a browser that holds the page to its policy, nothing the bench does is refused, in all its places."""
    own = browser.new_page(viewport={"width": 1400, "height": 1000})
    refused = []
    own.on("console", lambda said: refused.append(said.text) if "Content Security Policy" in said.text else None)
    own.on("pageerror", lambda error: refused.append(str(error)))
    labs.open_window(own, window, place)
    own.wait_for_selector(".pb[data-painted='1']")
    for stage in ("marks", "reading", "school", "report"):
        own.locator(f"[data-key=stage-{stage}]").click()
        own.wait_for_selector(f".ra-bench.ra-at-{stage}")
    own.get_by_role("button", name="Write the report").click()
    own.wait_for_selector(".tp[data-written='report.html']")
    own.frame_locator("iframe.tp-look").locator("h1").first.wait_for(state="attached")
    labs.end(own, window)
    own.close()
    assert not refused


def test_who_has_no_token_gets_no_page(window, place):
    """Jupyter's own rule: without the token the answer is its log-in page, or a refusal."""
    answer = urllib.request.urlopen(f"{window.base}/readaid", timeout=20)
    assert "/login" in answer.url
    assert "readaid-given" not in answer.read().decode()
    with pytest.raises(urllib.error.HTTPError, match="403"):
        urllib.request.urlopen(f"{window.base}/api/kernels", timeout=20)


def test_a_kernel_that_ends_is_started_again_and_the_piece_laid_anew(show):
    page = show(1)
    painted(page)
    page.evaluate("document.querySelector('.ra-bench').dataset.former = '1'")
    page.evaluate("""() => { const notice = document.getElementById('readaid-notice'); window.told = [];
      const stands = () => Boolean(document.querySelector(".ra-bench:not([data-former]) .pb[data-painted='1']"));
      new MutationObserver(() => window.told.push([notice.textContent, stands()]))
        .observe(notice, { childList: true, characterData: true, subtree: true }); }""")
    page.evaluate("() => { document.querySelector('main').kernel.run('import os; os._exit(1)'); }")
    page.wait_for_selector(".ra-bench:not([data-former]) .pb[data-painted='1'][data-zones='17']", timeout=60_000)
    expect(page.locator("#readaid-notice")).to_have_text("", use_inner_text=True)
    (first, early), *_, (_, late) = page.evaluate("window.told")
    assert "starts again" in first
    assert (early, late) == (False, True), "the sentence stands until the bench does"
    page.locator(".pb-view").focus()
    page.keyboard.press("PageDown")
    settled(page)
    expect(page.locator(".ra-bench")).to_have_count(1)


def test_a_server_that_went_is_told(page, tmp_path, place):
    for name in ("root", "home"):
        (tmp_path / name).mkdir()
    with labs.windows(tmp_path / "root", tmp_path / "home") as server:
        labs.open_window(page, server, place)
        painted(page)
    page.wait_for_selector("#readaid-notice:has-text('does not answer')")
    expect(page.locator("#readaid-notice")).to_contain_text("Nothing saved is lost")
    assert page.locator(".pb-zone").count() > 0, "what was seen last stays in sight"


def test_a_piece_that_cannot_be_opened_says_why(page, window, tmp_path):
    labs.open_window(page, window, tmp_path / "gone")
    told = page.locator("#readaid-still p")
    assert "The piece could not be laid on the bench. There is no such folder" in told.inner_text()
    assert "readaid new" in told.inner_text(), "with the cure"


def test_the_window_speaks_the_reader_s_language_before_any_panel_does(page, window, place, monkeypatch):
    monkeypatch.delenv(VARIABLE, raising=False)
    prefer("Demo reader", "language", "ja")
    try:
        page.goto(f"{window.base}/any?folder={place}&stage=reading&token={window.token}", wait_until="commit")
        expect(page.locator("#readaid-still p")).to_have_text("作品を作業台に載せています…", use_inner_text=True)
        expect(page.locator("html")).to_have_attribute("lang", "ja")
        page.wait_for_selector(".ra-bench .sh")
        assert page.title().endswith("readaid")
    finally:
        prefer("Demo reader", "language", "en")


def test_a_second_window_has_a_bench_of_its_own(context, show, window, place):
    """Two windows on one kernel: what is entered in one stands in the other, and neither draws the other's widgets."""
    page = show(1)
    painted(page)
    other = context.new_page()
    labs.open_window(other, window, place, "marks")
    painted(other)
    before = int(page.locator(".pb").get_attribute("data-zones"))
    other.locator(".pb-view").focus()
    other.keyboard.press("n")
    page.wait_for_selector(f".pb[data-zones='{before + 1}']")
    assert page.locator(".ra-bench").count() == other.locator(".ra-bench").count() == 1
    expect(page.locator(".ra-bench.ra-at-photographs")).to_have_count(1)
    other.close()


#: What the kernel holds open towards browsers: widgets, and the layouts that go with them.
LIVE = "len(__import__('comm').get_comm_manager().comms)"


def until(page, condition):
    """Wait until a Python expression is true in the page's kernel."""
    for _ in range(300):
        if labs.evaluate(page, condition):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"never so: {condition}; {labs.evaluate(page, LIVE)} widgets")


def test_a_page_loaded_again_and_again_leaves_one_bench(show, page):
    """Also what was entered stays: it is a revision, and no matter of the bench."""
    show(1)
    painted(page)
    once = labs.evaluate(page, LIVE)
    before = int(page.locator(".pb").get_attribute("data-zones"))
    for n in range(3):
        page.locator("[data-key=stage-marks]").click()
        settled(page)
        page.locator(".pb-view").focus()
        page.keyboard.press("n")
        page.wait_for_selector(f".pb[data-zones='{before + n + 1}']")
        page.reload()
        page.wait_for_selector(f".pb[data-painted='1'][data-zones='{before + n + 1}']")
    until(page, f"{LIVE} == {once}")
    settled(page)
    assert page.locator(".ra-bench").count() == 1


def test_a_window_that_stays_keeps_its_bench_when_another_comes_and_goes(context, show, page, window, place):
    show(1)
    painted(page)
    once = labs.evaluate(page, LIVE)
    other = context.new_page()
    labs.open_window(other, window, place, "marks")
    painted(other)
    other.reload()
    painted(other)
    until(page, f"{LIVE} == {2 * once}")
    before = int(page.locator(".pb").get_attribute("data-zones"))
    page.evaluate("document.querySelector('.ra-bench').dataset.former = '1'")
    other.locator(".pb-view").focus()
    other.keyboard.press("n")
    page.wait_for_selector(f".ra-bench[data-former] .pb[data-zones='{before + 1}']")
    other.close()
    page.reload()
    painted(page)
    until(page, f"{LIVE} == {once}")


def test_a_page_taken_for_gone_lays_its_bench_anew_when_it_comes_back(show, page):
    show(1)
    painted(page)
    once = labs.evaluate(page, LIVE)
    page.evaluate("() => { const { kernel } = document.querySelector('main'); window.address = kernel.address;"
                  " document.querySelector('.ra-bench').dataset.former = '1';"
                  " kernel.open = () => { window.tried = true; }; kernel.socket.close(); }")
    page.wait_for_function("window.tried")
    # as another page would have it done meanwhile; this one hears nothing of it
    page.evaluate("""() => new Promise((done) => {
      const socket = new WebSocket(window.address.replace(/session_id=.*/, 'session_id=other'));
      socket.onopen = () => socket.send(JSON.stringify({ channel: 'shell', buffers: [], parent_header: {}, metadata: {},
        header: { msg_id: 'm', msg_type: 'execute_request', session: 'other', username: '', version: '5.3',
                  date: new Date().toISOString() },
        content: { code: 'from readaid.widgets.window_benches import clear_away\\nclear_away(["other"])', silent: false,
                   store_history: false, user_expressions: {}, allow_stdin: false } }));
      socket.onmessage = (e) => {
        if (JSON.parse(e.data).header.msg_type === 'execute_reply') done(socket.close()); }; })""")
    page.evaluate("() => { const { kernel } = document.querySelector('main'); delete kernel.open; kernel.open(); }")
    page.wait_for_selector(".ra-bench:not([data-former]) .pb[data-painted='1'][data-zones='17']")
    until(page, f"{LIVE} == {once}")
    assert page.locator(".ra-bench").count() == 1
