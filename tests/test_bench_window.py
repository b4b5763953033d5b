"""The page of the window as text: odd titles stay words, its policy names no other place, its words are there."""

from __future__ import annotations

import asyncio
import json
import socket
from html.parser import HTMLParser

import pytest
from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection
from tornado.httpserver import HTTPServer
from tornado.testing import bind_unused_port
from tornado.web import Application
from tornado.websocket import WebSocketHandler, websocket_connect

from readaid.bench_window import POLICY, BenchWindow, Straight, laid, page, words
from readaid.core.greeting import Greeting
from readaid.core.preference import prefer
from readaid.core.texts import LANGUAGES

ODD = ['</script><script>alert(1)</script>', '"><img src=x onerror=alert(1)>', "鐔 & 目貫 ' \" <b>", "‮reversed", "a\nb"]


class Seen(HTMLParser):
    """What a browser's parser makes of the page (html.parser: script is raw text until its end tag, as in HTML)."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: dict[str, str] = {}
        self._at = ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self._at = tag

    def handle_endtag(self, tag):
        self._at = ""

    def handle_data(self, data):
        self.texts[self._at] = self.texts.get(self._at, "") + data


@pytest.mark.parametrize("odd", ODD)
def test_a_title_of_any_kind_stays_a_title(odd):
    plain = Seen(page(Greeting("Lid"), "/", "k", "1"))
    seen = Seen(page(Greeting(odd, "Mori", f"data:image/jpeg;base64,{odd}"), "/", "k", f"x = {odd!r}"))
    assert [t for t, _ in seen.tags] == [t for t, _ in plain.tags], "nothing but words came in"
    assert seen.texts["title"] == f"{odd} · readaid"
    assert json.loads(seen.texts["script"])["code"] == f"x = {odd!r}"
    style = next(a["style"] for t, a in seen.tags if a.get("style"))
    assert style == f"background-image:url(data:image/jpeg;base64,{odd})"


def test_the_page_loads_from_its_own_server_alone():
    seen = Seen(page(Greeting(), "/base/", "k", "1"))
    asked = [a.get("src") or a.get("href") for _, a in seen.tags if "src" in a or "href" in a]
    assert asked == ["data:,", "/base/static/readaid/window.css", "/base/static/readaid/window_page.js"]
    rules = dict(rule.strip().split(" ", 1) for rule in POLICY.format(socket="ws://127.0.0.1:1").split(";"))
    assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == rules["frame-ancestors"] == "'none'"
    assert rules["script-src"] == "'self' blob:", "none of the page's own text, none evaluated, none from elsewhere"
    assert not [v for v in rules.values() if "http" in v or "*" in v]


def test_the_window_has_its_words_in_every_language():
    said = {language: words(language) for language in LANGUAGES}
    for language, own in said.items():
        assert own.keys() == said["en"].keys()
        assert language == "en" or not set(own.values()) & set(said["en"].values())


def test_the_page_is_in_the_language_the_reader_chose():
    prefer("Sato", "language", "ja")
    own = Seen(page(Greeting("蓋", "Sato"), "/", "k", laid("reading", "ja")))
    assert own.tags[0] == ("html", {"lang": "ja"})
    assert own.texts["p"] == words("ja")["laying"]
    assert Seen(page(Greeting("蓋", "Mori"), "/", "k", "1")).tags[0] == ("html", {"lang": "en"})


def test_the_page_s_socket_sends_at_once(monkeypatch):
    """On a real socket: the system holds no small message back, and the kernel's channels open as ever."""
    seen: list[int] = []

    def connected(self):
        stream = self.websocket_handler.ws_connection.stream
        seen.append(stream.socket.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))

    class Page(WebSocketHandler):
        def open(self):
            type("Held", (Straight,), {"__init__": lambda *_: None, "websocket_handler": self})().connect()
            self.close()

    async def visited():
        server = HTTPServer(Application([("/", Page)]))
        listening, port = bind_unused_port()
        server.add_sockets([listening])
        visitor = await websocket_connect(f"ws://127.0.0.1:{port}/")
        assert await visitor.read_message() is None
        server.stop()

    monkeypatch.setattr(ZMQChannelsWebsocketConnection, "connect", connected)
    monkeypatch.setattr(ZMQChannelsWebsocketConnection, "disconnect", lambda _: None)
    monkeypatch.setattr(Straight, "standing", set())
    asyncio.run(visited())
    (page,) = Straight.standing
    page.disconnect()
    assert not Straight.standing, "a page that has gone stands no longer"
    assert len(seen) == 1
    assert seen[0] != 0
    assert BenchWindow.serverapp_config["kernel_websocket_connection_class"] is Straight
