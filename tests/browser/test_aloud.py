"""What a screen reader is told, by the browser's own accessibility tree: names, roles, languages, and nothing twice.

Conventions: what stands here was heard from a real screen reader first (Orca 43 with Chromium); each test keeps one
thing that was told wrong, twice or not at all.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest

from tests.browser.hands import at, painted, settled, unfold, walked

pytestmark = pytest.mark.browser

STAGES = ("photographs", "marks", "reading", "school", "report")
#: Text in Japanese signs that no element marks as Japanese, on a page in English; choices have no parts to mark.
UNMARKED = """() => { const out = [], walk = document.createTreeWalker(document.querySelector('.ra-bench'), 4);
  while (walk.nextNode()) { const n = walk.currentNode, e = n.parentElement;
    if (/[\\u3041-\\u30ff\\u4e00-\\u9fff]/.test(n.textContent) && e.checkVisibility()
        && !e.closest('option, textarea, [aria-hidden]') && e.closest('[lang]').getAttribute('lang') !== 'ja')
      out.push(`${e.className || e.tagName}: ${n.textContent.trim()}`); }
  return [...new Set(out)]; }"""
#: English words within an element that is marked as Japanese; what a reader wrote is theirs.
MISMARKED = """() => [...new Set([...document.querySelectorAll('.ra-bench td[lang=ja], .ra-bench th[lang=ja]')]
  .filter((e) => e.checkVisibility() && /^[\\x00-\\x7f–—…]+$/.test(e.textContent) && /[a-z]{3}/i.test(e.textContent))
  .map((e) => e.textContent))]"""


def told(page: Any) -> list[dict[str, Any]]:
    """What stands in the accessibility tree: role, name, description, properties."""
    session = page.context.new_cdp_session(page)
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    session.detach()
    return [{"role": n["role"]["value"], "name": n.get("name", {}).get("value", ""),
             "description": n.get("description", {}).get("value", ""),
             **{p["name"]: p["value"].get("value") for p in n.get("properties", [])}}
            for n in nodes if not n["ignored"] and "role" in n]


def test_every_place_has_names_and_says_nothing_twice(show):
    page = show(1)
    painted(page)
    found = {}
    for where in walked(page, STAGES):
        nodes = told(page)
        nameless = [n["role"] for n in nodes if n.get("focusable") and not n["name"].strip()
                    and n["role"] in ("button", "radio", "combobox", "textbox", "slider", "tab", "option", "checkbox")]
        twice = [n["name"] for n in nodes if n["description"] and n["description"] == n["name"]]
        roles = Counter(n["role"] for n in nodes)
        faults = {"no name": nameless, "told twice": twice, "not marked as Japanese": page.evaluate(UNMARKED),
                  "marked as Japanese": page.evaluate(MISMARKED)}
        if where in ("marks", "photographs"):
            zones = [n["name"] for n in nodes if n["role"] == "button" and n["name"].startswith("Zone")]
            faults["zones that cannot be pressed"] = [] if len(zones) == 17 else [str(roles)]
        found |= {f"{where}, {what}": those for what, those in faults.items() if those}
    assert not found, "\n".join(f"{where}: {those}" for where, those in found.items())


def test_an_old_letter_is_named_with_its_sound(show):
    page = show(2)
    painted(page)
    names = [n["name"] for n in told(page)]
    assert "Sign 1, read 𛁐 す, probable" in names, "no voice knows the letter itself"
    assert any(name.startswith("Zone 1, read 𛁐 す,") for name in names)
    chosen = [n["name"] for n in told(page) if n["role"] == "option" and n.get("selected") and "Sign" in n["name"]]
    assert chosen == ["Sign 1, read 𛁐 す, probable"], "signs are options, so that arrows reach us"


def test_another_sign_lays_nothing_anew_that_stayed_the_same(show):
    """A choice or a tab that is laid anew is told by a screen reader as if it had been chosen, with every sign."""
    page = show(2)
    painted(page)
    page.wait_for_selector(".cp-cand")
    page.evaluate("""() => { window.stayed = ['[data-key=look-view]', '[data-key=damage]', '[data-key=sure]', '.sh-tab',
        '.hd-stage', '.hd-saved > span'].map((s) => [s, document.querySelector(s)]); }""")
    page.locator("[data-key=next]").click()
    page.wait_for_function("document.querySelector('.cp-which').textContent === 'Sign 2 of 17'")
    settled(page)
    at(page, "marks")
    at(page, "reading")
    assert page.evaluate("window.stayed.filter(([s, e]) => document.querySelector(s) !== e).map(([s]) => s)") == []


def test_the_mat_tells_which_photograph_lies_there(show):
    page = show(1)
    painted(page)
    page.keyboard.press("Tab")
    page.locator(".pb-view").evaluate("(e) => e.focus()")
    page.wait_for_function("/^On the mat: front, lamp at the left, low, verse_left; marks: 17/"
                           ".test(document.querySelector('.pb-mat .ra-live').textContent)")


def test_the_focus_comes_back_to_the_button_that_began_long_work(show):
    page = show(4)
    unfold(page, "tp")
    page.locator("[data-key=write]").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector(".tp[data-written]")
    page.wait_for_function("document.activeElement?.dataset.key === 'write'")
