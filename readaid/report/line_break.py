"""Where a line of Japanese and Latin text may be broken, for a page that is set by us.

Conventions: a Japanese sign may be broken from its neighbours, a Latin word may not; no line begins with a closing mark
or a small kana, none ends with an opening mark (JIS X 4051's kinsoku, the usual signs of it, from memory).
"""

from __future__ import annotations

from collections.abc import Callable

NOT_FIRST = frozenset("、。，．・：；？！゛゜ヽヾゝゞ々ー）］｝〕〉》」』】,.;:!?)]}っゃゅょッャュョぁぃぅぇぉ\u0323")
NOT_LAST = frozenset("（［｛〔〈《「『【([{")


def pieces(text: str) -> list[str]:
    """The text in pieces that stay whole; a space ends the piece before it.

    >>> pieces("煤払い (winter) 一、二")
    ['煤', '払', 'い ', '(winter) ', '一、', '二']
    """
    out: list[str] = []
    for sign in text:
        glued = bool(out) and (sign == " " or sign in NOT_FIRST or out[-1][-1:] in NOT_LAST
                               or (_latin(sign) and _latin(out[-1][-1:])))
        if glued:
            out[-1] += sign
        else:
            out.append(sign)
    return out


def _latin(sign: str) -> bool:
    return bool(sign) and sign != " " and ord(sign[0]) < 0x2E80


def lines(text: str, width: float, measure: Callable[[str], float]) -> list[str]:
    """The text broken into lines no wider than ``width``, by ``measure`` of a text; line feeds break too.

    >>> lines("春の海 ひねもす", 4, len)
    ['春の海', 'ひねもす']
    """
    out: list[str] = []
    for given in text.split("\n"):
        line, long = "", 0.0
        for piece in pieces(given):
            for part in _parts(piece, width, measure):
                wide = measure(part)
                if line and long + measure(part.rstrip()) > width:
                    out.append(line.rstrip())
                    line, long = "", 0.0
                line, long = line + part, long + wide
        out.append(line.rstrip())
    return out


def _parts(piece: str, width: float, measure: Callable[[str], float]) -> list[str]:
    """A piece too wide for any line (a hash, an address) cut where it must be."""
    if measure(piece.rstrip()) <= width:
        return [piece]
    out = [""]
    for sign in piece:
        if out[-1] and measure(out[-1] + sign) > width:
            out.append("")
        out[-1] += sign
    return out
