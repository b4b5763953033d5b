"""The date sheets as floors: every date is answered as the sheet says (source of its days: the sheet's header)."""

import pytest

from readaid.core.errors import TextError
from readaid.script import dates
from tests.script.examine import sheets


@pytest.mark.parametrize("row", sheets.rows("dates.tsv"), ids=lambda r: r["text"].replace("\n", ""))
def test_every_date_of_the_sheet(row):
    try:
        found = dates.read(row["text"])
    except TextError:
        found = []
    assert not sheets.date_wrong(row, found)
