"""A simulated school end to end, search, and the parts of likeness, on pictures made by ``data/simulate_school``."""

import importlib.util
import pickle
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from readaid.core.errors import ShapeError
from readaid.forms import plate
from readaid.forms.comparison import compare
from readaid.forms.form import form_of, form_of_tracing, turned
from readaid.forms.likeness import likeness
from readaid.forms.wording import about_pair
from readaid.schools import form_index
from readaid.schools.matrix import likeness_matrix, ready
from readaid.schools.nearest import Population, Reference

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def simulate():
    spec = importlib.util.spec_from_file_location("simulate", ROOT / "data" / "simulate_school" / "simulate.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["simulate"] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def pictures(simulate):
    """Six makers, three pictures each, and the maker's number beside each."""
    rng = np.random.default_rng(5)
    makers = simulate.school(4, makers=6)
    return [(k, simulate.picture(m, rng)) for k, m in enumerate(makers) for _ in range(3)]


def test_a_maker_stands_nearest_to_himself(simulate, pictures):
    population = Population([Reference(form_of(p), f"maker {k}", f"{k}-{i}") for i, (k, p) in enumerate(pictures)])
    assert population.calibrated
    rng = np.random.default_rng(6)
    makers = simulate.school(4, makers=6)
    right = [
        population.nearest(simulate.picture(m, rng)).neighbours[0].maker == f"maker {k}" for k, m in enumerate(makers)
    ]
    assert sum(right) >= 5
    stranger = simulate.school(77, makers=1)[0]
    found = population.nearest(simulate.picture(stranger, rng))
    assert found.none
    assert "18 forms of 6 makers" in found.text
    assert "no proof of authorship" in found.text


def test_without_repeated_forms_there_is_no_likelihood(pictures):
    single = dict(pictures)
    population = Population([Reference(form_of(p), str(k)) for k, p in single.items()])
    found = population.nearest(pictures[0][1])
    assert not population.calibrated
    assert all(n.ratio is None for n in found.neighbours)
    with pytest.raises(ShapeError, match="one maker"):
        Population([Reference(form_of(pictures[0][1]), "alone")])


def test_matrix_is_the_same_on_any_executor(pictures):
    told = []
    some = [p for _, p in pictures[:5]]
    plain = likeness_matrix(some, progress=lambda done, of: told.append((done, of)))
    with ThreadPoolExecutor(2) as pool:
        assert np.allclose(plain, likeness_matrix(some, executor=pool))
    assert told[0] == (0, 10)
    assert told[-1] == (10, 10)
    assert np.allclose(plain, plain.T)


def test_forms_can_be_sent_to_another_process(pictures):
    form = ready(pictures[0][1])
    again = pickle.loads(pickle.dumps(form))
    assert likeness(form, again) == pytest.approx(likeness(form, form))


def test_likeness_is_symmetrical(pictures):
    a, b = form_of(pictures[0][1]), form_of(pictures[4][1])
    assert likeness(a, b) == pytest.approx(likeness(b, a), abs=0.02)


def test_search_finds_a_stored_form(pictures):
    index = form_index.FormIndex()
    rng = np.random.default_rng(0)
    noise = rng.normal(size=(500, form_index.LENGTH))
    index.add([f"other {i}" for i in range(500)], noise / np.linalg.norm(noise, axis=1, keepdims=True))
    index.add([str(k) for k, _ in pictures], [form_index.descriptor_of(p) for _, p in pictures])
    assert index.nearest(pictures[3][1], 1)[0] == (str(pictures[3][0]), pytest.approx(1, abs=2e-3))
    with pytest.raises(ShapeError, match="another making"):
        index.add(["short"], np.zeros((1, 5)))


def test_plates_of_one_picture_agree():
    picture = np.ones((96, 96), np.float32)
    picture[20:26, 10:86] = picture[60:66, 30:86] = 0
    one = plate.plate(picture)
    assert plate.distance(one, one) == pytest.approx(0, abs=1e-3)
    assert plate.distance(one, plate.plate(picture.T.copy())) > 1


def test_turned_twice_is_as_it_stood(pictures):
    form = form_of(pictures[0][1])
    again = turned(turned(form, "mirrored"), "mirrored")
    assert np.allclose(again.edges.at, form.edges.at)
    assert np.allclose(again.frame, form.frame)
    assert again.flips == (False, False)


def test_counts_of_tracings():
    counts = form_of_tracing([[(0, 0), (100, 0)], [(50, -50), (50, 50)], [(90, 60)]]).counts
    assert (counts.strokes, counts.crossings, counts.dots) == (2, 1, 1)
    ring = [(50 + 40 * np.cos(t), 50 + 40 * np.sin(t)) for t in np.linspace(0, 2 * np.pi, 40)]
    assert form_of_tracing([ring]).counts.closed_spaces == 1
    with pytest.raises(ShapeError, match="no stroke"):
        form_of_tracing([])


def test_moments_do_not_change_the_frame():
    # oracle: scikit-image regionprops (middle and spread of the ink under a shift and a scale)
    measure = pytest.importorskip("skimage.measure")
    page = np.full((120, 120), 255, np.uint8)
    page[30:80, 40:46] = 0
    page[60:66, 30:90] = 0
    form = form_of(page)
    middle = measure.regionprops((page == 0).astype(int))[0].centroid
    assert form.frame[:, 2] == pytest.approx((middle[1], middle[0]), abs=4)


def test_wording(pictures):
    text = about_pair(compare(pictures[0][1], pictures[4][1]), "Form 1", "form 2")
    assert "likeness (0." in text
    assert "no proof of authorship" in text
    assert "by the same" not in text
