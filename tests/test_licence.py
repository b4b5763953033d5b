"""The built wheel says under which licences its parts stand, and carries their texts (PEP 639; SPDX licence list)."""

import email
import zipfile
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def metadata(tmp_path_factory):
    """Metadata and names of the files of a wheel built from this checkout, without its labextension."""
    builder = pytest.importorskip("hatchling.builders.wheel", reason="building a wheel needs hatchling")
    made = next(builder.WheelBuilder(str(HOUSE)).build(directory=str(tmp_path_factory.mktemp("wheel"))))
    with zipfile.ZipFile(made) as wheel:
        names = wheel.namelist()
        name = next(n for n in names if n.endswith(".dist-info/METADATA"))
        return email.message_from_bytes(wheel.read(name)), names


def test_the_wheel_says_all_licences(metadata):
    held, _ = metadata
    parts = set(held["License-Expression"].split(" AND "))
    assert parts == {"MIT", "OFL-1.1", "CC-BY-SA-4.0", "BSD-3-Clause", "mplus", "Unicode-DFS-2015"}


def test_every_licence_file_travels(metadata):
    """Every licence text under ``readaid`` is named in the metadata and lies in the wheel."""
    held, names = metadata
    told = set(held.get_all("License-File"))
    ours = {str(p.relative_to(HOUSE)) for p in (HOUSE / "readaid").rglob("*")
            if p.name in ("OFL.txt", "LICENCES.md", "UNIDIC_LICENSE", "UNICODE_LICENSE")}
    assert told == {"LICENSE", *ours}
    for name in told:
        assert any(n.endswith(f".dist-info/licenses/{name}") for n in names), name


def test_the_weights_name_their_source_and_licence():
    """What CC BY-SA 4.0, section 3(a)(1), asks for: creators, source, the licence with its address."""
    text = " ".join((HOUSE / "readaid/glyphs/character_model/LICENCES.md").read_text(encoding="utf-8").split())
    for words in ("CC BY-SA 4.0", "https://creativecommons.org/licenses/by-sa/4.0/", "created by CODH",
                  "adapted from the Kuzushiji data set (created by NIJL and others)", "doi:10.20676/00000341"):
        assert words in text
