"""A table of specimens: years and ages are numbers, and every fault is told at once."""

import pytest

from readaid.core.errors import TableError
from readaid.schools.specimen_table import read


@pytest.fixture
def table(tmp_path):
    (tmp_path / "a.png").touch()
    made = tmp_path / "table.csv"
    return lambda *rows: made.write_text("\n".join(["file,maker,year,age,page", *rows]), encoding="utf-8") and made


def test_years_are_numbers_and_what_is_left_out_is_none(table, tmp_path):
    dated, bare = read(table("a.png,Yasuchika,1730,61,12", "a.png,,,,"), tmp_path, ["Yasuchika"])
    assert (dated.maker, dated.year, dated.age, dated.page) == ("Yasuchika", 1730, 61, "12")
    assert (bare.maker, bare.year, bare.age, bare.what) == ("", None, None, "monogram")


def test_all_faults_are_told_at_once(table, tmp_path):
    with pytest.raises(TableError) as told:
        read(table("b.png,,,,", "a.png,Nobody,c. 1730,,", "../a.png,,,,"), tmp_path, ["Yasuchika"])
    assert told.value.values["faults"] == [
        "row 2: there is no picture 'b.png' in the folder", "row 3: 'Nobody' is not among the makers",
        "row 3: year is 'c. 1730', not a whole number", "row 4: there is no picture '../a.png' in the folder"]
