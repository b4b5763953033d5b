"""The brush fonts cut for the tests against the whole fonts of Debian, and what the cuts must hold."""

from pathlib import Path

import numpy as np
import pytest

from tests.fonts import make
from tests.photo.rendered import FIT, HELD, glyph

CUTS = {Path(name).name: make.DEBIAN / name for name in make.FILES}


def test_every_font_is_there():
    assert {p.name for p in (*FIT, *HELD)} == set(CUTS)
    assert all((make.HERE / name).is_file() for name in CUTS)


@pytest.mark.parametrize("name", CUTS)
def test_the_cut_draws_as_the_whole_font(name):
    if not CUTS[name].exists():
        pytest.skip("no brush fonts to compare with (Debian: fonts-kouzan-mouhitsu, fonts-aoyagi-*)")
    for sign in make.signs():
        cut, whole = (glyph(sign, path, 40) for path in (make.HERE / name, CUTS[name]))
        assert (cut is None) == (whole is None), sign
        assert cut is None or np.array_equal(cut, whole), sign
