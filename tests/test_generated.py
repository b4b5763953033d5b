"""Two thousand inputs made up by a seeded hand: each is answered or refused in words. The bench draws 106,000."""

import random

import pytest

from readaid.core.errors import TextError
from tests import generated
from tests.bench.generated import COUNTS, SEED

#: How many of each group are run here, in blocks, so that a failure names few.
QUICK = {"parsers": 1_660, "reading": 40, "pictures": 240, "archives": 60}
BLOCK = 20


def blocks():
    for group, many in QUICK.items():
        for first in range(0, many, BLOCK):
            yield pytest.param(group, first, id=f"{group} {first}")


@pytest.mark.parametrize(("group", "first"), list(blocks()))
@pytest.mark.filterwarnings("ignore:.*:UserWarning:PIL")
def test_an_input_is_answered_or_refused_in_words(group, first):
    faults = []
    for number in range(first, first + BLOCK):
        name, call = generated.case(group, SEED, number)
        error = generated.fault(call)
        if error is not None:
            faults.append(f"{number}: {name}: {error!r}")
    assert faults == []


def test_two_thousand_are_run_here_and_all_that_are_promised_by_the_bench():
    assert sum(QUICK.values()) == 2_000
    assert COUNTS == {"parsers": 100_000, "reading": 3_000, "pictures": 2_000, "archives": 1_000}


def test_a_seed_and_a_number_give_one_case():
    for group in generated.GROUPS:
        assert generated.case(group, 1, 7)[0] == generated.case(group, 1, 7)[0]
        assert len({generated.case(group, 1, n)[0] for n in range(12)}) > 6


def test_a_fault_is_anything_but_our_own_errors():
    def raising(error):
        def call():
            raise error
        return call

    assert generated.fault(raising(TextError("x"))) is None
    assert isinstance(generated.fault(raising(TypeError("x"))), TypeError)
    assert generated.fault(lambda: 5) is None


def test_bytes_are_struck_somewhere():
    raw = bytes(range(256))
    assert sum(generated.mutated(random.Random(n), raw) != raw for n in range(20)) >= 19
