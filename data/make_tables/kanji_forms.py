"""Make readaid/script/tables/kanji_forms.tsv: the pairs of old and new kanji.

Run from the repository root: ``python data/make_tables/kanji_forms.py``. Needs the Python package joyokanji
(Apache-2.0; pairs of the standard table of 1946-2010) and Debian's ``unicode-data`` (Unihan field kJinmeiyoKanji).
Facts only: which two characters go together.
"""

from __future__ import annotations

import bz2
import re
from pathlib import Path

UNIHAN = Path("/usr/share/unicode/Unihan_OtherMappings.txt.bz2")
OUT = Path(__file__).resolve().parents[2] / "readaid" / "script" / "tables" / "kanji_forms.tsv"


def joyo() -> dict[str, str]:
    """Old form to new form, from joyokanji, asked character by character over all CJK blocks."""
    import joyokanji

    blocks = (*range(0x3400, 0x4DC0), *range(0x4E00, 0xA000), *range(0xF900, 0xFADA), *range(0x20000, 0x2A6E0))
    return {chr(c): new for c in blocks if (new := joyokanji.convert(chr(c))) != chr(c)}


#: Pairs that Unihan gives the other way round than they are used: it names the traditional form as the standard one
#: (祿 for 禄), and a compatibility ideograph as the target (U+FA46 for 渚). Common practice, no source.
REVERSED = dict(zip("亘尭巌晃桧槙禄穣萌遥", "亙堯巖晄檜槇祿穰萠遙", strict=True))


def jinmeiyo(path: Path = UNIHAN) -> dict[str, str]:
    """Old form to new form, from the Unihan lines such as ``U+4E9E kJinmeiyoKanji 2010:U+4E9C``."""
    text = bz2.decompress(path.read_bytes()).decode("utf-8")
    pairs = {chr(int(old, 16)): chr(int(new, 16))
             for old, new in re.findall(r"^U\+([0-9A-F]+)\tkJinmeiyoKanji\t\d+:U\+([0-9A-F]+)$", text, re.M)}
    return dict((new, old) if REVERSED.get(old) == new or 0xF900 <= ord(new) <= 0xFAFF else (old, new)
                for old, new in pairs.items())


def main() -> None:
    one, two = joyo(), jinmeiyo()
    clash = {o: (one[o], two[o]) for o in one.keys() & two.keys() if one[o] != two[o]}
    assert not clash, clash
    rows = [(new, old, "/".join(n for n, t in (("joyo", one), ("jinmeiyo", two)) if old in t))
            for old, new in sorted({**one, **two}.items())]
    head = ("# Old kanji forms and the new form of each. Code points too, since some old forms look like the new one\n"
            "# in many fonts. Source: joyo = the Python package joyokanji; jinmeiyo = Unihan, kJinmeiyoKanji.\n"
            "# Made by data/make_tables/kanji_forms.py.\n"
            "new\told\told_code\tsource\n")
    OUT.write_text(head + "".join(f"{n}\t{o}\tU+{ord(o):04X}\t{s}\n" for n, o, s in rows), encoding="utf-8")
    print(f"{OUT}: {len(rows)} pairs")


if __name__ == "__main__":
    main()
