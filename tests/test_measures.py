"""The table of measures and the figures of the house: what a bench writes, and how comments are counted."""

import pytest

from tests.bench import __main__ as benches
from tests.bench import house


@pytest.fixture
def table(tmp_path):
    path = tmp_path / "measures.tsv"
    path.write_text("# head\n" + "\t".join(benches.COLUMNS) + "\nlines\ta\t1\t\t\t2026-01-01\n"
                    "photo\tb\t2\t\t\t2026-01-01\nphoto\tc\t3\t\t\t2026-01-01\n", encoding="utf-8")
    return path


def rows(path):
    return [line.split("\t")[:3] for line in path.read_text(encoding="utf-8").splitlines()[2:]]


def test_a_bench_replaces_its_own_rows_only(table):
    benches.kept([("photo", "d", "4", "", "", "2026-01-02")], "photo", table)
    assert rows(table) == [["lines", "a", "1"], ["photo", "d", "4"]]
    assert table.read_text(encoding="utf-8").startswith("# head\nbench\twhat\t")


def test_a_part_of_a_bench_leaves_the_other_rows(table):
    benches.kept([("photo", "b", "5", "", "", "2026-01-02")], "photo", table, whole=False)
    assert rows(table) == [["lines", "a", "1"], ["photo", "c", "3"], ["photo", "b", "5"]]


def test_an_unknown_bench_is_told_with_those_there_are(capsys):
    assert benches.main(["nothing:kills"]) == 2
    told = capsys.readouterr().err
    assert "nothing" in told
    assert "register" in told


def test_comments_and_statements_are_counted_as_the_parser_sees_them():
    source = '"""Text."""\nx = 1  # one\n#: two\ny = "# none"\nif x:  # three\n    y = x\n'
    assert house.comments(source) == 3
    assert house.statements(source) == 5
    assert house.room(house.ROOT / "readaid" / "core" / "veil.py") == "core"
    assert house.room(house.ROOT / "readaid" / "cli.py") == "face"
    assert house.across(house.ROOT / "readaid" / "core" / "a.py", "from readaid.core.b import c\n"
                        "from readaid.script.b import d\nimport os\n") == 1
